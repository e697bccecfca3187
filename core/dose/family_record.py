"""What a client's sets of one family mean for the rules: how far up, how good, how recent."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

from core.dose.dose_model import GAP_DAYS
from core.dose.history import MOST_LEFT_TOLD, Ended, PainTold, SetDone, Unit
from core.dose.reps_curve import effort_of_reps, effort_of_seconds
from core.vocabulary import Family, Spare

MOST_LEFT_THAT_IS_HARD: Final = 3
FEWEST_OF_A_GOOD_CALIBRATION: Final = 8
FIRST_SESSIONS: Final = 6
GOOD_SESSIONS_FOR_A_STEP: Final = 2
GOOD_HOLDS_FOR_A_STEP: Final = 2
MOST_PAIN_OF_A_GOOD_SET: Final = 2
PAIN_THAT_STOPS: Final = 6
"""Over 5 of 10: stop the movement (Ageberg 2010; Thomee 1997)."""
PAIN_KEEPS_LOW_DAYS: Final = 10
PAIN_SHARE: Final = 0.87
"""Most of the painful demand that is offered again within those days (own simulation)."""
STOPPED_DAYS: Final = 2
CONTRADICTED_FROM: Final = 3
"""Told to stop with so many left, "none left" is more than a slip of the feeling (ours)."""
LONG_GAP_DAYS: Final = 28
"""After a gap this long the second session is a careful one too (ours)."""
WAY_BACK_FROM: Final = 0.75
"""A demand under this share of the one before is a fall, not a step down (ours)."""
PLATEAU_DAYS: Final = 21
PLATEAU_SESSIONS: Final = 6
SAME_WORK: Final = 0.02
NEARLY_LIKE: Final = 1 / 1.08
"""Share of a demand from which another rung asks nearly the same, so that the two may take turns
and sets of both count as one (ours)."""
_LOOK_BACK_SETS: Final = 40


@dataclass(frozen=True, slots=True)
class FamilyRecord:
    """One family's recent past, as the rules read it on one day.

    Attributes:
        first_time: the family was never done.
        first_sessions: fewer than six sessions of any kind before today.
        after_gap: done before, but not in the last 14 days; or once since a gap of 28 or more.
        days_away: days since it was last done before today; 0 the first time.
        hard_yesterday: a set planned at three or fewer left, yesterday; balance never is: it may be
            held on most days (common practice).
        last: the latest set of all, light quick ones that went well passed over.
        today: today's sets, oldest first.
        base_demand: demand to climb from: where the latest day that was not eased began, or where a
            slip, pain or failing of that day led; of two rungs in turn, that of the harder one.
        good_sessions: good sessions in a row at the base demand, or on the rung that takes turns
            with it; eased days passed over.
        over_goal_sessions: of those, at the top of the range with one more left than needed.
        full_sessions: of the good ones, at the top of the range with three or more left.
        good_holds: latest sets in a row at the latest step, as long as planned, without a slip.
        plenty_left: every set of the latest day that was not eased went well with "five or more"
            left, or its calibration set was done to its end.
        none_left_twice: each of the last two sessions had a set with none left.
        none_left_sessions: so many of the last sessions in a row had one.
        none_left: the latest session had a set with none left.
        could_not: the latest set could not be finished.
        sessions_before: days with any set, before today.
        plenty_twice: each of the last two sessions had a set with five or more left.
        calibrated_on: when its last calibration set was.
        bought: today's only set was a calibration set done to its end, which buys a further step.
        way_back: demand that is still missing of what was done well before a break from it, such as
            the easiest sessions after a sign's hold; 0 where nothing is.
        plateau: three weeks of honest effort without a step up.
        slipped: form slipped in the latest set.
        pain_limit: demand not to exceed because of pain within ten days.
        stopped: a pain over the limit, or sharp, keeps the family out today.
        not_settled: a pain had not settled the next morning.
    """

    first_time: bool
    first_sessions: bool
    after_gap: bool
    days_away: int
    hard_yesterday: bool
    last: SetDone | None
    today: tuple[SetDone, ...]
    base_demand: float | None
    good_sessions: int
    over_goal_sessions: int
    full_sessions: int
    good_holds: int
    plenty_left: bool
    none_left_twice: bool
    none_left_sessions: int
    none_left: bool
    could_not: bool
    sessions_before: int
    plenty_twice: bool
    calibrated_on: date | None
    bought: bool
    way_back: float
    plateau: bool
    slipped: bool
    pain_limit: float | None
    stopped: bool
    not_settled: bool


def is_good(done: SetDone) -> bool:
    """All planned repetitions, enough left in hand, no slip, no pain over 2.

    A hold ends when form fades; held as long as planned, it is good without left in hand told.
    """
    if done.calibration:
        enough = done.amount >= FEWEST_OF_A_GOOD_CALIBRATION and done.ended is not Ended.COULD_NOT
        return enough and not done.slip and done.pain <= MOST_PAIN_OF_A_GOOD_SET
    untold = done.left is None
    enough = done.unit is Unit.SECONDS if untold else (done.left or 0) >= done.lowest_good_left
    return (
        done.planned is not None
        and done.amount >= done.planned
        and enough
        and not done.slip
        and done.pain <= MOST_PAIN_OF_A_GOOD_SET
    )


def _is_at_the_top(done: SetDone, left: int) -> bool:
    """Good, at the top of the range, with so many left."""
    whole = done.planned_top is not None and done.amount >= done.planned_top
    return is_good(done) and whole and (done.left or 0) >= left


def _is_over_goal(done: SetDone) -> bool:
    return _is_at_the_top(done, done.lowest_good_left + 1)


def _is_full(done: SetDone) -> bool:
    return _is_at_the_top(done, 3)


def family_record(
    sets: Sequence[SetDone], pains: Sequence[PainTold], sessions_before: int, on: date
) -> FamilyRecord:
    """What the sets of one family (oldest first) and its pains mean on a day.

    Args:
        sets: the family's sets up to now; only the last forty are looked at.
        pains: pains tied to the family that its client told.
        sessions_before: days with any set, before today.
    """
    recent = sets[-_LOOK_BACK_SETS:]
    days = _days_newest_first(recent)
    earlier = [day for day in days if day[0].on < on]
    last = _last(recent)
    uneased = [day for day in days if not day[0].eased]
    climbed = [day for day in earlier if not day[0].eased]
    base = _level(uneased) if uneased else (last.demand if last else None)
    yesterday = on - timedelta(days=1)
    return FamilyRecord(
        first_time=not recent,
        first_sessions=sessions_before < FIRST_SESSIONS,
        after_gap=_comes_from_gap([day[0].on for day in earlier], on),
        days_away=_days_away([day[0].on for day in earlier], on),
        hard_yesterday=any(
            done.on == yesterday
            and done.stop_at_left <= MOST_LEFT_THAT_IS_HARD
            and done.family is not Family.BALANCE
            for done in recent
        ),
        last=last,
        today=tuple(done for done in recent if done.on == on),
        base_demand=base,
        good_sessions=_in_a_row(climbed, base, is_good),
        over_goal_sessions=_in_a_row(climbed, base, _is_over_goal),
        full_sessions=_in_a_row(climbed, base, _is_full),
        good_holds=_good_holds(recent),
        plenty_left=bool(climbed) and _went_well_with_plenty(climbed[0]),
        none_left_twice=len(days) > 1 and all(_none_was_left(day) for day in days[:2]),
        none_left_sessions=_days_at_none(days),
        none_left=bool(days) and _none_was_left(days[0]),
        could_not=last is not None and last.ended is Ended.COULD_NOT,
        sessions_before=sessions_before,
        plenty_twice=len(climbed) > 1 and all(map(_had_plenty, (*climbed[:2], *earlier[:2]))),
        calibrated_on=max((done.on for done in recent if done.calibration), default=None),
        bought=_buys_a_step([done for done in recent if done.on == on]),
        way_back=_way_back(earlier, base),
        plateau=_is_plateau(earlier, on),
        slipped=last is not None and last.slip,
        pain_limit=_pain_limit(recent, pains, on),
        stopped=any(_stops(pain, on) for pain in pains)
        or any(done.on == on and done.pain >= PAIN_THAT_STOPS for done in recent),
        not_settled=any(pain.settled is False for pain in pains if _is_recent(pain.on, on)),
    )


def _last(sets: Sequence[SetDone]) -> SetDone | None:
    """The set that the next one goes on from.

    Light quick stands come in between once a week; where they went well the way goes on as before.
    """
    work = (done for done in reversed(sets) if not (done.quick and _went_well(done)))
    return next(work, sets[-1] if sets else None)


def _went_well(done: SetDone) -> bool:
    could = done.ended is not Ended.COULD_NOT and done.left != 0
    return could and not done.slip and done.pain <= MOST_PAIN_OF_A_GOOD_SET


def gap_numbers(record: FamilyRecord) -> Mapping[str, int]:
    """For the sentence on a gap: how many days; not on the second session after it."""
    return {"days": record.days_away} if record.days_away >= GAP_DAYS else {}


def failing_begins(before: Sequence[SetDone], done: SetDone) -> bool:
    """Whether this set makes the second session in a row at none left, which a coach must know.

    Args:
        before: the family's sets before it, oldest first.
    """

    return sessions_at_none((*before, done)) >= 2 > sessions_at_none(before)


def sessions_at_none(sets: Sequence[SetDone]) -> int:
    """How many of a family's last sessions in a row had a set with none left."""
    return _days_at_none(_days_newest_first(sets[-_LOOK_BACK_SETS:]))


