"""The overload watch: what moves it, when it rings, when it is quiet."""

from datetime import date, timedelta

import pytest

from core.load.overload import (
    ALARM_ABOVE,
    LASTING_ABOVE,
    QUIET_DAYS,
    WATCH_ABOVE,
    OverloadDay,
    OverloadLevel,
    judge_overload,
    overload_days,
)
from core.readiness.morning_questions import IllKind, Morning, MorningItem
from core.readiness.reasons import DayReasonCode
from core.vocabulary import DayPlan

START = date(2026, 1, 5)
NONE, WATCH, DAY_OFF, SEE_DOCTOR = OverloadLevel


def on(index, level, ill=IllKind.NONE):
    answers = {item.value: level for item in MorningItem}
    return Morning(START + timedelta(days=index), ill=ill, **answers)


def signs(index, wellbeing=0.0, load=0.0, prediction=0.0, left_out=False):
    return OverloadDay(START + timedelta(days=index), wellbeing, load, prediction, left_out)


def plain_loads(days, load=150.0):
    return {START + timedelta(days=d): load for d in range(days) if d % 7 in (0, 2, 4)}


def last(mornings, loads, days, missed=None):
    return overload_days(mornings, loads, START + timedelta(days=days - 1), missed)[-1]


def test_a_steady_client_shows_nothing():
    day = last([on(i, 4) for i in range(60)], plain_loads(60), 60)
    assert day.load == pytest.approx(0, abs=1e-9)
    assert day.prediction == 0
    assert day.value < WATCH_ABOVE / 4


def test_bad_days_in_a_row_ring_and_one_bad_day_does_not():
    steady = [on(i, 4 - (i % 2)) for i in range(50)]
    one = overload_days([*steady, on(50, 2)], {}, START + timedelta(days=50))
    assert judge_overload(one).level is not DAY_OFF
    several = [on(50 + i, 2) for i in range(6)]
    days = overload_days([*steady, *several], {}, START + timedelta(days=55))
    assert judge_overload(days).level is DAY_OFF


def test_a_bad_stretch_cannot_hide_itself_in_the_baseline():
    """The usual trails by seven days: the second bad week still counts nearly in full."""
    steady = [on(i, 4) for i in range(40)]
    bad = [on(40 + i, 3) for i in range(7)]
    assert last([*steady, *bad], {}, 47).wellbeing > 0.9


def test_a_harder_week_than_the_four_before_counts():
    usual = plain_loads(42)
    harder = usual | {START + timedelta(days=d): 450.0 for d in (35, 37, 39)}
    mornings = [on(i, 4) for i in range(42)]
    assert last(mornings, harder, 42).load > last(mornings, usual, 42).load == pytest.approx(0)
    easier = usual | {START + timedelta(days=d): 0.0 for d in (35, 37, 39)}
    assert last(mornings, easier, 42).load == 0


def test_the_load_part_by_hand():
    """Weeks of 450, then 1350 (over the most of 0.5) or 1050 (ln 1.571 = 0.452), times 1.1."""
    loads = plain_loads(42) | {START + timedelta(days=d): 450.0 for d in (35, 37, 39)}
    assert last([on(i, 4) for i in range(42)], loads, 42).load == pytest.approx(1.1 * 0.5)
    loads |= {START + timedelta(days=39): 150.0}
    day = last([on(i, 4) for i in range(42)], loads, 42)
    assert day.load == pytest.approx(1.1 * 0.45199, abs=5e-4)


def test_a_harder_week_that_feels_fine_never_rings_by_itself():
    loads = plain_loads(42) | {START + timedelta(days=d): 2000.0 for d in range(35, 42)}
    days = overload_days([on(i, 4) for i in range(42)], loads, START + timedelta(days=41))
    assert days[-1].load > 0.5
    assert judge_overload(days).level is not DAY_OFF


def test_load_needs_two_weeks_before_the_week():
    loads = plain_loads(20) | {START + timedelta(days=19): 900.0}
    assert last([on(i, 4) for i in range(20)], loads, 20).load == 0
    loads = plain_loads(21) | {START + timedelta(days=20): 900.0}
    assert last([on(i, 4) for i in range(21)], loads, 21).load > 0


