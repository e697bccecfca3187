"""The shape of the days to come, and which group is left out of them, with the reason."""

from collections.abc import Iterable, Sequence, Set
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from core.client.client import Client, KitAtHome
from core.client.steering import steering_of
from core.dose.bounds import never_offered
from core.dose.family_record import sore_joints
from core.dose.history import History
from core.dose.prescribe import with_spares
from core.dose.seated import within_start
from core.movements.catalogue import Catalogue
from core.movements.ladder import LadderStep, ladder
from core.programme.groups import FAMILIES_OF, GROUP_OF, Group, in_order, wants
from core.programme.lighter_week import next_lighter
from core.programme.session_time import minutes_of, movements_in
from core.programme.set_clock import SetClock
from core.programme.turns import done_before, is_set_by_coach, turns
from core.vocabulary import Band, Family

DAYS_AHEAD: Final = 14
"""A share in two weeks is promised."""

ALL_KIT: Final = KitAtHome(
    chair=43.0, bench=90.0, table=75.0, step=18.0, bottle=2.0, band=Band.HEAVY, cushion=8.0
)


class WhyNot(StrEnum):
    """Why a group has no share in two weeks; the words are templates."""

    NOTHING_SAFE = "nothing_safe"
    NO_KIT = "no_kit"
    COACH_CHOSE = "coach_chose"
    NO_TIME = "no_time"
    NO_FLOOR = "no_floor"
    NOBODY_THERE = "nobody_there"


TWICE_A_WEEK: Final = 4
"""Days within two weeks on which WHO 2020 asks for each major group."""
SELDOM_BY_RULE: Final = frozenset({Group.BALANCE, Group.CARRY, Group.GET_UP})
"""No major group of its own, or wanted once in two weeks."""

ONE_A_WEEK: Final = 2
"""Days of training within two weeks."""


@dataclass(frozen=True, slots=True)
class PlannedDay:
    """One day to come: its families in the order to do them.

    Attributes:
        by_coach: the coach has set it.
        ruled_out: families of a coach's day that this client's rules leave out.
    """

    on: date
    families: tuple[Family, ...]
    by_coach: bool = False
    ruled_out: tuple[Family, ...] = ()


@dataclass(frozen=True, slots=True)
class GroupLeftOut:
    """A group without a share, or without one that is sure, and why."""

    group: Group
    why: WhyNot


@dataclass(frozen=True, slots=True)
class Week:
    """Two weeks to come.

    Attributes:
        days: the training days from today on.
        lighter_from: the Monday of the next lighter week.
        minutes: of a session; ``None`` for no limit.
        seldom: major groups with a share, on fewer than two days a week, and on how many days.
    """

    days: tuple[PlannedDay, ...]
    left_out: tuple[GroupLeftOut, ...]
    lighter_from: date
    minutes: int | None
    seldom: tuple[tuple[Group, int], ...] = ()


def week_of(client: Client, history: History, catalogue: Catalogue, on: date) -> Week:
    """The two weeks from ``on`` on, where each session is done as planned."""
    sparing = with_spares(client, sore_joints(history.pains, on))
    ladders = open_ladders(sparing, catalogue, on)
    reachable = frozenset(ladders)
    minutes = minutes_of(client, catalogue.steering)
    clock = SetClock(client, history, catalogue, on)
    lasts = {family: clock.minutes_of_set(family, steps) for family, steps in ladders.items()}
    most = movements_in(client, catalogue.steering, minutes)
    done = done_before(history, on)
    days: list[PlannedDay] = []
    for ahead in range(DAYS_AHEAD):
        day = on + timedelta(days=ahead)
        if day.isoweekday() not in client.training_days:
            continue
        chosen = turns(sparing, done, reachable, day, most)
        if minutes is not None:
            chosen = clock.what_fits(chosen, lasts, minutes)
        open_to = frozenset(chosen) & reachable
        by_coach = is_set_by_coach(client, reachable, day)
        families = tuple(one for one in chosen if one in open_to) if by_coach else in_order(open_to)
        ruled_out = tuple(one for one in chosen if one not in open_to)
        days.append(PlannedDay(day, families, by_coach, ruled_out))
        done = done.with_day(families, day)
    # In short sessions, and with one a week, a share on the last day may slip out of the two weeks.
    short = most < movements_in(client, catalogue.steering, None)
    sure = days[:-1] if short or len(days) <= ONE_A_WEEK else days
    left_out = _left_out(sparing, catalogue, on, reachable, sure)
    seldom = _seldom(days, {one.group for one in left_out})
    return Week(tuple(days), left_out, next_lighter(history, on), minutes, seldom)


def _seldom(days: Sequence[PlannedDay], named: Set[Group]) -> tuple[tuple[Group, int], ...]:
    """Groups on fewer than two days a week (WHO 2020), but for those that are named anyway."""
    found = {
        group: sum(not frozenset(FAMILIES_OF[group]).isdisjoint(day.families) for day in days)
        for group in Group
        if group not in SELDOM_BY_RULE and group not in named
    }
    return tuple((group, there) for group, there in found.items() if there < TWICE_A_WEEK)


def open_ladders(
    client: Client, catalogue: Catalogue, on: date, among: Iterable[Family] = GROUP_OF
) -> dict[Family, tuple[LadderStep, ...]]:
    """The steps that this client may do, of each family with any: facts, spares, kit, limits in."""
    never = never_offered(client, no_holds=False)
    steering = steering_of(client, catalogue.steering, on)
    found = {}
    for family in among:
        if not wants(client, family):
            continue
        steps = within_start(client, ladder(client, family, catalogue, on, steering), catalogue)
        allowed = tuple(step for step in steps if never(step) is None)
        if allowed:
            found[family] = allowed
    return found


def _left_out(
    client: Client,
    catalogue: Catalogue,
    on: date,
    reachable: frozenset[Family],
    days: Sequence[PlannedDay],
) -> tuple[GroupLeftOut, ...]:
    shared = {GROUP_OF[family] for day in days for family in day.families if family in GROUP_OF}
    with_all = replace(client, kit=ALL_KIT)
    found = []
    for group in Group:
        if group in shared:
            continue
        families = frozenset(FAMILIES_OF[group])
        if families & reachable:
            coach = bool(days) and all(day.by_coach for day in days)
            why = WhyNot.COACH_CHOSE if coach else WhyNot.NO_TIME
        elif open_ladders(with_all, catalogue, on, families):
            why = WhyNot.NO_KIT
        elif group is Group.GET_UP and not client.floor_ok:
            why = WhyNot.NO_FLOOR
        elif group is Group.GET_UP and client.lives_alone is not False:
            why = WhyNot.NOBODY_THERE
        else:
            why = WhyNot.NOTHING_SAFE
        found.append(GroupLeftOut(group, why))
    return tuple(found)
