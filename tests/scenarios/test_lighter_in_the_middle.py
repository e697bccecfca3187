"""A day that becomes easier, and a movement left out, in the middle of a session."""

from typing import Any

from tests.scenarios.test_hold_promises import forbid, sessions
from tests.support.practice import Practice
from tests.support.sessions import begin, do_movement, finish, tap, values

LIGHTER = "What is still to do is lighter from here on."


async def _coach(village: Practice, *labels: str) -> list[str]:
    await village.says("rua", "Mary")
    return await village.taps("rua", "Change the plan", *labels)


async def _plan(village: Practice) -> dict[str, Any]:
    *_, (_, status, plan) = await sessions(village)
    assert status == "running"
    return plan


def _assert_lighter(before: dict[str, Any], after: dict[str, Any], *, begun: int) -> None:
    """What was done stands; nothing else is harder or more, and all of it is of an easy day."""
    assert after["items"][:begun] == before["items"][:begun]
    pairs = list(zip(before["items"][begun:], after["items"][begun:], strict=True))
    assert pairs
    for old, new in pairs:
        assert new["eased"]
        assert not new.get("calibration")
        assert new["family"] == old["family"]
        assert new["demand"] <= old["demand"]
        assert new["sets"] <= old["sets"]
        less = (new["demand"], new["sets"]) < (old["demand"], old["sets"])
        assert less or new["amount"] < old["amount"] or new["amount"] == new["low"]


async def test_a_day_that_the_coach_eases_lightens_what_is_still_to_do(village: Practice):
    await village.at("07:00")
    await begin(village)
    before = await _plan(village)
    said = await _coach(village, "Ease today")
    assert "It holds for what is left of the session that runs now, too." in said[0]
    assert "has made today an easy day for you." in village.last_to("mary")
    assert "It holds for the session you are in, too" in village.last_to("mary")

    heard = len(village.heard("mary"))
    await do_movement(village)

    _assert_lighter(before, await _plan(village), begun=1)
    await finish(village)
    assert sum(LIGHTER in text for text in village.heard("mary", heard)) == 1


async def test_a_changed_answer_that_eases_the_day_lightens_it_too(village: Practice):
    await village.at("07:00")
    await begin(village)
    before = await _plan(village)
    said = await village.says("mary", "my blood pressure is 165/95")
    assert any(LIGHTER in text for text in said)
    _assert_lighter(before, await _plan(village), begun=0)


async def test_what_is_counted_after_today_is_the_movement_that_was_shown(village: Practice):
    """A card shown by "/today" stands in the plan: its count is never put on another movement."""
    await village.at("07:00")
    await begin(village)
    first = (await _plan(village))["items"][0]["rung"]
    await forbid(village, "mary", first)
    said = await village.says("mary", "/today")
    assert any("changed what you may do" in text for text in said)
    assert first not in [one["rung"] for one in (await _plan(village))["items"]]


async def test_a_movement_that_the_coach_leaves_out_is_not_the_next_screen(village: Practice):
    await village.at("07:00")
    await begin(village)
    before = await _plan(village)
    family = before["items"][0]["family"]
    assert family == "squat"
    said = await _coach(village, "Leave a move out", "Squat", "Today")
    assert "It holds for what is left of the session that runs now, too." in said[0]

    said = await tap(village, "more")

    assert any("changed what you may do" in text for text in said)
    assert family not in [one["family"] for one in (await _plan(village))["items"]]
    assert "Small squat" not in said[-1]


async def test_no_breath_is_heard_on_the_card_of_a_movement_that_went(village: Practice):
    await village.at("07:00")
    await begin(village)
    await forbid(village, "mary", (await _plan(village))["items"][0]["rung"])

    said = await tap(village, "puffed")

    assert said[-2].startswith("Rest until you can say two full sentences.")
    assert said[-1].startswith("1 of")
    assert "Small squat" not in said[-1]


async def test_a_pain_in_words_is_heard_on_the_card_of_a_movement_that_went(village: Practice):
    await village.at("07:00")
    await begin(village)
    await forbid(village, "mary", (await _plan(village))["items"][0]["rung"])

    await village.says("mary", "my knee hurts")

    assert any(value.startswith("pain=") for value in values(village))
