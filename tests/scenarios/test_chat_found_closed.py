"""A chat that turns out closed only by the very message: whoever was told hears that it is not so.

No outside source: the law is ours. Each test reads both phones after one and the same turn.
"""

import pytest

from bot.messages import Incoming, IncomingKind
from bot.runtime.inviting import invite_again
from bot.storage.changes.applying import Applying
from bot.storage.changes.staff import suspend_coach
from bot.storage.unit import UnitOfWork
from tests.support.practice import CHANNEL, Practice

NOBODY = "I can reach nobody in a chat now. If you need help, call 111."
NOT_READ = "I could not reach Mary in a chat. Mary has not read what I sent just now."


async def seen(village: Practice, words: str = "my chest feels tight") -> None:
    await village.says("mary", words)
    await village.taps("rua", "I have seen")


async def test_a_lift_that_does_not_arrive_is_taken_back(village: Practice):
    await seen(village)
    await village.taps("rua", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    village.channel.close_chat("mary")

    said = await village.taps("rua", "Today")

    assert "Mary is told." in said[0]
    assert village.last_to("rua") == f"{NOT_READ}\nPlease ring Mary: 021 555 0101"


async def test_a_pause_and_seen_that_do_not_arrive_are_taken_back(village: Practice):
    village.channel.close_chat("mary")
    await village.says("rua", "Mary")
    await village.taps("rua", "Pause", "In hospital")
    paused = village.last_to("rua")
    village.channel.open_chat("mary")
    await village.says("mary", "my chest feels tight")
    await village.wait(1)
    village.channel.close_chat("mary")

    await village.taps("rua", "I have seen")

    assert NOT_READ in paused
    assert NOT_READ in village.last_to("rua")


async def test_the_correction_comes_once_however_much_waited(village: Practice):
    await seen(village)
    village.channel.close_chat("mary")
    before = len(village.heard("rua"))

    await village.taps("rua", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    await village.taps("rua", "Today")
    await village.wait(60)

    assert len([text for text in village.heard("rua", before) if NOT_READ in text]) == 1


@pytest.mark.parametrize("words", ["It has come back a bit", "195 over 118 just now"])
async def test_words_on_a_seen_alert_that_do_not_arrive_are_taken_back(
    village: Practice, words: str
):
    await seen(village)
    village.channel.close_chat("rua")

    await village.says("mary", words)

    assert village.last_to("mary").startswith("If you need help, call 111 now.")
    assert "I cannot reach Rua or anyone else for you." in village.last_to("mary")


async def test_words_on_a_seen_alert_go_to_the_stand_in_at_once(village: Practice):
    await village.coach("Ana", backup_of="rua")
    await seen(village)
    village.channel.close_chat("rua")

    await village.says("mary", "It has come back a bit")

    assert "It has come back a bit" in village.last_to("ana")
    assert not any("anyone else" in text for text in village.heard("mary"))


async def test_words_after_a_lifted_hold_that_do_not_arrive_are_taken_back(village: Practice):
    await seen(village)
    await village.taps("rua", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    await village.taps("rua", "Today")
    village.channel.close_chat("rua")

    await village.says("mary", "the front door is open")
    await village.says("mary", "It has come back a bit")

    assert any(NOBODY in text for text in village.heard("mary")[-2:])


async def test_a_message_that_does_not_arrive_is_taken_back_or_goes_to_the_stand_in(
    village: Practice,
):
    village.channel.close_chat("rua")
    await village.says("mary", "/message")
    await village.says("mary", "Please ring me about Thursday")

    assert village.last_to("mary") == (f"Rua did not get what I sent. I keep it for Rua.\n{NOBODY}")

    await village.coach("Ana", backup_of="rua")
    village.channel.open_chat("rua")
    await village.says("rua", "/menu")
    village.channel.close_chat("rua")
    before = len(village.heard("mary"))
    await village.says("mary", "/message")
    await village.says("mary", "Please ring me about Friday")

    assert "Please ring me about Friday" in village.last_to("ana")
    assert village.heard("mary", before)[-1] == "I have passed it on to Rua."


async def test_each_time_the_chat_closes_anew_the_client_hears_it(village: Practice):
    village.channel.close_chat("rua")
    await village.says("mary", "my chest feels tight")
    await village.wait(1)
    village.channel.open_chat("rua")
    await village.says("rua", "/alerts")
    village.channel.close_chat("rua")
    before = len(village.heard("mary"))

    await village.says("mary", "it comes and goes since breakfast")

    assert any("anyone else for you" in text for text in village.heard("mary", before))


async def test_danger_at_home_is_not_answered_a_second_time(village: Practice):
    await seen(village, "my husband hits me and I am scared of him")
    village.channel.close_chat("rua")

    said = await village.says("mary", "he is in the garden now")

    assert len(said) == 1


async def test_words_that_wait_for_a_suspended_coach_are_taken_back(village: Practice):
    await seen(village)
    words = "It has come back a bit"
    said = Incoming(CHANNEL, "mary", "waits", IncomingKind.TEXT, words, "", "", village.clock.now())
    await village.app.engine.accept([said])
    await village.app.engine.settle()
    rua = village.ids["rua"]

    def suspend(unit: UnitOfWork) -> None:
        suspend_coach(Applying(unit, rua, village.clock.now(), str), rua)
        unit.commit()

    await village.app.database.run(suspend)
    await village.app.settle()

    assert "I cannot reach Rua or anyone else for you." in village.last_to("mary")
    assert not any(words in text for text in village.heard("rua"))


@pytest.mark.parametrize("back", ["rua", "ana"])
async def test_a_coach_who_can_be_reached_again_hears_at_once_what_nobody_has_seen(
    village: Practice, back: str
):
    await village.coach("Ana", backup_of="rua")
    village.channel.close_chat("rua")
    village.channel.close_chat("ana")
    await village.says("mary", "my chest feels tight")
    # By now repeats come an hour apart.
    await village.wait(90)
    village.channel.open_chat(back)
    before = len(village.heard(back))

    await village.says(back, "/menu")

    assert any("EMERGENCY: Mary" in text for text in village.heard(back, before))


async def test_a_coach_with_a_new_phone_hears_at_once_what_nobody_has_seen(village: Practice):
    village.channel.close_chat("rua")
    await village.says("mary", "my chest feels tight")
    await village.wait(90)
    settings, rua = village.app.settings, village.ids["rua"]
    way_in = await invite_again(settings, village.app.database, rua, village.clock.now())

    await village.says("rua-new", way_in.code)

    assert any("EMERGENCY: Mary" in text for text in village.heard("rua-new"))
