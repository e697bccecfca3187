"""A chat that turns out closed only by the very message: whoever was told hears that it is not so.

No outside source: the law is ours. Each test reads both phones after one and the same turn.
"""

from dataclasses import replace
from datetime import UTC, datetime
from functools import partial

import pytest
from sqlmodel import select

from bot.alerts.undelivered import Corrections
from bot.errors import Rejected
from bot.messages import Incoming, IncomingKind, Outgoing
from bot.runtime.cutting_off import cut_off
from bot.runtime.inviting import invite_again
from bot.storage import outbox
from bot.storage.changes.applying import Applying
from bot.storage.changes.staff import suspend_coach
from bot.storage.people import addresses_of
from bot.storage.tables import OutboxRow
from bot.storage.unit import UnitOfWork
from tests.support.practice import CHANNEL, Practice

FIRST = datetime(2026, 3, 2, tzinfo=UTC)
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
    await village.taps("rua", "Pause", "In hospital", "Until I end it")
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


async def suspended(village: Practice, *said: str) -> None:
    """Mary's words are dealt with, and before anything is sent Rua's lost phone is cut off."""
    for number, text in enumerate(said):
        arrived = Incoming(
            *(CHANNEL, "mary", f"waits-{number}", IncomingKind.TEXT, text, "", ""),
            village.clock.now(),
        )
        await village.app.engine.accept([arrived])
        await village.app.engine.settle()
    rua, rounds = village.ids["rua"], village.app.rounds

    def suspend(unit: UnitOfWork) -> None:
        applying = Applying(unit, rua, village.clock.now(), str)
        work = partial(suspend_coach, coach_id=rua)
        cut_off(applying, work, lambda: Corrections(rounds.post, rounds))
        unit.commit()

    await village.app.database.run(suspend)
    await village.app.settle()


async def test_words_that_wait_for_a_suspended_coach_are_taken_back(village: Practice):
    await seen(village)
    words = "It has come back a bit"

    await suspended(village, words)

    assert "I cannot reach Rua or anyone else for you." in village.last_to("mary")
    assert not any(words in text for text in village.heard("rua"))


async def test_a_message_that_waits_for_a_suspended_coach_goes_on_or_is_taken_back(
    village: Practice,
):
    await suspended(village, "/message", "Please ring me about Thursday")

    assert village.last_to("mary") == f"Rua did not get what I sent. I keep it for Rua.\n{NOBODY}"
    assert not any("Thursday" in text for text in village.heard("rua"))


async def test_a_message_that_waits_for_a_suspended_coach_reaches_the_stand_in(village: Practice):
    await village.coach("Ana", backup_of="rua")

    await suspended(village, "/message", "Please ring me about Thursday")

    assert "Please ring me about Thursday" in village.last_to("ana")
    assert not any("Thursday" in text for text in village.heard("rua"))


async def test_a_lost_phone_is_cut_off_although_nothing_can_be_put_into_words(village: Practice):
    rua = village.ids["rua"]

    def broken() -> Corrections:
        raise OSError("a word file cannot be read")

    def suspend(unit: UnitOfWork) -> tuple[int, int]:
        applying = Applying(unit, rua, village.clock.now(), str)
        cut_off(applying, partial(suspend_coach, coach_id=rua), broken)
        unit.commit()
        return len(addresses_of(unit, rua)), len(outbox.all_waiting(unit, CHANNEL))

    said = Incoming(CHANNEL, "mary", "1", IncomingKind.TEXT, "/message", "", "", FIRST)
    more = replace(said, update_id="2", text="Please ring me")
    await village.app.engine.accept([said, more])
    await village.app.engine.settle()

    assert await village.app.database.run(suspend) == (0, 2), "only what Mary is told waits"


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


async def test_a_question_without_an_answer_reaches_nobody_and_the_client_reads_so(
    village: Practice,
):
    """Mary's chat was closed for a while; then it takes the advice, and Rua's refuses the alert."""
    village.channel.close_chat("mary")
    await village.says("mary", "my heart skipped maybe")
    village.channel.close_chat("rua")
    village.channel.open_chat("mary")

    await village.wait(3)

    told = village.heard("mary")
    assert any("I am telling Rua" in text for text in told)
    assert "I cannot reach Rua or anyone else for you." in told[-1]


async def test_a_message_that_gets_through_shows_that_a_chat_is_open(village: Practice):
    village.channel.close_chat("mary")
    await village.says("mary", "my heart skipped maybe")
    village.channel.open_chat("mary")
    await village.wait(3)

    await village.taps("rua", "I have seen")

    assert "Rua has seen your message" in village.last_to("mary")
    assert not any(NOT_READ in text for text in village.heard("rua"))


async def test_words_on_a_seen_alert_reach_a_coach_who_is_back(village: Practice):
    await seen(village)
    village.channel.close_chat("rua")
    await village.says("mary", "It has come back a bit")
    await village.wait(5)
    await village.says("mary", "the front door is open")
    village.channel.open_chat("rua")
    before = len(village.heard("rua"))

    await village.says("rua", "/menu")
    await village.wait(90)

    more = [text for text in village.heard("rua", before) if "More from Mary" in text]
    assert len(more) == 1
    assert "It has come back a bit" in more[0]
    assert "the front door is open" in more[0]


async def test_a_voice_note_that_reached_nobody_is_told_to_a_coach_who_is_back(village: Practice):
    village.channel.close_chat("rua")
    await village.sends_voice("mary")
    await village.wait(60)
    village.channel.open_chat("rua")
    before = len(village.heard("rua"))

    await village.says("rua", "/menu")
    await village.wait(90)

    told = [text for text in village.heard("rua", before) if "voice" in text]
    assert len(told) == 1


def platform_will_not_have(village: Practice, monkeypatch: pytest.MonkeyPatch, who: str) -> None:
    """The chat is open; what is sent there is refused, as what is malformed would be."""
    send = village.channel.send

    async def refusing(address: str, outgoing: Outgoing) -> str:
        if address == who:
            raise Rejected("not like this")
        return await send(address, outgoing)

    monkeypatch.setattr(village.channel, "send", refusing)


@pytest.mark.parametrize("first", [(), ("/message",)], ids=["on a seen alert", "a message"])
async def test_what_is_given_up_is_taken_back_and_not_sent_again(
    village: Practice, monkeypatch: pytest.MonkeyPatch, first: tuple[str, ...]
):
    if not first:
        await seen(village)
    for text in first:
        await village.says("mary", text)
    platform_will_not_have(village, monkeypatch, "rua")

    await village.says("mary", "the front door is open")

    assert village.last_to("mary") == f"Rua did not get what I sent. I keep it for Rua.\n{NOBODY}"
    tries = await village.app.database.run(_refused)
    assert tries == 1


async def test_an_unseen_alert_that_is_given_up_is_chased_on(
    village: Practice, monkeypatch: pytest.MonkeyPatch
):
    platform_will_not_have(village, monkeypatch, "rua")
    await village.says("mary", "my chest feels tight")
    monkeypatch.undo()

    await village.wait(3)

    assert "EMERGENCY: Mary" in village.last_to("rua")


def _refused(unit: UnitOfWork) -> int:
    rows = unit.session.exec(select(OutboxRow).where(OutboxRow.status == "refused")).all()
    return len(rows)
