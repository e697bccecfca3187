"""A pause in training: what goes quiet, and what it takes to lift it."""

from tests.support.practice import Practice


async def started(village: Practice) -> None:
    """Mary's session is on its way, at its first movement."""
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    await village.taps("mary", "Start")
    await village.taps("mary", "I am ready")


async def test_a_sign_stops_plan_prompts_and_reminders(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen")
    before = len(village.heard("mary"))

    await village.wait(60 * 48)

    assert village.heard("mary")[before:] == [], "two days without a cheerful word"
    assert "paused" in (await village.says("mary", "/today"))[-1]


async def test_a_sign_in_a_session_ends_its_timers_and_its_watch(village: Practice):
    await started(village)
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen")
    before = len(village.heard("mary"))

    await village.wait(180)

    assert village.heard("mary")[before:] == []


async def test_a_button_of_the_session_does_nothing_on_hold(village: Practice):
    await started(village)
    card = village.newest_buttons("mary")
    await village.says("mary", "my chest feels tight")
    value = card.outgoing.choices[0][0].value

    said = await village.taps_value("mary", value, card.platform_id)

    assert not any("How many" in text for text in said)
    assert any("older" in text or "hold" in text or "call 111" in text for text in said)


async def test_a_silent_session_is_asked_about_and_then_the_coach_is_told(village: Practice):
    await started(village)
    await village.wait(9.9)
    assert not any("Is all well" in text for text in village.heard("mary"))
    await village.wait(0.2)
    assert "Is all well" in village.last_to("mary")
    assert village.heard("rua") == []

    await village.wait(5)

    alert = village.last_to("rua")
    assert "URGENT: Mary" in alert
    assert "silent in a session" in alert
    assert "021 555 0101" in alert
    assert "Contact: Tom" in alert


async def test_a_tap_on_all_right_starts_the_watch_anew(village: Practice):
    await started(village)
    await village.wait(10.1)
    await village.taps("mary", "I am fine")
    await village.wait(9)

    assert village.heard("rua") == []


async def test_i_am_fine_lifts_nothing(village: Practice):
    await village.says("mary", "I feel dizzy")
    await village.says("mary", "I'm fine, I was joking")

    assert "I was joking" in village.last_to("rua")
    assert "paused" in (await village.says("mary", "/today"))[-1]


async def test_a_relatives_emergency_pauses_nobodys_training_and_reaches_the_coach(
    village: Practice,
):
    said = await village.says("mary", "my wife has collapsed on the floor")

    assert said[0].splitlines()[0] == "Call 111 for them now."
    assert "The danger is somebody beside them." in village.last_to("rua")


async def test_an_answer_on_warning_signs_is_asked_again_after_two_hours(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.wait(121)
    await village.says("mary", "/today")
    await village.taps("mary", "Start")

    assert "No, none of these" in [
        c.label for row in village.newest_buttons("mary").outgoing.choices for c in row
    ]


async def test_each_client_gets_the_number_of_their_own_country_and_an_alert_of_their_own(
    village: Practice,
):
    said = await village.says("mary", "my chest feels tight")
    assert said[0].splitlines()[0] == "Stop. Call 111 now."
    await village.client("Hemi", country="GB", zone="Europe/London")
    hemi = await village.says("hemi", "my chest feels tight")

    assert hemi[0].splitlines()[0] == "Stop. Call 999 now."
    assert "EMERGENCY: Hemi" in village.last_to("rua")


async def test_another_coach_hears_nothing_of_it(village: Practice):
    await village.coach("Kit")
    await village.says("mary", "my chest feels tight")
    await village.wait(30)

    assert village.heard("kit") == []
