"""Walks: how many minutes a week, from what is done now, in which bouts, and what to mind.

A week runs from Monday to Sunday on the client's own calendar. What a week asks for is worked out
anew from the walks that were done; nothing is kept but the walks and what the client told first.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from core.client.care import NO_WALK_RULE, Care, WalkCare, WalkRule, WalkStyle, is_careful
from core.client.client import Client
from core.client.steering import VERY_OLD_FROM, SteeringTable, cares_of, holds
from core.vocabulary import Spare, WalkingAid

FAR_AIM_MINUTES: Final = 150
"""Minutes a week of the far aim (WHO 2020: at least 150 to 300 moderate)."""
MOST_MINUTES: Final = 300
"""A week with more than this is kept as it is, never raised (upper end of WHO 2020)."""
RISE: Final = 1.15
"""Growth from week to week; ten to twenty percent (ours, from common practice)."""
LARGEST_RISE: Final = 1.20
SLOW_RISE: Final = 1.10
SLOW_MOST_MINUTES: Final = 90
"""For somebody of eighty or more, with a walking aid, or who has fallen: growth, and minutes a week
from which on no more is asked (ours: caution; half an hour three times a week at most)."""
LESS: Final = 0.8
"""Share of last week's minutes where most of them left too little breath to talk (ours)."""
EASED: Final = 2 / 3
"""Share of the usual walk on an ease-off day (ours)."""

FEWEST_MINUTES: Final = 5
FIRST_MINUTES: Final = 5
"""Who tells of no walks begins with so many, three days a week (5 to 10: common practice)."""
FEWEST_DAYS, MOST_DAYS = 3, 5
"""Days a week; who walks on more keeps them."""
LEG_ARTERY_DAYS, LEG_ARTERY_MINUTES = 3, 45
"""Walking to the pain of leg arteries: three days a week, 15 minutes up to 45 (AHA)."""
LONG_ENOUGH: Final = 20
"""From so many minutes on another day comes before longer walks: minutes or days, not both."""

AS_GOOD_AS: Final = 0.95
"""A week with this share of the usual is no short one: minutes are whole (ours)."""
WEEKS_LOOKED_AT: Final = 4
SHORT_BREAK_WEEKS, LONG_BREAK_WEEKS = 2, 4
AFTER_SHORT_BREAK, AFTER_LONG_BREAK = 2 / 3, 1 / 2
"""Shares to begin again with after two, and after four weeks without walks (ours)."""
EASY_WEEKS: Final = 4
"""Weeks with walks before any minute of one may be brisk (ours)."""
MOST_BRISK: Final = 5
WATCH_AFTER: Final = timedelta(minutes=10)
"""So long after the end of a planned walk nothing heard of it is silence."""


class Talk(StrEnum):
    """The talk test of a walk."""

    SENTENCES = "sentences"
    SHORT = "short"


TALK_EFFORT: Final[Mapping[Talk, float]] = {Talk.SENTENCES: 3.0, Talk.SHORT: 5.0}
"""Effort of a walk on the scale of sessions, 0 to 10 (ours; talk in sentences is moderate)."""


class Activity(StrEnum):
    """A steady activity."""

    WALK = "walk"
    CYCLE = "cycle"
    SWIM = "swim"
    DANCE = "dance"
    ROW = "row"
    GARDEN = "garden"


DRY: Final = (Activity.CYCLE, Activity.DANCE, Activity.GARDEN)
HARDER: Final = (Activity.SWIM, Activity.ROW)
"""What may be planned in place of walks: the second for those without any condition or operation,
as in water nobody hears of trouble, and rowing loads back and knees (ours: caution)."""


@dataclass(frozen=True, slots=True)
class WalkDone:
    """A walk, or another steady activity, as told.

    Attributes:
        on: the client's local date.
        minutes: in all, with its stops.
        steers: counts for the weeks to come; not where training was on hold when it was told.
    """

    on: date
    minutes: int
    talk: Talk
    activity: Activity = Activity.WALK
    steers: bool = True


@dataclass(frozen=True, slots=True)
class WalksNow:
    """What a client walks before the first plan: minutes at a time, days a week."""

    minutes: int
    days: int


class WalkCode(StrEnum):
    """Why a week asks for so many minutes; a sentence each in the templates."""

    START = "start"
    RISE = "rise"
    AS_BEFORE = "as_before"
    LESS_BREATHLESS = "less_breathless"
    AFTER_BREAK = "after_break"
    FAR_AIM = "far_aim"
    ENOUGH = "enough"
    AFTER_HOLD = "after_hold"
    BY_COACH = "by_coach"