def _days_at_none(days: Sequence[Sequence[SetDone]]) -> int:
    """Newest days in a row with none left."""
    return next((n for n, day in enumerate(days) if not _none_was_left(day)), len(days))


def waits_for_settling(pains: Sequence[PainTold], on: date) -> bool:
    """Whether a pain of the days before is to be asked about: has it settled?

    It is asked on the next morning (Silbernagel 2007), and again until it has.
    """
    return any(
        pain.how_much > 0 and not pain.settled and 0 < (on - pain.on).days <= PAIN_KEEPS_LOW_DAYS
        for pain in pains
    )


def _comes_from_gap(days: Sequence[date], on: date) -> bool:
    """Whether this is the first session after a gap, or the second after a long one.

    Args:
        days: earlier days of the family, newest first.
    """
    if days and (on - days[0]).days >= GAP_DAYS:
        return True
    return len(days) > 1 and (days[0] - days[1]).days >= LONG_GAP_DAYS


def _days_away(days: Sequence[date], on: date) -> int:
    return (on - days[0]).days if days else 0


def _buys_a_step(today: Sequence[SetDone]) -> bool:
    """Whether today's one set, of calibration, was done to its end with two left or more."""
    if len(today) != 1 or not today[0].calibration or today[0].ended_short:
        return False
    left = today[0].left
    enough = left is not None and left >= today[0].stop_at_left
    return is_good(today[0]) and today[0].pain == 0 and enough


