"""No plan while a question is open; an alert without a hold can be closed."""

from tests.support.practice import Practice


async def test_no_plan_while_the_question_is_open(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "my chest felt odd for a moment")
    said = await village.says("mary", "/today")
    assert not any("Start" in c.label for c in _labels(village))
    assert "paused" in said[-1]

    await village.taps_value("mary", _no(village))
    await village.says("mary", "/today")
    assert any("Start" in c.label for c in _labels(village))


async def test_an_alert_without_a_hold_is_closed_by_the_coach_and_training_goes_on(
    village: Practice,
):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "my wife has collapsed on the floor")
    await village.taps("rua", "I have seen", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    await village.taps("rua", "Today")

    await village.says("mary", "/today")
    assert any("Start" in c.label for c in _labels(village))


def _labels(village: Practice):
    return [c for row in village.newest_buttons("mary").outgoing.choices for c in row]


def _no(village: Practice) -> str:
    return next(
        c.value
        for one in reversed(village.channel.sent)
        for row in one.outgoing.choices
        for c in row
        if c.label == "No, I am fine"
    )


async def test_a_clearance_without_a_date_ends_after_a_year(village: Practice):
    await village.client("Nell", cleared_on="2025-02-01")

    said = await village.says("nell", "/today")

    assert "must clear you again" in said[-1]
