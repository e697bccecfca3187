"""The morning check-in: one message edited in place, six taps on a good day.

Warning signs come first. Answers are kept with each tap; a finished check-in can be changed the
same day, and what follows is worked out again.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime

from bot.flows.changes import Change, RaiseAlert, SaveCheckin
from bot.flows.client.buttons import of_another_day
from bot.flows.client.checkin_questions import CHECKIN_FORM, MARK, SLOT
from bot.flows.client.checkin_result import alarm, finish, other_rules_told, show_result
from bot.flows.client.told_in_checkin import (
    ALARMED,
    CALF_WAITS,
    GAP_ANSWERS,
    SINCE,
    SINCE_ANSWERS,
    TOLD_WAITS,
    alarmed,
    gap_to_ask,
    gap_told,
    loud_now,
    since_told,
    to_follow,
    told_before,
    told_mentions,
    with_illness,
)
from bot.flows.client.told_numbers import kept_of
from bot.flows.commands import asks_for_something
from bot.flows.facts import Answers, Checkin, Facts
from bot.flows.form_question import Setting
from bot.flows.forms import SAY_BACK, SKIP, FormOutcome
from bot.flows.machine import (
    Begin,
    Button,
    Event,
    EventKind,
    Rows,
    Say,
    State,
    Turn,
    not_understood,
    pressed,
)
from bot.flows.parsing import Reask, read_answer
from bot.flows.record.planning import GAP, GAP_FROM, TOLD_ILL, Gate, training_status
from bot.flows.record.said_unwell import asked_first
from bot.flows.safety.opening import Heard
from bot.flows.safety.signs_first import told_of_a_sign
from bot.json_values import JsonValue
from bot.messages import Kind
from core.readiness.absolute_rule import AbsoluteRule
from core.readiness.morning_questions import AnswerValue, MorningQuestion, PainPlace, Trouble
from core.red_flags.reading import Reading, TextReasonCode
from core.vocabulary import AlertLevel, Sign

NAME = "checkin"
SOMETHING = "something"
"""Key of the client's own words about "something else"; the rules do not read it."""

WORDS = "words"
"""A step that is no question of the form: "something else" is told in own words."""

TOLD, PICK = "told", "pick"
"""Steps after the check-in: words that tell of the morning, and which answer is to be changed."""
TAKE, LEAVE = "take", "leave"
BESIDE_FINISHED = (TOLD, PICK)
"""Steps beside a finished check-in: what it says by now counts."""
FEVER_KNOWN, FEVER_HEARD = "fever_known", "fever_heard"
"""A fever had been told when the change began; it was told while a question waited."""

MAY_CHECK_IN = (Gate.OPEN, Gate.NO_CHECKIN, Gate.REST_DAY, Gate.NEWS_HEARD)
OF_A_PAIN = frozenset(
    {
        MorningQuestion.PAIN_PLACE,
        MorningQuestion.PAIN_LEVEL,
        MorningQuestion.PAIN_SINCE,
        MorningQuestion.CALF_SIGNS,
    }
)
COUNTS_AT_ONCE = frozenset({MorningQuestion.PAIN_PLACE, MorningQuestion.TROUBLE})
"""Told in words after the check-in: what forbids or eases training waits for no leave."""

OUTSIDE_FORM = (WORDS, SINCE, GAP, TOLD, PICK)

CHANGE = "change"

