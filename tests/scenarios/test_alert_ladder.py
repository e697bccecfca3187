"""Who hears of a warning sign, how often, and until when."""

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.alerts.policy import AlertStatus, Chase, ChaseReason, next_chase
from bot.cli.checks import check_everything
from bot.flows.safety.levels import earlier_level
from bot.storage.people import Address, mark_blocked
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel, Sign
from tests.support.facts import reference
from tests.support.practice import CHANNEL, Practice

EMERGENCY = AlertStatus(
    level=AlertLevel.EMERGENCY,
    round=1,
    sent_count=0,
    waited=timedelta(),
    seen=False,
    closed=False,
    cannot_call=False,
    coach_reachable=True,
    has_backup=True,
    has_second_route=True,
)


@pytest.mark.parametrize(
    ("minutes", "backup", "has_backup", "route"),
    [
        (0, True, False, False),
        (5, True, False, False),
        (6, True, True, False),
        (9, True, True, False),
        (10, True, True, True),
        (500, True, True, True),
        (5, False, False, False),
        (6, False, False, True),
        (500, False, False, True),
    ],
)
def test_the_backup_joins_after_six_minutes_and_the_second_route_after_ten(
    minutes: int, backup: bool, has_backup: bool, route: bool
):
    chase = next_chase(
        replace(EMERGENCY, waited=timedelta(minutes=minutes), sent_count=1, has_backup=backup)
    )
    assert (chase.coach, chase.backup, chase.second_route) == (True, has_backup, route)


@pytest.mark.parametrize(
    ("level", "pauses"),
    [
        (AlertLevel.EMERGENCY, [2, 2, 2, 2, 2, 5, 10, 30, 60, 60, 60]),
        (AlertLevel.URGENT, [10, 10, 10, 20, 30, 60, 60, 60]),
    ],
)
def test_repeats_slow_down_and_never_end(level: AlertLevel, pauses: list[int]):
    alert = replace(EMERGENCY, level=level)
    for sent_count, minutes in enumerate(pauses):
        chase = next_chase(replace(alert, sent_count=sent_count))
        assert chase.next_in == timedelta(minutes=minutes), sent_count
        alert = replace(alert, waited=alert.waited + timedelta(minutes=minutes))


def test_nothing_more_is_said_once_it_is_seen_or_closed():
    for done in (replace(EMERGENCY, seen=True), replace(EMERGENCY, closed=True)):
        assert next_chase(done) == Chase(ChaseReason.SEEN)


def test_whoever_cannot_call_or_has_no_coach_to_reach_gets_everybody_at_once():
    assert next_chase(replace(EMERGENCY, cannot_call=True)).backup
    assert next_chase(replace(EMERGENCY, coach_reachable=False)).backup
    alone = replace(EMERGENCY, coach_reachable=False, has_backup=False)
    assert next_chase(alone).second_route


def test_what_could_not_be_read_is_told_once_and_looked_at_once_more():
    unread = replace(EMERGENCY, level=AlertLevel.MENTION, passed_on=True)
    first = next_chase(unread)
    assert (first.coach, first.backup, first.next_in) == (True, False, timedelta(minutes=10))
    assert next_chase(replace(unread, sent_count=1)) == Chase(ChaseReason.NOT_CHASED)
    lost = next_chase(replace(unread, sent_count=1, coach_reachable=False))
    assert (lost.backup, lost.next_in) == (True, None)


@pytest.mark.parametrize("sign", list(Sign))
def test_only_what_can_be_over_drops_when_it_was_earlier(sign: Sign):
    drops = {"chest_pain", "breathless_rest", "palpitations", "dizziness"}
    level = earlier_level((sign,), AlertLevel.EMERGENCY, reference().signs)
    drops |= {"chest_discomfort_gone", "breathless_effort", "choking", "bleed_wont_stop"}
    if sign.value not in drops:
        assert level is AlertLevel.EMERGENCY
    else:
        assert level is AlertLevel.URGENT


def test_a_faint_beside_chest_pain_stays_an_emergency_when_it_was_earlier():
    level = earlier_level((Sign.CHEST_PAIN, Sign.FAINT), AlertLevel.EMERGENCY, reference().signs)
    assert level is AlertLevel.EMERGENCY


async def test_an_urgent_alert_comes_again_after_ten_minutes_and_not_before(village: Practice):
    await village.says("mary", "I feel dizzy")
    assert "URGENT: Mary" in village.last_to("rua")
    before = len(village.heard("rua"))

    await village.wait(9.9)
    assert len(village.heard("rua")) == before
    await village.wait(0.2)
    assert len(village.heard("rua")) == before + 1


async def test_a_new_sign_while_nobody_has_seen_it_drops_nobody_who_was_told(village: Practice):
    await village.coach("Ana", backup_of="rua")
    await village.says("mary", "my chest feels tight")
    await village.wait(6.1)
    assert len(village.heard("ana")) == 1

    await village.says("mary", "now I have fainted")

    assert "fainted" in village.last_to("ana")
    assert len(village.heard("ana")) == 2