@dataclass(frozen=True, slots=True)
class WalkWeek:
    """What this week asks for.

    Attributes:
        each: minutes of one walk.
        days: on so many days.
        done: minutes that were walked this week.
        days_done: days with a walk this week.
    """

    each: int
    days: int
    done: int
    days_done: int
    code: WalkCode

    @property
    def minutes(self) -> int:
        """Minutes in all."""
        return self.each * self.days


@dataclass(frozen=True, slots=True)
class WalkToday:
    """Today's walk.

    Attributes:
        minutes: in all, without the stops.
        bouts: minutes of each part, morning to evening; one where it is not split.
        walk_minutes, stop_minutes: walk so long, stop so long, again and again; 0 for no stops.
        brisk: single minutes that may be brisk.
        cares: what to mind.
        done_today: minutes walked today.
    """

    week: WalkWeek
    minutes: int
    bouts: tuple[int, ...]
    style: WalkStyle
    walk_minutes: int
    stop_minutes: int
    brisk: int
    cares: tuple[WalkCare, ...]
    done_today: int

    @property
    def watch_after(self) -> timedelta:
        """From the start until nothing heard is silence, the stops counted in."""
        stops = 0
        if self.walk_minutes:
            stops = math.ceil(self.minutes / self.walk_minutes) * self.stop_minutes
        return timedelta(minutes=self.minutes + stops) + WATCH_AFTER


_LEGS: Final = frozenset({Spare.KNEE, Spare.HIP, Spare.ANKLE})
_SORE_BOUT: Final = 15
"""Minutes of a bout at most where a joint of the legs is spared or sore (common practice)."""
_INDOOR_BOUT: Final = 5


def may_walk(client: Client, table: SteeringTable) -> bool:
    """Whether walks may be planned at all."""
    barred = Care.NO_WALK in cares_of(client, table)
    return client.walking_aid is not WalkingAid.WHEELCHAIR and not barred


def may_be_brisk(client: Client, table: SteeringTable, *, dizzy: bool) -> bool:
    """Whether any part of a walk may be brisk; in doubt not.

    No brisk walking where falls are likely (Sherrington 2011): a fall, an aid, dizziness, numb
    feet, and whatever of them is not known.

    Args:
        dizzy: dizziness was told lately.
    """
    steady = client.falls == 0 and client.walking_aid is WalkingAid.NONE and not dizzy
    cares = cares_of(client, table)
    ill = Care.NO_BRISK_WALK in cares or is_careful(client, cares)
    return steady and not ill and not client.spares & _LEGS


def in_place_of_walks(client: Client, table: SteeringTable) -> tuple[Activity, ...]:
    """Steady activities that may be planned in place of walks.

    None where a walk is more than minutes (leg arteries, lungs), where falls are likely or not
    known, or a condition asks for care: then the coach says what else is right (ours: caution).
    """
    steady = client.falls == 0 and client.walking_aid is WalkingAid.NONE
    plain = _style(client, _rules(client, table)) is WalkStyle.STEADY
    careful = is_careful(client, cares_of(client, table))
    if not (steady and plain and may_walk(client, table)) or careful:
        return ()
    healthy = not (client.conditions or client.operated or client.operations)
    return (*DRY, *HARDER) if healthy else DRY


def rises_slowly(client: Client, on: date) -> bool:
    """Whether walks get longer slowly, and only so far: great age, an aid, a fall, or in doubt."""
    steady = client.falls == 0 and client.walking_aid is WalkingAid.NONE
    return not steady or client.age_in(on.year) >= VERY_OLD_FROM


def week_begins(on: date) -> date:
    """The Monday of a day's week."""
    return on - timedelta(days=on.weekday())


def walk_week(
    client: Client,
    walks: Sequence[WalkDone],
    on: date,
    now: WalksNow | None,
    table: SteeringTable,
    *,
    lightest: bool = False,
    by_coach: WalksNow | None = None,
) -> WalkWeek:
    """What the week of a day asks for.

    Args:
        by_coach: what the coach has set; never more than a fifth above what was walked, nor more
            than what shortness of breath, a break or a hold leaves.
        walks: all of the last three months, oldest first.
        now: what the client walked before the first plan; ``None`` where it was not told.
        table: the rows that steer.
        lightest: after a sign's hold or a stay in hospital.
    """
    monday = week_begins(on)
    this_week = [walk for walk in walks if week_begins(walk.on) == monday]
    before = [walk for walk in walks if walk.steers and walk.on < monday]
    growth = _SLOWLY if rises_slowly(client, on) else _USUAL
    asked = _asked(before, monday, now, growth)
    if lightest:
        asked = _Asked(FIRST_MINUTES * FEWEST_DAYS, 0.0, FEWEST_DAYS, WalkCode.AFTER_HOLD)
    if by_coach is not None:
        asked = _as_coach_set(asked, by_coach)
    to_pain = _style(client, _rules(client, table)) is WalkStyle.WALK_AND_REST
    days = LEG_ARTERY_DAYS if to_pain else asked.days
    spreads = not to_pain and asked.code is not WalkCode.BY_COACH
    if spreads and not _keeps_own_days(before, monday, now, growth):
        days = _spread(asked)
    each = math.floor(asked.minutes / days)
    stands_still = each * days <= asked.base
    if asked.code is WalkCode.RISE and (stands_still or growth is _USUAL):
        # Whole minutes: a short walk would else never get longer.
        most = min(asked.base * LARGEST_RISE, growth.most)
        each = max(each, min(each + 1, math.floor(most / days)))
    if to_pain:
        each = min(each, LEG_ARTERY_MINUTES)
    return WalkWeek(
        each=max(each, FEWEST_MINUTES),
        days=days,
        done=sum(walk.minutes for walk in this_week),
        days_done=len({walk.on for walk in this_week}),
        code=asked.code,
    )


