"""The session of one day: its turns, what was done earlier that day, and the time there is."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Final

from core.client.care import is_careful
from core.client.client import Client
from core.client.set_week import WeekStart
from core.dose.capacity import Capacity
from core.dose.gap import NO_LOSS, GapLoss
from core.dose.history import History
from core.dose.home_test_word import HomeTestDone
from core.dose.prescription import DoseCode, DoseReason, SessionPlan
from core.dose.session import (
    MOVEMENTS_BEFORE_LEAST,
    SessionWish,
    Today,
    at_hand,
    session_of,
    today_of,
)
from core.dose.too_hard import halved_because
from core.movements.catalogue import Catalogue
from core.programme.balance import holds_of, needs_much_balance, with_balance
from core.programme.groups import GROUP_OF, in_order, wants
from core.programme.lighter_week import is_lighter
from core.programme.power import with_quick_rise
from core.programme.session_time import minutes_of, movements_in
from core.programme.turns import done_before, is_set_by_coach, turns
from core.readiness.readiness import Readiness
from core.vocabulary import Family

SECOND_SESSION: Final = (Family.BALANCE,)
"""What a second session of a day may hold beside an easy walk (common practice)."""

MOVEMENTS_BEFORE_HOLDS: Final = 3
"""Of a session of somebody near a fall so many stay, balance among them, before holds go: balance
five to ten minutes a session comes before a fourth movement (ours)."""

SINK_HOLDS: Final = 5
"""Holds beside the sink on days without a session: with the rests five to ten minutes (ours; the
aim is ten to twenty on most days, common practice)."""


SINK_MINUTES: Final = 10
"""Of balance beside the sink at most; long holds on each leg in turn are fewer."""


class EarlierToday(StrEnum):
    """What there was of a session earlier the same day."""

    NOTHING = "nothing"
    WHOLE = "whole"
    BROKEN_OFF = "broken_off"


@dataclass(frozen=True, slots=True)
class DayWish:
    """How the session of a day is wanted.

    Attributes:
        minutes: all the time there is today, where it is less than usual.
        away: only a chair and a wall are there.
        lightest: as after a sign's hold.
        may_calibrate: nothing in the record speaks against a calibration set.
        beside_sink: balance alone, beside something firm, on a day without a session.
        dizzy: dizziness, a faint or a fall was told lately.
        gap: what the time away before today is likely to have cost.
    """

    minutes: int | None = None
    away: bool = False
    lightest: bool = False
    beside_sink: bool = False
    dizzy: bool = False
    earlier: EarlierToday = EarlierToday.NOTHING
    may_calibrate: bool = False
    gap: GapLoss = NO_LOSS


PLAIN: Final = DayWish()


def session_of_day(
    client: Client,
    history: History,
    readiness: Readiness,
    catalogue: Catalogue,
    on: date,
    wish: DayWish = PLAIN,
    *,
    tests: Sequence[HomeTestDone] = (),
    capacity: Capacity | None = None,
) -> SessionPlan:
    """The session of a day, by all rules of this client.

    Args:
        tests: home tests, in any order: where balance begins.
        capacity: as :func:`core.dose.session.today_of` takes it.
    """
    here = at_hand(client, away=wish.away)
    today = today_of(
        here, history, readiness, catalogue, on, capacity, lightest=wish.lightest, gap=wish.gap
    )
    if wish.beside_sink:
        return _beside_sink(today, tests)
    most = minutes_of(client, catalogue.steering) if wish.minutes is None else wish.minutes
    plan = _session_of_day(today, wish)
    plan = with_balance(plan, today, tests, most_minutes=most)
    return plan if wish.away else with_quick_rise(plan, today, dizzy=wish.dizzy)


def _beside_sink(today: Today, tests: Sequence[HomeTestDone]) -> SessionPlan:
    """Today's hold a few times over, without warm-up: it is as easy as an easy walk."""
    wanted = SessionWish(
        least_sets={Family.BALANCE: SINK_HOLDS}, why=(DoseReason(DoseCode.BESIDE_SINK),)
    )
    session = session_of(today, (Family.BALANCE,), wanted)
    around = session.warm_up_minutes + session.cool_down_minutes
    plan = with_balance(session, today, tests, most_minutes=around + SINK_MINUTES)
    minutes = plan.minutes - around
    return replace(plan, minutes=max(minutes, 0), warm_up_minutes=0, cool_down_minutes=0)


