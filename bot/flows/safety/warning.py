"""A warning sign: the advice at once, one question where it is not clear, and the coach told.

Opens by itself on a client's own words, on the check-in's sign button, and when a watch rings.
While it is open, words typed here are added to the alert. Opening it anew ends the one before, so
each begin first looks what is still open: a question without an answer, or an emergency.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from bot.flows.changes import AddWords, CallAnswer, Change, CloseAlert, RaiseAlert
from bot.flows.commands import command_of
from bot.flows.facts import Alert, Facts
from bot.flows.machine import Event, EventKind, Say, State, Turn, not_understood, rows_of
from bot.flows.safety.advice import (
    advice,
    advice_values,
    call_again,
    question,
    true_now,
    which_sign,
    which_unit,
)
from bot.flows.safety.levels import earlier_level, in_order, louder
from bot.flows.safety.open_signs import (
    UNANSWERED_AFTER,
    answered,
    as_question,
    asked_signs,
    deadline,
    episode,
    open_question,
    own_words,
    question_level,
)
from bot.messages import Kind
from core.vocabulary import AlertLevel, Sign, TextLevel

NAME = "safety"

OPEN_FOR = timedelta(hours=1)
"""Words typed this long after the advice still belong to the alert."""

ANSWERS: Mapping[str, tuple[str, ...]] = {
    "now": (
        "now",
        "yes",
        "y",
        "yes now",
        "right now",
        "it is",
        "yes it is",
        "still",
        "yeah",
        "yep",
    ),
    "earlier": ("earlier", "before", "it was", "gone", "it has gone", "earlier not now", "not now"),
    "no": ("no", "n", "nope", "not me", "no it is not", "no i am fine"),
    "called": ("yes", "y", "i have", "called", "yes i have", "i have called", "done"),
    "cannot": ("no", "n", "i can't", "i cant", "i cannot", "cannot", "can't", "cant"),
}


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    if event.kind is EventKind.BEGIN:
        return _begin(State(NAME, "asked", dict(event.args)), facts)
    if state.step == "asked":
        return _asked(state, event, facts)
    if state.step == "unit":
        return _unit(state, event, facts)
    if state.step in ("which", "when"):
        return _which(state, event, facts)
    return _told(state, event, facts)


def _begin(state: State, facts: Facts) -> Turn:
    if state.answers.get("unread"):
        return _unread(facts)
    level = TextLevel(state.answers["level"])
    open_one = open_question(facts)
    if open_one is None:
        return _opened(state, level, facts)
    state, level = _taken_together(state, level, open_one, facts)
    return _after(_opened(state, level, facts), CloseAlert(open_one.id))


def _opened(state: State, level: TextLevel, facts: Facts) -> Turn:
    if level is TextLevel.ASK:
        return _put_question(state, facts)
    if level is TextLevel.NONE:
        return _mention(state.answers, _signs(state.answers), facts)
    return _alarm(state, AlertLevel(level.value), facts)


def _taken_together(
    state: State, level: TextLevel, open_one: Alert, facts: Facts
) -> tuple[State, TextLevel]:
    """New words while a question is open: no sign of either is lost, no deadline moves."""
    rules = facts.reference.signs
    silence = question_level(open_one, rules)
    signs = in_order((*_signs(state.answers), *asked_signs(open_one, rules)), rules)
    if level in (TextLevel.URGENT, TextLevel.EMERGENCY):
        level = TextLevel(louder(level.value, silence.value).value)
    else:
        silence = louder(str(state.answers["if_unanswered"]), silence.value)
        level = TextLevel.ASK
    both = state.at(
        state.step,
        signs=[sign.value for sign in answered(signs) or signs],
        words="\n".join(filter(None, (own_words(open_one), state.answers.get("words", "")))),
        if_unanswered=silence.value,
        for_other=open_one.for_other and bool(state.answers.get("for_other")),
        until=deadline(open_one).isoformat(),
    )
    return both, level


def _put_question(state: State, facts: Facts) -> Turn:
    """Ask; what is asked stands on the coach's list meanwhile, so that nothing can lose it."""
    signs = _signs(state.answers)
    until = state.answers.get("until") or (facts.now + UNANSWERED_AFTER).isoformat()
    state = state.at("asked", signs=[sign.value for sign in signs], until=until)
    listed = RaiseAlert(
        facts.me.id,
        AlertLevel.MENTION,
        as_question(signs),
        str(state.answers.get("words", "")),
        holds=False,
        for_other=bool(state.answers.get("for_other")),
    )
    return Turn(state, says=(question(),), changes=(listed,), due_at=_until(state))


