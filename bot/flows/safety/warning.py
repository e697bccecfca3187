"""A warning sign: the advice at once, one question where it is not clear, and the coach told.

Opens by itself on a client's own words, on the check-in's sign button, and when a watch rings.
While it is open, words typed here are added to the alert. Opening it anew ends the one before, so
each begin first looks what is still open: a question without an answer, or an emergency.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import TypedDict

from bot.flows.changes import AddWords, CallAnswer, Change, CloseAlert, RaiseAlert
from bot.flows.commands import command_of
from bot.flows.facts import HELP_TO, Alert, Facts
from bot.flows.machine import (
    Begin,
    Button,
    Event,
    EventKind,
    Say,
    State,
    Turn,
    not_understood,
    rows_of,
)
from bot.flows.parsing import read_answer
from bot.flows.reasons import Reason
from bot.flows.safety.advice import (
    advice,
    advice_values,
    call_again,
    question,
    true_now,
    which_sign,
    which_unit,
)
from bot.flows.safety.answers import (
    Answer,
    answer_to_question,
    asks_for_training,
    call_answer,
    gets_worse,
    is_address,
    is_wrong_button,
    relief_failed,
    says_go_on,
)
from bot.flows.safety.levels import earlier_level, in_order, louder
from bot.flows.safety.open_signs import (
    UNANSWERED_AFTER,
    answered,
    as_question,
    asked_signs,
    deadline,
    episode,
    first_words,
    last_question,
    open_question,
    own_words,
    question_level,
)
from bot.flows.safety.opening import (
    SAFETY,
    Heard,
    Late,
    SafetyOpening,
    at_step,
    opened_with,
)
from bot.flows.safety.shared_phone import TOLD_QUIETLY, of_others, why_told
from bot.flows.safety.signs_first import was_tapped
from bot.flows.safety.treatment import follow_up
from bot.messages import Kind
from core.red_flags.signs import SignRule
from core.vocabulary import AlertLevel, Sign, TextLevel

NAME = SAFETY

OPEN_FOR = timedelta(hours=1)
"""Words typed this long after the advice still belong to the alert."""

SHAKY_THUMB = timedelta(minutes=1)
"""So soon after a sign was tapped the same tap tells nothing new (ours)."""

AGAIN = 1
"""A question that is not understood is put this often in other words."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    if event.kind is EventKind.BEGIN:
        return _begin(opened_with(event.args), facts)
    opening = opened_with(state.answers)
    if state.step == "asked":
        return _asked(opening, event, facts)
    if state.step == "unit":
        return _unit(opening, event, facts)
    if state.step in ("which", "when"):
        return _which(state, opening, event, facts)
    return _told(state, opening, event, facts)


def _begin(opening: SafetyOpening, facts: Facts) -> Turn:
    if opening.unread:
        return _unread(facts)
    if opening.late is not Late.NOTHING:
        return _late(opening, facts)
    open_one = open_question(facts)
    if open_one is None:
        return _opened(opening, facts)
    return _after(
        _opened(_taken_together(opening, open_one, facts), facts), CloseAlert(open_one.id)
    )


def _opened(opening: SafetyOpening, facts: Facts) -> Turn:
    if opening.level is TextLevel.ASK:
        on = facts.open_alert(facts.me.id)
        if on is not None and open_question(facts) is None and _is_known(opening, on):
            return _more_words(_told_opening(on.level, on.signs, facts), opening.words, facts)
        return _put_question(opening, facts)
    if opening.level is TextLevel.NONE:
        return _mention(opening, facts)
    return _alarm(opening, AlertLevel(opening.level.value), facts)


def _is_known(opening: SafetyOpening, on: Alert) -> bool:
    """Whether a yes to this question would say no more than the alert, which nobody has seen."""
    return (
        on.seen_at is None
        and on.for_other == opening.for_other
        and set(answered(opening.signs)) <= set(on.signs)
        and louder(on.level, opening.if_unanswered.value) is on.level
    )


