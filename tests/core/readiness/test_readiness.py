"""Readiness: score, plan, certainty, reasons; and what may never happen."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.client.client import Client
from core.errors import OutOfRangeError
from core.readiness.absolute_rule import HARSHNESS
from core.readiness.baseline import DayShortfall
from core.readiness.morning_questions import IllKind, Morning, MorningItem, PainPlace, PainReport
from core.readiness.readiness import (
    EASE_OFF_FROM,
    REST_FROM,
    TYPICAL_SPREAD,
    assess,
    blend,
    plan_of,
    reasons_of,
)
from core.readiness.reasons import DayReasonCode
from core.vocabulary import AlertLevel, DayPlan

TODAY = date(2026, 3, 10)
CLIENT = Client("A")
PLANNED, EASE, REST = DayPlan.AS_PLANNED, DayPlan.EASE_OFF, DayPlan.REST


def morning(days_ago=0, level=4, ill=IllKind.NONE, **answers):
    filled = {item.value: level for item in MorningItem if level is not None}
    return Morning(TODAY - timedelta(days=days_ago), ill=ill, **(filled | answers))


STEADY = [morning(ago, soreness=3 + ago % 2) for ago in range(1, 40)]


def judge(today, history=STEADY):
    return assess(history, today, CLIENT, on=TODAY)


def codes(judged):
    return [reason.code for reason in judged.reasons]


def test_a_usual_day_is_seventy_five_and_as_planned():
    judged = judge(morning(soreness=3))
    assert judged.score == pytest.approx(75, abs=4)
    assert judged.plan is PLANNED
    assert judged.certainty == 1.0


def test_it_works_from_the_first_morning():
    good, poor = judge(morning(level=4), []), judge(morning(level=3, sleep=2), [])
    assert good.plan is PLANNED
    assert good.score > 75
    assert poor.plan is EASE
    assert good.certainty == poor.certainty == pytest.approx(0.4 * 1)


def test_without_any_answer_ever_the_day_is_as_planned_and_says_so():
    judged = judge(None, [])
    assert (judged.score, judged.plan, judged.answered) == (75.0, PLANNED, False)
    assert codes(judged) == [DayReasonCode.NO_ANSWER]
    assert judged.day_shift == 0
    assert judged.certainty == pytest.approx(0.04)


def test_points_below_baseline_today_and_a_quarter_of_yesterday():
    low_yesterday = [morning(1, level=3), *STEADY[1:]]
    yesterday = assess(STEADY[1:], low_yesterday[0], CLIENT, on=TODAY - timedelta(days=1))
    judged = judge(morning(), low_yesterday)
    plain = judge(morning(), STEADY)
    assert yesterday.shortfall > 0.5
    assert judged.shortfall > plain.shortfall
    assert DayReasonCode.YESTERDAY_LOW in codes(judged)
    assert DayReasonCode.YESTERDAY_LOW not in codes(plain)


def test_the_blend_is_three_quarters_and_one():
    assert blend(1.0, 0.0) == 0.75
    assert blend(0.0, 1.0) == 0.25


def test_the_score_falls_by_thirty_a_point():
    first = judge(morning(level=3), [])
    assert first.shortfall == pytest.approx(0.75 * 0.7)
    assert first.score == pytest.approx(75 - 30 * 0.75 * 0.7)


def test_the_score_stays_in_zero_to_a_hundred():
    worst = judge(morning(level=1, ill=IllKind.FEVER))
    assert worst.score == 0
    best = assess(
        [morning(ago, level=1) for ago in range(1, 60)], morning(level=5), CLIENT, on=TODAY
    )
    assert best.score == 100


@pytest.mark.parametrize(("level", "plan"), [(4, PLANNED), (3, EASE), (2, EASE), (1, REST)])
def test_a_low_day_is_eased_and_a_very_low_one_is_rest(level, plan):
    assert judge(morning(level=level)).plan is plan


@pytest.mark.parametrize(
    ("shortfall", "plan"),
    [
        (-1.0, PLANNED),
        (EASE_OFF_FROM - 0.001, PLANNED),
        (EASE_OFF_FROM, EASE),
        (REST_FROM - 0.001, EASE),
        (REST_FROM, REST),
    ],
)
def test_a_line_of_the_plan_counts_as_reached(shortfall, plan):
    assert plan_of(shortfall) is plan


def test_day_shift_is_in_typical_spreads_and_leaves_illness_out():
    well, ill = judge(morning(level=3), []), judge(morning(level=3, ill=IllKind.ABOVE_NECK), [])
    assert well.day_shift == ill.day_shift == pytest.approx(-0.75 * 0.7 / TYPICAL_SPREAD)
    assert ill.ill
    assert not well.ill
    assert ill.shortfall > well.shortfall


def test_day_shift_is_bounded_both_ways():
    assert judge(morning(level=1)).day_shift == -2.5
    low = [morning(ago, level=1) for ago in range(1, 60)]
    assert assess(low, morning(level=5), CLIENT, on=TODAY).day_shift == 2.5


def test_yesterdays_items_are_a_quarter_of_the_day_shift():
    history = [morning(1, level=2)]
    one = assess(history, morning(level=4), CLIENT, on=TODAY).day_shift
    other = assess([], morning(level=4), CLIENT, on=TODAY).day_shift
    assert one < other


def test_a_rule_holds_whatever_the_average():
    """Guards do not drown: one item at its worst on a day that is fine otherwise."""
    judged = judge(morning(level=5, soreness=1))
    assert judged.score > 75
    assert judged.plan is EASE
    assert codes(judged)[0] is DayReasonCode.SORENESS_WORST


def test_an_absolute_rule_can_only_make_the_day_easier():
    judged = judge(morning(level=1, ill=IllKind.ABOVE_NECK))
    assert judged.plan is REST


@pytest.mark.parametrize("kind", [IllKind.FEVER, IllKind.BELOW_NECK])
def test_fever_or_a_cold_below_the_neck_is_rest(kind):
    assert judge(morning(level=5, ill=kind)).plan is REST


def test_a_cold_above_the_neck_is_at_most_ease_off():
    assert judge(morning(level=5, ill=IllKind.ABOVE_NECK)).plan is EASE


def test_the_first_reasons_are_what_moved_the_day_most():
    judged = judge(morning(sleep=2, mood=3))
    assert codes(judged)[:2] == [DayReasonCode.SLEEP_LOW, DayReasonCode.MOOD_LOW]
    assert judged.reasons[0].numbers["answer"] == pytest.approx(2)
    assert judged.reasons[0].numbers["usual"] == pytest.approx(4, abs=0.1)
    weights = [reason.weight for reason in judged.reasons]
    assert weights == sorted(weights, reverse=True)


def test_the_first_days_have_no_usual_and_bad_nights_in_a_row_are_counted():
    first = judge(morning(level=5), [])
    assert codes(first) == [DayReasonCode.NO_USUAL_YET]
    assert judge(morning(sleep=2), []).reasons[0].numbers["new"] == 1
    known = [morning(back, level=4) for back in (1, 2, 3)]
    assert codes(judge(morning(level=5), known)) == [DayReasonCode.BETTER_THAN_USUAL]
    nights = [morning(back, sleep=1) for back in (1, 2, 4)]
    worst = next(
        one
        for one in judge(morning(sleep=1), nights).reasons
        if one.code is DayReasonCode.SLEEP_WORST
    )
    assert worst.numbers["running"] == 3


def test_louder_rules_come_first_in_the_reasons():
    today = morning(sleep=1, ill=IllKind.BELOW_NECK, new_pain=PainReport(PainPlace.CHEST))
    judged = judge(replace(today, pulse=121))
    assert codes(judged)[:4] == [
        DayReasonCode.PAIN_CHEST,
        DayReasonCode.PULSE_VERY_FAST,
        DayReasonCode.ILL_BELOW_NECK,
        DayReasonCode.SLEEP_WORST,
    ]
    assert judged.absolute_rules[0].alert is AlertLevel.EMERGENCY


def test_the_weights_are_the_points_that_each_moved():
    """First morning, usual 3.7: sleep 2 is 1.7 below, a fifth of three quarters of it counts."""
    history = [morning(1, level=2)]
    judged = judge(morning(level=5, sleep=2), [])
    assert {r.code: r.weight for r in judged.reasons} == {
        DayReasonCode.SLEEP_LOW: pytest.approx(0.75 * 1.7 / 5)
    }
    after = judge(morning(level=5), history)
    assert {r.code: r.weight for r in after.reasons} == {
        DayReasonCode.YESTERDAY_LOW: pytest.approx(0.25 * 1.7)
    }


@pytest.mark.parametrize(
    ("answers", "weight"),
    [
        ({"new_pain": PainReport(PainPlace.CHEST)}, 40),
        ({"pulse": 121}, 30),
        ({"ill": IllKind.BELOW_NECK}, 20),
        ({"ill": IllKind.ABOVE_NECK}, 10),
    ],
)
def test_a_rule_outweighs_all_points_by_how_loud_it_is(answers, weight):
    assert judge(morning(**answers)).reasons[0].weight == weight


@pytest.mark.parametrize(("level", "said"), [(0.40, True), (0.39, False)])
def test_an_item_is_worth_saying_from_a_weight_of_six_hundredths(level, said):
    """A usual of 3 + level against an answer of 3: 0.75 x level / 5."""
    day = DayShortfall(
        on=TODAY,
        points=0.0,
        items_only=0.0,
        by_item=dict.fromkeys(MorningItem, 0.0) | {MorningItem.MOOD: level},
        baseline=dict.fromkeys(MorningItem, 3.0 + level),
        answered=True,
        ill=False,
    )
    low = [reason.code for reason in reasons_of(day, None, (), 0.0)]
    assert (DayReasonCode.MOOD_LOW in low) is said


def test_the_lines_are_those_of_the_page():
    """Ours; 0.56 eases about one ordinary day in ten of invented clients."""
    assert (EASE_OFF_FROM, REST_FROM, TYPICAL_SPREAD) == (0.56, 1.7, 0.46)


def test_an_item_at_its_worst_is_named_once():
    assert DayReasonCode.SLEEP_LOW not in codes(judge(morning(sleep=1)))


def test_small_differences_are_not_worth_a_sentence():
    assert codes(judge(morning(soreness=3))) == [DayReasonCode.SORENESS_LOW]
    fine = [morning(ago, level=4) for ago in range(1, 60)]
    assert codes(judge(morning(level=4), fine)) == [DayReasonCode.AS_USUAL]


@pytest.mark.parametrize("item", MorningItem)
def test_no_answer_in_the_good_half_is_told_as_low(item):
    """Ours: somebody who says "Good" is not told that it is lower than usual."""
    best = [morning(ago, level=5) for ago in range(1, 60)]
    low = DayReasonCode(f"{item.value}_low")
    assert low not in codes(judge(morning(level=5, **{item.value: 4}), best))
    assert low in codes(judge(morning(level=5, **{item.value: 3}), best))


def test_a_day_eased_by_good_answers_is_not_called_as_usual():
    """Ours: all five a step under a usual of five are .75 of a point, and ease the day."""
    best = [morning(ago, level=5) for ago in range(1, 60)]
    judged = judge(morning(level=4), best)
    assert judged.plan is EASE
    assert codes(judged) == [DayReasonCode.GOOD_BUT_LESS]


def test_a_clearly_better_day_is_said():
    middling = [morning(ago, level=3) for ago in range(1, 60)]
    assert codes(judge(morning(level=4), middling)) == [DayReasonCode.BETTER_THAN_USUAL]


def test_a_day_without_answers_says_so_and_carries_yesterday():
    judged = judge(None, [morning(1, level=2), *STEADY[1:]])
    assert DayReasonCode.NO_ANSWER in codes(judged)
    assert judged.shortfall > 0.5
    assert judged.day_shift == 0


def test_without_items_yesterday_is_named_before_the_missing_answer():
    judged = judge(None, [morning(1, level=2)])
    assert codes(judged) == [DayReasonCode.YESTERDAY_LOW, DayReasonCode.NO_ANSWER]


def test_an_illness_told_without_items_is_an_answer():
    assert codes(judge(morning(level=None, ill=IllKind.FEVER), [])) == [DayReasonCode.FEVER]


def test_answers_of_today_in_the_history_do_not_count():
    assert judge(None, [morning(0, level=1)]) == judge(None, [])


def test_certainty_grows_with_the_mornings_known():
    values = [judge(morning(sleep=3), STEADY[:count]).certainty for count in (0, 7, 14, 30)]
    assert values == pytest.approx([0.4, 0.7, 1.0, 1.0])


def test_mornings_older_than_four_weeks_add_no_certainty():
    old = [replace(past, on=past.on - timedelta(days=28)) for past in STEADY[:14]]
    assert judge(morning(sleep=3), old).certainty == pytest.approx(0.4)
    edge = [replace(STEADY[0], on=TODAY - timedelta(days=28))]
    assert judge(morning(sleep=3), edge).certainty == pytest.approx(0.4 + 0.6 / 14)


def test_each_missing_answer_lowers_the_certainty():
    full, part = judge(morning(sleep=3)), judge(morning(sleep=3, mood=None))
    assert part.certainty == pytest.approx(full.certainty * 5 / 6)
    assert judge(morning(sleep=3, ill=None)).certainty == pytest.approx(full.certainty * 5 / 6)


def test_a_client_who_always_taps_the_middle_is_judged_less_surely():
    flat = [morning(ago, level=3) for ago in range(1, 30)]
    judged = judge(morning(level=3), flat)
    assert judged.certainty == pytest.approx(0.7)
    assert judged.plan is PLANNED
    assert judge(morning(level=3, mood=4), flat).certainty == pytest.approx(1.0)


def test_answers_of_another_day_are_a_bug():
    with pytest.raises(OutOfRangeError):
        assess([], morning(1), CLIENT, on=TODAY)


def test_later_mornings_do_not_count():
    later = [morning(-1, level=1), morning(0, level=1)]
    assert judge(morning(), [*STEADY, *later]) == judge(morning(), STEADY)


answer = st.one_of(st.none(), st.integers(1, 5))
kinds = st.sampled_from([None, *IllKind])


@st.composite
def mornings(draw, days_ago):
    answers = {item.value: draw(answer) for item in MorningItem}
    return Morning(TODAY - timedelta(days=days_ago), ill=draw(kinds), **answers)


@st.composite
def histories(draw):
    ago = draw(st.lists(st.integers(1, 45), unique=True, max_size=25))
    return [draw(mornings(days)) for days in ago]


@settings(max_examples=150, deadline=None)
@given(histories(), mornings(0), st.sampled_from(list(MorningItem)))
def test_a_worse_answer_never_raises_the_score_or_hardens_the_day(history, today, item):
    value = getattr(today, item.value)
    if value is None or value == 1:
        return
    worse = replace(today, **{item.value: value - 1})
    before, after = judge(today, history), judge(worse, history)
    assert after.score <= before.score
    assert after.shortfall > before.shortfall
    assert after.day_shift <= before.day_shift
    assert HARSHNESS[after.plan] >= HARSHNESS[before.plan]


@settings(max_examples=100, deadline=None)
@given(histories(), mornings(0))
def test_a_worse_illness_never_raises_the_score_or_hardens_the_day(history, today):
    judged = [judge(replace(today, ill=kind), history) for kind in IllKind]
    scores = [each.score for each in judged]
    assert scores == sorted(scores, reverse=True)
    # A cold above the neck eases, the two others are rest.
    plans = [HARSHNESS[each.plan] for each in judged]
    assert plans == sorted(plans)


@settings(max_examples=150, deadline=None)
@given(histories(), mornings(0), st.data())
def test_a_missing_answer_never_raises_certainty(history, today, data):
    everything = [*history, today]
    picked = data.draw(st.integers(0, len(everything) - 1))
    field = data.draw(st.sampled_from([item.value for item in MorningItem] + ["ill"]))
    without = list(everything)
    without[picked] = replace(everything[picked], **{field: None})
    before = assess(everything[:-1], everything[-1], CLIENT, on=TODAY)
    after = assess(without[:-1], without[-1], CLIENT, on=TODAY)
    assert after.certainty <= before.certainty + 1e-12


@settings(max_examples=100, deadline=None)
@given(histories(), st.one_of(st.none(), mornings(0)))
def test_every_day_has_a_score_a_certainty_and_a_reason(history, today):
    judged = judge(today, history)
    assert 0 <= judged.score <= 100
    assert 0 < judged.certainty <= 1
    assert -2.5 <= judged.day_shift <= 2.5
    assert judged.reasons


@settings(max_examples=60, deadline=None)
@given(histories(), mornings(0))
def test_a_whole_missed_morning_never_raises_certainty(history, today):
    assert judge(None, history).certainty <= judge(today, history).certainty + 1e-12