def _way_back(days: Sequence[Sequence[SetDone]], base: float | None) -> float:
    """What is missing of the demand that was done well before a fall that nothing in it explains.

    Pain, a slip, a failed set and none left explain a fall: there is no quick way back from those.

    Args:
        days: earlier days, newest first.
    """
    shown = 0.0
    for newer, older in pairwise(days):
        if newer[0].demand < older[0].demand * WAY_BACK_FROM:
            went_well = all(
                done.pain <= MOST_PAIN_OF_A_GOOD_SET
                and not done.slip
                and done.ended is not Ended.COULD_NOT
                and done.left != 0
                for done in older
            )
            if not went_well:
                return 0.0
            shown = max(shown, older[0].demand)
    return max(0.0, shown - base) if base is not None and shown else 0.0


def _is_plateau(days: Sequence[Sequence[SetDone]], on: date) -> bool:
    """Whether the sets of three weeks were honest work at the same demand.

    Args:
        days: earlier days, newest first.
    """
    lately = [day for day in days if (on - day[0].on).days <= PLATEAU_DAYS and not day[0].eased]
    if len(lately) < PLATEAU_SESSIONS or (on - lately[-1][0].on).days < PLATEAU_DAYS - 3:
        return False
    work = [max(map(_work, day)) for day in lately]
    half = len(work) // 2
    honest = all(
        any((done.left or 0) <= done.lowest_good_left + 2 for done in day if done.left is not None)
        for day in lately
    )
    rungs = {_rung_of(day) for day in lately}
    return honest and len(rungs) == 1 and max(work[:half]) <= max(work[half:]) + SAME_WORK