def test_repetitions_below_prediction_count_within_their_range():
    mornings = [on(i, 4) for i in range(30)]
    below = {START + timedelta(days=d): 2.0 for d in range(20, 30)}
    above = dict.fromkeys(below, -50.0)
    assert last(mornings, {}, 30, below).prediction > 0.2
    assert last(mornings, {}, 30, above).prediction == pytest.approx(-2 * 0.16)
    assert last(mornings, {}, 30).prediction == 0


def test_ill_days_and_five_after_are_left_out():
    mornings = [on(i, 4) for i in range(30)]
    mornings[20] = on(20, 1, IllKind.ABOVE_NECK)
    days = overload_days(mornings, {}, START + timedelta(days=29))
    assert [index for index, day in enumerate(days) if day.left_out] == list(range(20, 26))
    assert days[20].wellbeing == days[19].wellbeing


def test_a_calm_and_a_restless_client_ring_at_the_same_depth_of_their_own_swing():
    calm = [on(i, 4) for i in range(60)]
    restless = [on(i, 3 + 2 * (i % 2)) for i in range(60)]
    drop = [on(60, 3), on(61, 3), on(62, 3)]
    for_calm = last([*calm, *drop], {}, 63).wellbeing
    for_restless = last([*restless, *drop], {}, 63).wellbeing
    assert for_calm > for_restless


def test_the_lines_are_those_of_the_page():
    """Ours, set on invented clients at two false alarms a client-year."""
    assert (ALARM_ABOVE, WATCH_ABOVE, LASTING_ABOVE, QUIET_DAYS) == (0.79, 0.60, 0.52, 14)


def test_wellbeing_by_hand():
    """First morning: 0.7 below 3.7, a third of it; the second is weighed by the swing learned.

    Mean of squares: 0.16, then 0.16 + (0.49 - 0.16) / 6 = 0.215; factor 0.4 / 0.46368.
    """
    days = overload_days([on(0, 3), on(1, 3)], {}, START + timedelta(days=1))
    assert days[0].wellbeing == pytest.approx(0.7 / 3)
    second = 0.7 / 3 + (0.7 * 0.4 / 0.215**0.5 - 0.7 / 3) / 3
    assert days[1].wellbeing == pytest.approx(second)


def test_the_swing_is_bounded_below_and_by_strange_days():
    """A flat client counts as one of swing 0.25; a day counts at most 1.2 points in the swing."""
    flat = [on(i, 4) for i in range(200)]
    drop = last([*flat, on(200, 3)], {}, 201).wellbeing - last(flat, {}, 200).wellbeing
    assert drop == pytest.approx(1.6 / 3, abs=0.05)
    one = overload_days([on(0, 1), on(1, 3)], {}, START + timedelta(days=1))
    square = 0.16 + (1.44 - 0.16) / 6
    expected = 2.7 / 3 + (0.7 * 0.4 / square**0.5 - 2.7 / 3) / 3
    assert one[1].wellbeing == pytest.approx(expected)


def test_prediction_by_hand():
    """A quarter of the first value, then a quarter of the way; times 0.16."""
    missed = {START: 2.0, START + timedelta(days=1): 2.0}
    days = overload_days([on(0, 4), on(1, 4)], {}, START + timedelta(days=1), missed)
    assert [day.prediction for day in days] == pytest.approx([0.16 * 0.5, 0.16 * 0.875])
    high = last([on(0, 4)], {}, 1, {START: 100.0})
    assert high.prediction == pytest.approx(0.16 * 4)


def test_prediction_stands_still_while_ill():
    missed = {START: 2.0, START + timedelta(days=1): 2.0}
    mornings = [on(0, 4), on(1, 4, IllKind.FEVER)]
    days = overload_days(mornings, {}, START + timedelta(days=1), missed)
    assert days[1].prediction == days[0].prediction


def test_no_days_say_nothing():
    assert judge_overload([]).level is NONE
    assert overload_days([], {}, START) == []


LASTING = WATCH_ABOVE + 0.05
HIGH, LOW = ALARM_ABOVE + 0.1, WATCH_ABOVE - 0.1
BETWEEN = (ALARM_ABOVE + WATCH_ABOVE) / 2


@pytest.mark.parametrize(
    ("values", "level"),
    [
        ([HIGH], WATCH),
        ([HIGH, HIGH], DAY_OFF),
        ([LOW, HIGH, HIGH], DAY_OFF),
        ([BETWEEN, HIGH], WATCH),
        ([HIGH, BETWEEN], WATCH),
        ([HIGH, LOW], NONE),
        ([BETWEEN, BETWEEN], WATCH),
        ([LOW, LOW], NONE),
        ([ALARM_ABOVE, ALARM_ABOVE], WATCH),
        ([WATCH_ABOVE], NONE),
    ],
)
def test_two_days_in_a_row_ring(values, level):
    days = [signs(index, load=value) for index, value in enumerate(values)]
    assert judge_overload(days).level is level