async def test_the_alert_shows_all_that_the_coach_needs(tmp_path, village: Practice):
    await village.client(
        "Hemi", conditions=["angina"], medicines=["blood_thinner"], phone="+64215550103"
    )
    await village.at("07:00")
    await village.good_morning("hemi")

    await village.says("hemi", "my chest feels tight")
    alert = village.last_to("rua")

    assert alert.splitlines()[0] == "!! EMERGENCY: Hemi"
    assert "What: chest pain or pressure" in alert
    assert "“my chest feels tight”" in alert
    assert "Phone: 021 555 0103\n" in alert
    assert "Address: 1 Kauri Street, Thames" in alert
    assert "Contact: Tom 021 555 0102" in alert
    assert "angina" in alert
    assert "lood thinner" in alert
    assert (
        "Last check-in: Tue 03 Mar, as planned. First days: what is usual is not known yet."
        in alert
    )
    labels = [c.label for row in village.newest_buttons("rua").outgoing.choices for c in row]
    assert labels == [
        "I have seen this",
        "I phoned the client",
        "I sent them to a doctor",
        "Write to them",
        "Open the card",
        "End the pause",
    ]


async def test_two_texts_are_one_alert(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.says("mary", "my chest really hurts")
    await village.taps("rua", "I have seen")
    before = len(village.heard("rua"))

    await village.wait(30)

    assert len(village.heard("rua")) == before


async def test_the_same_sign_long_after_it_was_seen_is_chased_anew(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen")
    await village.wait(40)
    before = len(village.heard("rua"))

    await village.says("mary", "my chest feels tight again")
    await village.wait(2.1)

    assert len(village.heard("rua")) == before + 2


async def test_a_milder_sign_after_an_emergency_brings_no_milder_advice(village: Practice):
    await village.says("mary", "my chest feels tight")
    said = await village.says("mary", "and I feel dizzy")

    assert said[0].splitlines()[0] == "Stop. Call 111 now."


async def test_advice_gets_no_milder_where_an_old_alert_has_a_new_sign(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen")
    await village.wait(30 * 60)
    await village.says("mary", "my chest feels tight again")
    await village.wait(10)

    said = await village.says("mary", "and I feel dizzy")

    assert said[0].splitlines()[0] == "Stop. Call 111 now."


async def test_the_coach_gets_a_message_of_a_voice_note(village: Practice):
    said = await village.sends_voice("mary")

    assert said[0].splitlines()[0] == "If you need help now, call 111."
    assert "voice note or a picture" in village.last_to("rua")
    assert "021 555 0101" in village.last_to("rua")
    await village.wait(60)
    assert len(village.heard("rua")) == 1, "told once"


async def test_a_voice_note_in_an_emergency_leaves_the_call_buttons_good(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.sends_voice("mary")

    assert "Have you called?" in village.last_to("mary")
    await village.taps("mary", "I can't")
    assert "CANNOT CALL" in village.last_to("rua")


async def test_i_cannot_call_stays_good_hours_later(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.wait(180)
    await village.taps("mary", "I can't")

    assert "CANNOT CALL" in village.last_to("rua")


async def test_the_coach_hears_that_help_is_called_after_all(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.taps("mary", "I can't")
    await village.taps("mary", "Yes, I have called")

    assert "They say they have called for help." in village.last_to("rua")


async def test_a_closed_chat_goes_on_to_the_next_person_and_the_check_says_so(village: Practice):
    await village.coach("Ana", backup_of="rua")
    village.channel.close_chat("rua")
    await village.says("mary", "my chest feels tight")
    await village.app.settle()

    assert "Rua cannot be reached, so you are told." in village.last_to("ana")
    found = await check_everything(village.app.settings)
    assert "Coach Rua cannot be reached: no open chat." in [
        one.text for one in found if one.level == "bad"
    ]


async def test_danger_at_home_stays_quiet_on_the_phone_and_keeps_the_contact_out(
    village: Practice,
):
    said = await village.says("mary", "my husband hits me and I am scared of him")
    assert said[0].splitlines()[0] == "Thank you for your message."
    alert = village.last_to("rua")
    assert "Do NOT call the contact person." in alert
    assert "Tom" not in alert
    assert "021 555 0102" not in alert

    await village.says("mary", "my husband hit me again")
    assert village.last_to("mary") == "Thank you. I have got that."

    before = village.heard("mary")
    await village.taps("rua", "I have seen")
    await village.wait(120)
    assert village.heard("mary") == before, "nothing more, and no seen"


async def test_dark_thoughts_get_care_at_once_and_are_never_asked_about(village: Practice):
    said = await village.says("mary", "I want to kill myself")

    assert said[0].startswith("I am glad you told me.")
    assert "1737" in said[0]
    assert "EMERGENCY: Mary" in village.last_to("rua")


async def test_an_alert_survives_a_crash_and_is_chased_on(village: Practice):
    await village.says("mary", "my chest feels tight")
    before = len(village.heard("rua"))

    await village.restart()
    await village.wait(2.1)

    assert len(village.heard("rua")) == before + 1


@pytest.mark.parametrize("backup", [False, True], ids=["alone", "with a back-up"])
async def test_the_client_is_told_when_an_alert_reaches_nobody(village: Practice, backup: bool):
    if backup:
        await village.coach("Sam", backup_of="rua")

    def block(unit: UnitOfWork) -> None:
        mark_blocked(unit, Address(CHANNEL, "rua"), village.clock.now())
        unit.commit()

    await village.app.database.run(block)
    await village.says("mary", "my chest feels tight")
    heard = village.heard("mary")
    await village.wait(7)

    assert any("cannot reach Rua" in text for text in heard) is not backup
    assert heard[0].startswith("Stop. Call 111 now.")
    again = [text for text in village.heard("mary", len(heard)) if "cannot reach" in text]
    assert again == [], "it is said once, not with each repeat"
