"""Something is wrong: which of a few things it is, and what follows from each."""

from dataclasses import replace
from datetime import datetime, timedelta

from bot.flows.changes import LogPain, RaiseAlert
from bot.flows.client.hurting import (
    CHEST,
    LEVELS,
    PLACES,
    alarm_of,
    chest_pain,
    names_only_a_place,
    report_of,
    spared,
    told_where,
)
from bot.flows.client.told_numbers import fever_told, rests_now
from bot.flows.commands import screen_named
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Event, EventKind, Say, State, Turn, pressed, rows_of
from bot.flows.reasons import Reason
from bot.flows.record.planning import Gate, training_status
from bot.flows.record.said_unwell import ANEW, FLOW, THEN
from bot.flows.record.told_to_coach import told_pain
from bot.flows.safety.signs_first import told_of_a_sign
from bot.messages import Kind
from core.dose.history import PainTold
from core.readiness.pain_rule import pain_rule
from core.readiness.scales import PAIN, UnusableAnswer, parse_number
from core.red_flags.reading import Reading
from core.vocabulary import AlertLevel, PersonId, Sign

NAME = FLOW
ONE_SCREEN = True
"""Its buttons do not say what they answer: only those of the newest screen count."""
SLOT = "feeling"
TELL_AFTER = timedelta(minutes=5)
"""As when a silent session is asked about (:mod:`bot.schedule.due`)."""

WATCHED = "watched"
SINCE = "since"
"""When something was said to be wrong; "" where no silence is watched."""

ASKED = "asked"
"""Whether somebody who fell silent has been asked once more."""

STILL = "still"
"""Asked once more: is all well?"""

UNANSWERED = "unanswered"
"""Silence outside a session or walk: asked about once more, and then told to the coach."""

CHECKIN = "checkin"
"""The check-in's conversation (:mod:`bot.flows.client.checkin`)."""

STOPPED = "stopped"
ASK_AGAIN_AFTER = timedelta(minutes=10)
"""As a running session is asked about (ours)."""


def said_on_the_way() -> Begin:
    """Something is wrong, told in the middle of a session, a walk, a hold or a test.

    That tap has ended the watch over it, so the silence after it is watched here.
    """
    return Begin(NAME, {WATCHED: True})


def stopped_on_the_way(client_id: PersonId, doing: str) -> Begin:
    """Training was paused by somebody else in the middle of a session, a walk or a test.

    That has ended the watch over it, and nobody has been heard: it goes on here.

    Args:
        doing: one of :meth:`bot.flows.facts.Facts.watched`.
    """
    return Begin(NAME, {WATCHED: True, STOPPED: doing}, person=client_id)


def untold(client_id: PersonId, facts: Facts) -> tuple[RaiseAlert, ...]:
    """What silence would raise, for somebody who leaves before it is told what is wrong."""
    if not facts.says_unwell(client_id):
        return ()
    why = Reason("coach", "something_wrong_left")
    sign = Sign.SILENT_SESSION if facts.watched(client_id) else Sign.UNSURE
    return (RaiseAlert(client_id, AlertLevel.URGENT, (sign,), why=why, holds=False),)


def is_watched(state: State) -> bool:
    """Whether silence here is told to the coach."""
    return state.flow == NAME and bool(state.answers.get(SINCE))


def tells_what_was_asked(state: State, text: str, reading: Reading, facts: Facts) -> bool:
    """A place is the answer where a place is asked for (see :class:`AsksOfHealth`)."""
    return state.step == "where" and names_only_a_place(text, reading, facts)


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    if event.kind is EventKind.BEGIN:
        since = facts.now.isoformat()
        watched = bool(event.args.get(WATCHED))
        state = state.at(state.step, **({SINCE: since} if watched else {UNANSWERED: since}))
        if event.args.get(ANEW):
            state = state.at(state.step, **{ANEW: True, THEN: str(event.args.get(THEN, ""))})
    if event.kind is EventKind.DUE:
        return _silent(state, facts)
    turn = _step(state, event, facts)
    if turn.state is None and turn.understood and not turn.begin:
        return replace(turn, begin=_what_waited(state, facts))
    if turn.state is None or not turn.understood or not waits_for_word(turn.state):
        return turn
    # Until all is answered, each sign of life starts the watch anew.
    unasked = (turn.state.step == STOPPED or not is_watched(turn.state)) and not _asked(turn.state)
    return replace(turn, due_at=facts.now + (ASK_AGAIN_AFTER if unasked else TELL_AFTER))


