"""The session itself: signs, ready check, warm-up, then one movement at a time with its log."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta

from bot.flows.changes import (
    Change,
    EndSession,
    LogPain,
    LogSet,
    SaveCheckin,
    StartSession,
    TouchSession,
    UndoSet,
)
from bot.flows.client.cards import (
    BACK,
    SLOT,
    UNDO,
    WATCH,
    WISHES,
    card,
    changed,
    coach_hears,
    keep_plan,
    show_change,
    turned,
    watch,
)
from bot.flows.client.feeling import said_on_the_way
from bot.flows.client.how_hard import HOW_HARD
from bot.flows.client.hurting import (
    CHEST,
    LEVELS,
    PLACES,
    alarm_of,
    chest_pain,
    report_of,
    rows_to,
    spared,
    told_where,
)
from bot.flows.client.hurting import ask_where as ask_where_it_hurts
from bot.flows.client.later_low import asked_later
from bot.flows.client.puffed import STEPS as PUFFED
from bot.flows.client.puffed import puffed, step_puffed
from bot.flows.client.puffed import values_of as puffer_values
from bot.flows.client.set_news import news_of_set, set_taken_back, tells_of_set
from bot.flows.client.sugar_before import ask_sugar, asks_sugar, can_go_low, sugar_told
from bot.flows.client.training_end import (
    ENDED_SHORT,
    again_ending,
    ask_why,
    cool_down,
    cool_down_answer,
    effort_answer,
    ended_short,
    minutes_answer,
    parts_of,
    stopping,
    why_of,
)
from bot.flows.client.training_end import STEPS as ENDING
from bot.flows.machine import (
    Begin,
    Button,
    Event,
    EventKind,
    Rows,
    Say,
    State,
    Turn,
    pressed,
    rows_of,
)
from bot.flows.record.effort import USED, asks_reliever, guide_values, reliever_told
from bot.flows.record.planning import Training, cause_to_stop, further_step, signs_are_old
from bot.flows.record.steered import start_values
from bot.flows.record.told_counts import button_told, hurt_told, left_told, set_told, stop_wished
from bot.flows.record.told_to_coach import place_named
from bot.flows.safety.signs_first import ask_signs, told_of_a_sign
from bot.json_values import JsonValue
from bot.messages import Kind
from core.answers.sets import SetTold
from core.dose.dose_model import SECONDS_PER_LEFT
from core.dose.gentle import warm_up_moves
from core.dose.history import MOST_LEFT_TOLD, Ended, PainTold, Unit
from core.dose.prescription import DoseCode, DoseReason
from core.readiness.scales import PAIN, UnusableAnswer, parse_number
from core.vocabulary import Family

STEPS = (
    "signs",
    "reliever",
    "sugar",
    "ready",
    "warm_up",
    "move",
    *PUFFED,
    ENDED_SHORT,
    "left",
    "set_where",
    "set_pain",
    *ENDING,
)
HALF_TOLD = (ENDED_SHORT, "left", "set_where", "set_pain")
"""Steps after the count of a set, before it is written down."""
PAIN_KEPT = "pain_kept"
"""The pain beside a count that stands in the record already."""
BEFORE_START = ("signs", "reliever", "sugar", "ready")
STOP = "stop"
NOTHING_TO_STOP = ("stopping", "effort", "minutes")
"""Steps of a running session at which it is over already, or stopping is asked about."""
REST_NUDGE_AFTER = timedelta(minutes=2)
PAIN_COACH_HEARS_OF = 6
"""Pain of a set from which the coach is told (the acceptable band ends at 5, Ageberg 2010)."""

LEFT: Rows = rows_of("left=0 left=1 left=2", "left=3 left=4 left=5", "slip it_hurt", "back stop")
UNDO_FOR = timedelta(minutes=5)
"""So long a logged set may be taken back; one in which a pain was told stays (ours)."""


def start(state: State, training: Training) -> Turn:
    """The start button: the signs again when they are old, then the ready check."""
    checkin = training.place.checkin
    if training.session is None or not training.items or checkin is None:
        return Turn(None, begin=(Begin("today"),))
    if training.facts.running_walk(training.place.record.id) is not None:
        return _on_a_walk(state)
    if signs_are_old(checkin, training.facts):
        return _ask_signs(state)
    return _ready(state, training)


def _on_a_walk(state: State) -> Turn:
    """One watch at a time: the walk is told of first."""
    rows: Rows = ((Button("walk", handler="open", ref="walk"),),)
    return Turn(state.at("list"), says=(Say("today/on_a_walk", rows=rows, slot=SLOT),))


def step_training(state: State, event: Event, training: Training) -> Turn:
    """Take one event of a session on its way."""
    if training.session is None:
        return Turn(None, begin=(Begin("today"),))
    value = pressed(event, "session", training.facts)
    if state.step in PUFFED:
        return _alive(step_puffed(state, event, training), training)
    if event.kind is EventKind.RESUME:
        return _again(state, training)
    if event.kind is EventKind.DUE:
        return _nudge(state, training)
    if value == UNDO and state.step in ("move", "cool_down"):
        return _alive(_undone(state, training), training)
    turn = _ANSWERS[state.step](state, value, training)
    if not turn.understood or turn.state is None or state.step in BEFORE_START:
        return turn
    return _still_nudged(_alive(turn, training), training.facts.now)


def _alive(turn: Turn, training: Training) -> Turn:
    """Every sign of life starts the watch on silence anew."""
    if training.session is None or turn.state is None or not turn.understood:
        return turn
    return replace(turn, changes=(*turn.changes, TouchSession(training.session.id)))


def _still_nudged(turn: Turn, now: datetime) -> Turn:
    """A wish while resting does not take the nudge at the rest's end away."""
    if turn.state is None or turn.state.step != "move" or turn.due_at is not None:
        return turn
    told = turn.state.answers.get("nudge_at")
    nudge_at = datetime.fromisoformat(told) if told else now
    return replace(turn, due_at=nudge_at) if nudge_at > now else turn


