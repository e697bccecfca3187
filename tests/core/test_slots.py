"""What is due on a person's own clock: weekdays, quiet hours, changes of the clock."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.slots import after_quiet, is_quiet, moment_on, next_moment

NEW_YORK = ZoneInfo("America/New_York")
NUUK = ZoneInfo("America/Nuuk")
APIA = ZoneInfo("Pacific/Apia")
KIRITIMATI = ZoneInfo("Pacific/Kiritimati")
ZONES = (NEW_YORK, NUUK, KIRITIMATI, ZoneInfo("Australia/Lord_Howe"), ZoneInfo("Asia/Kathmandu"))

TIMES = st.builds(time, st.integers(0, 23), st.integers(0, 59))
MOMENTS = st.integers(0, 10 * 366 * 24 * 60).map(
    lambda minutes: datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
)


def local(zone: ZoneInfo, moment: datetime | None) -> str:
    return "never" if moment is None else moment.astimezone(zone).strftime("%a %d %H:%M")


@pytest.mark.parametrize(
    ("zone", "day", "at", "shown"),
    [
        pytest.param(NEW_YORK, date(2026, 3, 7), time(2, 30), "Sat 07 02:30", id="an ordinary day"),
        pytest.param(
            NEW_YORK, date(2026, 3, 8), time(2, 30), "Sun 08 03:30", id="skipped: an hour later"
        ),
        pytest.param(
            NEW_YORK, date(2026, 11, 1), time(1, 30), "Sun 01 01:30", id="repeated: the first time"
        ),
        pytest.param(
            NUUK, date(2026, 3, 28), time(23, 30), "Sun 29 00:30", id="skipped over midnight"
        ),
        pytest.param(APIA, date(2011, 12, 30), time(8, 0), "never", id="a day that never was"),
        pytest.param(APIA, date(2011, 12, 31), time(8, 0), "Sat 31 08:00", id="the day after it"),
    ],
)
def test_a_local_time_comes_once_or_on_a_day_that_never_was_not_at_all(
    zone: ZoneInfo, day: date, at: time, shown: str
):
    assert local(zone, moment_on(zone, day, at)) == shown


def test_a_repeated_time_is_the_one_before_the_clock_goes_back():
    moment = moment_on(NEW_YORK, date(2026, 11, 1), time(1, 30))

    assert moment == datetime(2026, 11, 1, 5, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("after", "weekdays", "shown"),
    [
        pytest.param("2026-03-04 06:59", (1, 3, 5), "Wed 04 07:00", id="a minute before"),
        pytest.param("2026-03-04 07:00", (1, 3, 5), "Fri 06 07:00", id="not the same moment again"),
        pytest.param("2026-03-06 12:00", (1, 3, 5), "Mon 09 07:00", id="over the weekend"),
        pytest.param("2026-03-04 12:00", (3,), "Wed 11 07:00", id="one day a week"),
        pytest.param("2026-03-04 12:00", (), "Thu 05 07:00", id="no days named means every day"),
    ],
)
def test_the_next_moment_falls_on_one_of_the_days(
    after: str, weekdays: tuple[int, ...], shown: str
):
    moment = datetime.fromisoformat(after).replace(tzinfo=KIRITIMATI)

    assert local(KIRITIMATI, next_moment(KIRITIMATI, time(7), moment, weekdays)) == shown


def test_who_trains_on_fridays_waits_two_weeks_when_a_friday_never_was():
    after = datetime(2011, 12, 23, 12, 0, tzinfo=APIA)

    moment = next_moment(APIA, time(8), after, {5})

    assert local(APIA, moment) == "Fri 06 08:00"


@given(zone=st.sampled_from(ZONES), at=TIMES, after=MOMENTS)
def test_the_next_moment_is_later_and_at_most_a_day_and_an_hour_away(
    zone: ZoneInfo, at: time, after: datetime
):
    moment = next_moment(zone, at, after)

    assert after < moment <= after + timedelta(hours=25)


@pytest.mark.parametrize(
    ("now", "quiet_from", "quiet_until", "quiet"),
    [
        pytest.param(time(22, 0), time(21, 0), time(7, 0), True, id="late in the evening"),
        pytest.param(time(3, 0), time(21, 0), time(7, 0), True, id="in the night"),
        pytest.param(time(7, 0), time(21, 0), time(7, 0), False, id="at their very end"),
        pytest.param(time(21, 0), time(21, 0), time(7, 0), True, id="at their very start"),
        pytest.param(time(12, 0), time(21, 0), time(7, 0), False, id="at noon"),
        pytest.param(time(13, 30), time(13, 0), time(14, 0), True, id="an afternoon nap"),
        pytest.param(time(14, 30), time(13, 0), time(14, 0), False, id="after the nap"),
        pytest.param(time(9, 0), time(9, 0), time(9, 0), False, id="no quiet hours at all"),
    ],
)
def test_quiet_hours_may_run_over_midnight(
    now: time, quiet_from: time, quiet_until: time, quiet: bool
):
    here = datetime.combine(date(2026, 3, 2), now, NEW_YORK)

    assert is_quiet(here, quiet_from, quiet_until) is quiet


@pytest.mark.parametrize(
    ("now", "shown"),
    [
        pytest.param("2026-03-07 22:00", "Sun 08 07:00", id="over the night of the change"),
        pytest.param("2026-03-07 06:59", "Sat 07 07:00", id="early in the morning"),
        pytest.param("2026-03-07 12:00", "Sat 07 12:00", id="by day at once"),
    ],
)
def test_what_falls_into_quiet_hours_waits_for_their_end(now: str, shown: str):
    moment = datetime.fromisoformat(now).replace(tzinfo=NEW_YORK)

    assert local(NEW_YORK, after_quiet(NEW_YORK, moment, time(21), time(7))) == shown


@given(
    zone=st.sampled_from(ZONES),
    quiet_from=st.builds(time, st.integers(18, 23), st.integers(0, 59)),
    quiet_until=st.builds(time, st.integers(4, 11), st.integers(0, 59)),
    moment=MOMENTS,
)
def test_nothing_that_waited_for_the_morning_comes_in_the_night(
    zone: ZoneInfo, quiet_from: time, quiet_until: time, moment: datetime
):
    later = after_quiet(zone, moment, quiet_from, quiet_until)

    assert later >= moment
    assert not is_quiet(later.astimezone(zone), quiet_from, quiet_until)
