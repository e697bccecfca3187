"""A walk: planned like a session and watched until it is over, or told afterwards.

A planned walk needs all that a session needs: clearance, no hold, no rest day, today's answer on
warning signs. A walk that was taken may be told at any time; on hold it steers nothing.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

from bot.flows.changes import (
    AddWords,
    Change,
    LogWalk,
    RaiseAlert,
    SaveCheckin,
    SaveProfile,
    StartWalk,
    StopWalk,
    UndoWalk,
)
from bot.flows.client.buttons import of_another_day
from bot.flows.client.feeling import said_on_the_way
from bot.flows.client.later_low import asked_later
from bot.flows.client.sugar_before import ask_sugar, asks_sugar, sugar_told
from bot.flows.facts import Facts
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
from bot.flows.parsing import Reask, read_number
from bot.flows.reasons import Reason
from bot.flows.record.planning import (
    Gate,
    TrainingStatus,
    signs_are_old,
    training_of,
    training_status,
)
from bot.flows.record.said_unwell import asked_before
from bot.flows.record.walks import (
    LOOK_BACK_DAYS,
    STEADY,
    WALKS_NOW,
    steady_of,
    walk_today_of,
    walk_week_of,
    walks_now,
)
from bot.flows.safety.signs_first import ask_signs, told_of_a_sign
from bot.flows.walk_words import LONGEST_MINUTES
from bot.json_values import JsonValue
from bot.messages import Kind
from core.client.care import WalkCare
from core.programme.walking import (
    FAR_AIM_MINUTES,
    WATCH_AFTER,
    Activity,
    Talk,
    WalkDone,
    WalkToday,
    in_place_of_walks,
    walk_cares,
    week_begins,
)
from core.vocabulary import AlertLevel, Sign

NAME = "walk"
ONE_SCREEN = True
"""Its buttons do not say what they answer: only those of the newest screen count."""
SLOT = "walk"

ALL_RIGHT, TOLD = "all_right", "told"
ON_THE_WAY = ("walking", ALL_RIGHT)
TELLING = ("log", "talk", "feet")
TELL_AFTER = timedelta(minutes=5)
UNDO_FOR = timedelta(minutes=5)
"""So long a walk that was told may be taken back (ours)."""
LONGEST_WALK = timedelta(hours=12)
"""Silence this long after the start is that of somebody who has gone about their days."""

PAUSED = (
    Gate.NOT_CLEARED,
    Gate.CLEARANCE_OVER,
    Gate.ON_HOLD,
    Gate.ALERT_OPEN,
    Gate.SAID_UNWELL,
    Gate.NEWS_HEARD,
)
"""What is told of a walk then steers nothing."""

NOW_MINUTES = (0, 5, 10, 15, 20, 30)
NOW_DAYS = (1, 2, 3, 4, 5, 7)
LENGTHS = (5, 10, 15, 20, 30, 45, 60)

UNDO = Button("undo", handler="open", ref="undo")
WAY = "way_"
"""Begins the buttons by which another activity is named."""


def _today_done(place: TrainingStatus, facts: Facts) -> Mapping[str, JsonValue]:
    """What is planned is of today, and a walk, or what the client has named in its place."""
    return {"activity": steady_of(place.record, facts).value, "ago": 0}


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    place = training_status(facts)
    turn = _step(state, event, place, facts)
    return _still_watched(turn, place, facts)


def _still_watched(turn: Turn, place: TrainingStatus, facts: Facts) -> Turn:
    """Whatever is told of another walk, the watch over the one on its way goes on."""
    running = facts.running_walk(place.record.id)
    loud = (
        isinstance(change, RaiseAlert) and change.level is not AlertLevel.MENTION
        for change in turn.changes
    )
    ended = any(
        isinstance(change, StopWalk | LogWalk) and change.walk_id is not None
        for change in turn.changes
    )
    if running is None or ended or any(loud) or not turn.understood or turn.due_at is not None:
        return turn
    due_at = facts.now + WATCH_AFTER
    if turn.state is not None:
        return replace(turn, due_at=due_at)
    if any(begin.flow == NAME for begin in turn.begin):
        return turn
    told = {
        "on": place.today.isoformat(),
        "minutes": running.minutes,
        **_today_done(place, facts),
    }
    state = State(NAME, "walking", told)
    since = place.record.person.local(running.started_at).strftime("%H:%M")
    # Beneath what was just said, not in its place.
    way = replace(_way(state, since=since), slot="")
    return replace(turn, state=state, says=(*turn.says, way), due_at=due_at)


def _step(state: State, event: Event, place: TrainingStatus, facts: Facts) -> Turn:
    if event.kind is EventKind.BEGIN:
        return _begin(state, event.args, place, facts)
    if event.kind is EventKind.DUE:
        return _due(state, place, facts)
    if event.kind is EventKind.RESUME:
        return _again(state, place, facts)
    value = pressed(event, NAME, facts)
    if state.step in (*TELLING, "closed"):
        return _telling(state, value, place, facts)
    if state.step in (*ON_THE_WAY, TOLD):
        return _on_the_way(state, value, place, facts)
    on = date.fromisoformat(str(state.answers["on"]))
    if on != place.today:
        return Turn(None, says=of_another_day(event, on), begin=(Begin(NAME),))
    if place.gate is not Gate.OPEN:
        return _closed(state, place)
    if facts.running_session(place.record.id) is not None:
        return _closed(state, place, in_session=True)
    return _planning(state, value, place, facts)


def _begin(state: State, args: Mapping[str, Any], place: TrainingStatus, facts: Facts) -> Turn:
    """What there is today; or a walk that was typed; or the one that is on its way."""
    if place.gate is Gate.NOT_JOINED:
        return Turn(None, begin=(Begin("join"),))
    if args.get("undo"):
        return _undone(place, facts)
    if "rather" in args:
        return _rather(str(args["rather"]), place, facts)
    state = state.at("plan", on=place.today.isoformat(), **_today_done(place, facts))
    if "minutes" in args:
        told = {key: args[key] for key in ("minutes", "activity", "ago")}
        state = state.at("talk", **told)
        if args["talked"]:
            return _kept(state, Talk.SENTENCES, place, facts)
        return Turn(state, says=(_talk(state),))
    running = facts.running_walk(place.record.id)
    if running is not None:
        since = place.record.person.local(running.started_at).strftime("%H:%M")
        state = state.at("walking", minutes=running.minutes)
        due_at = facts.now + WATCH_AFTER
        return Turn(state, says=(_way(state, since=since),), due_at=due_at)
    if place.gate is not Gate.OPEN:
        return _closed(state, place)
    if facts.running_session(place.record.id) is not None:
        return _closed(state, place, in_session=True)
    known = walks_now(place.record) is not None or facts.walks(place.record.id, LOOK_BACK_DAYS)
    return (
        _plan(state, place, facts)
        if known
        else Turn(state.at("now_minutes"), says=(_ask_now("minutes"),))
    )


def _closed(state: State, place: TrainingStatus, *, in_session: bool = False) -> Turn:
    """Why no walk is planned now; one that was taken can be told all the same."""
    first = asked_before(place.gate, NAME)
    if first is not None:
        return Turn(None, begin=(first,))
    rows: Rows = ((Button("other"),),)
    if place.gate is Gate.NO_CHECKIN:
        rows = ((Button("checkin", handler="open", ref="checkin"),), *rows)
    values = {"gate": place.gate.value, "in_session": in_session}
    say = Say("walk/closed", values, rows=rows, slot=SLOT)
    return Turn(state.at("closed"), says=(say,))


def _ask_now(what: str) -> Say:
    amounts = NOW_MINUTES if what == "minutes" else NOW_DAYS
    buttons = [Button(f"n={amount}", label=str(amount)) for amount in amounts]
    return Say("walk/now", {"what": what}, rows=(tuple(buttons),), slot=SLOT)


def _plan(state: State, place: TrainingStatus, facts: Facts) -> Turn:
    today = _today(place, facts)
    if today is None:
        say = Say("walk/none", rows=rows_of("other"), slot=SLOT)
        return Turn(state.at("closed"), says=(say,))
    state = state.at("plan", minutes=today.minutes)
    activity = steady_of(place.record, facts)
    state = state.at("plan", activity=activity.value)
    values = {**_plan_values(today, state), "far": FAR_AIM_MINUTES}
    # In water no phone is heard: a swim is told afterwards.
    starts = [] if activity is Activity.SWIM else ["start"]
    ways = ["way"] if _ways(place, facts) else []
    rows = rows_of(*starts, "talked", "other", *ways)
    return Turn(state, says=(Say("walk/plan", values, rows=rows, slot=SLOT),))


def _ways(place: TrainingStatus, facts: Facts) -> tuple[Activity, ...]:
    return in_place_of_walks(place.record.client, facts.reference.catalogue.steering)


def _rather(chosen: str, place: TrainingStatus, facts: Facts) -> Turn:
    """An activity that was wished for in words: kept from now on, or why it is not planned."""
    record = place.record
    known = steady_of(record, facts).value
    if chosen == known:
        # It is what is planned.
        return Turn(None, begin=(Begin(NAME),))
    if chosen not in (Activity.WALK, *_ways(place, facts)):
        values = {"activity": chosen, "planned": known, "why": "not_for_you"}
        return Turn(None, says=(Say("walk/rather", values, slot=SLOT),))
    running = facts.running_walk(record.id) is not None
    values = {"activity": chosen, "planned": known, "why": "running" if running else ""}
    say = Say("walk/rather", values)
    if running:
        return Turn(None, says=(replace(say, slot=SLOT),), begin=(Begin(NAME),))
    kept = SaveProfile(record.id, {STEADY: chosen})
    return Turn(None, says=(say,), changes=(kept,), begin=(Begin(NAME),))


def _named(state: State, value: str, place: TrainingStatus, facts: Facts) -> Turn:
    """Another activity, or walks again; from now on it is what is planned."""
    chosen = value.removeprefix(WAY)
    if chosen not in (Activity.WALK, *_ways(place, facts)):
        return Turn(state, understood=False)
    kept = SaveProfile(place.record.id, {STEADY: chosen})
    answers = {**place.record.answers, STEADY: chosen}
    known = replace(place, record=replace(place.record, answers=answers))
    return replace(_plan(state, known, facts), changes=(kept,))


def _plan_values(today: WalkToday, state: State) -> dict[str, object]:
    return {
        "today": today,
        "activity": state.answers["activity"],
        "style": today.style.value,
        "code": today.week.code.value,
        "cares": [care.value for care in today.cares],
        "minutes": today.minutes,
    }


def _today(place: TrainingStatus, facts: Facts) -> WalkToday | None:
    if place.checkin is None:
        return None
    return walk_today_of(place.record, place.checkin, facts)


def _planning(state: State, value: str, place: TrainingStatus, facts: Facts) -> Turn:
    """Up to the start."""
    if state.step in ("now_minutes", "now_days"):
        return _told_now(state, value, place, facts)
    checkin = place.checkin
    if state.step == "plan" and value == "start" and checkin is not None:
        if signs_are_old(checkin, facts):
            return Turn(state.at("signs"), says=(ask_signs(SLOT),))
        return _ready(state, place, facts)
    if state.step == "plan" and value == "talked":
        return _kept(state, Talk.SENTENCES, place, facts)
    if state.step == "plan" and value == "other":
        return Turn(state.at("log"), says=(_ask_length(),))
    if state.step == "plan" and value == "way":
        buttons = rows_of(*(f"{WAY}{one}" for one in (Activity.WALK, *_ways(place, facts))))
        return Turn(state.at("way"), says=(Say("walk/way", rows=buttons, slot=SLOT),))
    if state.step == "way":
        return _named(state, value, place, facts)
    if state.step == "signs" and value == "sign":
        return Turn(None, begin=(told_of_a_sign(),))
    if state.step == "signs" and value == "none" and checkin is not None:
        kept = SaveCheckin(place.record.id, place.today, checkin.answers, signs_asked=True)
        turn = _ready(state, place, facts)
        return replace(turn, changes=(kept, *turn.changes))
    if state.step == "sugar":
        asked, known, changes = sugar_told(state, value, training_of(place, facts))
        turn = asked or _ready_check(state, known.place, facts)
        return replace(turn, changes=(*changes, *turn.changes))
    if state.step == "ready":
        return _ready_answer(state, value, place, facts)
    return Turn(state, understood=False)


def _told_now(state: State, value: str, place: TrainingStatus, facts: Facts) -> Turn:
    """What is walked now: minutes at a time, then days a week."""
    most = LONGEST_MINUTES if state.step == "now_minutes" else 7
    number = read_number(value.removeprefix("n="), 0, most, facts.reference.words.numbers)
    if isinstance(number, Reask):
        return Turn(state, understood=False)
    if state.step == "now_minutes" and number:
        return Turn(state.at("now_days", each=round(number)), says=(_ask_now("days"),))
    told: dict[str, JsonValue] = {
        "minutes": int(state.answers.get("each", 0)),
        "days": round(number),
    }
    kept = SaveProfile(place.record.id, {WALKS_NOW: told})
    answers = {**place.record.answers, WALKS_NOW: told}
    known = replace(place, record=replace(place.record, answers=answers))
    return replace(_plan(state, known, facts), changes=(kept,))


def _ready(state: State, place: TrainingStatus, facts: Facts) -> Turn:
    if "glucose" in place.record.client.limits.numbers_asked:
        training = training_of(place, facts)
        if asks_sugar(training):
            return ask_sugar(state, training)
    return _ready_check(state, place, facts)


def _ready_check(state: State, place: TrainingStatus, facts: Facts) -> Turn:
    today = _today(place, facts)
    if today is None:
        return Turn(None, begin=(Begin(NAME),))
    looks = WalkCare.FEET in today.cares and state.answers["activity"] == Activity.WALK
    rows = rows_of("ready", *(["feet_sore"] if looks else []), "not_today")
    watch = round(today.watch_after / timedelta(minutes=1))
    state = state.at("ready", minutes=today.minutes, watch=watch)
    return Turn(state, says=(Say("walk/ready", _plan_values(today, state), rows=rows, slot=SLOT),))


def _ready_answer(state: State, value: str, place: TrainingStatus, facts: Facts) -> Turn:
    if value == "not_today":
        return Turn(None, says=(Say("session/another_day", slot=SLOT),))
    if value == "feet_sore":
        return _foot_sore(place)
    if value != "ready":
        return Turn(state, understood=False)
    if place.checkin is None or signs_are_old(place.checkin, facts):
        return Turn(state.at("signs"), says=(ask_signs(SLOT),))
    if asks_sugar(training_of(place, facts)):
        # What was told before has grown old while the check lay open.
        return ask_sugar(state, training_of(place, facts))
    minutes = int(state.answers["minutes"])
    state = state.at("walking")
    return Turn(
        state,
        says=(_way(state),),
        changes=(StartWalk(place.record.id, place.today, minutes),),
        due_at=facts.now + timedelta(minutes=int(state.answers["watch"])),
    )


def _way(state: State, *, since: str = "") -> Say:
    activity = state.answers.get("activity", Activity.WALK.value)
    values = {"minutes": state.answers["minutes"], "since": since, "activity": activity}
    return Say("walk/on_the_way", values, rows=rows_of("back", "unwell"), slot=SLOT)


def _on_the_way(state: State, value: str, place: TrainingStatus, facts: Facts) -> Turn:
    """A walk that was started, up to the tap "I am back"."""
    running = facts.running_walk(place.record.id)
    stops: tuple[Change, ...] = () if running is None else (StopWalk(running.id),)
    if value == "unwell":
        return Turn(None, changes=stops, begin=(said_on_the_way(),))
    if state.step == TOLD:
        return _fine_after_all(state, value, place, facts)
    if value == "back":
        # Whoever is back needs no watch, also where nothing more is told.
        return Turn(state.at("talk"), says=(_talk(state),), changes=stops)
    if value == "fine" and state.step == ALL_RIGHT:
        state = state.at("walking")
        return Turn(state, says=(_way(state),), due_at=facts.now + WATCH_AFTER)
    return Turn(state, understood=False)


def _fine_after_all(state: State, value: str, place: TrainingStatus, facts: Facts) -> Turn:
    if value not in ("fine", "back"):
        return Turn(state, understood=False)
    said = Say("session/good_to_hear", {"goes_on": False, "paused": place.gate in PAUSED})
    open_one = facts.open_alert(place.record.id)
    if open_one is None or Sign.SILENT_SESSION not in open_one.signs:
        return Turn(None, says=(said,))
    why = Reason("coach", "tapped_fine")
    return Turn(None, says=(said,), changes=(AddWords(place.record.id, why=why),))


def _telling(state: State, value: str, place: TrainingStatus, facts: Facts) -> Turn:
    """A walk that was taken: how long, and whether there was breath to talk."""
    if state.step == "closed":
        if value != "other":
            return Turn(state, understood=False)
        return Turn(state.at("log"), says=(_ask_length(),))
    if state.step == "log":
        numbers = facts.reference.words.numbers
        minutes = read_number(value.removeprefix("n="), 1, LONGEST_MINUTES, numbers)
        if isinstance(minutes, Reask):
            return Turn(state, understood=False)
        state = state.at("talk", minutes=round(minutes))
        return Turn(state, says=(_talk(state),))
    if state.step == "feet":
        if value == "feet_sore":
            return _foot_sore(place)
        if value == "feet_ok":
            return Turn(None, says=(Say("walk/feet_fine", slot=SLOT),))
        return Turn(state, understood=False)
    if value == "other":
        return Turn(state.at("log"), says=(_ask_length(),))
    told = {"talked": Talk.SENTENCES, "short": Talk.SHORT}.get(value)
    return Turn(state, understood=False) if told is None else _kept(state, told, place, facts)


def _talk(state: State) -> Say:
    values = {"minutes": state.answers["minutes"], "activity": state.answers["activity"]}
    return Say("walk/talk", values, rows=rows_of("talked", "short", "other"), slot=SLOT)


def _ask_length() -> Say:
    buttons = [Button(f"n={minutes}", label=str(minutes)) for minutes in LENGTHS]
    return Say("walk/length", rows=(tuple(buttons[:4]), tuple(buttons[4:])), slot=SLOT)


def _kept(state: State, talk: Talk, place: TrainingStatus, facts: Facts) -> Turn:
    """Written down; the walk on its way ends with it where it can be the one that is told."""
    record, running = place.record, facts.running_walk(place.record.id)
    paused = place.gate in PAUSED
    on = place.today - timedelta(days=int(state.answers["ago"]))
    minutes = int(state.answers["minutes"])
    activity = Activity(state.answers["activity"])
    walk = WalkDone(on, minutes, talk, activity, steers=not paused)
    # A walk of today that is longer than this one has lasted, or of another day, was another.
    is_this = (
        running is not None
        and on == running.on == place.today
        and activity is steady_of(record, facts)
        and facts.now - running.started_at >= timedelta(minutes=minutes)
    )
    changes = (LogWalk(record.id, walk, running.id if running and is_this else None),)
    week = walk_week_of(record, facts)
    values = {
        "minutes": minutes,
        "activity": activity.value,
        "short": talk is Talk.SHORT,
        "paused": paused,
        "so_far": week.done + (minutes if on >= week_begins(place.today) else 0),
        "asked": week.minutes,
        "planned": place.gate is Gate.OPEN,
        "feet": False,
    }
    cares = walk_cares(record.client, facts.reference.catalogue.steering)
    looks = activity is Activity.WALK and WalkCare.FEET in cares
    later = () if paused or on != place.today else asked_later(record)
    if looks and not paused:
        rows = (*rows_of("feet_ok", "feet_sore"), (UNDO,))
        say = Say("walk/kept", {**values, "feet": True}, rows=rows, slot=SLOT)
        return Turn(state.at("feet"), says=(say,), changes=changes, begin=later)
    said = Say("walk/kept", values, rows=((UNDO,),), slot=SLOT)
    return Turn(None, says=(said,), changes=changes, begin=later)


def _undone(place: TrainingStatus, facts: Facts) -> Turn:
    """The walk told last is taken back while it is fresh; of a sign the coach gets a line more.

    An alert, a pause and what the coach has heard stay as they are.
    """
    told_at = facts.walk_told_at(place.record.id)
    fresh = told_at is not None and facts.now - told_at <= UNDO_FOR
    on = None if fresh else facts.open_alert(place.record.id)
    if on is not None and Sign.ABUSE not in on.signs:
        values = {"is_emergency": on.level is AlertLevel.EMERGENCY, "over": False}
        said = Say("safety/wrong_button", values)
        line = AddWords(place.record.id, why=Reason("coach", "took_back"))
        return Turn(None, says=(said,), changes=(line,), resumes=True)
    opens = "walk" if fresh else "checkin"
    rows: Rows = ((Button(opens, handler="open", ref=opens),),)
    said = Say("walk/undone", {"taken_back": fresh}, rows=rows)
    changes = (UndoWalk(place.record.id),) if fresh else ()
    return Turn(None, says=(said,), changes=changes, resumes=True)


def _foot_sore(place: TrainingStatus) -> Turn:
    """No walk on it, and the coach hears of it."""
    why = Reason("coach", "foot_sore")
    told = RaiseAlert(place.record.id, AlertLevel.MENTION, (), why=why, holds=False, passed_on=True)
    return Turn(None, says=(Say("walk/foot_sore", slot=SLOT),), changes=(told,))


def _due(state: State, place: TrainingStatus, facts: Facts) -> Turn:
    """Nothing was heard of a walk on its way: ask; when that has been asked, tell the coach."""
    running = facts.running_walk(place.record.id)
    if state.step == TOLD or running is None:
        return Turn(state, quiet=True)
    if facts.now - running.started_at > LONGEST_WALK:
        return Turn(None, changes=(StopWalk(running.id),))
    if state.step != ALL_RIGHT:
        say = Say("walk/all_right", rows=rows_of("fine", "unwell"), kind=Kind.SAFETY)
        asked = state.at(ALL_RIGHT, minutes=running.minutes, **_today_done(place, facts))
        return Turn(asked, says=(say,), due_at=facts.now + TELL_AFTER)
    # The alert ends the walk on its way, too.
    raised = RaiseAlert(place.record.id, AlertLevel.URGENT, (Sign.SILENT_SESSION,), holds=False)
    told = Say("session/coach_told_silent", kind=Kind.SAFETY)
    return Turn(state.at(TOLD), says=(told,), changes=(raised,), quiet=True)


def _again(state: State, place: TrainingStatus, facts: Facts) -> Turn:
    """Ask again what this step waits for."""
    if state.step in (*ON_THE_WAY, TOLD):
        running = facts.running_walk(place.record.id)
        if running is None:
            return Turn(None)
        over: datetime = running.started_at + timedelta(minutes=int(state.answers.get("watch", 0)))
        due_at = max(over, facts.now + WATCH_AFTER)
        state = state.at("walking")
        return Turn(state, says=(_way(state),), due_at=due_at)
    if state.step == "feet":
        return Turn(None)
    if state.step in ("talk", "log"):
        asked = _talk(state) if state.step == "talk" else _ask_length()
        return Turn(state, says=(asked,))
    return _begin(State(NAME, "begin"), {}, place, facts)