def _work(done: SetDone) -> float:
    """Log of what a set showed: its demand, and how many of it."""
    effort = effort_of_reps if done.unit is Unit.REPS else effort_of_seconds
    return math.log(done.demand) + effort(done.amount) if done.demand > 0.0 else 0.0


def _had_plenty(day: Sequence[SetDone]) -> bool:
    told_most = [done for done in day if (done.left or 0) >= MOST_LEFT_TOLD]
    return bool(told_most) and not any(done.calibration or done.slip for done in day)


def _went_well_with_plenty(day: Sequence[SetDone]) -> bool:
    """Whether a day leaves no doubt that it was light: told in each set, or shown in one.

    A whole calibration set shows it whatever is told, also of who always tells the same number.
    """
    if not all(map(is_good, day)):
        return False
    whole = any(done.calibration and not done.ended_short for done in day)
    return whole or all((done.left or 0) >= MOST_LEFT_TOLD for done in day)


def _none_was_left(day: Sequence[SetDone]) -> bool:
    """Whether a day ended a set with none left.

    Whoever stopped as told had some left, whatever was told then; but who should have stopped with
    three left and tells none is believed the worse of the two. Where nobody asked why a set
    ended short, a stop among fuller sets is taken as one; a day of nothing else is not.
    """
    with_none = [
        done
        for done in day
        if done.left == 0
        and not (done.ended is Ended.TOLD_TO_STOP and done.stop_at_left < CONTRADICTED_FROM)
        and not (done.calibration and done.ended is None)
    ]
    sure = any(done.ended is not None or not done.ended_short for done in with_none)
    return sure or len(with_none) == len(day) > 0


def _days_newest_first(sets: Sequence[SetDone]) -> list[list[SetDone]]:
    days: list[list[SetDone]] = []
    for done in reversed(sets):
        if days and days[-1][0].on == done.on:
            days[-1].insert(0, done)
        else:
            days.append([done])
    return days


def _base_demand(day: list[SetDone]) -> float:
    """Demand of a day's first set; of its last where a slip, pain or failing led down."""
    if day[0].calibration and len(day) > 1 and is_good(day[-1]):
        # The further step that a whole calibration set bought, and that went well.
        return max(day[0].demand, day[-1].demand)
    went_wrong = any(
        done.slip or done.pain > MOST_PAIN_OF_A_GOOD_SET or done.ended is Ended.COULD_NOT
        for done in day
    )
    return day[-1].demand if went_wrong else day[0].demand


def _level(days: Sequence[list[SetDone]]) -> float:
    """Demand of the latest day; of the harder one before it, where the two took turns.

    Args:
        days: days that were not eased, newest first; not empty.
    """
    newest = _base_demand(days[0])
    if len(days) > 1 and _takes_turns(days[0], days[1]):
        return max(newest, _base_demand(days[1]))
    return newest