def _what_waited(state: State, facts: Facts) -> tuple[Begin, ...]:
    """It is told what is wrong, and it is nothing loud: today's check-in, where it had to wait.

    It is the one question that is put of our own accord on a day, so it would not come again.
    """
    on = facts.me.local(facts.now).date()
    before = facts.checkin(facts.me.id, on)
    is_done = before is not None and before.finished
    paused = facts.open_alert(facts.me.id) is not None or facts.hold(facts.me.id) is not None
    return () if is_done or paused or not state.answers.get(THEN) else (Begin(CHECKIN),)


def waited_for(state: State) -> str:
    """The conversation that was asked for before it was told what is wrong; "" for none."""
    return str(state.answers.get(THEN, "")) if state.flow == NAME else ""


def waits_for_word(state: State) -> bool:
    """Whether something was said to be wrong and not yet what: somebody hears of a silence."""
    return state.flow == NAME and (is_watched(state) or bool(state.answers.get(UNANSWERED)))


def _asked(state: State) -> bool:
    return bool(state.answers.get(ASKED))


def _silent(state: State, facts: Facts) -> Turn:
    """Something was wrong, and then nothing was heard: the coach is told, once."""
    if not waits_for_word(state):
        return Turn(None)
    on_the_way = is_watched(state)
    since = datetime.fromisoformat(str(state.answers[SINCE if on_the_way else UNANSWERED]))
    on = facts.open_alert(facts.me.id)
    # A sign that was told meanwhile has its own alert.
    is_told = on is not None and on.newest_sign_at > since
    if not is_told and not _asked(state) and (state.step == STOPPED or not on_the_way):
        step = STOPPED if on_the_way else STILL
        template = "session/all_right" if on_the_way else "feeling/still"
        say = Say(template, rows=rows_of("fine", "unwell"), kind=Kind.SAFETY)
        return Turn(state.at(step, **{ASKED: True}), says=(say,), due_at=facts.now + TELL_AFTER)
    # What is asked can still be answered.
    state = state.at(state.step, **{SINCE: "", UNANSWERED: ""})
    if is_told:
        return Turn(state, quiet=True)
    why = None if state.step == STOPPED else Reason("coach", "something_wrong")
    sign = Sign.SILENT_SESSION if on_the_way else Sign.UNSURE
    raised = RaiseAlert(facts.me.id, AlertLevel.URGENT, (sign,), why=why, holds=False)
    told = Say("session/coach_told_silent" if on_the_way else "feeling/told", kind=Kind.SAFETY)
    return Turn(state, says=(told,), changes=(raised,), quiet=True)


def _step(state: State, event: Event, facts: Facts) -> Turn:
    if event.kind is EventKind.BEGIN:
        if event.args.get(STOPPED):
            return _ask_stopped(state.at(STOPPED, doing=str(event.args[STOPPED])))
        if event.args.get("hurts") and training_status(facts).gate is Gate.OPEN:
            return Turn(None, begin=(Begin("today", {"wish": "hurts"}),))
        return _ask(state.at("where" if event.args.get("hurts") else "what"))
    if event.kind is EventKind.RESUME:
        if state.step == STILL:
            return _ask(state.at("what"))
        return _ask_stopped(state) if state.step == STOPPED else _ask(state)
    value = event.value.strip()
    if state.step in (STOPPED, STILL):
        return _stopped(state, pressed(event, NAME, facts))
    if state.step == "what":
        return _what(state, pressed(event, NAME, facts), facts)
    if state.step == "where":
        told = told_where(value, facts)
        if told is not None and told["where"] == CHEST:
            return chest_pain()
        if told is not None:
            return _ask(state.at("level", **told))
    if state.step == "level":
        level = parse_number(value.removeprefix("pain="), PAIN, facts.reference.words.numbers)
        if not isinstance(level, UnusableAnswer):
            return _pain(state, int(level), facts)
    if state.step == "words" and event.kind is EventKind.TEXT and value:
        screen = screen_named(value, facts)
        if screen is not None:
            # Nothing has been told yet: what is asked stays open.
            return Turn(state, understood=False)
        passed_on = RaiseAlert(
            facts.me.id,
            AlertLevel.MENTION,
            (),
            event.value.strip(),
            holds=False,
            passed_on=True,
        )
        return Turn(None, says=(Say("feeling/passed_on", slot=SLOT),), changes=(passed_on,))
    return Turn(state, understood=False)