def go_on(state: State, training: Training) -> Turn:
    """A running session at the first movement that has not been done today."""
    place = training.place
    sets = training.facts.history(place.record.id).sets
    done = {one.family for one in sets if one.on == place.today}
    left = (at for at, item in enumerate(training.items) if item.family not in done)
    at = next(left, len(training.items))
    state = state.at("move", running=True, at=at, rest_first=False, slip=False, pain=0)
    if at == len(training.items):
        return cool_down(state, training, 0)
    return Turn(state, says=(card(state, training),))


def says_stop(state: State, event: Event, training: Training) -> bool:
    """Whether a running session is to be stopped: by button or in words, at any moment of it."""
    running = bool(state.answers.get("running")) and training.session is not None
    talks = event.kind in (EventKind.TAP, EventKind.TEXT)
    said = pressed(event, "today", training.facts)
    stops = said == STOP or (event.kind is EventKind.TEXT and stop_wished(said, training.facts))
    return running and talks and stops and state.step not in NOTHING_TO_STOP


def stop(state: State, training: Training) -> Turn:
    """Ask whether something is wrong; a sign of life all the same."""
    turn = stopping(state)
    if training.session is None:
        return turn
    return replace(turn, changes=(TouchSession(training.session.id),))


def next_movement(
    state: State,
    training: Training,
    *,
    changes: tuple[Change, ...] = (),
    after_gone: bool = False,
) -> Turn:
    """The next card, or the cool-down after the last."""
    at = int(state.answers["at"]) + (0 if after_gone else 1)
    if at >= len(training.items):
        return cool_down(state, training, 0, changes)
    nudge_at = None if after_gone else training.facts.now + REST_NUDGE_AFTER
    state = state.at(
        "move",
        at=at,
        rest_first=not after_gone,
        nudge_at=nudge_at.isoformat() if nudge_at else "",
        instead="",
        slip=False,
        pain=0,
    )
    return Turn(state, says=(card(state, training),), changes=changes, due_at=nudge_at)


def _ask_signs(state: State) -> Turn:
    return Turn(state.at("signs"), says=(ask_signs(SLOT),))


def _signs(state: State, value: str, training: Training) -> Turn:
    checkin = training.place.checkin
    if value == "sign":
        return Turn(None, begin=(told_of_a_sign(),))
    if value == "none" and checkin is not None:
        record = training.place.record
        kept = SaveCheckin(record.id, training.place.today, checkin.answers, signs_asked=True)
        return replace(_ready(state, training), changes=(kept,))
    return Turn(state, understood=False)


