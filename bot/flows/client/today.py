"""Today's movements: the list, each as a card, and the way into the session.

The same conversation goes on as the session itself (:mod:`bot.flows.client.training`) after
"start".
"""

from dataclasses import replace
from datetime import date, timedelta

from bot.flows.changes import Change
from bot.flows.client.buttons import of_another_day
from bot.flows.client.cards import (
    SLOT,
    WATCH,
    WISHES,
    card,
    changed,
    coach_hears,
    keep_plan,
    show_change,
    turned,
    watch,
    with_wishes_kept,
)
from bot.flows.client.how_hard import HOW_HARD
from bot.flows.client.hurting import (
    SHARP_ASKED,
    ask_where,
    names_only_a_place,
    pain_told,
    step_hurting,
    told_to_hurt,
)
from bot.flows.client.hurting import STEPS as HURTING
from bot.flows.client.puffed import STEPS as PUFFED
from bot.flows.client.taken_out import Kept, as_allowed, heed_now, next_allowed
from bot.flows.client.training import (
    HALF_TOLD,
    go_on,
    next_movement,
    says_stop,
    start,
    step_training,
    stop,
)
from bot.flows.client.training import STEPS as TRAINING
from bot.flows.commands import asks_for_something
from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import (
    MOVEMENT_LABEL,
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
from bot.flows.record.kept_wishes import keep_wish, wishes_granted, wishes_kept
from bot.flows.record.paused import signs_behind
from bot.flows.record.planning import (
    Gate,
    Training,
    TrainingStatus,
    for_sink,
    is_away,
    is_paused,
    is_short,
    planned,
    status_now,
    status_of_running,
    today_for,
    training_of,
    training_status_of,
)
from bot.flows.record.said_unwell import asked_before
from bot.flows.record.told_counts import button_told
from bot.flows.wishes import MovementWish, wish_of
from core.dose.gentle import easy_moves
from core.dose.prescription import DoseCode, SessionPlan
from core.red_flags.reading import Reading
from core.vocabulary import Family

NAME = "today"
ONE_SCREEN = True
"""Its buttons do not say what they answer: only those of the newest screen count."""
SHORT_MINUTES = 15
ON_A_CARD = ("card", "move")
"""Steps at which one movement is shown."""


def keeps_its_question(state: State) -> bool:
    """Whether the day's movements, asked for anew, wait for what is asked now.

    The breath after a reliever is waited for, and silence about it told; of a pain that is kept,
    the kind decides what becomes of the movement; a set whose count was told is told to its end.
    """
    asks_on = state.step in (SHARP_ASKED, *HALF_TOLD) and bool(state.answers.get("running"))
    return state.flow == NAME and (state.step in PUFFED or asks_on)


def tells_what_was_asked(state: State, text: str, reading: Reading, facts: Facts) -> bool:
    """A place is the answer where a place is asked for (see :class:`AsksOfHealth`)."""
    asked = state.step in ("hurt_where", "set_where")
    return asked and names_only_a_place(text, reading, facts)


def lies_open(state: State) -> bool:
    """Whether the day's list lies open and nothing is asked: no wish waits for its movement."""
    return state.step == "list" and not state.answers.get("wish")


def family_at_work(state: State, facts: Facts) -> Family | None:
    """The movement of a running session that is asked about, or was shown last; else none."""
    if state.flow != NAME or not state.answers.get("running"):
        return None
    on = date.fromisoformat(str(state.answers["on"]))
    items = training_of(status_of_running(on, facts, beside_sink=False), facts).items
    at = int(state.answers.get("at", 0))
    return items[at].family if at < len(items) else None


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`)."""
    if event.kind is EventKind.BEGIN:
        return _begin(event, status_now(facts), facts)
    on = date.fromisoformat(str(state.answers["on"]))
    place = status_of_running(on, facts, beside_sink=False)
    if on != place.today:
        if event.kind is EventKind.TEXT and asks_for_something(event.value, facts):
            return Turn(state, understood=False)
        return Turn(None, says=of_another_day(event, on), begin=(Begin(NAME),))
    if place.gate not in (Gate.OPEN, Gate.REST_DAY):
        return Turn(state) if _is_due(event, place) else closed(place, facts)
    kept = heed_now(state, event, training_of(place, facts))
    turn = _gone(kept) if kept.gone else _go(kept.state, event, kept.training, facts)
    if not kept.changes:
        return turn
    says = turn.says if kept.gone else (*kept.says, *turn.says)
    return replace(turn, says=says, changes=(*kept.changes, *turn.changes))


def _gone(kept: Kept) -> Turn:
    """What was shown may not be done any more; whatever was tapped on it, it is not done."""
    if kept.state.answers.get("running"):
        return next_allowed(kept)
    plan = kept.training.plan
    if not plan.prescriptions:
        return Turn(None, says=(*kept.says, Say("today/nothing", {"plan": plan})))
    return Turn(kept.state.at("list", wish=""), says=(*kept.says, _list(kept.state, plan)))


def _go(state: State, event: Event, training: Training, facts: Facts) -> Turn:
    """What the event does in the plan as it may be done now."""
    if says_stop(state, event, training):
        return stop(state, training)
    if state.step in HURTING:
        return step_hurting(state, event, training)
    if state.step == "gone":
        return _on_after_gone(state, event, training)
    # Buttons by their bare words; whole wishes are read from what was typed.
    event = replace(event, value=pressed(event, NAME, facts))
    wish = wish_of(event.value, facts.reference.wishes) if event.kind is EventKind.TEXT else None
    if wish is not None:
        return _wished(state, wish, training)
    if event.kind is EventKind.TEXT and state.step in ON_A_CARD:
        told = pain_told(event.value, training)
        if told is not None:
            return told_to_hurt(state, told)
    if state.step in TRAINING:
        return step_training(state, event, training)
    return _looking(state, event, training)


def plainly_answers(state: State, text: str, facts: Facts) -> bool:
    """Whether typed words are a number that the open question of a session asks for."""
    if (
        isinstance(read_number(text, 0, 1000, facts.reference.words.numbers), Reask)
        or len(text.split()) > 1
    ):
        return False
    return step(state, Event(EventKind.TEXT, text), facts).understood


def _wished(state: State, wish: MovementWish, training: Training) -> Turn:
    """A wish in own words, for the movement it names or the one that is shown."""
    families = [item.family.value for item in training.items]
    on_card = state.step in ON_A_CARD
    shown = families[int(state.answers["at"])] if on_card else ""
    if on_card and wish.family in ("", shown):
        return _step_shown(state, wish.what, training)
    if state.step == "ready":
        # Nothing runs yet: the list asks which movement is meant.
        return Turn(None, begin=(Begin(NAME, {"wish": wish.what, "family": wish.family}),))
    kept: tuple[Change, ...] = ()
    if wish.what == "easier" and wish.family not in ("", *families):
        kept = _kept_for_next(Family(wish.family), training)
    if state.step in TRAINING:
        ahead = _wished_ahead(state, wish, training)
        if ahead is not None:
            return ahead
        again = _step_shown(state, "", training)
        later = Say("session/later", {"step": state.step})
        if kept:
            later = Say("today/kept_for_next", {"family": wish.family})
        return replace(again, says=(later, *again.says), changes=(*kept, *again.changes))
    if wish.family in families:
        at = families.index(wish.family)
        return _see(state.at("list", wish=wish.what), str(at), training)
    listed = _list(state, training.plan, wish=wish.what, absent=wish.family, kept=bool(kept))
    return Turn(state.at("list", wish=wish.what), says=(listed,), changes=kept)


def _kept_for_next(family: Family, training: Training) -> tuple[Change, ...]:
    """The wish for its next day; nothing where this client has no such movement at all."""
    place = training.place
    if place.checkin is None:
        return ()
    today = today_for(place.record, place.checkin, training.facts)
    return (keep_wish(place.record, family, place.today),) if today.may_offer(family) else ()


def _wished_ahead(state: State, wish: MovementWish, training: Training) -> Turn | None:
    """A wish for a movement to come: it is changed at once, and what is open stays."""
    first = int(state.answers.get("at", 0)) + (0 if state.step == "warm_up" else 1)
    families = [item.family.value for item in training.items]
    if not state.answers.get("running") or wish.family not in families[first:]:
        return None
    at = families.index(wish.family, first)
    after = changed(wish.what, training, at)
    item = training.items[at] if after.gone else after.plan.prescriptions[at]
    changes: tuple[Change, ...] = (keep_plan(after.plan, training, running=True),)
    if after.tell_coach:
        changes = (*changes, coach_hears(training.place, after.why, item.family, ""))
    values = {"rung": item.step.rung, "why": after.why, "gone": after.gone}
    say = Say("session/changed_ahead", values)
    known = replace(training, plan=after.plan)
    again = step_training(state, Event(EventKind.RESUME), known)
    return replace(again, says=(say, *again.says), changes=(*changes, *again.changes))


def _step_shown(state: State, value: str, training: Training) -> Turn:
    """A button of what is shown now; "" shows it again."""
    event = Event(EventKind.TAP, value) if value else Event(EventKind.RESUME)
    if state.step not in TRAINING:
        return _looking(state, event, training)
    return step_training(state, event, training)


def _begin(event: Event, place: TrainingStatus, facts: Facts) -> Turn:
    if place.gate is Gate.NOT_JOINED:
        return Turn(None, begin=(Begin("join"),))
    if place.gate is not Gate.OPEN:
        return closed(place, facts)
    before = training_of(place, facts)
    after = as_allowed(before, _done_already(before))
    training = after.training
    told = _told_this_week(training) if training.plan.left_out else []
    state = State(NAME, "list", {"on": place.today.isoformat(), "told": told})
    if training.session is not None and training.session.status == "running":
        if for_sink(training.session):
            return Turn(None, begin=(Begin("balance"),))
        # The conversation of a running session was lost sight of.
        turn = go_on(state, training)
        kept: tuple[Change, ...] = ()
        if training is not before:
            # Counts of the card that is shown now must be logged for what it shows.
            kept = (keep_plan(training.plan, training, running=True),)
        says = (Say("today/running"), *after.says(before), *turn.says)
        return replace(turn, says=says, changes=(*kept, *turn.changes))
    if not training.items:
        return Turn(None, says=(Say("today/nothing", {"plan": training.plan}),))
    wish = str(event.args.get("wish", ""))
    training, granted, eased = _eased_as_asked(training)
    changes = (keep_plan(training.plan, training, running=False), *eased)
    family = str(event.args.get("family", ""))
    if family:
        turn = _wished(state, MovementWish(wish, family), training)
        return replace(turn, says=(*granted, *turn.says), changes=(*changes, *turn.changes))
    listed = _list(state, training.plan, wish=wish)
    if not wish and _may_ask_length(training):
        length: Rows = ((Button("length", handler="open", ref="length"),),)
        listed = replace(listed, rows=(*listed.rows, *length))
    return Turn(state.at("list", wish=wish), says=(*granted, listed), changes=changes)


def _eased_as_asked(training: Training) -> tuple[Training, tuple[Say, ...], tuple[Change, ...]]:
    """With what was asked to be easier on a day without it, and is there today; it is said."""
    record = training.place.record
    families = [item.family for item in training.items]
    due = tuple(
        family for family in wishes_kept(record, training.place.today) if family in families
    )
    if not due or training.place.checkin is None:
        return training, (), ()
    says: list[Say] = []
    changes: list[Change] = [wishes_granted(record, due)]
    for family in due:
        at = [item.family for item in training.items].index(family)
        after = changed("easier", training, at)
        now = training.items[at] if after.gone else after.plan.prescriptions[at]
        told = {"family": family.value, "rung": now.step.rung, "why": after.why, "gone": after.gone}
        says.append(Say("today/eased_as_asked", told))
        if after.tell_coach:
            changes.append(coach_hears(training.place, after.why, family, ""))
        training = replace(training, plan=after.plan)
    return training, tuple(says), tuple(changes)


def _done_already(training: Training) -> set[int]:
    """Places of a running session's movements that have a set of today."""
    if training.session is None or training.session.status != "running":
        return set()
    done = training.facts.history(training.place.record.id).sets_on(training.place.today)
    families = {one.family for one in done}
    return {at for at, item in enumerate(training.items) if item.family in families}


def _may_ask_length(training: Training) -> bool:
    """Before the first session, of somebody who was never asked how long one may be."""
    record = training.place.record
    done = training.facts.history(record.id).sets
    return record.client.session_minutes is None and not done


def _is_due(event: Event, place: TrainingStatus) -> bool:
    """Whether only time has passed while it is not told what is wrong: that has its own watch."""
    return event.kind is EventKind.DUE and place.gate in (Gate.SAID_UNWELL, Gate.NEWS_HEARD)


def closed(place: TrainingStatus, facts: Facts, *, asked_for: str = NAME) -> Turn:
    """Why there is no session now, and what to do: also of balance beside the sink.

    Args:
        asked_for: the conversation that is closed now.
    """
    first = asked_before(place.gate, asked_for)
    if first is not None:
        return Turn(None, begin=(first,))
    if place.gate is Gate.NO_CHECKIN:
        return Turn(None, says=(Say("today/checkin_first"),), begin=(Begin("checkin"),))
    values = {"gate": place.gate.value, "because": signs_behind(place.record.id, facts)}
    return Turn(None, says=(Say("today/closed", values),))


def _list(
    state: State, plan: SessionPlan, *, wish: str = "", absent: str = "", kept: bool = False
) -> Say:
    """All movements, one button each; with a wish, it asks which one is meant.

    Args:
        absent: the family that was named, where the session has none of it: that is said first.
        kept: the wish is kept for its next day.
    """
    told = state.answers.get("told", [])
    left_out = [
        left
        for left in plan.left_out
        if left.reason.code is not DoseCode.KEPT_TO_TIME or left.family.value not in told
    ]
    rows: Rows = tuple(
        (Button(f"see={number}", label=f"{MOVEMENT_LABEL}{item.family}/{item.step.rung}"),)
        for number, item in enumerate(plan.prescriptions)
    )
    if not wish:
        rows = ((Button("start"),), *rows, (HOW_HARD,), _other_buttons(plan))
    why = [left.reason for left in plan.left_out if left.family == absent]
    if absent:
        rows = (*rows, *rows_of("list"))
    values = {"plan": plan, "left_out": left_out, "wish": wish, "absent": absent}
    values["kept"] = kept
    values["why"] = why[0] if why else None
    return Say("today/list", values, rows=rows, slot=SLOT)


def _told_this_week(training: Training) -> list[str]:
    """Movements that the days before named as waiting for another day: once a week is enough."""
    place = training.place
    days = [place.today - timedelta(days=back) for back in range(1, 7)]
    plans = [
        session.plan
        for session in (training.facts.session(place.record.id, day) for day in days)
        if session is not None and session.plan is not None
    ]
    waits = [left for plan in plans for left in plan.left_out]
    return sorted({one.family.value for one in waits if one.reason.code is DoseCode.KEPT_TO_TIME})


def _other_buttons(plan: SessionPlan) -> tuple[Button, ...]:
    """Ways to another session of the same day; the whole one at home where this is not it."""
    short, away = is_short(plan), is_away(plan)
    offered = {"short": not short, "away": not away, "whole": short or away}
    return tuple(Button(value) for value, fits in offered.items() if fits)


def _looking(state: State, event: Event, training: Training) -> Turn:
    """The list, or a card that is only looked at."""
    value = event.value.strip()
    if event.kind is EventKind.DUE:
        return Turn(state)
    if event.kind is EventKind.RESUME:
        listed = state.step == "list"
        wish = str(state.answers.get("wish", ""))
        again = _list(state, training.plan, wish=wish) if listed else card(state, training)
        return Turn(state, says=(again,))
    if value == "list":
        return Turn(state.at("list", wish=""), says=(_list(state, training.plan),))
    typed = event.kind is EventKind.TEXT
    if value == "start" or (typed and button_told(value, "step_start", training.facts)):
        return start(state, training)
    if value == "sink":
        return Turn(None, begin=(Begin("balance", {"short": True}),))
    if value == "walk":
        return Turn(None, begin=(Begin("walk"),))
    if value in ("short", "away", "whole"):
        return _other_session(state, value, training)
    if value == WATCH and state.step == "card":
        return watch(state, training.plan)
    other_face = turned(state, value, training) if state.step == "card" else None
    if other_face is not None:
        return other_face
    if value.startswith("see="):
        return _see(state, value.removeprefix("see="), training)
    if value in (*WISHES, "hurts"):
        if state.step != "card":
            asked = state.at("list", wish=value)
            return Turn(asked, says=(_list(state, training.plan, wish=value),))
        if value == "hurts":
            return ask_where(state)
        return show_change(state, changed(value, training, int(state.answers["at"])), training)
    return Turn(state, understood=False)


def _see(state: State, number: str, training: Training) -> Turn:
    if not number.isdigit() or int(number) >= len(training.items):
        return Turn(state, understood=False)
    wish = str(state.answers.get("wish", ""))
    state = state.at("card", at=int(number), wish="", instead="")
    if wish == "hurts":
        return ask_where(state)
    if wish in WISHES:
        return show_change(state, changed(wish, training, int(number)), training)
    return Turn(state, says=(card(state, training),))


def _on_after_gone(state: State, event: Event, training: Training) -> Turn:
    """A movement was left out; "on" leads to the next, or back to the list."""
    if event.kind is EventKind.TEXT:
        return Turn(state, understood=False)
    if state.answers.get("running"):
        return next_movement(state, training, after_gone=True)
    return Turn(state.at("list"), says=(_list(state, training.plan),))


def planned_anew(record: ClientRecord, facts: Facts) -> SessionPlan | None:
    """A plan of today that has not begun, as the record makes it now; None where it stays.

    What was asked for (little time, away, a lighter movement) holds on. While the client gets no
    plan (on hold, an alert open, ...) none is made, and nobody says that there is one.
    """
    place = training_status_of(record, facts)
    if is_paused(record, facts) or place.gate in (Gate.REST_DAY, Gate.OVER_TODAY):
        return None
    session = facts.session(record.id, place.today)
    before = session.plan if session is not None and session.status == "planned" else None
    if session is None or before is None or for_sink(session):
        return None
    if place.checkin is None or not place.checkin.finished:
        return None
    away, minutes = is_away(before), SHORT_MINUTES if is_short(before) else None
    now = planned(record, place.checkin, facts, minutes=minutes, away=away)
    plan = with_wishes_kept(now, before, away=away)
    return plan if plan.prescriptions and plan != before else None


def _other_session(state: State, which: str, training: Training) -> Turn:
    """The same day with little time, away from home, both, or as it was at first."""
    place = training.place
    if place.checkin is None:
        return closed(place, training.facts)
    away = which != "whole" and (which == "away" or is_away(training.plan))
    short = which != "whole" and (which == "short" or is_short(training.plan))
    minutes = SHORT_MINUTES if short else None
    other = planned(place.record, place.checkin, training.facts, minutes=minutes, away=away)
    plan = with_wishes_kept(other, training.plan, away=away)
    if short and not other.prescriptions:
        needed = other.warm_up_minutes + other.cool_down_minutes
        moves = easy_moves(training.sparing, training.facts.reference.catalogue, place.today)
        values = {"minutes": SHORT_MINUTES, "needed": needed, "moves": moves}
        say = Say("today/too_short", values, rows=rows_of("sink walk", "list"), slot=SLOT)
        return Turn(state.at("list", wish=""), says=(say,))
    changes = (keep_plan(plan, training, running=False),)
    return Turn(state.at("list"), says=(_list(state, plan),), changes=changes)