def _taken_together(opening: SafetyOpening, open_one: Alert, facts: Facts) -> SafetyOpening:
    """New words while a question is open: no sign of either is lost, no deadline moves."""
    rules = facts.reference.signs
    silence = question_level(open_one, rules)
    signs = in_order((*opening.signs, *asked_signs(open_one, rules)), rules)
    level = opening.level
    if level in (TextLevel.URGENT, TextLevel.EMERGENCY):
        level = TextLevel(louder(level.value, silence.value).value)
    else:
        silence = louder(opening.if_unanswered.value, silence.value)
        level = TextLevel.ASK
    return replace(
        opening,
        level=level,
        signs=answered(signs) or signs,
        words=_lines(own_words(open_one), opening.words),
        about=_lines(first_words(open_one), opening.words),
        if_unanswered=TextLevel(silence.value),
        for_other=open_one.for_other and opening.for_other,
        until=deadline(open_one),
    )


def _put_question(opening: SafetyOpening, facts: Facts) -> Turn:
    """Ask; what is asked stands on the coach's list meanwhile, so that nothing can lose it."""
    until = opening.until or facts.now + UNANSWERED_AFTER
    opening = replace(opening, until=until)
    listed = RaiseAlert(
        facts.me.id,
        AlertLevel.MENTION,
        as_question(opening.signs),
        opening.words,
        holds=False,
        for_other=opening.for_other,
    )
    asked = question(opening.signs, opening.quoted, tongue=opening.tongue)
    return Turn(at_step("asked", opening), says=(asked,), changes=(listed,), due_at=until)


def _asked(opening: SafetyOpening, event: Event, facts: Facts) -> Turn:
    """Waiting for "now", "earlier" or "no"."""
    open_one = open_question(facts)
    # The alert, or the answer, takes the place of the line on the coach's list.
    closing = () if open_one is None else (CloseAlert(open_one.id),)
    if event.kind is EventKind.DUE:
        heard = Heard.UNCLEAR if opening.tries else Heard.SILENCE
        return _after(_yes(replace(opening, heard=heard), facts), *closing)
    if event.kind is EventKind.RESUME:
        asked = question(opening.signs, opening.quoted, tongue=opening.tongue)
        return Turn(at_step("asked", opening), says=(asked,), due_at=opening.until)
    typed = event.kind is EventKind.TEXT
    text = event.value.strip() if typed else ""
    answer = _answer(opening, event, facts)
    if typed and answer is not Answer.UNCLEAR:
        opening = _with_words(opening, text, answer)
    match answer:
        case Answer.CANNOT:
            return _late(SafetyOpening(late=Late.CANNOT, words=text), facts)
        case Answer.ADDRESS:
            turn = _after(_yes(opening, facts), *closing)
            return replace(turn, changes=(*turn.changes, _send_help_to(text, facts)))
        case Answer.NOW:
            return _after(_yes(opening, facts), *closing)
        case Answer.OTHER:
            other = replace(opening, for_other=True, perhaps_client=False)
            return _after(_yes(other, facts), *closing)
        case Answer.EARLIER:
            return _after(_earlier(opening, facts), *closing)
        case Answer.NO:
            said = Say("safety/glad_it_is_not", slot="question", kind=Kind.SAFETY)
            kept = RaiseAlert(
                facts.me.id, AlertLevel.MENTION, answered(opening.signs), opening.words, holds=False
            )
            if _nothing_is_kept(facts):
                return _beside((_NOT_KEPT,), closing, facts, None)
            return _beside((said,), (*closing, kept), facts, None)
    if text:
        return _not_clear(opening, text, open_one, facts)
    return Turn(at_step("asked", opening), understood=False, due_at=opening.until)