def _asked(state: State, event: Event, facts: Facts) -> Turn:
    """Waiting for "now", "earlier" or "no"."""
    signs = _signs(state.answers)
    silence = AlertLevel(state.answers["if_unanswered"])
    open_one = open_question(facts)
    # The alert, or the answer, takes the place of the line on the coach's list.
    closing = () if open_one is None else (CloseAlert(open_one.id),)
    if event.kind is EventKind.DUE:
        return _after(_alarm(state.at("asked", unanswered=True), silence, facts), *closing)
    if event.kind is EventKind.RESUME:
        return Turn(state, says=(question(),), due_at=_until(state))
    answer = event.value if event.kind is EventKind.TAP else _read(event.value, "now earlier no")
    if answer == "now":
        return _after(_alarm(state, silence, facts), *closing)
    if answer == "earlier":
        level = earlier_level(signs, silence, facts.reference.signs)
        return _after(_alarm(state.at("asked", earlier=True), level, facts), *closing)
    if answer == "no":
        said = Say("safety/glad_it_is_not", slot="question", kind=Kind.SAFETY)
        words = str(state.answers.get("words", ""))
        kept = RaiseAlert(facts.me.id, AlertLevel.MENTION, answered(signs), words, holds=False)
        return _beside((said,), (*closing, kept), facts, None)
    if event.kind is EventKind.TEXT and event.value.strip():
        # Not an answer: kept for the coach, and the two minutes go on.
        words = "\n".join(filter(None, (state.answers.get("words", ""), event.value.strip())))
        return Turn(state.at("asked", words=words), says=(question(),), due_at=_until(state))
    return Turn(state, understood=False, due_at=_until(state))


def _alarm(state: State, level: AlertLevel, facts: Facts) -> Turn:
    """The advice, the alert, the hold; then "Have you called?"."""
    signs = _signs(state.answers)
    if level is AlertLevel.MENTION:
        return _mention(state.answers, signs, facts)
    for_other = bool(state.answers.get("for_other"))
    # Whoever writes may be with the client, or be the client: then training is held too.
    perhaps_client = for_other and bool(state.answers.get("perhaps_client"))
    before = None if for_other else episode(facts)
    rules = facts.reference.signs
    advised = in_order(true_now(signs, before.signs if before is not None else ()), rules)
    if before is not None:
        # "Call your doctor today" must not follow "call now" because a milder sign was added.
        level = louder(level.value, before.level.value)
    raised = RaiseAlert(
        facts.me.id,
        level,
        signs,
        str(state.answers.get("words", "")),
        why=_PERHAPS_CLIENT if perhaps_client else state.answers.get("why"),
        holds=(perhaps_client or not for_other)
        and (not signs or any(rules[sign].holds_training for sign in signs)),
        for_other=for_other and not perhaps_client,
    )
    told = _told_state(level, advised)
    due_at = facts.now + OPEN_FOR
    quiet = before is not None and Sign.ABUSE in before.signs and level is before.level
    if quiet and Sign.SELF_HARM not in signs:
        # The coach hears it; the phone at home repeats nothing.
        return Turn(told, says=(_heard(),), changes=(raised,), due_at=due_at)
    says: tuple[Say, ...] = (
        advice(
            level,
            # Words of care go out at once, whatever else is open.
            signs if Sign.SELF_HARM in signs else advised,
            facts.client(facts.me.id),
            rules,
            numbers=state.answers.get("numbers", ()),
            for_other=for_other,
            unanswered=bool(state.answers.get("unanswered")),
            earlier=bool(state.answers.get("earlier")),
        ),
    )
    if state.answers.get("which"):
        told, says = told.at("which"), (*says, which_sign())
    if state.answers.get("asks_unit"):
        told, says = told.at("unit"), (*says, which_unit())
    return Turn(told, says=says, changes=(raised,), due_at=due_at)


