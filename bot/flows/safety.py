"""A warning sign: the advice at once, one question where it is not clear, and the coach told.

Opens by itself on a client's own words, on the check-in's sign button, and when a watch rings.
While it is open, words typed here are added to the alert.
"""

from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Any

from bot.flows.changes import AddWords, CallAnswer, Change, RaiseAlert
from bot.flows.commands import command_of
from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import Button, Event, EventKind, Say, State, Turn, not_understood, rows_of
from bot.messages import Kind
from core.red_flags.signs import SignRule
from core.vocabulary import AlertLevel, Condition, Sign, TextLevel

NAME = "safety"

UNANSWERED_AFTER = timedelta(minutes=2)
"""No answer to "Is this happening now?" for this long counts as yes."""

OPEN_FOR = timedelta(hours=1)
"""Words typed this long after the advice still belong to the alert."""

TAPPED_SIGNS = (
    Sign.CHEST_PAIN,
    Sign.BREATHLESS_REST,
    Sign.FAINT,
    Sign.DIZZINESS,
    Sign.PALPITATIONS,
    Sign.STROKE,
)
"""What the check-in's sign button stands for, most dangerous first."""

PLAN_CONDITIONS = (Condition.ANGINA, Condition.ASTHMA, Condition.HEART, Condition.LUNG)

ANSWERS: Mapping[str, tuple[str, ...]] = {
    "now": ("now", "yes", "y", "yes now", "it is", "still", "yeah", "yep"),
    "earlier": ("earlier", "before", "it was", "gone", "it has gone"),
    "no": ("no", "n", "nope", "not me", "no it is not"),
    "called": ("yes", "y", "i have", "called", "yes i have", "done"),
    "cannot": ("no", "n", "i can't", "i cant", "cannot", "can't", "cant"),
}


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    if event.kind is EventKind.BEGIN:
        return _begin(state, dict(event.args), facts)
    if state.step == "asked":
        return _asked(state, event, facts)
    if state.step in ("which", "when"):
        return _which(state, event, facts)
    return _told(state, event, facts)


def _begin(state: State, args: dict[str, Any], facts: Facts) -> Turn:
    state = State(NAME, "asked", args)
    if args.get("unread"):
        return _unread(facts)
    level = TextLevel(args["level"])
    signs = _signs(args)
    if level is TextLevel.ASK:
        asked = Say(
            "safety/is_it_now",
            {"signs": [sign.value for sign in signs]},
            rows=rows_of("now", "earlier", "no"),
            slot="question",
            kind=Kind.SAFETY,
        )
        return Turn(state, says=(asked,), due_at=facts.now + UNANSWERED_AFTER)
    if level is TextLevel.NONE:
        return _mention(args, signs, facts)
    return _alarm(state, AlertLevel(level.value), signs, facts)


def _asked(state: State, event: Event, facts: Facts) -> Turn:
    """Waiting for "now", "earlier" or "no"."""
    signs = _signs(state.answers)
    due_at = facts.now + UNANSWERED_AFTER
    if event.kind is EventKind.DUE:
        level = AlertLevel(state.answers["if_unanswered"])
        return _alarm(state.at("asked", unanswered=True), level, signs, facts)
    answer = event.value if event.kind is EventKind.TAP else _read(event.value, "now earlier no")
    if event.kind is EventKind.RESUME or not answer:
        again = Say(
            "safety/is_it_now",
            {"signs": [sign.value for sign in signs]},
            rows=rows_of("now", "earlier", "no"),
            slot="question",
            kind=Kind.SAFETY,
        )
        return Turn(state, says=(again,), due_at=due_at)
    if answer == "now":
        return _alarm(state, AlertLevel(state.answers["if_unanswered"]), signs, facts)
    if answer == "earlier":
        level = _earlier_level(signs, state.answers, facts)
        return _alarm(state.at("asked", earlier=True), level, signs, facts)
    if answer == "no":
        change = RaiseAlert(
            facts.me.id, AlertLevel.MENTION, signs, str(state.answers.get("words", "")), holds=False
        )
        said = Say("safety/glad_it_is_not", slot="question", kind=Kind.SAFETY)
        return Turn(None, says=(said,), changes=(change,))
    return not_understood(state)


def _alarm(state: State, level: AlertLevel, signs: Sequence[Sign], facts: Facts) -> Turn:
    """The advice, the alert, the hold; then "Have you called?"."""
    record = facts.client(facts.me.id)
    if level is AlertLevel.MENTION:
        return _mention(dict(state.answers), tuple(signs), facts)
    for_other = bool(state.answers.get("for_other"))
    rules = [facts.reference.signs[sign] for sign in signs]
    words = str(state.answers.get("words", ""))
    raised = RaiseAlert(
        facts.me.id,
        level,
        tuple(signs),
        words,
        why=state.answers.get("why"),
        holds=not for_other and (not rules or any(rule.holds_training for rule in rules)),
        for_other=for_other,
    )
    emergency = level is AlertLevel.EMERGENCY
    asks_call = emergency and Sign.ABUSE not in signs
    advice = Say(
        _advice_template(signs, level, for_other=for_other),
        {
            **_advice_values(signs, rules, record),
            "unanswered": bool(state.answers.get("unanswered")),
            "earlier": bool(state.answers.get("earlier")),
            "coach_told": True,
        },
        rows=rows_of("called", "cannot") if asks_call else (),
        kind=Kind.SAFETY,
    )
    told = State(NAME, "told", {"level": level.value, "signs": [sign.value for sign in signs]})
    says: tuple[Say, ...] = (advice,)
    if state.answers.get("which"):
        told = told.at("which")
        says = (advice, _ask_which())
    return Turn(told, says=says, changes=(raised,), due_at=facts.now + OPEN_FOR)