def plainly_answers(state: State, text: str, facts: Facts) -> bool:
    """Whether typed words are the number that is asked for."""
    level = parse_number(text, PAIN, facts.reference.words.numbers)
    return state.step == "level" and not isinstance(level, UnusableAnswer)


def _what(state: State, value: str, facts: Facts) -> Turn:
    if value == "fine" and state.answers.get(ANEW):
        return Turn(None, says=(Say("feeling/all_well", slot=SLOT),), begin=_asked_for(state))
    if value == "sign":
        return Turn(None, begin=(told_of_a_sign(),))
    if value == "pain":
        return _ask(state.at("where"))
    if value == "ill":
        # Which illness is not asked here: it counts as the worst of them.
        changes, loud = fever_told("", facts)
        stops = rests_now(changes, facts)
        if loud is not None:
            return Turn(None, says=stops, changes=changes, begin=(loud,))
        told = RaiseAlert(facts.me.id, AlertLevel.MENTION, (Sign.FEVER,), holds=False)
        says = (*stops, Say("feeling/ill", slot=SLOT))
        return Turn(None, says=says, changes=(*changes, told))
    if value == "tired":
        said = Say("feeling/tired", slot=SLOT)
        return Turn(None, says=(said,), begin=(Begin(CHECKIN, {"change": True, "all": True}),))
    if value == "else":
        return _ask(state.at("words"))
    return Turn(state, understood=False)


def _asked_for(state: State) -> tuple[Begin, ...]:
    """Whoever is fine after all gets what was asked for meanwhile."""
    then = waited_for(state)
    return (Begin(then),) if then else ()


def _ask_stopped(state: State) -> Turn:
    values = {"doing": state.answers["doing"]}
    rows = rows_of("fine", "unwell")
    return Turn(state, says=(Say("feeling/stopped", values, rows=rows, kind=Kind.SAFETY),))


def _stopped(state: State, value: str) -> Turn:
    """Whoever is fine needs no watch; what is wrong is asked, and the watch goes on."""
    if value == "fine" and state.step == STILL:
        return Turn(None, says=(Say("feeling/all_well"),), begin=_asked_for(state))
    if value == "fine":
        return Turn(None, says=(Say("session/good_to_hear", {"goes_on": False, "paused": True}),))
    if value == "unwell":
        return _ask(state.at("what"))
    return Turn(state, understood=False)


def _ask(state: State) -> Turn:
    anew = state.step == "what" and bool(state.answers.get(ANEW))
    rows = {
        "what": rows_of("sign", "pain", "ill", "tired", "else", *(("fine",) if anew else ())),
        "where": PLACES,
        "level": LEVELS,
    }.get(state.step, ())
    names = {"where": "session/hurt_where", "level": "session/hurt_level"}
    template = names.get(state.step, f"feeling/ask_{state.step}")
    values = {"stop": False, "anew": anew}
    return Turn(state, says=(Say(template, values, rows=rows, slot=SLOT),))


def _pain(state: State, level: int, facts: Facts) -> Turn:
    """A pain outside a session: kept, and by the pain rule an alert or on the coach's list."""
    report, client = report_of(state.answers, level), facts.client(facts.me.id).client
    today = facts.me.local(facts.now).date()
    kept = LogPain(facts.me.id, PainTold(today, None, spared(state.answers), level))
    alarm = alarm_of(report, client)
    if alarm is not None:
        return Turn(None, changes=(kept,), begin=(alarm,))
    said = Say("feeling/pain_told", {"level": level}, slot=SLOT)
    rule = pain_rule(report, careful=client.is_careful_at(report.place))
    if rule is None:
        return Turn(None, says=(said,), changes=(kept,))
    why = told_pain(rule, report, client)
    listed = RaiseAlert(facts.me.id, AlertLevel.MENTION, (Sign.NEW_PAIN,), why=why, holds=False)
    return Turn(None, says=(said,), changes=(kept, listed))
