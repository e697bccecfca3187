"""A warning sign: advice in the same second, the coach chased until she has seen it."""

from tests.support.practice import Practice


async def test_own_words_bring_the_number_at_once_and_reach_the_coach(village: Practice):
    said = await village.says("mary", "my chest feels tight")

    assert "111" in said[0].splitlines()[0]
    alert = village.last_to("rua")
    assert "EMERGENCY: Mary" in alert
    assert "“my chest feels tight”" in alert
    assert "021 555 0101" in alert


async def test_an_unseen_emergency_is_repeated_every_two_minutes_and_then_the_backup_is_told(
    village: Practice,
):
    await village.coach("Ana", backup_of="rua")
    await village.says("mary", "my chest feels tight")

    await village.wait(1.9)
    assert len(village.heard("rua")) == 1
    await village.wait(0.2)
    assert len(village.heard("rua")) == 2
    assert village.heard("ana") == []

    await village.wait(4)
    assert len(village.heard("rua")) == 4
    assert len(village.heard("ana")) == 1
    assert "has not answered yet" in village.last_to("ana")


async def test_chasing_ends_when_the_coach_has_seen_it_and_the_client_is_told_to_call_still(
    village: Practice,
):
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen")
    seen = village.last_to("mary")
    told = len(village.heard("rua"))

    await village.wait(60)

    assert "does not mean" in seen
    assert "111" in seen
    assert len(village.heard("rua")) == told


async def test_a_second_sign_after_seen_opens_the_alert_again(village: Practice):
    await village.says("mary", "I feel dizzy")
    await village.taps("rua", "I have seen")
    before = len(village.heard("rua"))

    await village.says("mary", "now my chest hurts")
    assert "EMERGENCY: Mary" in village.last_to("rua")

    await village.wait(2.1)
    assert len(village.heard("rua")) == before + 2


async def test_i_am_fine_adds_words_and_closes_nothing(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.says("mary", "I'm fine, I was joking")

    assert "I was joking" in village.last_to("rua")
    assert "paused" in (await village.says("mary", "/today"))[-1]
    before = len(village.heard("rua"))
    await village.wait(2.1)
    assert len(village.heard("rua")) > before


async def test_the_check_ins_sign_button_alarms_first_and_asks_afterwards(village: Practice):
    await village.at("07:00")
    said = await village.taps("mary", "! Chest")

    assert "111" in said[0].splitlines()[0]
    assert "EMERGENCY: Mary" in village.last_to("rua")
    assert "Which one" in village.last_to("mary")

    await village.taps("mary", "Dizzy", "Earlier")
    assert "dizziness" in village.last_to("rua") or "earlier" in village.last_to("rua")


async def test_somebody_who_cannot_call_is_called_for_by_both_coaches_at_once(village: Practice):
    await village.coach("Ana", backup_of="rua")
    await village.says("mary", "my chest feels tight")
    await village.taps("mary", "I can't")

    for coach in ("rua", "ana"):
        assert "CANNOT CALL" in village.last_to(coach)
        assert "1 Kauri Street" in village.last_to(coach)


async def test_a_lost_coach_does_not_stop_the_backup(village: Practice):
    await village.coach("Ana", backup_of="rua")
    village.channel.close_chat("rua")

    await village.says("mary", "my chest feels tight")
    await village.app.settle()

    assert "EMERGENCY: Mary" in village.last_to("ana")


async def test_a_stranger_is_told_to_call_and_that_nobody_can_be_told(village: Practice):
    said = await village.says("nobody", "I have chest pain")

    assert "112" in said[0]
    assert village.heard("rua") == []


async def test_a_voice_note_is_said_to_be_unread_with_the_number(village: Practice):
    said = await village.sends_voice("mary")

    assert "111" in said[0]
    assert "type" in said[0]
