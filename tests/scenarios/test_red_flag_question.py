""" "Is this happening now?": one tap where words are not clear, and silence counts as yes."""

from typing import Any

import pytest

from bot.engine.conversation import Conversations
from tests.support.practice import Practice

DOUBTFUL = "my chest felt odd for a moment"
"""Words that the reader asks about; unanswered, an emergency."""


async def test_the_question_carries_the_number_and_chases_nobody_yet(village: Practice):
    said = await village.says("mary", DOUBTFUL)

    assert said[0].splitlines()[0].startswith("Is this happening now? If it is bad, call 111 now.")
    assert village.heard("rua") == []


async def test_silence_for_two_minutes_counts_as_yes(village: Practice):
    await village.says("mary", DOUBTFUL)
    await village.wait(1.9)
    assert village.heard("rua") == []

    await village.wait(0.2)

    assert "EMERGENCY: Mary" in village.last_to("rua")
    assert "I have not heard from you" in village.last_to("mary")


async def test_silence_counts_as_yes_though_its_moment_failed_once(
    village: Practice, monkeypatch: pytest.MonkeyPatch
):
    await village.says("mary", DOUBTFUL)
    wake = Conversations.wake
    failures = iter([ZeroDivisionError])

    def fails_once(self: Conversations, *given: Any) -> None:
        for failure in failures:
            raise failure
        wake(self, *given)

    monkeypatch.setattr(Conversations, "wake", fails_once)
    await village.wait(2.1)
    assert village.heard("rua") == []

    await village.wait(1)

    assert "EMERGENCY: Mary" in village.last_to("rua")


async def test_talking_of_something_else_does_not_move_the_two_minutes(village: Practice):
    await village.says("mary", DOUBTFUL)
    await village.wait(1.5)
    await village.says("mary", "the roses are nice this year")
    await village.wait(0.6)

    alert = village.last_to("rua")
    assert "EMERGENCY: Mary" in alert
    assert DOUBTFUL in alert
    assert "the roses" in alert


async def test_a_voice_note_does_not_move_the_two_minutes(village: Practice):
    await village.says("mary", DOUBTFUL)
    await village.wait(1.5)
    await village.sends_voice("mary")
    assert "Is this happening now?" in village.last_to("mary")
    await village.wait(0.6)

    assert "EMERGENCY: Mary" in village.last_to("rua")


async def test_a_fever_told_meanwhile_does_not_close_the_question(village: Practice):
    await village.says("mary", DOUBTFUL)
    await village.says("mary", "I have a bit of a temperature today")
    await village.wait(2.1)

    assert "EMERGENCY: Mary" in village.last_to("rua")
    assert "chest" in village.last_to("rua")


async def test_a_second_doubt_keeps_the_sign_of_the_first(village: Practice):
    await village.says("mary", DOUBTFUL)
    await village.says("mary", "my heart skipped maybe")
    await village.taps("mary", "Yes, now")

    alert = village.last_to("rua")
    assert "EMERGENCY: Mary" in alert
    assert "chest pain or pressure" in alert
    assert "palpitations" in alert


async def test_now_is_an_emergency_at_once(village: Practice):
    await village.says("mary", DOUBTFUL)
    said = await village.taps("mary", "Yes, now")

    assert said[0].splitlines()[0] == "Stop. Call 111 now."
    assert "EMERGENCY: Mary" in village.last_to("rua")


async def test_earlier_makes_the_chest_urgent(village: Practice):
    await village.says("mary", DOUBTFUL)
    said = await village.taps("mary", "Earlier")

    assert "Call your doctor today." in said[0]
    assert "If it comes back, call 111 at once." in said[0]
    assert "URGENT: Mary" in village.last_to("rua")


async def test_no_chases_nobody_and_stands_on_the_coachs_list(village: Practice):
    await village.says("mary", DOUBTFUL)
    await village.taps("mary", "No")
    await village.wait(30)

    assert village.heard("rua") == []
    listed = (await village.says("rua", "/alerts"))[-1]
    assert DOUBTFUL in listed
    assert "chest pain" in listed
    assert listed.count(DOUBTFUL) == 1


async def test_after_no_another_message_does_not_ask_again(village: Practice):
    await village.says("mary", DOUBTFUL)
    await village.taps("mary", "No")
    await village.sends_voice("mary")
    await village.wait(5)

    assert not any("EMERGENCY" in text for text in village.heard("rua"))


async def test_an_answered_question_leaves_one_line_and_no_second_alert(village: Practice):
    await village.says("mary", DOUBTFUL)
    await village.taps("mary", "Yes, now")

    listed = (await village.says("rua", "/alerts"))[-1]
    assert "To know" not in listed


async def test_a_crash_while_the_question_is_open_loses_neither_question_nor_deadline(
    village: Practice,
):
    await village.says("mary", DOUBTFUL)
    await village.restart()
    await village.wait(2.1)

    assert "EMERGENCY: Mary" in village.last_to("rua")


async def test_the_answer_may_be_typed(village: Practice):
    await village.says("mary", DOUBTFUL)
    await village.says("mary", "Yes, now!")

    assert "EMERGENCY: Mary" in village.last_to("rua")