def _ready(state: State, training: Training) -> Turn:
    """The ready check; before it, the reliever where the pulse hangs on it."""
    record, checkin, facts = training.place.record, training.place.checkin, training.facts
    if asks_reliever(record, checkin, facts):
        say = Say("session/reliever", rows=rows_of(*USED), slot=SLOT)
        return Turn(state.at("reliever"), says=(say,))
    if asks_sugar(training):
        return ask_sugar(state, training)
    return _ready_check(state, training)


def _ready_check(state: State, training: Training) -> Turn:
    record = training.place.record
    guide = guide_values(record, training.place.checkin, training.facts)
    told = start_values(training)
    values = {**guide, **puffer_values(record), **told, "sweet": can_go_low(record)}
    rows = (*rows_of("ready", "not_today"), (HOW_HARD,))
    return Turn(state.at("ready"), says=(Say("session/ready", values, rows=rows, slot=SLOT),))


def _sugar(state: State, value: str, training: Training) -> Turn:
    turn, known, changes = sugar_told(state, value, training)
    turn = turn or _ready_check(state, known)
    return replace(turn, changes=(*changes, *turn.changes))


def _reliever(state: State, value: str, training: Training) -> Turn:
    place, checkin = training.place, training.place.checkin
    if value not in USED or checkin is None:
        return Turn(state, understood=False)
    answers = reliever_told(checkin.answers, value, training.facts.now)
    kept = SaveCheckin(place.record.id, place.today, answers)
    known = replace(training, place=replace(place, checkin=replace(checkin, answers=answers)))
    return replace(_ready(state, known), changes=(kept,))


def _ready_answer(state: State, value: str, training: Training) -> Turn:
    if value in WISHES:
        # Nothing runs yet: the list asks which movement is meant.
        return Turn(None, begin=(Begin("today", {"wish": value}),))
    if value == "not_today":
        return Turn(None, says=(Say("session/another_day", slot=SLOT),))
    means = value if value == "ready" else button_told(value, "step_ready", training.facts)
    if means != "ready" or training.session is None:
        return Turn(state, understood=False)
    if training.facts.running_walk(training.place.record.id) is not None:
        return _on_a_walk(state)
    checkin = training.place.checkin
    if checkin is None or signs_are_old(checkin, training.facts):
        return _ask_signs(state)
    again = _ready(state, training)
    if again.state is not None and again.state.step != "ready":
        # What was told before has grown old while the check lay open.
        return again
    turn = _warm_up(state.at("warm_up", running=True, at=0), training, 0)
    return replace(turn, changes=(StartSession(training.session.id),))


def _warm_up(state: State, training: Training, part: int) -> Turn:
    parts = parts_of(training.plan.warm_up_minutes)
    client, catalogue = training.sparing, training.facts.reference.catalogue
    values = {
        "part": part + 1,
        "of": len(parts),
        "minutes": parts[part],
        "moves": warm_up_moves(
            client,
            catalogue,
            training.place.today,
            part,
            len(parts),
            [item.family for item in training.items],
        ),
    }
    say = Say("session/warm_up", values, rows=rows_of("done", "stop"), slot=SLOT)
    return Turn(state.at("warm_up", part=part), says=(say,))


def _warm_up_answer(state: State, value: str, training: Training) -> Turn:
    if "done" not in (value, button_told(value, "step_done", training.facts)):
        return Turn(state, understood=False)
    part = int(state.answers["part"]) + 1
    if part < len(parts_of(training.plan.warm_up_minutes)):
        return _warm_up(state, training, part)
    state = state.at("move", at=0, rest_first=False, slip=False, pain=0, instead="")
    return _at_card(state, training)


def _move(state: State, value: str, training: Training) -> Turn:
    if value == "hurts":
        return ask_where_it_hurts(state)
    if value in WISHES:
        return show_change(state, changed(value, training, int(state.answers["at"])), training)
    if value == WATCH:
        return watch(state, training.plan)
    other_face = turned(state, value, training)
    if other_face is not None:
        return other_face
    if value == "puffed":
        return puffed(state, training)
    if value == "leave_out":
        return next_movement(state, training)
    amount = value.removeprefix("did=").rstrip("+")
    if amount.isdigit():
        return _counted(state, int(amount), training)
    item = training.items[int(state.answers["at"])]
    told = set_told(value, item, training)
    if told is None:
        return Turn(state, understood=False)
    # A pain told with the count is asked about before anything else.
    if hurt_told(value, training.facts):
        state = state.at("left", amount=told.done, heard=told.left, ended="", in_one=False)
        return _ask_set_where(state)
    return _counted(state, told.done, training, told)


