"""When something falls due on a person's own clock: local times, daylight saving, quiet hours.

A local time that daylight saving skips comes once, as much later as the clock jumps; one that it
repeats comes once, the first time. On a local day that never was, nothing comes.
"""

from collections.abc import Collection
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

DAY = timedelta(days=1)
SEARCH_DAYS = 16
"""From yesterday to two weeks on: the one training day of a week may be a day that never was."""


def moment_on(zone: ZoneInfo, day: date, at: time) -> datetime | None:
    """The moment (UTC) at which a person's clock shows ``at`` on ``day``.

    Returns:
        ``None`` when that local day never was (some islands skipped one to change sides of the
        date line).
    """
    naive = datetime.combine(day, at)
    moment = naive.replace(tzinfo=zone, fold=0).astimezone(UTC)
    shown = moment.astimezone(zone).replace(tzinfo=None)
    if shown == naive:
        return moment
    # The clock never shows this time that day: fold 0 names the offset before the jump, so the
    # moment already lies as much later as the clock jumps. It may have left the day altogether.
    return moment if shown.date() == day else _end_of_short_day(zone, day, moment)


def _end_of_short_day(zone: ZoneInfo, day: date, after: datetime) -> datetime | None:
    """The first moment after a jump over the end of ``day``, or ``None`` if it had no moment."""
    last = after - DAY
    for step in (timedelta(hours=1), timedelta(minutes=1)):
        while last < after and (last + step).astimezone(zone).date() <= day:
            last += step
    return after if last.astimezone(zone).date() == day else None


def next_moment(
    zone: ZoneInfo, at: time, after: datetime, weekdays: Collection[int] = range(1, 8)
) -> datetime:
    """The first moment later than ``after`` at which the clock shows ``at`` on one of the days.

    Args:
        after: aware.
        weekdays: ISO weekdays, 1 Monday .. 7 Sunday; none means every day.
    """
    wanted = set(weekdays) or set(range(1, 8))
    day = after.astimezone(zone).date() - DAY
    for _ in range(SEARCH_DAYS):
        if day.isoweekday() in wanted:
            moment = moment_on(zone, day, at)
            if moment is not None and moment > after:
                return moment
        day += DAY
    return after + timedelta(days=SEARCH_DAYS)


def is_quiet(local: datetime, quiet_from: time, quiet_until: time) -> bool:
    """Whether a local moment lies in the quiet hours, which may run over midnight."""
    now = local.timetz().replace(tzinfo=None)
    if quiet_from <= quiet_until:
        return quiet_from <= now < quiet_until
    return now >= quiet_from or now < quiet_until


def after_quiet(zone: ZoneInfo, moment: datetime, quiet_from: time, quiet_until: time) -> datetime:
    """``moment``, or the end of the quiet hours that it lies in."""
    if not is_quiet(moment.astimezone(zone), quiet_from, quiet_until):
        return moment
    return next_moment(zone, quiet_until, moment)
