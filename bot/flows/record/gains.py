"""How far a client has come: what she can do now, against when that was first known.

Never what was asked of her: capacity is believed from all sets, so that an easy day is no fall.
Balance has none: there the hardest hold without a touch stands for it.
"""

import math
from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise
from typing import Final, TypedDict

from bot.flows.facts import ClientRecord, Facts
from bot.flows.record.start_word import word_of
from core.dose.climb import CapacityOn, climbs_of
from core.dose.family_record import MOST_PAIN_OF_A_GOOD_SET
from core.dose.history import SetDone
from core.dose.prior import starting_point
from core.vocabulary import Family

KNOWN_SD: Final = 0.12
"""Spread of log capacity from which on a first value is worth being compared with."""
LATELY_DAYS: Final = 28
"""What was done within so many days is done now."""
FIRST_DAYS: Final = 7
BREAK_DAYS: Final = 14
NOTEWORTHY_PERCENT: Final = 3


class Gain(TypedDict):
    """One movement's change.

    Attributes:
        percent: more that the client can do than on ``since``; None while that is not known yet.
        since: when it was first known; without a percent the first day.
        first: the first day.
        rungs: the first, and the hardest done lately, once where they are one; none that is gone.
        then, now: keys of their steps.
        changed: there are two pictures to show.
        after_break: it is less than it was at best, and there was a break of two weeks or more.
    """

    family: str
    percent: int | None
    since: date
    first: date
    rungs: list[str]
    then: str
    now: str
    changed: bool
    after_break: bool


def climbs_in(record: ClientRecord, facts: Facts) -> dict[Family, tuple[CapacityOn, ...]]:
    """Capacity over the days on which each family was done; none of balance."""
    history = facts.history(record.id)
    if not history.sets:
        return {}
    start = starting_point(
        record.client,
        facts.reference.catalogue,
        year=history.sets[0].on.year,
        word=word_of(record, history, facts.reference.catalogue.steering),
    )
    return climbs_of(start, history.telling(), record.person.local(facts.now).date())


def gains_of(record: ClientRecord, facts: Facts) -> list[Gain]:
    """Each movement that was done on two days or more, in the order of the catalogue."""
    history = facts.history(record.id)
    today = record.person.local(facts.now).date()
    lines = lines_of(record, facts)
    found = []
    for family in Family:
        done = history.of_family(family)
        if len({one.on for one in done}) > 1 and done[0].demand > 0:
            found.append(_gain(family, done, lines.get(family, []), today, facts))
    return found


def lines_of(record: ClientRecord, facts: Facts) -> dict[Family, list[tuple[date, int]]]:
    """Percent of what could be done when it was first known, by movement and day, oldest first."""
    lines = {}
    for family, climb in climbs_in(record, facts).items():
        known = [one for one in climb if one.baseline.sd <= KNOWN_SD]
        if len(known) > 1:
            first = known[0].baseline.mean
            lines[family] = [
                (one.on, round(100 * math.exp(one.baseline.mean - first))) for one in known
            ]
    holds = _holds(facts.history(record.id).of_family(Family.BALANCE))
    return {**lines, Family.BALANCE: holds} if holds else lines


def _holds(done: Sequence[SetDone]) -> list[tuple[date, int]]:
    """The hardest clean hold of four weeks up to each day, against that of the first week."""
    clean = [one for one in done if _is_clean(one)]
    days = list(dict.fromkeys(one.on for one in clean))
    if len(days) < 2 or clean[0].demand <= 0:
        return []
    began = days[0] + timedelta(days=FIRST_DAYS)
    first = max(one.demand for one in clean if one.on < began)
    line = []
    for day in days:
        back = day - timedelta(days=LATELY_DAYS)
        hardest = max(one.demand for one in clean if back < one.on <= day)
        line.append((day, round(100 * hardest / first)))
    return line


def _gain(
    family: Family,
    done: Sequence[SetDone],
    line: Sequence[tuple[date, int]],
    today: date,
    facts: Facts,
) -> Gain:
    lately = [one for one in done if (today - one.on).days < LATELY_DAYS and _is_clean(one)]
    now = max(lately, key=lambda one: one.demand) if lately else done[-1]
    keys = [done[0].step_key, now.step_key]
    rungs = list(dict.fromkeys(key.partition("@")[0] for key in keys))
    if not all(rung in facts.reference.catalogue.by_id for rung in rungs):
        rungs = []
    percent = line[-1][1] - 100 if len(line) > 1 else None
    days = [*dict.fromkeys(one.on for one in done), today]
    recent = [day for day in days if (today - day).days < 2 * LATELY_DAYS]
    paused = any((later - earlier).days >= BREAK_DAYS for earlier, later in pairwise(recent))
    return {
        "family": family.value,
        "percent": percent,
        "since": line[0][0] if percent is not None else done[0].on,
        "first": done[0].on,
        "rungs": rungs,
        "then": keys[0],
        "now": keys[1],
        "changed": bool(rungs) and keys[0] != keys[1] and now.demand > done[0].demand,
        "after_break": paused and _fell(line),
    }


def _fell(line: Sequence[tuple[date, int]]) -> bool:
    return bool(line) and line[-1][1] < max(percent for _, percent in line) - NOTEWORTHY_PERCENT


def _is_clean(done: SetDone) -> bool:
    return not done.slip and done.pain <= MOST_PAIN_OF_A_GOOD_SET
