"""A set told in one line is logged at once; an effort in words, and a wish for what is to come."""

from tests.scenarios.test_session_walks import record
from tests.support.practice import Practice
from tests.support.sessions import tap, values


async def test_sets_in_one_line_are_logged_and_an_effort_in_words_is_said_back(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    await village.taps("mary", "Start", "I am ready")
    said = await village.says("mary", "easier squat please")
    assert "later today" in said[0]
    assert "Please answer this first" not in said[0]
    assert "done" in values(village), "the warm-up is still open"
    while "done" in values(village):
        await tap(village, "done")

    planned = int([one for one in values(village) if one.startswith("did=")][2][4:].rstrip("+"))
    said = await village.says("mary", f"I managed {planned}, and three more I think")
    assert said[-1].startswith(f"I noted: {planned} done, 3 more.")
    (kept,) = record(village, "mary")[0].sets
    assert kept.left == 3

    planned = int([one for one in values(village) if one.startswith("did=")][2][4:].rstrip("+"))
    said = await village.says("mary", f"{planned}, 4")
    assert said[-1].startswith("I understand: ")
    said = await village.says("mary", "yes")
    assert not said[-1].startswith("I noted")
    assert len(record(village, "mary")[0].sets) == 2

    for _ in range(20):
        if "effort=3" in values(village):
            break
        button = "done" if "done" in values(village) else "leave_out"
        await tap(village, button)
    said = await village.says("mary", "It was easy, thank you")
    assert said[-1].startswith("I understand: 2, easy.")
    assert "minutes" in (await village.says("mary", "yes"))[-1]