@dataclass(frozen=True, slots=True)
class _Asked:
    """Minutes a week, the minutes that were done before, days, and the reason."""

    minutes: float
    base: float
    days: int
    code: WalkCode


@dataclass(frozen=True, slots=True)
class _Growth:
    """Growth from week to week, and minutes from which on there is none."""

    rise: float
    most: int


_USUAL: Final = _Growth(RISE, FAR_AIM_MINUTES)
_SLOWLY: Final = _Growth(SLOW_RISE, SLOW_MOST_MINUTES)


def _asked(
    before: Sequence[WalkDone], monday: date, now: WalksNow | None, growth: _Growth
) -> _Asked:
    """What the walks before this week, or else what was told, ask of it."""
    least = FIRST_MINUTES * FEWEST_DAYS
    if not before:
        told = now or WalksNow(FIRST_MINUTES, FEWEST_DAYS)
        first = min(max(told.minutes * told.days, least), FAR_AIM_MINUTES)
        return _Asked(first, first, _in_days(told.days), WalkCode.START)
    last = week_begins(before[-1].on)
    empty = (monday - last).days // 7 - 1
    weeks = _weeks_up_to(before, last)
    newest = [walk for walk in before if week_begins(walk.on) == last]
    base = max(weeks[0], sum(weeks) / len(weeks))
    short = sum(walk.minutes for walk in newest if walk.talk is Talk.SHORT)
    if empty >= SHORT_BREAK_WEEKS:
        share = AFTER_LONG_BREAK if empty >= LONG_BREAK_WEEKS else AFTER_SHORT_BREAK
        minutes, code = min(base * share, FAR_AIM_MINUTES), WalkCode.AFTER_BREAK
    elif short * 2 >= weeks[0]:
        minutes, code = base * LESS, WalkCode.LESS_BREATHLESS
    elif base >= FAR_AIM_MINUTES:
        minutes, code = min(base, MOST_MINUTES), WalkCode.FAR_AIM
    elif base >= growth.most:
        # One long week is no measure: what was done over some of them is kept.
        minutes, code = max(sum(weeks) / len(weeks), growth.most), WalkCode.ENOUGH
    elif short or empty or weeks[0] < AS_GOOD_AS * base:
        minutes, code = base, WalkCode.AS_BEFORE
    else:
        minutes, code = min(base * growth.rise, growth.most), WalkCode.RISE
    days = _in_days(len({walk.on for walk in newest}))
    return _Asked(max(minutes, least), base, days, code)


def _keeps_own_days(
    before: Sequence[WalkDone], monday: date, now: WalksNow | None, growth: _Growth
) -> bool:
    """Whether another day was asked for last week and not taken: longer walks come instead (ours).

    Not where there were less than the fewest days.
    """
    last = monday - timedelta(weeks=1)
    earlier = [walk for walk in before if walk.on < last]
    days = len({walk.on for walk in before if walk.on >= last})
    asked = _asked(earlier, last, now, growth)
    return bool(earlier) and FEWEST_DAYS <= days < _spread(asked)


def _spread(asked: _Asked) -> int:
    """Days for the minutes of a week: one more where walks are long enough."""
    days = asked.days
    while days < MOST_DAYS and asked.minutes / days > LONG_ENOUGH:
        days += 1
    return days


def _as_coach_set(asked: _Asked, by_coach: WalksNow) -> _Asked:
    fewer = asked.code in (WalkCode.LESS_BREATHLESS, WalkCode.AFTER_BREAK, WalkCode.AFTER_HOLD)
    most = asked.minutes if fewer else max(asked.base * LARGEST_RISE, asked.minutes)
    wanted = by_coach.minutes * by_coach.days
    if fewer and wanted >= most:
        return asked
    return _Asked(min(wanted, most), asked.base, by_coach.days, WalkCode.BY_COACH)