def _counted(state: State, amount: int, training: Training, told: SetTold | None = None) -> Turn:
    """After the count how many were left, unless both were told in one line."""
    in_one = told is not None and told.left is not None and told.sure
    heard = told.left if told is not None else None
    state = state.at("left", amount=amount, heard=heard, ended="", in_one=in_one)
    item = training.items[int(state.answers["at"])]
    if ended_short(item, amount):
        return ask_why(state, item, amount)
    return _ask_left_or_log(state, training)


def _ask_left_or_log(state: State, training: Training) -> Turn:
    """Log what was plainly told in one line; else ask how many were left."""
    if not state.answers.get("in_one"):
        return _ask_left(state, training)
    noted: dict[str, JsonValue] = {
        "amount": state.answers["amount"],
        "left": state.answers["heard"],
        "seconds": training.items[int(state.answers["at"])].unit is Unit.SECONDS,
    }
    return _log(state, int(state.answers["heard"]), training, noted)


def _why_short(state: State, value: str, training: Training) -> Turn:
    if value == "it_hurt":
        return _ask_set_where(state.at(ENDED_SHORT, ended=Ended.OTHER.value))
    if value == BACK:
        return _at_card(state.at("move", slip=False, pain=0), training)
    why = why_of(value) or why_of(f"ended={button_told(value, 'ended', training.facts)}")
    if why is None:
        return _left_instead(state, value, training)
    state = state.at(ENDED_SHORT, ended=why.value)
    if why is Ended.COULD_NOT:
        return _log(state, 0, training)
    return _ask_left_or_log(state, training)


def _left_instead(state: State, value: str, training: Training) -> Turn:
    """ "Two, I think" where it was asked why: it is said back as what was left in hand."""
    item = training.items[int(state.answers["at"])]
    told = left_told(value, None, item, training)
    if told is None or told.value >= MOST_LEFT_TOLD:
        return Turn(state, understood=False)
    why = Ended.TOLD_TO_STOP if told.value <= item.stop_at_left else Ended.OTHER
    heard = state.at(ENDED_SHORT, ended=why.value, heard=told.value)
    return _ask_left(heard, training)


def _ask_left(state: State, training: Training) -> Turn:
    item = training.items[int(state.answers["at"])]
    values = {
        "amount": state.answers["amount"],
        "unit": item.unit.value,
        "slip": bool(state.answers.get("slip")),
        "pain": int(state.answers.get("pain", 0)),
        "heard": state.answers.get("heard"),
    }
    return Turn(state.at("left"), says=(Say("session/left", values, rows=LEFT, slot=SLOT),))


