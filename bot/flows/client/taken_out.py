"""What comes in the middle: what a limit forbids is never the next screen, an easy day is lighter.

Something easier of the same kind takes the place of what is forbidden, or what stands in for that
kind; where there is neither it is left out. On a day that has become easier all that has not been
done is lighter from then on; a day that is put back makes nothing harder.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from bot.flows.changes import Change
from bot.flows.client.cards import card, keep_plan
from bot.flows.client.hurting import STEPS as HURTING
from bot.flows.client.training_end import ENDED_SHORT, cool_down
from bot.flows.machine import Event, EventKind, Say, State, Turn, pressed
from bot.flows.record.limits_now import forbidden_now, within_limits
from bot.flows.record.planning import (
    Training,
    is_away,
    may_calibrate_today,
    planned,
    today_for,
)
from bot.flows.wishes import wish_of
from core.dose.adjustments import easier
from core.dose.prescription import Prescription, SessionPlan
from core.dose.session import INSTEAD_OF, lighter_than
from core.vocabulary import DayPlan

SET_DONE = (ENDED_SHORT, "left", "set_where", "set_pain", *HURTING)
"""Steps that ask about a set, or a pain, that has been: these are told to their end."""

PUFFED = "puffed"
TOLD_AT_A_CARD = ("hurts", "stop")
"""Buttons of a card that are heard whatever becomes of its movement, as the breath is."""

ALL_DONE = ("cool_down", "effort", "minutes")


@dataclass(frozen=True, slots=True)
class Kept:
    """Where a conversation stands once the limits of this moment are heeded.

    Attributes:
        changes: what keeps the plan as it is now; empty where nothing had to go.
        says: what went, what came instead, and what is lighter.
        gone: what was shown is gone: nothing may be done with it.
    """

    state: State
    training: Training
    changes: tuple[Change, ...] = ()
    says: tuple[Say, ...] = ()
    gone: bool = False


def heed_now(state: State, event: Event, training: Training) -> Kept:
    """Take out of the plan what may not be done any more; lighten what is left of an easy day."""
    told = state.answers.get("at")
    at = None if told is None else int(told)
    running = bool(state.answers.get("running"))
    done = set(range(at)) if at is not None and running else set()
    if at is not None and (state.step in ALL_DONE or _is_over(state, event, training)):
        done.add(at)
    after = as_allowed(training, done)
    if after.training is training:
        return Kept(state, training)
    shown = state.step == "move" and at in after.out
    shown = shown and pressed(event, "session", training.facts) != PUFFED
    gone = bool(after.out) and (not running if state.step in ("list", "card") else shown)
    if at is not None:
        state = state.at(state.step, at=at - sum(place < at for place in after.dropped))
    return Kept(
        state,
        after.training,
        (keep_plan(after.training.plan, after.training, running=running),),
        after.says(training),
        gone,
    )


@dataclass(frozen=True, slots=True)
class Allowed:
    """A plan as it may be done now.

    Attributes:
        out: former places of the movements that may not be done any more.
        dropped: those of them in whose place there is nothing else.
        is_lighter: what is still to do is lighter, because the day is.
        is_usual: a set with an open end, to see how strong a client is, has become a usual one.
    """

    training: Training
    out: tuple[int, ...] = ()
    dropped: tuple[int, ...] = ()
    is_lighter: bool = False
    is_usual: bool = False

    def says(self, before: Training) -> tuple[Say, ...]:
        """Which movements went, which have another in their place, and what is lighter."""
        says: tuple[Say, ...] = ()
        if self.out:
            went = [before.items[place].family for place in self.dropped]
            others = [before.items[at].family for at in self.out if at not in self.dropped]
            says = (Say("session/taken_out", {"families": went, "exchanged": others}),)
        if self.is_usual:
            says = (*says, Say("session/usual_now"))
        return (*says, Say("session/lighter_now")) if self.is_lighter else says


def as_allowed(training: Training, keep: Collection[int] = ()) -> Allowed:
    """Today's training within the limits of this moment, and as light as the day has become.

    Args:
        keep: places that stay whatever the limits say (sets that have been done already).
    """
    after = _within_limits(training, keep)
    done = {at - sum(one < at for one in after.dropped) for at in keep}
    usual = _without_open_ends(after.training, done)
    if usual is not after.training:
        after = replace(after, training=usual, is_usual=True)
    checkin, plan = training.place.checkin, after.training.plan
    eased = checkin is not None and checkin.day_plan == DayPlan.EASE_OFF
    if not eased or plan.day is not DayPlan.AS_PLANNED:
        return after
    items = _lightened(after.training, done)
    # The plan is one of the easier day from now on: once is enough.
    eased_plan = replace(plan, day=DayPlan.EASE_OFF, prescriptions=items)
    known = replace(after.training, plan=eased_plan)
    is_lighter = any(map(_is_less, items, plan.prescriptions))
    return replace(after, training=known, is_lighter=is_lighter)


def _without_open_ends(training: Training, done: Collection[int]) -> Training:
    """A calibration set that is still to do is a usual one where what was told since rules it out.

    A pain, a sign or a soreness after the plan was made rules it out as one before it does.
    """
    record, checkin, facts = training.place.record, training.place.checkin, training.facts
    due = [at for at, item in enumerate(training.items) if item.calibration and at not in done]
    if checkin is None or not due or may_calibrate_today(record, checkin, facts):
        return training
    plan = planned(record, checkin, facts, away=is_away(training.plan))
    anew = {item.family: item for item in plan.prescriptions}
    items = list(training.items)
    for at in due:
        fewest = replace(items[at], calibration=False, amount=items[at].low)
        items[at] = anew.get(items[at].family, fewest)
    return replace(training, plan=replace(training.plan, prescriptions=tuple(items)))


def _is_less(new: Prescription, old: Prescription) -> bool:
    """Whether a client can see that there is less to do of a movement."""
    fewer = new.sets < old.sets or (new.step.key == old.step.key and new.amount < old.amount)
    return fewer or new.step.demand < old.step.demand


def _lightened(training: Training, done: Collection[int]) -> tuple[Prescription, ...]:
    """The movements as the eased day has them; those that have been done as they were."""
    record, checkin, facts = training.place.record, training.place.checkin, training.facts
    if checkin is None or len(done) >= len(training.items):
        return training.items
    plan = planned(record, checkin, facts, away=is_away(training.plan))
    anew = {item.family: item for item in plan.prescriptions}
    return tuple(
        item if at in done else lighter_than(item, anew.get(item.family))
        for at, item in enumerate(training.items)
    )


def _within_limits(training: Training, keep: Collection[int]) -> Allowed:
    left, out = within_limits(training.plan, training.place.record, keep)
    if not out:
        return Allowed(training)
    found = ((place, _instead(place, left, training)) for place in out)
    others = {place: other for place, other in found if other is not None}
    dropped = tuple(place for place in out if place not in others)
    plan = _with_others(left, training.plan, others, dropped)
    return Allowed(replace(training, plan=plan), out, dropped)


def _instead(place: int, left: SessionPlan, training: Training) -> Prescription | None:
    """What may be done in place of a movement that may not be done any more.

    Args:
        left: the plan without what had to go.
    """
    record, checkin, facts = training.place.record, training.place.checkin, training.facts
    if checkin is None:
        return None
    was, away = training.items[place], is_away(training.plan)
    lower = easier(today_for(record, checkin, facts, away=away), was).prescription
    if lower is not None and forbidden_now(lower, record) is None:
        return lower
    there = {item.family for item in left.prescriptions}
    anew = {item.family: item for item in planned(record, checkin, facts, away=away).prescriptions}
    others = (other for other in INSTEAD_OF.get(was.family, ()) if other not in there)
    return next((anew[other] for other in others if other in anew), None)


def _with_others(
    left: SessionPlan,
    whole: SessionPlan,
    others: Mapping[int, Prescription],
    dropped: Collection[int],
) -> SessionPlan:
    """The plan with the others in the places of what had to go."""
    items = [
        others.get(place, item)
        for place, item in enumerate(whole.prescriptions)
        if place not in dropped
    ]
    gone = {whole.prescriptions[place].family for place in dropped}
    kept = {one.family for one in whole.left_out} | gone
    out = tuple(one for one in left.left_out if one.family in kept)
    return replace(left, prescriptions=tuple(items), left_out=out)


def next_allowed(kept: Kept) -> Turn:
    """Say what went, and show what comes instead of it in a running session."""
    state, training = kept.state, kept.training
    if int(state.answers["at"]) >= len(training.items):
        turn = cool_down(state, training, 0)
    else:
        state = state.at("move", instead="", slip=False, pain=0)
        turn = Turn(state, says=(card(state, training),))
    return replace(turn, says=(*kept.says, *turn.says))


def _is_over(state: State, event: Event, training: Training) -> bool:
    """Whether the client tells of a set that has been done, a pain, no breath, or wants to stop.

    Whatever is typed may be any of it; only a wish is about the movement that is still to do.
    """
    if state.step != "move":
        return state.step in SET_DONE
    if event.kind is EventKind.TEXT:
        return wish_of(event.value, training.facts.reference.wishes) is None
    said = pressed(event, "session", training.facts)
    return event.kind is EventKind.TAP and (said.startswith("did=") or said in TOLD_AT_A_CARD)
