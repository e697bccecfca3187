"""Clients who live through weeks of sessions, and which promises of a programme are broken.

The checks reckon time, rest and shares themselves, from the catalogue and the sets alone.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import reduce

from core.client.client import Client
from core.dose.capacity import after_set
from core.dose.history import History, SessionDone, Unit
from core.dose.prescription import SessionPlan
from core.dose.session import believed_capacity
from core.movements.catalogue import Catalogue
from core.programme.day import session_of_day
from core.programme.groups import Group
from core.programme.session_time import minutes_of
from core.programme.week import week_of
from core.readiness.morning_questions import Morning
from core.readiness.readiness import assess
from core.vocabulary import Family
from tests.support.generated_clients import broken_rows

TRAINS: Mapping[Group, frozenset[Family]] = {
    Group.KNEE: frozenset({Family.SQUAT, Family.STEP, Family.LUNGE}),
    Group.HIP: frozenset({Family.HINGE, Family.BRIDGE}),
    Group.PUSH: frozenset({Family.PUSH, Family.OVERHEAD}),
    Group.PULL: frozenset({Family.PULL}),
    Group.CALF: frozenset({Family.HEEL_RAISE}),
    Group.TRUNK: frozenset({Family.BRACE}),
    Group.HIP_SIDE: frozenset({Family.SIDE_LIFT}),
    Group.BALANCE: frozenset({Family.BALANCE}),
    Group.CARRY: frozenset({Family.CARRY}),
    Group.GET_UP: frozenset({Family.GET_UP}),
}
"""Which family trains what, as a physiotherapist would sort them (common practice)."""

REST_SECONDS = 60.0


@dataclass(frozen=True, slots=True)
class LivedDay:
    """A training day: the client of that day, what was planned, what was known before."""

    on: date
    plan: SessionPlan
    before: History


def live(
    client: Client,
    catalogue: Catalogue,
    start: date,
    weeks: int,
    *,
    left: Callable[[int], int] = lambda _week: 3,
    effort: int = 5,
) -> Iterator[LivedDay]:
    """Every session of some weeks, done as planned, with so many left in hand."""
    history, capacity = History(), believed_capacity(client, History(), catalogue, year=start.year)
    for ahead in range(7 * weeks):
        on = start + timedelta(days=ahead)
        if on.isoweekday() not in client.training_days:
            continue
        usual = [_morning(on - timedelta(days=back)) for back in range(20, 0, -1)]
        readiness = assess(usual, _morning(on), client, on=on)
        plan = session_of_day(client, history, readiness, catalogue, on, capacity=capacity)
        yield LivedDay(on, plan, history)
        sets = tuple(
            item.done(on, item.amount, None if item.unit is Unit.SECONDS else left(ahead // 7))
            for item in plan.prescriptions
            for _ in range(item.sets)
        )
        capacity = reduce(after_set, sets, capacity)
        done = SessionDone(on, effort=effort, minutes=plan.minutes)
        history = replace(history, sets=(*history.sets, *sets), sessions=(*history.sessions, done))


def _morning(on: date) -> Morning:
    return Morning(on, 4, 4, 4, 4, 4)


def minutes_taken(plan: SessionPlan, catalogue: Catalogue) -> float:
    """Minutes of a session from tempo, repetitions, sides and a minute of rest between sets."""
    seconds, sets = 0.0, 0
    for item in plan.prescriptions:
        rung = catalogue.by_id[item.step.rung]
        one = item.amount * (rung.tempo.total if item.unit is Unit.REPS else 1.0)
        seconds += item.sets * one * (2 if rung.each_side else 1)
        sets += item.sets
    rests = REST_SECONDS * max(0, sets - 1)
    return plan.warm_up_minutes + plan.cool_down_minutes + (seconds + rests) / 60.0


def broken_promises(client: Client, catalogue: Catalogue, days: list[LivedDay]) -> list[str]:
    """What of a programme's promises some weeks have broken, in words."""
    found: list[str] = []
    most = minutes_of(client, catalogue.steering)
    hard: dict[Family, date] = {}
    for day in days:
        steps = [item.step for item in day.plan.prescriptions]
        took = minutes_taken(day.plan, catalogue)
        if steps and most is not None and took > 1.1 * most:
            found.append(f"{day.on}: {took:.0f} of {most} minutes")
        if len({step.family for step in steps}) < len(steps):
            found.append(f"{day.on}: a family twice")
        for item in day.plan.prescriptions:
            yesterday = hard.get(item.family) == day.on - timedelta(days=1)
            if yesterday and item.family is not Family.BALANCE:
                found.append(f"{day.on}: {item.family} hard again after a day")
            hard[item.family] = day.on
        broken = broken_rows(client, catalogue, steps, day.on)
        found.extend(f"{day.on}: {key} against {row}" for row, key in broken)
        ruled = [one for one in steps if one.stresses & client.protected]
        found.extend(f"{day.on}: {one.key} loads what is spared" for one in ruled)
    return [*found, *_missed(client, catalogue, days)]


def _missed(client: Client, catalogue: Catalogue, days: list[LivedDay]) -> list[str]:
    """Groups without a share in two weeks, and no word about it on the first or any of the days."""
    found: list[str] = []
    for first in days[:: max(1, len(client.training_days))]:
        last = first.on + timedelta(days=14)
        fortnight = [day for day in days if first.on <= day.on < last]
        if last > days[-1].on + timedelta(days=1):
            break
        done = {item.family for day in fortnight for item in day.plan.prescriptions}
        named = {one.group for one in week_of(client, first.before, catalogue, first.on).left_out}
        told = {left.family for day in fortnight for left in day.plan.left_out}
        found.extend(
            f"{first.on}: two weeks without {group}"
            for group, families in TRAINS.items()
            if not families & (done | told) and group not in named
        )
    return found