def _left(state: State, value: str, training: Training) -> Turn:
    if value == BACK:
        return _at_card(state.at("move", slip=False, pain=0), training)
    if value == "slip":
        return _ask_left(state.at("left", slip=not state.answers.get("slip")), training)
    if value == "it_hurt":
        return _ask_set_where(state)
    left = value.removeprefix("left=").rstrip("+")
    item = training.items[int(state.answers["at"])]
    if not left.isdigit():
        if hurt_told(value, training.facts):
            return _ask_set_where(state)
        both = set_told(value, item, training)
        if both is not None and both.left is not None:
            # "No, nine, and two more": the count is mended with it.
            return _counted(state, both.done, training, both)
        told = left_told(value, state.answers.get("heard"), item, training)
        if told is None:
            return Turn(state, understood=False)
        if not told.sure:
            return _ask_left(state.at("left", heard=told.value), training)
        left = str(told.value)
    if value == left and item.unit is Unit.SECONDS:
        # Seconds that were typed; a button counts steps.
        left = str(int(left) // int(SECONDS_PER_LEFT))
    return _log(state, min(int(left), MOST_LEFT_TOLD), training)


def _log(
    state: State,
    left: int,
    training: Training,
    noted: Mapping[str, JsonValue] | None = None,
) -> Turn:
    """Log the set with what was told of it, and go on.

    Args:
        noted: what was understood of one line and not asked for again; the next card says it.
    """
    if training.session is None:
        return Turn(state, understood=False)
    record = training.place.record
    item = training.items[int(state.answers["at"])]
    pain = int(state.answers.get("pain", 0))
    ended = str(state.answers.get("ended", ""))
    done = item.done(
        training.place.today,
        int(state.answers["amount"]),
        left,
        slip=bool(state.answers.get("slip")),
        pain=pain,
        ended=Ended(ended) if ended else None,
    )
    changes: tuple[Change, ...] = (LogSet(training.session.id, record.id, done, item.sets),)
    if pain and state.answers.get(PAIN_KEPT) != pain:
        # Asked before an upgrade, when a pain waited for this answer.
        changes = (*changes, *_pain_kept(state, pain, training))
    news = news_of_set(training, done)
    undo: dict[str, JsonValue] = {
        "at": state.answers["at"],
        "until": (training.facts.now + UNDO_FOR).isoformat(),
        "family": item.family.value,
        "coach_heard": tells_of_set(news),
    }
    changes = (*changes, *news)
    at = int(state.answers["at"])
    bought = further_step(training, at, done)
    if bought is not None:
        items = (*training.items[: at + 1], bought, *training.items[at + 1 :])
        training = replace(training, plan=replace(training.plan, prescriptions=items))
        changes = (*changes, keep_plan(training.plan, training, running=True))
        undo["bought"] = True
    # A pain is not unsaid.
    state = state.at(state.step, undo=None if pain else undo)
    return next_movement(state.at(state.step, noted=noted), training, changes=changes)


def _undone(state: State, training: Training) -> Turn:
    """The last set is taken back while it is fresh, and its card asks anew.

    The step that it bought goes too, and the coach reads it where she had read of the set.
    """
    undo = state.answers.get("undo")
    until = datetime.fromisoformat(str(undo["until"])) if undo else None
    if undo is None or until is None or training.facts.now > until or training.session is None:
        again = _again(state.at(state.step, undo=None), training)
        return replace(again, says=(Say("session/too_late"), *again.says))
    back = state.at(
        "move", at=undo["at"], undo=None, rest_first=False, nudge_at="", slip=False, pain=0
    )
    changes: tuple[Change, ...] = (UndoSet(training.session.id),)
    at, family = int(undo["at"]), undo.get("family")
    bought = undo.get("bought") and at + 1 < len(training.items)
    if bought and training.items[at + 1].family == family:
        items = (*training.items[: at + 1], *training.items[at + 2 :])
        training = replace(training, plan=replace(training.plan, prescriptions=items))
        changes = (*changes, keep_plan(training.plan, training, running=True))
    if undo.get("coach_heard"):
        changes = (*changes, set_taken_back(training, Family(family)))
    return replace(_at_card(back, training), changes=changes)


def _ask_set_where(state: State) -> Turn:
    say = Say("session/hurt_where", {"stop": False}, rows=rows_to(PLACES, state), slot=SLOT)
    return Turn(state.at("set_where"), says=(say,))


def _set_where(state: State, value: str, training: Training) -> Turn:
    told = told_where(value, training.facts)
    if told is None:
        return Turn(state, understood=False)
    return chest_pain() if told["where"] == CHEST else _ask_set_pain(state.at("set_pain", **told))


def _ask_set_pain(state: State) -> Turn:
    say = Say("session/hurt_level", rows=rows_to(LEVELS, state), slot=SLOT)
    return Turn(state.at("set_pain"), says=(say,))


def _set_pain(state: State, value: str, training: Training) -> Turn:
    level = parse_number(value.removeprefix("pain="), PAIN, training.numbers)
    if isinstance(level, UnusableAnswer):
        return Turn(state, understood=False)
    alarm = alarm_of(report_of(state.answers, int(level)), training.place.record.client)
    if alarm is not None:
        # It does not wait for the count; as with pain in the chest, the alert ends the session.
        return Turn(None, changes=(_pain_told(state, int(level), training),), begin=(alarm,))
    kept = _pain_kept(state, int(level), training)
    asked = _ask_left(state.at("left", **{"pain": int(level), PAIN_KEPT: int(level)}), training)
    return replace(asked, changes=(*kept, *asked.changes))


def _pain_kept(state: State, level: int, training: Training) -> tuple[Change, ...]:
    """A pain told beside a count is kept, and told, with its number: not after the next answer."""
    kept = _pain_told(state, level, training)
    if level < PAIN_COACH_HEARS_OF:
        return (kept,)
    item = training.items[int(state.answers["at"])]
    why = DoseReason(DoseCode.PAIN_STOP_MOVEMENT, {"pain": level})
    report = report_of(state.answers, level)
    where = place_named(report.where, report.side)
    return kept, coach_hears(training.place, why, item.family, where)


def _pain_told(state: State, level: int, training: Training) -> LogPain:
    family = training.items[int(state.answers["at"])].family
    told = PainTold(training.place.today, family, spared(state.answers), level)
    return LogPain(training.place.record.id, told)


def _stopping_answer(state: State, value: str, training: Training) -> Turn:
    if value == "go_on":
        before = str(state.answers["before"])
        # Questions about a pain and a movement left out lead back to the card.
        return _again(state.at(before if before in STEPS else "move"), training)
    if value not in ("just_stop", "unwell") or training.session is None:
        return Turn(state, understood=False)
    ended = (*_half_told(state, training), EndSession(training.session.id, finished=False))
    if value == "unwell":
        return Turn(None, changes=ended, begin=(said_on_the_way(),))
    later = asked_later(training.place.record)
    return Turn(None, says=(_stopped(training),), changes=ended, begin=later)


def _half_told(state: State, training: Training) -> tuple[Change, ...]:
    """The set whose count was told when the session is broken off; how many were left is unknown.

    What was said of it is written down, as the client is told.
    """
    if str(state.answers["before"]) not in HALF_TOLD or training.session is None:
        return ()
    item = training.items[int(state.answers["at"])]
    ended = str(state.answers.get("ended", ""))
    done = item.done(
        training.place.today,
        int(state.answers["amount"]),
        None,
        slip=bool(state.answers.get("slip")),
        pain=int(state.answers.get("pain", 0)),
        ended=Ended(ended) if ended else None,
    )
    return (LogSet(training.session.id, training.place.record.id, done, item.sets),)


def _stopped(training: Training) -> Say:
    """What was done counts; the rest waits, unless a pain or a sign has ended it."""
    place, facts = training.place, training.facts
    done = {one.family for one in facts.history(place.record.id).sets_on(place.today)}
    left = sum(item.family not in done for item in training.items)
    waits = left if not cause_to_stop(place.record, place.today, facts) else 0
    rows: Rows = ((Button("today", handler="open", ref="today"),),) if waits else ()
    return Say("session/stopped", {"left": waits}, rows=rows, slot=SLOT)


def _again(state: State, training: Training) -> Turn:
    """Ask again what this step waits for."""
    if state.step == "signs":
        return _ask_signs(state)
    if state.step == "sugar":
        return ask_sugar(state, training, str(state.answers.get("why", "")))
    if state.step in ("ready", "reliever"):
        return _ready(state, training)
    if state.step == "warm_up":
        return _warm_up(state, training, int(state.answers["part"]))
    if state.step == ENDED_SHORT:
        item = training.items[int(state.answers["at"])]
        return ask_why(state, item, int(state.answers["amount"]))
    if state.step == "left":
        return _ask_left(state, training)
    if state.step == "set_where":
        return _ask_set_where(state)
    if state.step == "set_pain":
        return _ask_set_pain(state)
    if state.step in ENDING:
        return again_ending(state, training)
    return _at_card(state, training)


def _at_card(state: State, training: Training) -> Turn:
    """The movement that is next; the cool-down where none is left."""
    if int(state.answers["at"]) >= len(training.items):
        return cool_down(state, training, 0)
    return Turn(state, says=(card(state, training),))


def _nudge(state: State, training: Training) -> Turn:
    """The rest is over: the card once more, as a new message, so that it is the newest."""
    if state.step != "move":
        return Turn(state)
    state = state.at("move", rest_first=False, nudge_at="")
    fresh = card(state, training, rest_over=True)
    return Turn(state, says=(replace(fresh, kind=Kind.PROMPT),))


_ANSWERS: Mapping[str, Callable[[State, str, Training], Turn]] = {
    "signs": _signs,
    "reliever": _reliever,
    "sugar": _sugar,
    "ready": _ready_answer,
    "warm_up": _warm_up_answer,
    "move": _move,
    ENDED_SHORT: _why_short,
    "left": _left,
    "set_where": _set_where,
    "set_pain": _set_pain,
    "cool_down": cool_down_answer,
    "effort": effort_answer,
    "minutes": minutes_answer,
    "stopping": _stopping_answer,
}
