"""A limit that comes in the middle: what it forbids is never the next screen.

Something easier of the same kind takes its place, or what stands in for that kind; where there is
neither it is left out.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from bot.flows.changes import Change
from bot.flows.client.cards import card, keep_plan
from bot.flows.client.hurting import STEPS as HURTING
from bot.flows.client.training_end import ENDED_SHORT, cool_down
from bot.flows.machine import Event, EventKind, Say, State, Turn, pressed
from bot.flows.record.limits_now import forbidden_now, within_limits
from bot.flows.record.planning import Training, is_away, planned, today_for
from core.dose.adjustments import easier
from core.dose.prescription import Prescription, SessionPlan
from core.dose.session import INSTEAD_OF
from core.vocabulary import Family

SET_DONE = (ENDED_SHORT, "left", "set_where", "set_pain", *HURTING)
"""Steps that ask about a set, or a pain, that has been: these are told to their end."""

ALL_DONE = ("cool_down", "effort", "minutes")


@dataclass(frozen=True, slots=True)
class Kept:
    """Where a conversation stands once the limits of this moment are heeded.

    Attributes:
        changes: what keeps the plan as it is now; empty where nothing had to go.
        families: the movements that went.
        exchanged: those in whose place another came.
        gone: what was shown is gone: nothing may be done with it.
    """

    state: State
    training: Training
    changes: tuple[Change, ...] = ()
    families: tuple[Family, ...] = ()
    exchanged: tuple[Family, ...] = ()
    gone: bool = False


def heed_limits(state: State, event: Event, training: Training) -> Kept:
    """Take out of the plan what may not be done any more."""
    told = state.answers.get("at")
    at = None if told is None else int(told)
    running = bool(state.answers.get("running"))
    done = set(range(at)) if at is not None and running else set()
    if at is not None and (state.step in ALL_DONE or _is_over(state, event, training)):
        done.add(at)
    after = as_allowed(training, done)
    if not after.out:
        return Kept(state, training)
    shown = state.step == "move" and at in after.out
    gone = not running if state.step in ("list", "card") else shown
    if at is not None:
        state = state.at(state.step, at=at - sum(place < at for place in after.dropped))
    return Kept(
        state,
        after.training,
        (keep_plan(after.training.plan, after.training, running=running),),
        tuple(training.items[place].family for place in after.dropped),
        tuple(training.items[place].family for place in after.out if place not in after.dropped),
        gone,
    )


@dataclass(frozen=True, slots=True)
class Allowed:
    """A plan as it may be done now.

    Attributes:
        out: former places of the movements that may not be done any more.
        dropped: those of them in whose place there is nothing else.
    """

    training: Training
    out: tuple[int, ...] = ()
    dropped: tuple[int, ...] = ()


def as_allowed(training: Training, keep: Collection[int] = ()) -> Allowed:
    """Today's training within the limits of this moment.

    Args:
        keep: places that stay whatever the limits say (sets that have been done already).
    """
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
    return replace(turn, says=(taken_out(kept), *turn.says))


def taken_out(kept: Kept) -> Say:
    """Which movements went, and which have another in their place."""
    values = {"families": list(kept.families), "exchanged": list(kept.exchanged)}
    return Say("session/taken_out", values)


def _is_over(state: State, event: Event, training: Training) -> bool:
    """Whether what the client tells now is about a set that has been done, or a pain."""
    said = pressed(event, "session", training.facts)
    done = said.startswith("did=") or said == "hurts" or said.rstrip("+").isdigit()
    answers = event.kind in (EventKind.TAP, EventKind.TEXT)
    return state.step in SET_DONE or (state.step == "move" and answers and done)
