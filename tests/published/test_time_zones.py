"""A check-in time comes exactly once on every local day that exists, in every time zone.

Reference: dateutil.tz, which computes it in another way from the same zone files. Walked here: in
every zone of the tz database the days around each change of the clock for ten years, at four times
of the day, and in forty zones, spread over the alphabet, every day of the ten years. Every day of
every zone is walked by ``python -m tests.bench.time_zones``.
"""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from core.slots import moment_on
from tests.support.local_days import (
    Stretch,
    around_changes,
    different_zones,
    expected_moment,
    expected_moments,
    ten_years,
    walked_moments,
)

DAY = timedelta(days=1)
CHECKIN_TIMES = (time(0, 0), time(2, 30), time(8, 0), time(23, 45))
NEVER_WAS = [
    pytest.param("Pacific/Apia", date(2011, 12, 30), id="Samoa changed sides of the date line"),
    pytest.param("Pacific/Kwajalein", date(1993, 8, 21), id="so did Kwajalein"),
    pytest.param("Pacific/Kiritimati", date(1994, 12, 31), id="and the Line Islands"),
]


def whole() -> Stretch:
    return ten_years(datetime.now(UTC).date())


def test_around_every_change_of_the_clock_a_check_in_comes_exactly_once_a_day():
    wrong = [
        (name, at, stretch)
        for name in different_zones()
        for stretch in around_changes(name, whole())
        for at in CHECKIN_TIMES
        if walked_moments(name, stretch, at) != expected_moments(name, stretch, at)
    ]

    assert wrong == []


def test_on_every_day_of_ten_years_in_forty_zones_a_check_in_comes_exactly_once():
    zones = different_zones()
    wrong = [
        name
        for name in zones[:: len(zones) // 40]
        if walked_moments(name, whole(), time(2, 30))
        != expected_moments(name, whole(), time(2, 30))
    ]

    assert wrong == []


def test_some_of_the_walked_times_are_skipped_and_some_are_repeated_by_daylight_saving():
    # The walk would prove little if no check-in time ever fell into a change of the clock.
    stretch = whole()
    skipped = repeated = 0
    for day in stretch.days():
        there = datetime.combine(day, time(2, 30), ZoneInfo("America/New_York"))
        shown = there.astimezone(UTC).astimezone(ZoneInfo("America/New_York"))
        skipped += shown.replace(tzinfo=None) != there.replace(tzinfo=None)
        there = datetime.combine(day, time(2, 30), ZoneInfo("Europe/Berlin"))
        first, second = there.utcoffset(), there.replace(fold=1).utcoffset()
        assert first is not None
        assert second is not None
        repeated += first > second

    assert skipped >= 9
    assert repeated >= 9


@pytest.mark.parametrize("at", CHECKIN_TIMES)
@pytest.mark.parametrize(("name", "day"), NEVER_WAS)
def test_a_day_that_never_was_has_no_check_in_and_the_days_around_it_have_one(
    name: str, day: date, at: time
):
    assert moment_on(ZoneInfo(name), day, at) is None
    assert expected_moment(name, day, at) is None

    around = Stretch(day - 3 * DAY, day + 3 * DAY)
    walked = walked_moments(name, around, at)

    assert [moment.astimezone(ZoneInfo(name)).date() for moment in walked] == [
        one for one in around.days() if one != day
    ]
    assert walked == expected_moments(name, around, at)
