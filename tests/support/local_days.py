"""When a person's clock shows a time on a day: a second answer, computed by dateutil.tz.

Both answers read the same zone file, so that they can differ in computing only. dateutil reads the
part of a zone file that ends with the year 2037.
"""

import io
import zoneinfo
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from importlib import resources
from pathlib import Path
from zoneinfo import ZoneInfo

from dateutil import tz

from core.slots import next_moment

DAY = timedelta(days=1)
LAST_DAY = date(2037, 12, 29)
AROUND = 3
"""Days on each side of a change of the clock that are walked."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Local days from ``first`` to ``last``, both included."""

    first: date
    last: date

    def days(self) -> list[date]:
        """Every date of it."""
        return [self.first + number * DAY for number in range((self.last - self.first).days + 1)]


def ten_years(today: date) -> Stretch:
    """From yesterday to ten years on, as far as the reference goes."""
    return Stretch(today - DAY, min(today + 3653 * DAY, LAST_DAY))


@cache
def zone_bytes(name: str) -> bytes:
    """The zone file that ``zoneinfo`` reads."""
    for folder in zoneinfo.TZPATH:
        file = Path(folder) / name
        if file.is_file():
            return file.read_bytes()
    return resources.files("tzdata").joinpath("zoneinfo", *name.split("/")).read_bytes()


def different_zones() -> list[str]:
    """One name for each zone whose clock is not that of a name before it, in order of names."""
    found: dict[bytes, str] = {}
    for name in sorted(zoneinfo.available_timezones()):
        found.setdefault(zone_bytes(name), name)
    return sorted(found.values())


@cache
def _reference_zone(name: str) -> tz.tzfile:
    return tz.tzfile(io.BytesIO(zone_bytes(name)), filename=name)


def expected_moment(name: str, day: date, at: time) -> datetime | None:
    """When the check-in of a local day is due by dateutil; ``None`` when the day never was."""
    zone = _reference_zone(name)
    there = datetime.combine(day, at, zone)
    if tz.datetime_exists(there):
        return tz.enfold(there, fold=0).astimezone(UTC)
    if not any(tz.datetime_exists(datetime.combine(day, time(hour), zone)) for hour in range(24)):
        return None
    return tz.resolve_imaginary(there).astimezone(UTC)


def expected_moments(name: str, stretch: Stretch, at: time) -> list[datetime]:
    """All of them for a stretch of days."""
    found = (expected_moment(name, day, at) for day in stretch.days())
    return [moment for moment in found if moment is not None]


def walked_moments(name: str, stretch: Stretch, at: time) -> list[datetime]:
    """What ``core.slots`` gives when each moment leads to the next, through a stretch of days."""
    before = datetime.combine(stretch.first - DAY, at, _reference_zone(name))
    after = datetime.combine(stretch.last + DAY, at, _reference_zone(name)).astimezone(UTC)
    return list(_walk(ZoneInfo(name), at, before.astimezone(UTC), after))


def _walk(zone: ZoneInfo, at: time, moment: datetime, end: datetime) -> Iterator[datetime]:
    while (moment := next_moment(zone, at, moment)) < end:
        yield moment


def around_changes(name: str, whole: Stretch) -> Sequence[Stretch]:
    """The days around each change of the clock, and the first days, within a stretch."""
    zone = ZoneInfo(name)
    found = [Stretch(whole.first, whole.first + 2 * AROUND * DAY)]
    noon = datetime.combine(whole.first, time(12), UTC)
    offset = noon.astimezone(zone).utcoffset()
    for number, day in enumerate(whole.days()):
        new = (noon + number * DAY).astimezone(zone).utcoffset()
        if new != offset:
            found.append(Stretch(day - AROUND * DAY, day + AROUND * DAY))
        offset = new
    return found