def _answer(opening: SafetyOpening, event: Event, facts: Facts) -> Answer:
    """What was tapped or typed, as an answer."""
    if event.kind is EventKind.TAP:
        known = {one.value: one for one in (Answer.NOW, Answer.EARLIER, Answer.NO, Answer.CANNOT)}
        return known.get(event.value, Answer.UNCLEAR)
    if event.kind is not EventKind.TEXT:
        return Answer.UNCLEAR
    answer = answer_to_question(event.value, facts.reference.safety_answers)
    if answer is not Answer.FINE:
        return answer
    # "I am fine" is what people say: enough only where nothing grave was asked about.
    rules = facts.reference.signs
    grave = opening.if_unanswered is TextLevel.EMERGENCY or any(
        rules[sign].level is AlertLevel.EMERGENCY for sign in answered(opening.signs)
    )
    return Answer.UNCLEAR if grave else Answer.NO


def _with_words(opening: SafetyOpening, text: str, answer: Answer) -> SafetyOpening:
    """An answer in words is kept for the coach; an address has a line of its own."""
    if answer is Answer.ADDRESS:
        return opening
    return replace(opening, words=_lines(opening.words, text), about=opening.quoted)


def _yes(opening: SafetyOpening, facts: Facts) -> Turn:
    """It is happening, or may be: what silence would have made of it."""
    return _alarm(opening, AlertLevel(opening.if_unanswered.value), facts)


def _earlier(opening: SafetyOpening, facts: Facts) -> Turn:
    """It was earlier; after relief that did not help, "earlier" only says when it began."""
    if relief_failed(opening.words, facts.reference.safety_answers):
        return _yes(opening, facts)
    silence = AlertLevel(opening.if_unanswered.value)
    level = earlier_level(opening.signs, silence, facts.reference.signs)
    return _alarm(replace(opening, earlier=True), level, facts)


def _not_clear(opening: SafetyOpening, text: str, open_one: Alert | None, facts: Facts) -> Turn:
    """Not an answer: kept for the coach, asked once more, and the two minutes go on."""
    said = question(opening.signs, opening.quoted, again=True, tongue=opening.tongue)
    if opening.tries >= AGAIN:
        said = Say("safety/no_clear_answer", rows=said.rows, kind=Kind.SAFETY)
    opening = replace(
        opening,
        words=_lines(opening.words, text),
        about=opening.quoted,
        tries=opening.tries + 1,
    )
    kept = () if open_one is None else (AddWords(facts.me.id, text, alert_id=open_one.id),)
    return Turn(at_step("asked", opening), says=(said,), changes=kept, due_at=opening.until)


def _late(opening: SafetyOpening, facts: Facts) -> Turn:
    """Said after the conversation that asked has ended, or beside it."""
    me, on = facts.me.id, facts.open_alert(facts.me.id)
    if opening.late is Late.MORE and on is not None:
        told_of = _told_opening(on.level, on.signs, facts)
        return _typed(at_step("told", told_of), told_of, opening.words, facts)
    open_one = open_question(facts)
    if opening.late is Late.CANNOT and open_one is None:
        signs = on.signs if on is not None else (Sign.UNSURE,)
        told_of = _told_opening(AlertLevel.EMERGENCY, signs, facts)
        return _called(told_of, "cannot", opening.words, facts)
    asked = open_one or last_question(facts)
    rules = facts.reference.signs
    signs = asked_signs(asked, rules) if asked is not None else (Sign.UNSURE,)
    level = question_level(asked, rules) if asked is not None else AlertLevel.EMERGENCY
    known = on is not None and on.seen_at is None and set(signs) <= set(on.signs)
    if open_one is None and on is not None and known and louder(on.level, level) is on.level:
        # A second tap of a shaky thumb: all of it stands on the alert, which is being chased.
        told = at_step("told", _told_opening(on.level, on.signs, facts))
        return Turn(told, says=_still_on(on), due_at=facts.now + OPEN_FOR)
    # After "earlier" the words stand on the alert already.
    before = own_words(asked) if asked is not None and (on is None or open_one) else ""
    begun = SafetyOpening(
        signs=signs,
        words=_lines(before, opening.words),
        for_other=asked is not None and asked.for_other,
    )
    closing = () if open_one is None else (CloseAlert(open_one.id),)
    if opening.late is not Late.CANNOT:
        return _after(_alarm(begun, level, facts), *closing)
    turn = _after(_alarm(begun, AlertLevel.EMERGENCY, facts), *closing)
    cannot = CallAnswer(me, "cannot")
    return replace(turn, says=(*turn.says, _cannot_call(facts)), changes=(*turn.changes, cannot))