@pytest.mark.parametrize(
    ("ago", "level"), [(1, WATCH), (QUIET_DAYS - 1, WATCH), (QUIET_DAYS, DAY_OFF)]
)
def test_an_alarm_is_followed_by_two_quiet_weeks(ago, level):
    days = [signs(index, load=HIGH) for index in range(2)]
    assert judge_overload(days, days[-1].on - timedelta(days=ago)).level is level


@pytest.mark.parametrize("left_out", [[True, False], [False, True], [True, True]])
def test_days_of_illness_do_not_ring(left_out):
    days = [signs(index, load=HIGH, left_out=out) for index, out in enumerate(left_out)]
    assert judge_overload(days).level is not DAY_OFF


def test_two_low_weeks_send_to_the_doctor_even_in_quiet_days():
    """Meeusen 2013: lasting signs; in this group unexplained tiredness is medical first."""
    days = [signs(index, wellbeing=LASTING) for index in range(14)]
    judged = judge_overload(days, days[-1].on - timedelta(days=3))
    assert judged.level is SEE_DOCTOR
    assert judged.reasons[0].code is DayReasonCode.OVERLOAD_SEE_DOCTOR


@pytest.mark.parametrize(
    ("ago", "level"), [(0, WATCH), (QUIET_DAYS - 1, WATCH), (QUIET_DAYS, SEE_DOCTOR)]
)
def test_the_word_on_the_doctor_is_not_repeated_for_two_weeks(ago, level):
    days = [signs(index, wellbeing=LASTING) for index in range(14)]
    judged = judge_overload(days, last_doctor=days[-1].on - timedelta(days=ago))
    assert judged.level is level


@pytest.mark.parametrize(
    ("days", "plan"),
    [
        ([], DayPlan.AS_PLANNED),
        ([signs(0)], DayPlan.AS_PLANNED),
        ([signs(0, load=2.0)], DayPlan.AS_PLANNED),
        ([signs(0, load=2.0), signs(1, load=2.0)], DayPlan.REST),
        ([signs(index, wellbeing=0.65) for index in range(14)], DayPlan.EASE_OFF),
    ],
)
def test_a_day_off_is_rest_and_until_the_doctor_is_asked_it_is_easy(days, plan):
    assert judge_overload(days).plan is plan


@pytest.mark.parametrize(
    ("low", "level"),
    [
        (range(14), SEE_DOCTOR),
        (range(3, 14), SEE_DOCTOR),
        (range(4, 14), WATCH),
        (range(1, 14), SEE_DOCTOR),
        (range(13), NONE),
    ],
)
def test_three_quarters_of_two_weeks_today_included_are_lasting(low, level):
    days = [signs(i, wellbeing=LASTING if i in low else 0.0) for i in range(14)]
    assert judge_overload(days).level is level


@pytest.mark.parametrize(
    ("wellbeing", "level"), [(LASTING_ABOVE, NONE), (LASTING_ABOVE + 0.01, SEE_DOCTOR)]
)
def test_what_lasts_has_its_own_lower_line(wellbeing, level):
    days = [signs(index, wellbeing=wellbeing) for index in range(14)]
    assert judge_overload(days).level is level


def test_thirteen_days_are_not_two_weeks():
    days = [signs(index, wellbeing=LASTING) for index in range(13)]
    assert judge_overload(days).level is WATCH


def test_a_busy_fortnight_that_feels_fine_needs_no_doctor():
    days = [signs(index, load=BETWEEN) for index in range(14)]
    assert judge_overload(days).level is WATCH


def test_the_reason_carries_the_parts():
    judged = judge_overload([signs(0, 0.5, 0.2, 0.1), signs(1, 0.5, 0.2, 0.1)])
    assert judged.value == pytest.approx(0.8)
    assert judged.reasons[0].code is DayReasonCode.OVERLOAD_DAY_OFF
    assert judged.reasons[0].numbers == {"wellbeing": 0.5, "load": 0.2, "prediction": 0.1}
    assert judge_overload([signs(0)]).reasons == ()
