"""The client's own baseline, and points below it."""

from datetime import date, timedelta

import pytest

from core.readiness.baseline import CARRIED, ILLNESS_POINTS, shortfalls
from core.readiness.morning_questions import IllKind, Morning, MorningItem

START = date(2026, 1, 1)


def on(index, level=None, ill=IllKind.NONE, **answers):
    filled = {} if level is None else {item.value: level for item in MorningItem}
    return Morning(START + timedelta(days=index), ill=ill, **(filled | answers))


def walk(mornings, days, **options):
    return list(shortfalls(mornings, START + timedelta(days=days - 1), **options))


def test_the_first_morning_is_compared_with_three_point_seven():
    (first,) = walk([on(0, 3)], 1)
    assert first.points == pytest.approx(0.7)
    assert first.baseline[MorningItem.SLEEP] == 3.7


def test_the_baseline_moves_by_the_distance_over_the_days_known():
    """The prior is worth four days: after one 5 it is 3.7 + 1.2 (clipped from 1.3) / 5."""
    days = walk([on(0, 5), on(1, 5)], 2)
    assert days[1].baseline[MorningItem.MOOD] == pytest.approx(3.7 + 1.2 / 5)


def test_one_strange_day_moves_the_baseline_by_at_most_the_clip():
    days = walk([on(0, 1), on(1, 4)], 2)
    assert days[1].baseline[MorningItem.MOOD] == pytest.approx(3.7 - 1.2 / 5)


def test_after_six_weeks_a_day_still_counts_one_forty_second():
    mornings = [on(index, 4) for index in range(60)] + [on(60, 3), on(61, 4)]
    days = walk(mornings, 62)
    before, after = days[60].baseline[MorningItem.SLEEP], days[61].baseline[MorningItem.SLEEP]
    assert after == pytest.approx(before + (3 - before) / 42)


def test_a_client_who_always_taps_the_middle_comes_to_be_as_usual():
    days = walk([on(index, 3) for index in range(60)], 60)
    assert days[0].points == pytest.approx(0.7)
    assert abs(days[-1].points) < 0.12


def test_each_item_has_its_own_baseline():
    mornings = [on(index, 4, soreness=2) for index in range(40)]
    last = walk(mornings, 40)[-1]
    assert last.baseline[MorningItem.SORENESS] < 2.6
    assert last.baseline[MorningItem.SLEEP] > 3.8


def test_a_missing_item_leaves_the_mean_to_the_others():
    full = walk([on(0, 3)], 1)[0]
    part = walk([on(0, sleep=3, mood=3)], 1)[0]
    assert part.points == pytest.approx(full.points)
    assert set(part.by_item) == {MorningItem.SLEEP, MorningItem.MOOD}


def test_a_missing_day_carries_a_share_of_the_last():
    days = walk([on(0, 2)], 4)
    assert [day.points for day in days] == pytest.approx(
        [1.7, 1.7 * CARRIED, 1.7 * CARRIED**2, 1.7 * CARRIED**3]
    )
    assert [day.answered for day in days] == [True, False, False, False]


def test_a_long_holiday_is_forgotten_and_teaches_nothing():
    days = walk([on(0, 2), on(30, 2)], 31)
    assert days[29].points == pytest.approx(0, abs=1e-5)
    assert days[30].baseline == days[1].baseline


def test_illness_counts_on_top_and_teaches_nothing():
    well, ill = walk([on(0, 3)], 1)[0], walk([on(0, 3, IllKind.FEVER)], 1)[0]
    assert ill.points == pytest.approx(well.points + ILLNESS_POINTS[IllKind.FEVER])
    assert ill.items_only == well.items_only
    assert ill.ill
    assert not well.ill
    after = walk([on(0, 3, IllKind.FEVER), on(1, 3)], 2)[1]
    assert after.baseline[MorningItem.SLEEP] == 3.7


def test_worse_illness_counts_more():
    ordered = [ILLNESS_POINTS[kind] for kind in IllKind]
    assert ordered == sorted(ordered)
    assert ordered[0] == 0


def test_the_points_of_each_illness():
    """Ours, set on invented clients."""
    assert [ILLNESS_POINTS[kind] for kind in IllKind] == [0.0, 0.4, 0.7, 0.9]


def test_a_first_morning_without_items_is_neither_low_nor_high():
    (day,) = walk([on(0)], 1)
    assert (day.points, day.items_only, day.answered) == (0, 0, False)


def test_illness_alone_still_makes_a_low_day():
    (day,) = walk([on(0, ill=IllKind.BELOW_NECK)], 1)
    assert day.points == ILLNESS_POINTS[IllKind.BELOW_NECK]
    assert not day.answered


def test_a_trailing_baseline_does_not_see_the_last_week():
    mornings = [on(index, 4) for index in range(30)] + [on(30 + index, 2) for index in range(8)]
    trailing = walk(mornings, 38, lag=7)
    direct = walk(mornings, 38)
    assert trailing[-1].baseline == direct[-8].baseline
    assert trailing[-1].points > direct[-1].points


def test_no_mornings_give_no_days():
    assert walk([], 5) == []


def test_mornings_after_the_last_day_are_passed_over():
    assert walk([on(0, 3), on(5, 1)], 2) == walk([on(0, 3)], 2)


def test_the_order_of_the_history_does_not_matter():
    mornings = [on(index, 2 + index % 3) for index in range(9)]
    assert walk(mornings, 9) == walk(mornings[::-1], 9)