def _alarm(opening: SafetyOpening, level: AlertLevel, facts: Facts) -> Turn:
    """The advice, the alert, the hold; then "Have you called?"."""
    signs, for_other = opening.signs, opening.for_other
    if level is AlertLevel.MENTION:
        return _mention(opening, facts)
    words = _not_on_the_alert(opening.words, facts)
    # Whoever writes may be with the client, or be the client: then training is held too.
    perhaps_client = for_other and opening.perhaps_client
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
        words,
        why=_PERHAPS_CLIENT if perhaps_client else why_told(opening),
        holds=(perhaps_client or not for_other)
        and (not signs or any(_holds(rules[sign]) for sign in signs)),
        for_other=for_other and not perhaps_client,
    )
    each = of_others(opening.others, raised)
    told = at_step("told", _told_opening(level, advised, facts))
    due_at = facts.now + OPEN_FOR
    on = facts.open_alert(facts.me.id)
    if on is not None and was_tapped(opening) and _is_said_again(raised, on, facts):
        which = (which_sign(),) if opening.which else ()
        told = told.at("which") if opening.which else told
        return Turn(told, says=(*_still_on(on), *which), due_at=due_at)
    if before is not None and Sign.ABUSE in before.signs and Sign.SELF_HARM not in signs:
        if level is before.level and signs and set(signs) <= set(before.signs):
            # The coach hears it; the phone at home repeats nothing.
            return Turn(told, says=(_heard(),), changes=(raised,), due_at=due_at)
        if not signs or not set(signs) <= TOLD_QUIETLY:
            # A new sign of the body has its first step, without a word of what else is on.
            advised = tuple(sign for sign in advised if sign not in TOLD_QUIETLY)
    body = tuple(sign for sign in advised if sign not in TOLD_QUIETLY)
    if Sign.SELF_HARM in advised and signs and Sign.SELF_HARM not in signs:
        # Words of care answer no chest pain: what is new has its own first step.
        advised = body
    says: tuple[Say, ...] = (
        advice(
            level,
            # Words of care go out at once, whatever else is open.
            signs if Sign.SELF_HARM in signs else advised,
            facts.client(facts.me.id),
            rules,
            numbers=opening.numbers,
            for_other=for_other,
            heard=opening.heard,
            earlier=opening.earlier,
            tongue=opening.tongue,
        ),
    )
    if Sign.SELF_HARM in signs and set(signs) - TOLD_QUIETLY and not for_other:
        # Told in one breath: the body's first step, and the words of care below it.
        record = facts.client(facts.me.id)
        says = (advice(level, body, record, rules, numbers=opening.numbers), *says)
    if each:
        held = {"held": raised.holds}
        says = (*says, Say("safety/shared_phone", held, kind=Kind.SAFETY))
    if opening.which:
        told, says = told.at("which"), (*says, which_sign())
    if opening.asks_unit:
        told, says = told.at("unit"), (*says, which_unit())
    later = () if for_other else _treated(opening, level, before, facts)
    return Turn(told, says=says, changes=(raised, *each), due_at=due_at, begin=later)


def _is_said_again(raised: RaiseAlert, on: Alert, facts: Facts) -> bool:
    """Whether a tapped alarm says what was told a moment ago: a shaky thumb."""
    return (
        on.seen_at is None
        and raised.for_other == on.for_other
        and (facts.hold(facts.me.id) is not None or not raised.holds)
        and set(raised.signs) <= set(on.signs)
        and louder(on.level, raised.level.value) is on.level
        and facts.now - on.newest_sign_at < SHAKY_THUMB
    )


