"""Once a month: a change in health ends the clearance until the coach gives it anew."""

from tests.support.practice import Practice

CLEARED_TWO_MONTHS_AGO = "2026-01-05"


async def test_the_question_comes_a_month_after_the_clearance_and_then_not_for_a_month(
    village: Practice,
):
    await village.client("Nell", cleared_on=CLEARED_TWO_MONTHS_AGO)
    await village.at("07:00")
    await village.good_morning("nell")
    assert "has your health changed" in village.last_to("nell")

    await village.taps("nell", "No, nothing new")
    assert "train as planned" in village.last_to("nell")

    await village.at("07:00")
    await village.good_morning("nell")
    assert "has your health changed" not in village.last_to("nell")


async def test_a_change_ends_the_clearance_and_the_coach_reads_it(village: Practice):
    await village.client("Nell", cleared_on=CLEARED_TWO_MONTHS_AGO)
    await village.at("07:00")
    await village.good_morning("nell")
    await village.taps("nell", "Yes")
    await village.says("nell", "I started a new tablet on Monday")

    assert "a new tablet" in village.last_to("rua")
    assert "must clear you" in (await village.says("nell", "/today"))[-1]
