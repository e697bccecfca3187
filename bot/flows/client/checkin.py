"""The morning check-in: one message edited in place, six taps on a good day.

Warning signs come first. Answers are kept with each tap; a finished check-in can be changed the
same day, and what follows is worked out again.
"""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from bot.flows.changes import Change, RaiseAlert, SaveCheckin
from bot.flows.client.checkin_result import SLOT, finish, show_result
from bot.flows.client.told_numbers import kept_of
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Button, Event, EventKind, Rows, Say, State, Turn
from bot.flows.record.planning import Gate, training_status
from bot.messages import Kind
from core.dose.family_record import waits_for_settling
from core.readiness.morning_questions import (
    AnswerValue,
    Morning,
    MorningQuestion,
    PainPlace,
    Trouble,
    choices,
    may_skip,
    next_question,
    questions,
    read_answer,
)
from core.readiness.scales import UnusableAnswer, UnusableReason
from core.vocabulary import AlertLevel, Sign, TextLevel

NAME = "checkin"
SOMETHING = "something"
"""Key of the client's own words about "something else"; the rules do not read it."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    if event.kind is EventKind.BEGIN:
        return _begin(event, facts)
    on = date.fromisoformat(str(state.answers["on"]))
    if on != facts.me.local(facts.now).date():
        # Yesterday's question cannot be answered today; today's check-in takes its place.
        return Turn(None, begin=(Begin(NAME),))
    if event.kind is EventKind.DUE:
        return Turn(state)
    if event.kind is EventKind.RESUME:
        return _ask(state, facts)
    return _answer(state, event, facts)


def _begin(event: Event, facts: Facts) -> Turn:
    place = training_status(facts)
    if place.gate is Gate.NOT_JOINED:
        return Turn(None, begin=(Begin("join"),))
    if place.gate in (Gate.NOT_CLEARED, Gate.CLEARANCE_OVER, Gate.ON_HOLD, Gate.ALERT_OPEN):
        return Turn(None, says=(Say("today/closed", {"gate": place.gate.value}),))
    kept = dict(place.checkin.answers) if place.checkin else {}
    state = State(NAME, "asking", {"on": place.today.isoformat(), "given": kept})
    if place.checkin is not None and place.checkin.finished and not event.args.get("change"):
        return show_result(state, facts)
    if event.args.get("change"):
        state = state.at("asking", given={})
    return _ask(
        state,
        facts,
        prompt=bool(event.args.get("prompt")),
        reminder=bool(event.args.get("reminder")),
    )


def _ask(
    state: State,
    facts: Facts,
    *,
    prompt: bool = False,
    reminder: bool = False,
    reask: UnusableAnswer | None = None,
    changes: tuple[Change, ...] = (),
) -> Turn:
    """Put the next question, in the same message."""
    record = facts.client(facts.me.id)
    given = _given(state)
    yesterday = _yesterday(state, facts)
    on = date.fromisoformat(str(state.answers["on"]))
    hurt = waits_for_settling(facts.history(facts.me.id).pains, on)
    whole = questions(record.client, given, yesterday, hurt_lately=hurt)
    if state.step == "words":
        question_name = "something_else"
        rows: Rows = ((Button("skip"),), (Button("back"),))
        number = 1
    else:
        question = next_question(record.client, given, yesterday, hurt_lately=hurt)
        if question is None:
            return finish(state, facts, changes)
        question_name = question.value
        rows = _rows(question, first=not given)
        number = whole.index(question) + 1
        state = state.at("asking", question=question_name)
    say = Say(
        f"checkin/ask_{question_name}",
        {
            "prompt": prompt,
            "reminder": reminder,
            "number": number,
            "of": len(whole),
            "reask": reask.reason.value if reask else "",
            "numbers": list(reask.numbers) if reask else [],
            "unit": record.client.limits.glucose_unit,
        },
        rows=rows,
        slot=SLOT,
        kind=Kind.PROMPT if prompt or reminder else Kind.REPLY,
    )
    return Turn(state, says=(say,), changes=changes)


def _answer(state: State, event: Event, facts: Facts) -> Turn:
    value = event.value.strip()
    before = facts.checkin(facts.me.id, date.fromisoformat(str(state.answers["on"])))
    # A number told in free words meanwhile is an answer too.
    given = {**(kept_of(before.answers) if before else {}), **_given(state)}
    if event.kind is EventKind.TAP and value == "change":
        return Turn(None, begin=(Begin(NAME, {"change": True}),))
    if event.kind is EventKind.TAP and value == "back":
        return _back(state, given, facts)
    if state.step == "words":
        return _own_words(state, event, given, facts)
    if state.step != "asking" or "question" not in state.answers:
        return Turn(state, understood=False)
    question = MorningQuestion(state.answers["question"])
    if event.kind is EventKind.TAP:
        asked, _, value = value.partition("=")
        if asked != question.value:
            return _tapped_earlier(state, asked, value, facts)
    return _take(state, question, value, given, facts, typed=event.kind is not EventKind.TAP)


def _take(
    state: State,
    question: MorningQuestion,
    value: str,
    given: dict[str, Any],
    facts: Facts,
    *,
    typed: bool,
) -> Turn:
    record = facts.client(facts.me.id)
    answer: AnswerValue | UnusableAnswer
    if value.casefold() == "skip" and may_skip(question):
        answer = None
    else:
        confirmed = state.answers.get("confirm") == question.value
        answer = read_answer(question, value, record.client, confirmed=confirmed)
    if isinstance(answer, UnusableAnswer):
        if typed and choices(question):
            return Turn(state, understood=False)
        # Only a doubt about the unit is settled by saying the same again.
        doubted = question.value if answer.reason is UnusableReason.OTHER_UNIT else ""
        return _ask(state.at("asking", confirm=doubted), facts, reask=answer)
    given[question.value] = answer
    state = state.at("asking", given=given)
    on = date.fromisoformat(state.answers["on"])
    # Each answer is kept at once: whatever comes between, the check-in goes on from here.
    asked_signs = question is MorningQuestion.TROUBLE
    before = facts.checkin(record.id, on)
    # While a finished one is being changed, what was not asked again yet stays as it was.
    whole = {**before.answers, **given} if before is not None and before.finished else given
    saved: tuple[Change, ...] = (SaveCheckin(record.id, on, whole, signs_asked=asked_signs),)
    if question is MorningQuestion.TROUBLE:
        if answer == Trouble.WARNING_SIGN:
            return _sign_tapped(on, given, saved, facts)
        if answer == Trouble.SOMETHING_ELSE:
            return _ask(state.at("words"), facts, changes=saved)
    if question is MorningQuestion.PAIN_PLACE and answer == PainPlace.CHEST:
        return _sign_tapped(on, given, saved, facts, sign=Sign.CHEST_PAIN)
    return _ask(state, facts, changes=saved)


def _tapped_earlier(state: State, asked: str, value: str, facts: Facts) -> Turn:
    """A second tap on a question that was answered already (a slow network): change it."""
    given = dict(_given(state))
    if asked not in given:
        return Turn(state, understood=False)
    return _take(state, MorningQuestion(asked), value, given, facts, typed=False)


def _own_words(state: State, event: Event, given: dict[str, Any], facts: Facts) -> Turn:
    """ "Something else", in the client's words: for the coach's list; then the questions go on."""
    changes: tuple[Change, ...] = ()
    if event.kind is EventKind.TEXT and event.value.strip():
        given[SOMETHING] = event.value.strip()
        changes = (
            RaiseAlert(facts.me.id, AlertLevel.MENTION, (), event.value.strip(), holds=False),
        )
    elif event.value != "skip":
        return Turn(state, understood=False)
    return _ask(state.at("asking", given=given), facts, changes=changes)


def _sign_tapped(
    on: date,
    given: Mapping[str, Any],
    saved: tuple[Change, ...],
    facts: Facts,
    sign: Sign | None = None,
) -> Turn:
    """A warning sign: the emergency reply comes at once, questions after it."""
    changes = saved or (SaveCheckin(facts.me.id, on, given, signs_asked=True),)
    args = {
        "level": TextLevel.EMERGENCY.value,
        "if_unanswered": TextLevel.EMERGENCY.value,
        "signs": [sign.value] if sign else [],
        "words": "",
        "which": sign is None,
    }
    return Turn(None, changes=changes, begin=(Begin("safety", args),))


def _back(state: State, given: dict[str, Any], facts: Facts) -> Turn:
    if state.step == "words":
        given.pop(MorningQuestion.TROUBLE.value, None)
        return _ask(state.at("asking", given=given), facts)
    if given:
        given.pop(list(given)[-1])
        given.pop(SOMETHING, None)
    return _ask(state.at("asking", given=given), facts)


def _yesterday(state: State, facts: Facts) -> Morning | None:
    """The morning before this one, if it was answered."""
    before = date.fromisoformat(str(state.answers["on"])) - timedelta(days=1)
    return next((one for one in facts.mornings(facts.me.id) if one.on == before), None)


def _given(state: State) -> dict[Any, Any]:
    given: dict[Any, Any] = dict(state.answers.get("given", {}))
    return given


def _rows(question: MorningQuestion, *, first: bool) -> Rows:
    """One answer a row, so that thumbs find them; numbers of pain in rows of four."""
    values = choices(question)
    buttons = tuple(Button(f"{question.value}={value}") for value in values)
    width = (
        4
        if question is MorningQuestion.PAIN_LEVEL
        else 2
        if question is MorningQuestion.PAIN_PLACE
        else 1
    )
    rows = [buttons[start : start + width] for start in range(0, len(buttons), width)]
    if may_skip(question) and not values:
        rows.append((Button(f"{question.value}=skip"),))
    if not first:
        rows.append((Button("back"),))
    return tuple(rows)