def _takes_turns(newer: list[SetDone], older: list[SetDone]) -> bool:
    """Whether a good day was on another rung, a little easier than a good one shortly before."""
    share = _base_demand(newer) / _base_demand(older) if _base_demand(older) else 0.0
    return (
        NEARLY_LIKE <= share <= 1.0
        and _rung_of(newer) != _rung_of(older)
        and (newer[0].on - older[0].on).days < GAP_DAYS
        and all(map(is_good, (*newer, *older)))
    )


def _rung_of(day: Sequence[SetDone]) -> str:
    return day[0].step_key.partition("@")[0]


def _in_a_row(
    days: list[list[SetDone]], base: float | None, passes: Callable[[SetDone], bool]
) -> int:
    """Newest days in a row, at the base demand, all of whose sets pass.

    A day whose calibration set bought a further step counts for that step; one on the rung that
    took turns with it counts after a day at the base demand.
    """
    count = in_turn = 0
    for place, day in enumerate(days):
        if base is None or not all(map(passes, day)):
            break
        if _base_demand(day) >= base * 0.999:
            count, in_turn = count + in_turn + 1, 0
        elif place + 1 < len(days) and _takes_turns(day, days[place + 1]):
            in_turn += 1
        else:
            break
    return count


def _good_holds(sets: Sequence[SetDone]) -> int:
    """Latest sets in a row at the same step and plan, done in full without a slip."""
    count = 0
    for done in reversed(sets):
        same = done.step_key == sets[-1].step_key and done.planned == sets[-1].planned
        full = done.planned is not None and done.amount >= done.planned
        if not same or not full or done.slip or done.pain > MOST_PAIN_OF_A_GOOD_SET:
            break
        count += 1
    return count


def _is_recent(then: date, on: date) -> bool:
    return 0 <= (on - then).days <= PAIN_KEEPS_LOW_DAYS


def _pain_limit(sets: Sequence[SetDone], pains: Sequence[PainTold], on: date) -> float | None:
    limits = [
        done.demand * PAIN_SHARE
        for done in sets
        if done.pain > MOST_PAIN_OF_A_GOOD_SET and _is_recent(done.on, on)
    ]
    for pain in pains:
        lasts = pain.how_much > MOST_PAIN_OF_A_GOOD_SET or pain.settled is False
        if lasts and _is_recent(pain.on, on):
            before = [done for done in sets if done.on <= pain.on]
            limits.extend(done.demand * PAIN_SHARE for done in before[-1:])
    return min(limits, default=None)


def sore_joints(pains: Sequence[PainTold], on: date) -> frozenset[Spare]:
    """Joints to spare because of pains that were not tied to one movement (told in the morning).

    Such a pain keeps no family out: whatever does not load the joint may be done.
    """
    return frozenset(
        pain.where
        for pain in pains
        if pain.family is None and pain.where is not None and _is_sore(pain, on)
    )


def joints_sore_in(pains: Sequence[PainTold], family: Family, on: date) -> frozenset[Spare]:
    """Joints that hurt in one movement lately, to be spared in that movement."""
    return frozenset(
        pain.where
        for pain in pains
        if pain.family is family and pain.where is not None and _is_sore(pain, on)
    )


def _is_sore(pain: PainTold, on: date) -> bool:
    """Whether a pain over the safe band is still to be reckoned with."""
    fresh = pain.settled is None and 0 <= (on - pain.on).days <= STOPPED_DAYS
    return pain.how_much > MOST_PAIN_OF_A_GOOD_SET and (_stops(pain, on) or fresh)


def _stops(pain: PainTold, on: date) -> bool:
    """Whether a told pain keeps its family out today: the day itself, then until it settled.

    Of the safe band (up to 2) even a pain that lasts does not; it makes the family easier.
    """
    lasts = pain.settled is False and pain.how_much > MOST_PAIN_OF_A_GOOD_SET
    if pain.how_much < PAIN_THAT_STOPS and not pain.sharp and not lasts:
        return False
    days = (on - pain.on).days
    if pain.settled:
        return days == 0
    return 0 <= days <= (PAIN_KEEPS_LOW_DAYS if pain.settled is False else STOPPED_DAYS)