_PERHAPS_CLIENT: Mapping[str, Any] = {"group": "coach", "code": "perhaps_client", "numbers": {}}


def _unit(state: State, event: Event, facts: Facts) -> Turn:
    """After the advice on a sugar that is grave in either unit: which unit it was."""
    if event.kind is EventKind.RESUME:
        return Turn(state, says=(which_unit(),), due_at=facts.now + OPEN_FOR)
    said = event.value.casefold().removeprefix("unit=").strip().removesuffix(".")
    if said in ("mmol", "mmol/l", "mg", "mg/dl", "mgdl"):
        low = said.startswith("mg")
        sign = Sign.HYPO if low else Sign.SUGAR_HIGH
        signs = true_now((sign,), _signs(state.answers))
        begun = State(NAME, "asked", {"signs": [one.value for one in signs], "words": ""})
        level = facts.reference.signs[sign].level.value
        level = louder(level, str(state.answers["level"])).value
        return _alarm(begun, AlertLevel(level), facts)
    return _told(state, event, facts)


def _which(state: State, event: Event, facts: Facts) -> Turn:
    """After the advice on the check-in's sign button: which sign, and now or earlier."""
    due_at = facts.now + OPEN_FOR
    if event.kind is EventKind.RESUME:
        return Turn(state.at("which"), says=(which_sign(),), due_at=due_at)
    value = event.value
    if state.step == "which" and event.kind is EventKind.TAP and value.startswith("sign="):
        sign = Sign(value.removeprefix("sign="))
        raised = RaiseAlert(facts.me.id, facts.reference.signs[sign].level, (sign,), holds=True)
        say = Say(
            "safety/now_or_earlier",
            advice_values((sign,), facts.client(facts.me.id)),
            rows=rows_of("when=now when=earlier"),
            slot="which",
            kind=Kind.SAFETY,
        )
        state = state.at("when", signs=[sign.value])
        return Turn(state, says=(say,), changes=(raised,), due_at=due_at)
    if state.step == "when" and value in ("when=now", "when=earlier", "now", "earlier"):
        when = value.removeprefix("when=")
        said = Say("safety/thank_you", {"when": when}, slot="which", kind=Kind.SAFETY)
        why = {"group": "coach", "code": f"it_is_{when}", "numbers": {}}
        signs = answered(_signs(state.answers))
        added: Change = AddWords(facts.me.id, why=why, signs=signs)
        if when == "now" and facts.open_alert(facts.me.id) is None:
            level = facts.reference.signs[signs[0]].level
            added = RaiseAlert(facts.me.id, level, signs, why=why, holds=True)
        return Turn(state.at("told"), says=(said,), changes=(added,), due_at=due_at)
    return _told(state, event, facts)


def _told(state: State, event: Event, facts: Facts) -> Turn:
    """After the advice: has help been called, and more words for the coach."""
    due_at = facts.now + OPEN_FOR
    emergency = state.answers.get("level") == AlertLevel.EMERGENCY
    if event.kind is EventKind.DUE:
        # Words typed from now on are no part of it, but "I can't" stays good.
        return Turn(state, quiet=True)
    if event.kind is EventKind.RESUME:
        return Turn(state, says=call_again(episode(facts)), due_at=due_at)
    answer = event.value
    if event.kind is EventKind.TEXT:
        if command_of(event.value, facts.me.role, facts.reference.commands):
            return not_understood(state)
        answer = _read(event.value, "called cannot") if emergency else ""
    if emergency and answer in ("called", "cannot"):
        return _called(state, answer, facts)
    if event.kind is EventKind.TEXT and event.value.strip():
        signs = answered(_signs(state.answers))
        added = AddWords(facts.me.id, event.value, signs=signs)
        values = {"is_emergency": emergency, "over": facts.open_alert(facts.me.id) is None}
        said = Say("safety/words_passed_on", values, kind=Kind.SAFETY)
        if Sign.ABUSE in _signs(state.answers):
            said = _heard()
        return Turn(state, says=(said,), changes=(added,), due_at=due_at)
    return not_understood(state)