def _in_days(days: int) -> int:
    return max(days, FEWEST_DAYS)


def _weeks_up_to(walks: Sequence[WalkDone], last: date) -> list[int]:
    """Minutes of up to four weeks, the newest first, none before the first walk of all."""
    known = (last - week_begins(walks[0].on)).days // 7 + 1
    totals: dict[date, int] = {}
    for walk in walks:
        monday = week_begins(walk.on)
        totals[monday] = totals.get(monday, 0) + walk.minutes
    return [
        totals.get(last - timedelta(weeks=back), 0) for back in range(min(known, WEEKS_LOOKED_AT))
    ]


def walk_today(
    client: Client,
    walks: Sequence[WalkDone],
    on: date,
    now: WalksNow | None,
    table: SteeringTable,
    *,
    ease_off: bool = False,
    lightest: bool = False,
    by_coach: WalksNow | None = None,
    dizzy: bool = False,
    sore: frozenset[Spare] = frozenset(),
) -> WalkToday | None:
    """Today's walk; ``None`` for somebody who does not walk.

    Args:
        table: the rows that steer.
        ease_off: today is an ease-off day.
        by_coach: as :func:`walk_week` takes it.
        dizzy: dizziness was told lately.
        sore: joints that hurt lately.
    """
    if not may_walk(client, table):
        return None
    rules = _rules(client, table)
    week = walk_week(client, walks, on, now, table, lightest=lightest, by_coach=by_coach)
    minutes = week.each
    if ease_off or sore & _LEGS:
        minutes = max(math.floor(minutes * EASED), FEWEST_MINUTES)
    style = _style(client, rules)
    walk_minutes, stop_minutes = _stops(style, minutes)
    weeks_walked = len({week_begins(walk.on) for walk in walks if walk.steers})
    brisk = 0
    fresh = not (ease_off or lightest or sore & _LEGS)
    steady = week.code is WalkCode.FAR_AIM and weeks_walked > EASY_WEEKS
    if steady and fresh and may_be_brisk(client, table, dizzy=dizzy):
        brisk = min(weeks_walked - EASY_WEEKS, MOST_BRISK)
    return WalkToday(
        week=week,
        minutes=minutes,
        bouts=_bouts(client, rules, style, minutes, sore),
        style=style,
        walk_minutes=walk_minutes,
        stop_minutes=stop_minutes,
        brisk=brisk,
        cares=walk_cares(client, table, sore),
        done_today=sum(walk.minutes for walk in walks if walk.on == on),
    )


def _rules(client: Client, table: SteeringTable) -> tuple[WalkRule, ...]:
    """What the rows that hold on some day ask of walks, in the order of the table."""
    asking = (row for row in table if row.walk != NO_WALK_RULE)
    return tuple(row.walk for row in asking if holds(row.when, client, None))


def _style(client: Client, rules: Sequence[WalkRule]) -> WalkStyle:
    """Rests for leg arteries and lungs come before the place: they are felt on the way."""
    for rule in rules:
        if rule.style is not None:
            return rule.style
    aided = client.walking_aid not in (None, WalkingAid.NONE)
    return WalkStyle.INDOOR_LAPS if aided or client.falls else WalkStyle.STEADY


def _stops(style: WalkStyle, minutes: int) -> tuple[int, int]:
    """Walk one to three minutes, stop for two to one: longer walks first, then shorter stops."""
    if style is WalkStyle.LEANING_STOPS:
        walk = 1 if minutes <= 10 else 2 if minutes <= 20 else 3
        return walk, 1 if minutes > 30 else 2
    if style is WalkStyle.WALK_AND_REST:
        # Pain begins within five minutes; how long it takes to go is not known: five are allowed.
        return 5, 5
    return 0, 0


def _bouts(
    client: Client,
    rules: Sequence[WalkRule],
    style: WalkStyle,
    minutes: int,
    sore: frozenset[Spare],
) -> tuple[int, ...]:
    limits = [rule.longest for rule in rules if rule.longest is not None]
    if style is WalkStyle.INDOOR_LAPS:
        limits.append(_INDOOR_BOUT)
    if (client.spares | sore) & _LEGS:
        limits.append(_SORE_BOUT)
    if not limits:
        return (minutes,)
    count = math.ceil(minutes / min(limits))
    shortest, longer = divmod(minutes, count)
    return tuple(shortest + (number < longer) for number in range(count))


def walk_cares(
    client: Client, table: SteeringTable, sore: frozenset[Spare] = frozenset()
) -> tuple[WalkCare, ...]:
    """What to mind on a walk, the weightiest first."""
    minds = {care for rule in _rules(client, table) for care in rule.minds}
    if (client.spares | sore) & _LEGS:
        minds.add(WalkCare.FLAT)
    return tuple(care for care in WalkCare if care in minds)