FOLLOWS_TROUBLE = frozenset(
    {
        SOMETHING,
        TOLD_ILL,
        MorningQuestion.ILL_KIND,
        MorningQuestion.PAIN_PLACE,
        MorningQuestion.CALF_SIGNS,
        MorningQuestion.PAIN_LEVEL,
        MorningQuestion.PAIN_SINCE,
    }
)
"""Answers that go with the first one when it is changed."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    if event.kind is EventKind.BEGIN:
        return _begin(event, facts)
    on = date.fromisoformat(str(state.answers["on"]))
    if on != facts.me.local(facts.now).date():
        if event.kind is EventKind.DUE:
            return Turn(None)
        if event.kind is EventKind.TEXT and asks_for_something(event.value, facts):
            return not_understood(state)
        # Yesterday's question cannot be answered today; today's check-in takes its place.
        return Turn(None, says=of_another_day(event, on), begin=(Begin(NAME),))
    if state.step == "asking":
        # So it was stored before a step was named after its question.
        state = CHECKIN_FORM.open(state, str(state.answers["question"]))
    if event.kind is EventKind.DUE:
        return _left_there(state, on, facts)
    state = _with_numbers_told(state, facts)
    if event.kind is EventKind.RESUME and _waits_for_the_fever(state):
        return Turn(state.at(state.step, **{FEVER_HEARD: True}))
    if event.kind is EventKind.RESUME:
        return _ask(state, facts) if state.step in OUTSIDE_FORM else _go_on(state, facts)
    return _answer(state, event, facts)


def _with_numbers_told(state: State, facts: Facts) -> State:
    """A number or a fever told in free words meanwhile is an answer too."""
    before = facts.checkin(facts.me.id, date.fromisoformat(str(state.answers["on"])))
    if before is not None and state.step in BESIDE_FINISHED:
        return state.at(state.step, given=dict(before.answers))
    # While a finished one is changed, all is asked again; a fever told meanwhile counts.
    if before is None or _is_changed(state, before):
        return _with_fever_told(state, before)
    given = with_illness({**state.answers["given"], **kept_of(before.answers)})
    return state.at(state.step, given=given)


def _waits_for_the_fever(state: State) -> bool:
    """Whether what was told before a fever is asked about right below the advice on it: not yet."""
    ill = bool(state.answers["given"].get(TOLD_ILL))
    return state.step == TOLD and ill and not state.answers.get(FEVER_HEARD)


def _with_fever_told(state: State, before: Checkin | None) -> State:
    given = state.answers["given"]
    if before is None or not before.answers.get(TOLD_ILL) or given.get(TOLD_ILL):
        return state
    if state.answers.get(FEVER_KNOWN):
        # Told before the change began: the first question takes it back.
        return state
    told = {key: before.answers[key] for key in (TOLD_ILL, ALARMED) if key in before.answers}
    return state.at(state.step, given=with_illness({**given, **told}))


def plainly_answers(state: State, text: str, facts: Facts) -> bool:
    """Whether typed words can be nothing but the answer to the open question."""
    if state.step not in CHECKIN_FORM.by_key:
        return False
    if state.answers.get("on") != facts.me.local(facts.now).date().isoformat():
        return False
    typed = Event(EventKind.TEXT, text.strip())
    taken = CHECKIN_FORM.take(state, typed, facts, sentences=False)
    return taken.outcome is FormOutcome.ANSWERED


def tells_what_was_asked(state: State, text: str, reading: Reading, facts: Facts) -> bool:
    """A plain answer is one, although the second opinion alone doubts such a word ("Worried")."""
    doubted = reading.because.code is TextReasonCode.SECOND_OPINION
    return doubted and plainly_answers(state, text, facts)


def _left_there(state: State, on: date, facts: Facts) -> Turn:
    """No answer in time: a calf that may hide a clot counts as yes; the rest is followed up."""
    record, given = facts.client(facts.me.id), state.answers["given"]
    if state.step == MorningQuestion.CALF_SIGNS:
        given = {**given, MorningQuestion.CALF_SIGNS.value: None}
        loud = loud_now(MorningQuestion.CALF_SIGNS, given, record, on, facts)
        return _raised(loud, state, given, facts, heard=Heard.SILENCE) if loud else Turn(state)
    if not to_follow(given, record, on, facts):
        return Turn(state)
    rules, mentions = told_mentions(given, record, on, facts)
    given = alarmed(given, rules)
    saved = SaveCheckin(record.id, on, _with_unasked(state, given, facts), reopened=True)
    state = state.at(state.step, given=given)
    return _go_on(state, facts, (*mentions, saved), reminder=True)


def _raised(
    loud: Sequence[AbsoluteRule],
    state: State,
    given: Answers,
    facts: Facts,
    *,
    signs_asked: bool = False,
    heard: Heard = Heard.ANSWER,
) -> Turn:
    """An alert at once; what was answered is kept, and that it was raised."""
    on = facts.me.local(facts.now).date()
    kept = alarmed(_with_unasked(state, given, facts), loud)
    saved = SaveCheckin(facts.me.id, on, kept, signs_asked=signs_asked, reopened=True)
    others = other_rules_told(loud, given, facts)
    return Turn(None, changes=(saved, *others), begin=(alarm(loud, given, facts, heard=heard),))


def _with_unasked(state: State, given: Answers, facts: Facts) -> Answers:
    """While a finished one is being changed, what was not asked again yet stays as it was."""
    before = facts.checkin(facts.me.id, date.fromisoformat(str(state.answers["on"])))
    changed = before is not None and _is_changed(state, before)
    return {**before.answers, **given} if before is not None and changed else given


def _is_changed(state: State, before: Checkin) -> bool:
    """Whether it was finished when this conversation began: half told anew, it counts as open."""
    return before.finished or bool(state.answers.get("changing"))


def _begin(event: Event, facts: Facts) -> Turn:
    place = training_status(facts)
    if place.gate is Gate.NOT_JOINED:
        return Turn(None, begin=(Begin("join"),))
    told = {**event.args.get("told", {})}
    if place.gate is Gate.SAID_UNWELL:
        # What was told beside it may go to the coach meanwhile.
        says = (_send(event),) if told else ()
        return Turn(None, says=says, begin=(asked_first(NAME),))
    if place.gate not in MAY_CHECK_IN:
        says = (Say("today/closed", {"gate": place.gate.value}),)
        return Turn(None, says=(*says, _send(event)) if told else says)
    kept = dict(place.checkin.answers) if place.checkin else {}
    done = place.checkin is not None and place.checkin.finished
    if not done:
        # The first question asks of the warning signs too, so that it is put all the same.
        told.pop(MorningQuestion.TROUBLE.value, None)
    state = State(NAME, "begin", {"on": place.today.isoformat(), "given": kept})
    if done and told:
        return _told_after(state, told, event, facts)
    if event.args.get("change") and done and not event.args.get("all"):
        return _ask(state.at(PICK), facts)
    if event.args.get("change"):
        known = bool(kept.get(TOLD_ILL))
        state = state.at("begin", given={}, changing=done, **{FEVER_KNOWN: known})
    elif done:
        return show_result(state, facts)
    if told:
        return _taken(state, told, facts)
    prompt, reminder = bool(event.args.get("prompt")), bool(event.args.get("reminder"))
    state = state.at(state.step, missed=int(event.args.get("missed", 0)))
    signs = None if kept else told_before(place.record, place.today, facts)
    if signs is not None:
        state = state.at(SINCE, told=[sign.value for sign in signs])
        return _ask(state, facts, prompt=prompt, reminder=reminder)
    begun = None if kept else gap_to_ask(place.record, place.today, facts)
    if begun is not None:
        state = state.at(GAP, **{GAP_FROM: begun.isoformat()})
        return _ask(state, facts, prompt=prompt, reminder=reminder)
    return _go_on(state, facts, prompt=prompt, reminder=reminder)


def _taken(state: State, told: Mapping[str, JsonValue], facts: Facts) -> Turn:
    """Words that tell of the morning before it was asked about: kept, and the rest is asked."""
    on = date.fromisoformat(str(state.answers["on"]))
    state = state.at("begin", given={**state.answers["given"], **told})
    given, record = state.answers["given"], facts.client(facts.me.id)
    loud = loud_now(MorningQuestion.PAIN_LEVEL, given, record, on, facts)
    if loud and MorningQuestion.PAIN_LEVEL in told:
        return _raised(loud, state, given, facts)
    turn = _go_on(state, facts, (SaveCheckin(facts.me.id, on, given),))
    return replace(turn, says=(Say("checkin/taken", {"told": told}), *turn.says))


def _told_after(state: State, told: Mapping[str, JsonValue], event: Event, facts: Facts) -> Turn:
    """The same after the check-in: it is changed only where the client says so."""
    given = state.answers["given"]
    news = {key: value for key, value in told.items() if given.get(key) != value}
    session = facts.session(facts.me.id, date.fromisoformat(str(state.answers["on"])))
    if not news:
        return show_result(state, facts)
    if session is not None and session.status == "running":
        return Turn(None, says=(_send(event),), begin=(Begin("today"),))
    if not COUNTS_AT_ONCE.isdisjoint(news):
        return _counted(state, news, facts)
    known = {
        "news": news,
        "row": str(event.args.get("row", "")),
        FEVER_HEARD: bool(given.get(TOLD_ILL)),
    }
    return _ask(state.at(TOLD, **known), facts)


def _counted(state: State, news: Mapping[str, JsonValue], facts: Facts) -> Turn:
    """A pain or an illness told after the check-in counts without asking leave for it.

    What it comes to is asked, and until that is told nothing opens on the old word.
    """
    record, on = facts.client(facts.me.id), date.fromisoformat(str(state.answers["on"]))
    given = {**state.answers["given"], **news}
    trouble = news.get(MorningQuestion.TROUBLE)
    forgotten: set[str] = set()
    if MorningQuestion.PAIN_PLACE in news or trouble in (Trouble.PAIN, Trouble.ILL_AND_PAIN):
        # What is known was told of another pain.
        forgotten |= OF_A_PAIN - news.keys()
    if trouble in (Trouble.ILL, Trouble.ILL_AND_PAIN):
        forgotten.add(MorningQuestion.ILL_KIND)
    given = {key: value for key, value in given.items() if key not in forgotten}
    had = state.answers["given"].get(MorningQuestion.TROUBLE)
    if trouble is not None and {trouble, had} == {Trouble.ILL.value, Trouble.PAIN.value}:
        given[MorningQuestion.TROUBLE.value] = Trouble.ILL_AND_PAIN.value
    state = state.at("begin", given=_with_pain(given), changing=True)
    given = state.answers["given"]
    loud = loud_now(MorningQuestion.PAIN_LEVEL, given, record, on, facts)
    if loud and MorningQuestion.PAIN_LEVEL in given:
        return _raised(loud, state, given, facts)
    turn = _go_on(state, facts, (SaveCheckin(record.id, on, given, reopened=True),))
    return replace(turn, says=(Say("checkin/taken", {"told": news}), *turn.says))


def _send(event: Event) -> Say:
    """What was told and cannot be taken now may go to the coach."""
    row = str(event.args.get("row", ""))
    rows: Rows = ((Button("send", handler="pass_on", ref=row),),) if row else ()
    return Say("checkin/told_closed", rows=rows)


def _told_answer(state: State, event: Event, facts: Facts) -> Turn:
    """Whether the finished check-in takes what was told afterwards."""
    code = read_answer(event.value, facts.reference.answers[TOLD]) or event.value.strip()
    if code == LEAVE:
        return show_result(state, facts)
    if code != TAKE:
        return not_understood(state)
    given = _with_pain({**state.answers["given"], **state.answers["news"]})
    if state.answers["news"].get(MorningQuestion.PAIN_PLACE):
        # A pain of now: how bad it is was told of another.
        asked_again = (MorningQuestion.PAIN_LEVEL, MorningQuestion.PAIN_SINCE)
        given = {key: value for key, value in given.items() if key not in asked_again}
    return _go_on(state.at(TOLD, given=given), facts)


def _with_pain(given: Answers) -> dict[str, JsonValue]:
    """A pain that was told counts, whatever the first question was answered with."""
    trouble = given.get(MorningQuestion.TROUBLE)
    if not given.get(MorningQuestion.PAIN_PLACE):
        return {**given}
    also = {Trouble.NOTHING.value: Trouble.PAIN, Trouble.ILL.value: Trouble.ILL_AND_PAIN}
    counted = also.get(str(trouble))
    return {**given, MorningQuestion.TROUBLE.value: counted.value} if counted else {**given}


def _picked(state: State, event: Event, facts: Facts) -> Turn:
    """One answer is asked anew; all others stay."""
    typed = read_answer(event.value, facts.reference.spoken["morning_question"])
    key = typed or event.value.strip().removeprefix(f"{PICK}{MARK}")
    if LEAVE in (key, read_answer(key, facts.reference.answers[TOLD])):
        return show_result(state, facts)
    if key not in state.answers["given"] or key not in CHECKIN_FORM.by_key:
        return not_understood(state)
    follow = FOLLOWS_TROUBLE if key == MorningQuestion.TROUBLE else ()
    kept = {
        name: value
        for name, value in state.answers["given"].items()
        if name != key and name not in follow
    }
    known = bool(state.answers["given"].get(TOLD_ILL))
    state = state.at(PICK, given=kept, **{FEVER_KNOWN: known})
    return _ask(CHECKIN_FORM.open(state, key), facts)


def _ask(
    state: State,
    facts: Facts,
    again: Reask | None = None,
    *,
    prompt: bool = False,
    reminder: bool = False,
    changes: tuple[Change, ...] = (),
) -> Turn:
    """Put the open question, in the same message."""
    if state.step == WORDS:
        rows: Rows = ((Button(SKIP),), (Button(CHECKIN_FORM.back_from(WORDS)),))
        asked = Say("checkin/ask_something_else", rows=rows, slot=SLOT)
    elif state.step == SINCE:
        rows = tuple((Button(f"{SINCE}{MARK}{answer}"),) for answer in SINCE_ANSWERS)
        asked = Say("checkin/ask_since", rows=rows, slot=SLOT)
    elif state.step == GAP:
        rows = tuple((Button(f"{GAP}{MARK}{answer}"),) for answer in GAP_ANSWERS)
        asked = Say("checkin/ask_gap", rows=rows, slot=SLOT)
    elif state.step == TOLD:
        row = str(state.answers["row"])
        send = ((Button("send", handler="pass_on", ref=row),),) if row else ()
        rows = ((Button(TAKE),), (Button(LEAVE),), *send)
        asked = Say("checkin/told_after", {"told": state.answers["news"]}, rows=rows, slot=SLOT)
    elif state.step == PICK:
        wanted = CHECKIN_FORM.wanted(Setting(state.answers["given"], facts))
        given = [one.key for one in wanted if one.key in state.answers["given"]]
        rows = tuple((Button(f"{PICK}{MARK}{key}"),) for key in (*given, LEAVE))
        values = {"given": {key: state.answers["given"][key] for key in given}}
        asked = Say("checkin/pick", values, rows=rows, slot=SLOT)
    else:
        asked = CHECKIN_FORM.ask(state, facts, again)
        if asked.template != SAY_BACK:
            asked = replace(asked, template=f"checkin/ask_{state.step}")
    say = replace(
        asked,
        values={
            **asked.values,
            "prompt": prompt,
            "reminder": reminder,
            "missed": int(state.answers.get("missed", 0)),
            "unit": facts.client(facts.me.id).client.limits.glucose_unit,
        },
        kind=Kind.PROMPT if prompt or reminder else Kind.REPLY,
    )
    return Turn(state, says=(say,), changes=changes, due_at=_waits_until(state, facts))


def _waits_until(state: State, facts: Facts) -> datetime | None:
    """When silence at the open question is no longer left alone; None where it may last."""
    if state.step in OUTSIDE_FORM:
        return None
    if state.step == MorningQuestion.CALF_SIGNS:
        return facts.now + CALF_WAITS
    on = date.fromisoformat(state.answers["on"])
    follow = to_follow(state.answers["given"], facts.client(facts.me.id), on, facts)
    return facts.now + TOLD_WAITS if follow else None


def _go_on(
    state: State,
    facts: Facts,
    changes: tuple[Change, ...] = (),
    *,
    prompt: bool = False,
    reminder: bool = False,
) -> Turn:
    """The next question, or what the whole morning comes to."""
    question = CHECKIN_FORM.next_open(Setting(state.answers["given"], facts))
    if question is None:
        return finish(state, facts, changes)
    state = CHECKIN_FORM.open(state, question.key)
    return _ask(state, facts, prompt=prompt, reminder=reminder, changes=changes)


def _answer(state: State, event: Event, facts: Facts) -> Turn:
    if event.kind is EventKind.TAP and event.value == CHANGE:
        return Turn(None, begin=(Begin(NAME, {"change": True}),))
    if state.step == WORDS:
        return _own_words(state, event, facts)
    if state.step == SINCE:
        return _since(state, event, facts)
    if state.step == GAP:
        return _gap(state, event, facts)
    if state.step == TOLD:
        return _told_answer(state, event, facts)
    if state.step == PICK:
        return _picked(state, event, facts)
    if state.step not in CHECKIN_FORM.by_key:
        return not_understood(state)
    taken = CHECKIN_FORM.take(state, event, facts)
    match taken.outcome:
        case FormOutcome.ANSWERED:
            return _answered(taken.state, taken.value, facts)
        case FormOutcome.BACK:
            return _back(taken.state, facts)
        case FormOutcome.ASK:
            return _ask(taken.state, facts, taken.again)
        case FormOutcome.REPEATED:
            return Turn(state, due_at=_waits_until(state, facts))
        case FormOutcome.NOT_MINE:
            return not_understood(state)


def _answered(state: State, answer: AnswerValue, facts: Facts) -> Turn:
    """Each answer is kept at once: whatever comes between, the check-in goes on from here."""
    if state.step == MorningQuestion.TROUBLE:
        state = state.at(state.step, given=with_illness(_with_pain(state.answers["given"])))
    given = state.answers["given"]
    on = date.fromisoformat(state.answers["on"])
    whole = _with_unasked(state, given, facts)
    question = MorningQuestion(state.step)
    asked_signs = question is MorningQuestion.TROUBLE
    before = facts.checkin(facts.me.id, on)
    reopened = before is not None and before.finished
    if reopened:
        # What it comes to is known when all is told: until then nothing opens on the old word.
        state = state.at(state.step, changing=True)
    kept = SaveCheckin(facts.me.id, on, whole, signs_asked=asked_signs, reopened=reopened)
    saved: tuple[Change, ...] = (kept,)
    if asked_signs:
        if answer == Trouble.WARNING_SIGN:
            return _sign_tapped(saved)
        if answer == Trouble.SOMETHING_ELSE:
            return _ask(state.at(WORDS), facts, changes=saved)
    if question is MorningQuestion.PAIN_PLACE and answer == PainPlace.CHEST:
        return _sign_tapped(saved, Sign.CHEST_PAIN)
    loud = loud_now(question, given, facts.client(facts.me.id), on, facts)
    if loud:
        return _raised(loud, state, given, facts, signs_asked=asked_signs)
    return _go_on(state, facts, saved)


def _since(state: State, event: Event, facts: Facts) -> Turn:
    """How it is with what was told before a silence."""
    answer = pressed(event, SINCE, facts).removeprefix(f"{SINCE}{MARK}")
    if answer not in SINCE_ANSWERS:
        return not_understood(state)
    record, on = facts.client(facts.me.id), date.fromisoformat(state.answers["on"])
    given = {**state.answers["given"], SINCE: answer}
    signs = [Sign(sign) for sign in state.answers["told"]]
    raised, begin = since_told(answer, signs, record, facts)
    changes: tuple[Change, ...] = (SaveCheckin(record.id, on, given), *raised)
    if begin:
        return Turn(None, changes=changes, begin=begin)
    return _go_on(state.at(SINCE, given=given), facts, changes)


def _gap(state: State, event: Event, facts: Facts) -> Turn:
    """What was in a silence of more than a week."""
    answer = pressed(event, GAP, facts).removeprefix(f"{GAP}{MARK}")
    if answer not in GAP_ANSWERS:
        return not_understood(state)
    record, on = facts.client(facts.me.id), date.fromisoformat(state.answers["on"])
    begun = date.fromisoformat(str(state.answers[GAP_FROM]))
    given, raised, begin = gap_told(answer, state.answers["given"], begun, record)
    changes: tuple[Change, ...] = (SaveCheckin(record.id, on, given), *raised)
    if begin:
        # It ends with the check-in.
        return Turn(None, changes=changes, begin=begin)
    return _go_on(state.at(GAP, given=given), facts, changes)


def _own_words(state: State, event: Event, facts: Facts) -> Turn:
    """ "Something else", in the client's words: for the coach's list; then the questions go on."""
    if event.kind is EventKind.TAP and event.value == CHECKIN_FORM.back_from(WORDS):
        return _asked_anew(state, MorningQuestion.TROUBLE, facts)
    typed, said = event.kind is EventKind.TEXT, event.value.strip()
    if (read_answer(said, facts.reference.answers["say_nothing"]) if typed else said) == SKIP:
        return _go_on(state, facts)
    if not typed or not said:
        return not_understood(state)
    given = {**state.answers["given"], SOMETHING: said}
    told = RaiseAlert(facts.me.id, AlertLevel.MENTION, (), said, holds=False)
    return _go_on(state.at(state.step, given=given), facts, (told,))


def _sign_tapped(saved: tuple[Change, ...], sign: Sign | None = None) -> Turn:
    """A warning sign: the emergency reply comes at once, questions after it."""
    return Turn(None, changes=saved, begin=(told_of_a_sign(sign),))


def _back(state: State, facts: Facts) -> Turn:
    """To the question before, whose answer is taken back."""
    before = CHECKIN_FORM.before(state.step, Setting(state.answers["given"], facts))
    return _ask(state, facts) if before is None else _asked_anew(state, before.key, facts)


def _asked_anew(state: State, key: str, facts: Facts) -> Turn:
    """A question whose answer is taken back; own words go with the answer that led to them."""
    forgotten = (key, SOMETHING) if key == MorningQuestion.TROUBLE else (key,)
    kept = {name: value for name, value in state.answers["given"].items() if name not in forgotten}
    before = facts.checkin(facts.me.id, date.fromisoformat(str(state.answers["on"])))
    # Else it would count as told meanwhile.
    changing = before is not None and _is_changed(state, before)
    taken_back = () if changing or before is None else (SaveCheckin(facts.me.id, before.on, kept),)
    return _ask(CHECKIN_FORM.open(state.at(state.step, given=kept), key), facts, changes=taken_back)
