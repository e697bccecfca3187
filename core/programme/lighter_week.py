"""Every fifth week, or after two hard ones, half the sets: a rule, not a judgement of the day.

No text on older people was found for it; the rule is ours after common practice.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from statistics import fmean
from typing import Final

from core.dose.history import History

EVERY: Final = 5
"""Four weeks of work, then a lighter one."""
HARD_EFFORT: Final = 8.0
"""Mean effort of a week, of ten, from which it was hard."""
HARD_WEEKS: Final = 2
_WEEK = timedelta(days=7)


def is_lighter(history: History, on: date) -> bool:
    """Whether the ISO week of ``on`` is a lighter one.

    Counted from the week in which training began, or began again after a week without any.
    """
    return next_lighter(history, on) == _monday(on)


def next_lighter(history: History, on: date) -> date:
    """The Monday of the next lighter week, this one included, where training goes on as it does."""
    this_week = _monday(on)
    week = _first_of_run(history.days_trained(), this_week)
    since_lighter = hard_in_a_row = 0
    while True:
        lighter = since_lighter >= EVERY - 1 or hard_in_a_row >= HARD_WEEKS
        if lighter and week >= this_week:
            return week
        since_lighter = 0 if lighter else since_lighter + 1
        hard_in_a_row = hard_in_a_row + 1 if not lighter and _was_hard(history, week) else 0
        week += _WEEK


def _first_of_run(days: Sequence[date], this_week: date) -> date:
    first = this_week
    for week in sorted({_monday(day) for day in days}, reverse=True):
        if week > this_week:
            continue
        if first - week > _WEEK:
            break
        first = week
    return first


def _was_hard(history: History, week: date) -> bool:
    told = [
        one.effort
        for one in history.sessions
        if one.effort is not None and week <= one.on < week + _WEEK
    ]
    return bool(told) and fmean(told) >= HARD_EFFORT


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