def _called(state: State, answer: str, facts: Facts) -> Turn:
    """ "Yes, I have called", or "I can't": then everybody is told, even if all was over before."""
    changes: list[Change] = []
    if answer == "cannot" and facts.open_alert(facts.me.id) is None:
        raised = RaiseAlert(facts.me.id, AlertLevel.EMERGENCY, _signs(state.answers))
        changes.append(raised)
    changes.append(CallAnswer(facts.me.id, "yes" if answer == "called" else "cannot"))
    template = "safety/good_you_called" if answer == "called" else "safety/cannot_call"
    said = Say(template, {"home": facts.client(facts.me.id).home}, kind=Kind.SAFETY)
    return Turn(state, says=(said,), changes=tuple(changes), due_at=facts.now + OPEN_FOR)


def _mention(args: Mapping[str, Any], signs: Sequence[Sign], facts: Facts) -> Turn:
    """Nothing to chase: the coach's list, and a word to the client."""
    change = RaiseAlert(
        facts.me.id, AlertLevel.MENTION, tuple(signs), str(args.get("words", "")), holds=False
    )
    template = "safety/fever" if Sign.FEVER in signs else "safety/noted"
    return _beside((Say(template),), (change,), facts, None)


def _unread(facts: Facts) -> Turn:
    """A voice note or picture that nobody here can read; the coach gets a message of it."""
    change = RaiseAlert(facts.me.id, AlertLevel.MENTION, (Sign.UNREAD,), holds=False)
    said = Say("safety/unread", kind=Kind.SAFETY)
    return _beside((said,), (change,), facts, open_question(facts))


def _beside(
    says: tuple[Say, ...], changes: tuple[Change, ...], facts: Facts, open_one: Alert | None
) -> Turn:
    """Something smaller was said: an open question or emergency goes on behind it."""
    if open_one is not None:
        rules = facts.reference.signs
        kept = {
            "signs": [sign.value for sign in asked_signs(open_one, rules)],
            "words": own_words(open_one),
            "if_unanswered": question_level(open_one, rules).value,
            "for_other": open_one.for_other,
            "until": deadline(open_one).isoformat(),
        }
        says, due_at = (*says, question()), deadline(open_one)
        return Turn(State(NAME, "asked", kept), says=says, changes=changes, due_at=due_at)
    on = episode(facts)
    if on is None:
        return Turn(None, says=says, changes=changes)
    says = (*says, *call_again(on))
    due_at = facts.now + OPEN_FOR
    return Turn(_told_state(on.level, on.signs), says=says, changes=changes, due_at=due_at)


def _heard() -> Say:
    return Say("safety/heard", kind=Kind.SAFETY)


def _told_state(level: AlertLevel, signs: Sequence[Sign]) -> State:
    return State(NAME, "told", {"level": level.value, "signs": [sign.value for sign in signs]})


def _until(state: State) -> datetime:
    return datetime.fromisoformat(str(state.answers["until"]))


def _after(turn: Turn, *first: Change) -> Turn:
    """The turn with changes that come before its own."""
    return replace(turn, changes=(*first, *turn.changes))


def _signs(args: Mapping[str, Any]) -> tuple[Sign, ...]:
    return tuple(Sign(sign) for sign in args.get("signs", ()))


def _read(text: str, among: str) -> str:
    said = text.strip().casefold().replace("’", "'").replace(",", "").rstrip(".! ")
    return next((name for name in among.split() if said in ANSWERS[name]), "")