def _treated(
    opening: SafetyOpening, level: AlertLevel, before: Alert | None, facts: Facts
) -> tuple[Begin, ...]:
    """What is taken for the new signs, and asked about later."""
    told_before = before is not None and set(opening.signs) <= set(before.signs)
    record = facts.client(facts.me.id)
    return follow_up(opening.signs, TextLevel(level.value), record, told_before=told_before)


def _holds(rule: SignRule) -> bool:
    """Whether an alarm about a sign pauses training: also one that is only listed as a rule."""
    return rule.holds_training or rule.level is AlertLevel.MENTION


def _not_on_the_alert(words: str, facts: Facts) -> str:
    """The words without those of an open question that stand on the open alert already."""
    on, asked = facts.open_alert(facts.me.id), open_question(facts)
    if on is None or asked is None:
        return words
    there = set(own_words(on).splitlines()) & set(own_words(asked).splitlines())
    return "\n".join(line for line in words.splitlines() if line not in there)


_PERHAPS_CLIENT = Reason("coach", "perhaps_client")


def _unit(opening: SafetyOpening, event: Event, facts: Facts) -> Turn:
    """After the advice on a sugar that is grave in either unit: which unit it was."""
    state = at_step("unit", opening)
    if event.kind is EventKind.RESUME:
        return Turn(state, says=(which_unit(),), due_at=facts.now + OPEN_FOR)
    unit = event.value.removeprefix("unit=")
    if event.kind is EventKind.TEXT:
        unit = read_answer(event.value, facts.reference.answers["sugar_unit"])
    if unit in ("mmol", "mg"):
        low = unit == "mg"
        sign = Sign.HYPO if low else Sign.SUGAR_HIGH
        level = louder(facts.reference.signs[sign].level.value, opening.level.value)
        return _alarm(SafetyOpening(signs=true_now((sign,), opening.signs)), level, facts)
    return _told(state, opening, event, facts)


def _which(state: State, opening: SafetyOpening, event: Event, facts: Facts) -> Turn:
    """After the advice on the check-in's sign button: which sign, and now or earlier."""
    due_at = facts.now + OPEN_FOR
    if event.kind is EventKind.RESUME:
        return Turn(state.at("which"), says=(which_sign(),), due_at=due_at)
    value = event.value
    if state.step == "when" and event.kind is EventKind.TEXT:
        value = answer_to_question(value, facts.reference.safety_answers).value
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
        when = at_step("when", replace(opening, signs=(sign,)))
        return Turn(when, says=(say,), changes=(raised,), due_at=due_at)
    if state.step == "when" and value in ("when=now", "when=earlier", "now", "earlier"):
        when_told = value.removeprefix("when=")
        said = Say("safety/thank_you", {"when": when_told}, slot="which", kind=Kind.SAFETY)
        why = Reason("coach", f"it_is_{when_told}")
        signs = answered(opening.signs)
        added: Change = AddWords(facts.me.id, why=why, signs=signs)
        if when_told == "now" and facts.open_alert(facts.me.id) is None:
            level = facts.reference.signs[signs[0]].level
            added = RaiseAlert(facts.me.id, level, signs, why=why, holds=True)
        return Turn(at_step("told", opening), says=(said,), changes=(added,), due_at=due_at)
    return _told(state, opening, event, facts)


def _told(state: State, opening: SafetyOpening, event: Event, facts: Facts) -> Turn:
    """After the advice: has help been called, and more words for the coach."""
    due_at = facts.now + OPEN_FOR
    emergency = opening.level is TextLevel.EMERGENCY
    if event.kind is EventKind.DUE:
        if facts.open_alert(facts.me.id) is None:
            return Turn(None)
        # Words typed from now on are no part of it, but "I can't" stays good; what it came between
        # waits until the alert is closed.
        return Turn(state, quiet=True, due_at=due_at)
    if event.kind is EventKind.RESUME:
        return Turn(state, says=call_again(episode(facts)), due_at=due_at)
    if event.kind is EventKind.TEXT:
        return _typed(state, opening, event.value, facts)
    if event.value == "cannot" or (emergency and event.value == "called"):
        return _called(opening, event.value, "", facts)
    if event.value in ("now", "when=now"):
        return _late(SafetyOpening(late=Late.NOW), facts)
    return not_understood(state)