def _ask_which() -> Say:
    return Say(
        "safety/which_sign",
        rows=tuple((Button(f"sign={sign.value}"),) for sign in TAPPED_SIGNS),
        slot="which",
        kind=Kind.SAFETY,
    )


def _which(state: State, event: Event, facts: Facts) -> Turn:
    """After the advice on the check-in's sign button: which sign, and now or earlier."""
    due_at = facts.now + OPEN_FOR
    if event.kind is EventKind.RESUME:
        return Turn(state, says=(_ask_which(),), due_at=due_at)
    value = event.value
    if state.step == "which" and event.kind is EventKind.TAP and value.startswith("sign="):
        sign = Sign(value.removeprefix("sign="))
        raised = RaiseAlert(facts.me.id, facts.reference.signs[sign].level, (sign,), holds=True)
        say = Say(
            "safety/now_or_earlier",
            {"signs": [sign.value]},
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
        added = AddWords(facts.me.id, why=why)
        return Turn(state.at("told"), says=(said,), changes=(added,), due_at=due_at)
    return _told(state, event, facts)


def _told(state: State, event: Event, facts: Facts) -> Turn:
    """After the advice: has help been called, and more words for the coach."""
    due_at = facts.now + OPEN_FOR
    if event.kind is EventKind.DUE:
        return Turn(None)
    if event.kind is EventKind.RESUME:
        return Turn(state, due_at=due_at)
    emergency = state.answers.get("level") == AlertLevel.EMERGENCY
    answer = event.value
    if event.kind is EventKind.TEXT:
        if command_of(event.value, facts.me.role, facts.reference.commands):
            return not_understood(state)
        answer = _read(event.value, "called cannot") if emergency else ""
    if emergency and answer in ("called", "cannot"):
        changes: tuple[Change, ...] = (
            CallAnswer(facts.me.id, "yes" if answer == "called" else "cannot"),
        )
        record = facts.client(facts.me.id)
        template = "safety/good_you_called" if answer == "called" else "safety/cannot_call"
        said = Say(template, {"home": record.home}, kind=Kind.SAFETY)
        return Turn(state, says=(said,), changes=changes, due_at=due_at)
    if event.kind is EventKind.TEXT and event.value.strip():
        added = AddWords(facts.me.id, event.value)
        said = Say("safety/words_passed_on", {"is_emergency": emergency}, kind=Kind.SAFETY)
        return Turn(state, says=(said,), changes=(added,), due_at=due_at)
    return not_understood(state)


def _mention(args: Mapping[str, Any], signs: Sequence[Sign], facts: Facts) -> Turn:
    """Nothing to chase: the coach's list, and a word to the client."""
    change = RaiseAlert(
        facts.me.id, AlertLevel.MENTION, tuple(signs), str(args.get("words", "")), holds=False
    )
    template = "safety/fever" if Sign.FEVER in signs else "safety/noted"
    return Turn(None, says=(Say(template, {"signs": list(signs)}),), changes=(change,))


def _unread(facts: Facts) -> Turn:
    """A voice note or picture that nobody here can read."""
    change = RaiseAlert(facts.me.id, AlertLevel.MENTION, (Sign.UNREAD,), holds=False)
    return Turn(None, says=(Say("safety/unread", kind=Kind.SAFETY),), changes=(change,))


def _advice_template(signs: Sequence[Sign], level: AlertLevel, *, for_other: bool) -> str:
    if Sign.SELF_HARM in signs:
        return "safety/care"
    if Sign.ABUSE in signs:
        return "safety/safe_at_home"
    if for_other:
        return "safety/emergency_other"
    return f"safety/{level}"


def _advice_values(
    signs: Sequence[Sign], rules: Sequence[SignRule], record: ClientRecord
) -> dict[str, Any]:
    has_plan = record.doctor_plan and record.client.conditions & set(PLAN_CONDITIONS)
    return {
        "signs": [sign.value for sign in signs],
        "actions": [rule.first_action.value for rule in rules],
        "plan": record.doctor_plan if has_plan else "",
        "diabetic": Condition.DIABETES in record.client.conditions,
    }


def _earlier_level(signs: Sequence[Sign], answers: Mapping[str, Any], facts: Facts) -> AlertLevel:
    """What the worst sign becomes when it happened earlier and not now."""
    if not signs:
        return AlertLevel(answers["if_unanswered"])
    levels = [facts.reference.signs[sign].earlier_level for sign in signs]
    order = (AlertLevel.EMERGENCY, AlertLevel.URGENT, AlertLevel.MENTION)
    return next(level for level in order if level in levels)


def _signs(args: Mapping[str, Any]) -> tuple[Sign, ...]:
    return tuple(Sign(sign) for sign in args.get("signs", ()))


def _read(text: str, among: str) -> str:
    said = text.strip().casefold().rstrip(".!")
    return next((name for name in among.split() if said in ANSWERS[name]), "")