def is_beside_sink(plan: SessionPlan) -> bool:
    """Whether a plan is balance beside the sink, not the session of its day."""
    return any(reason.code is DoseCode.BESIDE_SINK for reason in plan.reasons)


def _session_of_day(today: Today, wish: DayWish) -> SessionPlan:
    client, history, on = today.client, today.history, today.order.on
    wanted = SessionWish(
        minutes=wish.minutes,
        usual_minutes=minutes_of(client, today.catalogue.steering),
        least_sets={Family.BALANCE: holds_of(client, on)},
        before_least=MOVEMENTS_BEFORE_HOLDS
        if needs_much_balance(client, on)
        else MOVEMENTS_BEFORE_LEAST,
        lighter=_lighter(today, history),
        away=wish.away,
    )
    if wish.earlier is EarlierToday.WHOLE:
        why = (DoseReason(DoseCode.TRAINED_TODAY),)
        return session_of(today, SECOND_SESSION, replace(wanted, why=why))
    if wish.may_calibrate and _is_plain(wish, wanted, client):
        today = replace(today, order=replace(today.order, may_calibrate=True))
    chosen, by_coach = families_of_day(today)
    if wish.earlier is EarlierToday.BROKEN_OFF:
        done = {one.family for one in history.sets_on(on)}
        chosen = tuple(family for family in chosen if family not in done)
        wanted = replace(wanted, why=(DoseReason(DoseCode.REST_OF_TODAY),))
    if by_coach:
        wanted = replace(
            wanted,
            coach_sets=client.week.sets.get(on.isoweekday(), {}),
            why=(*wanted.why, DoseReason(DoseCode.DAY_BY_COACH)),
        )
    minutes = wanted.usual_minutes
    if (
        not chosen
        and minutes is not None
        and not movements_in(client, today.catalogue.steering, minutes)
    ):
        too_short = DoseReason(DoseCode.KEPT_TO_TIME, {"minutes": minutes})
        wanted = replace(wanted, why=(*wanted.why, too_short))
    # Balance takes a minute or two, and is wanted on each day; the first of the turns comes before.
    keep = (*chosen[:1], *sorted(chosen[1:], key=lambda family: family is not Family.BALANCE))
    families = chosen if by_coach else in_order(frozenset(chosen))
    return session_of(today, families, replace(wanted, keep=keep))


def _is_plain(wish: DayWish, wanted: SessionWish, client: Client) -> bool:
    """Whether it is a session like any other: whole, at home, and none of the easier kinds."""
    easier = wish.lightest or wish.away or wish.beside_sink or wanted.lighter is not None
    gentle = client.week.start is not WeekStart.GENERAL
    return not (easier or gentle) and wish.minutes is None and wish.earlier is EarlierToday.NOTHING


def _lighter(today: Today, history: History) -> DoseCode | None:
    """Why the sets of a day are halved, the more telling reason first."""
    careful = is_careful(today.client, today.order.cares)
    too_hard = halved_because(history, today.order.on, careful=careful)
    if too_hard is not None:
        return too_hard
    return DoseCode.LIGHTER_WEEK if is_lighter(history, today.order.on) else None


def families_of_day(today: Today) -> tuple[tuple[Family, ...], bool]:
    """The families whose turn it is today, the most wanted first; whether the coach has set them.

    One that is left out for a pain stays among them, so that it is named, beside its stand-in.
    """
    client, on = today.client, today.order.on
    table = today.catalogue.steering
    most = movements_in(client, table, minutes_of(client, table))
    done = done_before(today.history, on)
    hurt = {pain.family for pain in today.history.pains if pain.family is not None}
    felt = hurt | {one.family for one in today.history.sets_on(on)}
    hurting = frozenset(family for family in felt if today.record(family).stopped)
    offered = hurting | {
        family for family in GROUP_OF if wants(client, family) and today.may_offer(family)
    }
    planned = turns(client, done, offered, on, most)
    if is_set_by_coach(client, offered, on):
        return planned, True
    stands = turns(client, done, offered - hurting, on, most)
    if most and not stands:
        # All that there is was hard yesterday: it is left out by name, with the reason.
        stands = in_order(offered - hurting)
    return (*stands, *(family for family in planned if family in hurting)), False