def _typed(state: State, opening: SafetyOpening, text: str, facts: Facts) -> Turn:
    """Words typed after the advice."""
    words, due_at = facts.reference.safety_answers, facts.now + OPEN_FOR
    if opening.level is TextLevel.EMERGENCY and call_answer(text, words):
        return _called(opening, call_answer(text, words), text.strip(), facts)
    if says_go_on(text, words):
        return Turn(state, quiet=True, resumes=True)
    asks = command_of(text, facts.me.role, facts.reference.commands) is not None
    if (asks and not is_wrong_button(text, words)) or not text.strip():
        return not_understood(state)
    if asks_for_training(text, words):
        return Turn(state, begin=(Begin("today"),), due_at=due_at)
    return _more_words(opening, text.strip(), facts)


def _more_words(opening: SafetyOpening, text: str, facts: Facts) -> Turn:
    """More for the coach, and one calm line; where no help is waited for, the rest goes on."""
    words, emergency = facts.reference.safety_answers, opening.level is TextLevel.EMERGENCY
    over = facts.open_alert(facts.me.id) is None
    signs = answered(opening.signs)
    added = AddWords(facts.me.id, text, signs=signs, gets_worse=gets_worse(text, words))
    if is_address(text, words):
        added = replace(_send_help_to(text, facts), signs=signs)
    template = "words_passed_on"
    if is_wrong_button(text, words) and not over:
        template = "wrong_button"
    said = Say(f"safety/{template}", {"is_emergency": emergency, "over": over})
    if Sign.ABUSE in opening.signs:
        said = _heard()
    return Turn(
        at_step("told", opening),
        says=(said,),
        changes=(added,),
        # Once the rest goes on there is nothing left to bring back.
        due_at=facts.now + OPEN_FOR if emergency else None,
        quiet=not emergency,
        resumes=not emergency,
    )


def _send_help_to(text: str, facts: Facts) -> AddWords:
    """An address for whoever sends help."""
    why = Reason("coach", HELP_TO, {"address": text})
    return AddWords(facts.me.id, why=why)


def _called(opening: SafetyOpening, answer: str, words: str, facts: Facts) -> Turn:
    """ "Yes, I have called", or "I can't": then everybody is told, even if all was over before.

    Args:
        words: the answer as typed, "" where it was tapped.
    """
    me, on = facts.me.id, facts.open_alert(facts.me.id)
    told: tuple[Change, ...] = (AddWords(me, words),) if words and on is not None else ()
    said = Say("safety/good_you_called", _where_help_goes(facts), kind=Kind.SAFETY)
    if answer == "called":
        told = (*told, CallAnswer(me, "yes"))
    else:
        if on is None or on.level is not AlertLevel.EMERGENCY:
            signs = answered(opening.signs)
            told = (RaiseAlert(me, AlertLevel.EMERGENCY, signs, words),)
        again = on is not None and on.called == "cannot" and on.seen_at is None
        said = _cannot_call(facts, again=again)
        if not again:
            # Else it is being chased, every two minutes until it is seen.
            told = (*told, CallAnswer(me, "cannot"))
    due_at = facts.now + OPEN_FOR
    # A second tap, from an older message, knows no signs of its own: those of the alert stay.
    signs = opening.signs or (on.signs if on is not None else ()) or (Sign.UNSURE,)
    kept = replace(opening, signs=signs)
    return Turn(at_step("told", kept), says=(said,), changes=told, due_at=due_at)


def _cannot_call(facts: Facts, *, again: bool = False) -> Say:
    values = {**_where_help_goes(facts), "again": again}
    return Say("safety/cannot_call", values, kind=Kind.SAFETY)


class WhereHelpGoes(TypedDict):
    """The address told with the alert, else the one on record, and what help is for."""

    home: str
    signs: list[str]


def _where_help_goes(facts: Facts) -> WhereHelpGoes:
    on = facts.open_alert(facts.me.id)
    told = on.help_to if on is not None else ""
    signs = [sign.value for sign in on.signs] if on is not None else []
    return {"home": told or facts.client(facts.me.id).home, "signs": signs}


def _mention(opening: SafetyOpening, facts: Facts) -> Turn:
    """Nothing to chase: the coach's list, and a word to the client."""
    if _nothing_is_kept(facts):
        return _beside((_NOT_KEPT,), (), facts, None)
    change = RaiseAlert(facts.me.id, AlertLevel.MENTION, opening.signs, opening.words, holds=False)
    on = episode(facts)
    if on is not None:
        # Nothing milder stands below its advice.
        told = at_step("told", _told_opening(on.level, on.signs, facts))
        return Turn(told, says=_still_on(on), changes=(change,), due_at=facts.now + OPEN_FOR)
    fever = Sign.FEVER in opening.signs
    # What was told by mistake is taken back by one answer, not by the whole check-in.
    rows = (
        ((Button("change", handler="open", ref="changeanswer"),),)
        if fever and _has_checked_in(facts)
        else ()
    )
    said = Say("safety/fever" if fever else "safety/noted", rows=rows)
    return _beside((said,), (change,), facts, None)


def _has_checked_in(facts: Facts) -> bool:
    record = facts.client(facts.me.id)
    checkin = facts.checkin(record.id, record.person.local(facts.now).date())
    return checkin is not None and checkin.finished


_NOT_KEPT = Say("safety/not_kept", kind=Kind.SAFETY)


def _nothing_is_kept(facts: Facts) -> bool:
    """Whether a line on the coach's list would be erased at once: so it must not be promised."""
    return facts.client(facts.me.id).erasing and facts.open_alert(facts.me.id) is None


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
        kept = SafetyOpening(
            level=TextLevel.ASK,
            signs=asked_signs(open_one, rules),
            words=own_words(open_one),
            about=first_words(open_one),
            if_unanswered=TextLevel(question_level(open_one, rules).value),
            for_other=open_one.for_other,
            until=deadline(open_one),
        )
        says = (*says, question(kept.signs, kept.quoted))
        return Turn(at_step("asked", kept), says=says, changes=changes, due_at=kept.until)
    on = episode(facts)
    if on is None:
        return Turn(None, says=says, changes=changes)
    says = (*says, *call_again(on))
    due_at = facts.now + OPEN_FOR
    told = at_step("told", _told_opening(on.level, on.signs, facts))
    return Turn(told, says=says, changes=changes, due_at=due_at)


def _still_on(on: Alert) -> tuple[Say, ...]:
    """An alarm that says nothing new: "Have you called?", or that it goes on."""
    if Sign.ABUSE in on.signs:
        return (_heard(),)
    return call_again(on) or (Say("safety/still_on", kind=Kind.SAFETY),)


def _heard() -> Say:
    return Say("safety/heard", kind=Kind.SAFETY)


def _told_opening(level: AlertLevel, signs: Sequence[Sign], facts: Facts) -> SafetyOpening:
    """What is kept after the advice: all that the open alert is about, however old it is."""
    on = facts.open_alert(facts.me.id)
    known = (*(on.signs if on is not None else ()), *signs)
    ordered = in_order(known, facts.reference.signs)
    loudest = level if on is None else louder(level.value, on.level.value)
    return SafetyOpening(level=TextLevel(loudest.value), signs=ordered)


def _after(turn: Turn, *first: Change) -> Turn:
    """The turn with changes that come before its own."""
    return replace(turn, changes=(*first, *turn.changes))


def _lines(*told: str) -> str:
    """Messages under each other."""
    return "\n".join(filter(None, told))
