"""An alert keeps its promises: no words lost, nobody left without a word, all help needs on it.

No outside source: the laws are ours (``deploy/SAFETY.md``). Each test looks at what phones got.
"""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import pytest
from sqlmodel import col, select

from bot.channels.page.view import entries
from bot.messages import Incoming, IncomingKind
from bot.schedule.due import reschedule
from bot.storage import shown
from bot.storage.people import Address, mark_blocked
from bot.storage.tables import AlertRow, ClientRow, InboxRow, OutboxRow, PersonRow
from bot.storage.unit import UnitOfWork
from tests.scenarios.conftest import MONDAY_EVENING
from tests.support.practice import CHANNEL, Practice, practice

SWOLLEN = "lips and tongue swollen since new tablet"


def texts_with(texts: Sequence[str], part: str) -> list[str]:
    return [text for text in texts if part in text]


async def minutes_heard(village: Practice, who: str, part: str, until: int) -> list[int]:
    """After how many minutes a phone got a message with ``part``, in whole minutes."""
    found: list[int] = []
    seen = len(village.heard(who))
    for minute in range(until + 1):
        new = village.heard(who, seen)
        found += [minute] * len(texts_with(new, part))
        seen += len(new)
        await village.wait(1)
    return found


async def lift(village: Practice, coach: str = "rua") -> None:
    await village.taps(coach, "End the pause", "A doctor")
    await village.says(coach, "Dr Singh")
    await village.taps(coach, "Today")


# No words lost.


async def test_later_words_do_not_hide_earlier_ones_on_the_coachs_phone(village: Practice):
    await village.says("mary", "my chest feels tight")
    for words in (SWOLLEN, "I am alone", "please hurry"):
        await village.says("mary", words)

    def phone(unit: UnitOfWork) -> shown.Chat:
        return shown.chat(unit, Address(CHANNEL, "rua"), 50)

    seen = "\n".join(entry["text"] for entry in entries(await village.app.database.run(phone)))
    for words in ("my chest feels tight", SWOLLEN, "I am alone", "please hurry"):
        assert f"“{words}”" in seen


async def test_a_repeat_of_the_alert_holds_all_the_words(village: Practice):
    said = ["my chest feels tight", *(f"now it is word {number}" for number in range(9))]
    for words in said:
        await village.says("mary", words)
    before = len(village.heard("rua"))

    await village.wait(2.1)

    (repeat,) = village.heard("rua", before)
    assert "Not seen yet." in repeat
    assert [words for words in said if f"“{words}”" not in repeat] == []


async def test_at_the_platforms_limit_the_oldest_go_and_the_card_has_them(village: Practice):
    await village.says("mary", "my chest feels tight")
    said = [f"line {number:02}: " + "the telephone rings " * 20 for number in range(20)]
    for words in said:
        await village.says("mary", words)
    before = len(village.heard("rua"))
    await village.wait(2.1)

    (repeat,) = village.heard("rua", before)
    assert len(repeat) <= 4096, "the longest message of Telegram (its Bot API page, sendMessage)"
    left_out = [words for words in said if words.strip() not in repeat]
    assert left_out == said[: len(left_out)], "the oldest"
    assert f"and {len(left_out) + 1} more: open the card" in repeat
    assert repeat.index("Phone:") < repeat.index("more: open the card")

    await village.taps("rua", "Open the card", "Read the open alert")
    whole = village.last_to("rua")
    assert [words for words in ("my chest feels tight", *said) if words.strip() not in whole] == []


async def test_a_reason_of_the_record_does_not_hide_the_words_beside_it(village: Practice):
    await village.says("mary", "my chest feels tight")
    before = len(village.heard("rua"))

    await village.says("mary", "this is his wife, he has chest pain and his face is grey")

    heard = "\n".join(village.heard("rua", before))
    assert "his wife, he has chest pain" in heard


async def test_called_then_cannot_then_called_is_told_each_time(village: Practice):
    await village.says("mary", "my chest feels tight")
    for answer in ("Yes, I have called", "I can't", "Yes, I have called"):
        before = len(village.heard("rua"))
        await village.taps("mary", answer)
        (told,) = village.heard("rua", before)
        assert ("CANNOT CALL" in told) is (answer == "I can't")


@pytest.mark.parametrize(
    "typed",
    [
        "5 Rimu Road, the blue house",
        "I'm at my daughter's, 12b Kowhai Lane",
        "outside the library",
        "in the garden, by the shed",
    ],
)
async def test_an_address_typed_into_an_open_alert_is_where_help_is_sent(
    village: Practice, typed: str
):
    await village.says("mary", "my chest feels tight")
    await village.taps("mary", "I can't")
    await village.says("mary", typed)
    assert f"Send help to: “{typed}”" in village.last_to("rua")

    await village.says("mary", "please hurry")
    await village.wait(2.1)

    assert f"Send help to: “{typed}” (typed in the chat). Home: 1 Kauri" in village.last_to("rua")


async def test_an_address_typed_before_i_cant_is_kept(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.says("mary", "5 Rimu Road")
    await village.taps("mary", "I can't")

    assert "Send help to: “5 Rimu Road”" in village.last_to("rua")


async def test_words_that_are_no_place_leave_the_address_of_home(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.taps("mary", "I can't")
    for words in (
        "please hurry",
        "in the morning I was well",
        "still waiting",
        "at the moment ok",
    ):
        await village.says("mary", words)
    await village.wait(2.1)

    assert "Send help to: 1 Kauri Street, Thames" in village.last_to("rua")


# Nobody sees it.


async def test_the_client_of_an_unseen_emergency_hears_so_and_then_less_often(village: Practice):
    await village.says("mary", "my chest feels tight")

    heard = await minutes_heard(village, "mary", "has not seen my message yet", 300)

    assert heard == [10, 30, 90, 270]
    (first, *_) = texts_with(village.heard("mary"), "has not seen my message yet")
    assert first.splitlines()[0].startswith("Call 111 now")
    assert "This chat does not reach emergency services." in first


async def test_the_client_of_an_unseen_urgent_alert_hears_what_to_do(village: Practice):
    await village.says("mary", "I feel dizzy")

    heard = await minutes_heard(village, "mary", "has not seen my message yet", 180)

    assert heard == [30, 120]
    assert "Call your doctor today. If it gets worse, call 111 at once." in village.last_to("mary")


async def test_the_buttons_of_that_message_work(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.wait(10.1)
    assert "has not seen my message yet" in village.last_to("mary")

    await village.taps("mary", "I can't")

    assert "CANNOT CALL" in village.last_to("rua")


async def test_whoever_cannot_call_is_told_what_else_to_do(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.taps("mary", "I can't")
    await village.wait(10.1)

    (told,) = texts_with(village.heard("mary"), "has not seen my message yet")
    assert told.startswith("Try 111 again now. Shout for help.")


async def test_after_it_was_seen_the_client_hears_no_more_of_that(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.wait(3)
    await village.taps("rua", "I have seen")

    assert await minutes_heard(village, "mary", "not seen", 60) == []


async def test_repeats_of_an_emergency_slow_down(village: Practice):
    await village.says("mary", "my chest feels tight")
    heard = await minutes_heard(village, "rua", "Not seen yet.", 180)
    assert heard == [2, 4, 6, 8, 10, 15, 25, 55, 115, 175]


async def test_repeats_of_an_urgent_alert_slow_down(village: Practice):
    await village.says("mary", "I feel dizzy")
    heard = await minutes_heard(village, "rua", "Not seen yet.", 150)
    assert heard == [10, 20, 30, 50, 80, 140]


async def test_while_i_cant_call_is_unseen_it_is_every_two_minutes_for_good(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.taps("mary", "I can't")
    heard = await minutes_heard(village, "rua", "Not seen yet.", 60)
    assert heard == list(range(2, 61, 2))


@pytest.mark.parametrize(("words", "minute"), [("my chest feels tight", 6), ("I feel dizzy", 30)])
async def test_the_stand_in_joins_by_minutes(village: Practice, words: str, minute: int):
    await village.coach("Ana", backup_of="rua")
    await village.says("mary", words)
    heard = await minutes_heard(village, "ana", "Mary", minute + 1)
    assert heard == [minute]


async def test_a_new_sign_starts_the_intervals_anew_and_makes_nobody_wait(village: Practice):
    await village.coach("Ana", backup_of="rua")
    await village.says("mary", "my chest feels tight")
    await village.wait(5)
    await village.says("mary", "now I have fainted")
    assert "New since the first message" in village.last_to("rua")

    start = len(village.heard("ana"))
    assert start == 0
    await village.wait(1.1)
    assert len(village.heard("ana")) == 1, "six minutes after the first sign, not after the second"


async def test_a_new_sign_after_hours_is_chased_as_fast_as_the_first(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.wait(120)
    await village.says("mary", "now I have fainted")

    heard = await minutes_heard(village, "rua", "Not seen yet.", 11)

    assert heard == [2, 4, 6, 8, 10]


async def test_the_stand_in_hears_that_it_has_been_seen(village: Practice):
    await village.coach("Ana", backup_of="rua")
    await village.says("mary", "my chest feels tight")
    await village.wait(6.1)
    await village.taps("rua", "I have seen")

    assert village.last_to("ana").startswith("Rua has seen the alert about Mary")
    before = len(village.heard("ana"))
    await village.wait(120)
    assert len(village.heard("ana")) == before


async def test_the_coach_hears_that_the_stand_in_has_seen_it(village: Practice):
    await village.coach("Ana", backup_of="rua")
    await village.says("mary", "my chest feels tight")
    await village.wait(6.1)
    await village.taps("ana", "I have seen")

    assert village.last_to("rua").startswith("Ana has seen the alert about Mary")


async def test_a_stand_in_who_was_not_told_hears_nothing(village: Practice):
    await village.coach("Ana", backup_of="rua")
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen")

    assert village.heard("ana") == []


async def test_the_open_alert_of_somebody_who_left_stays_on_every_list(village: Practice):
    def with_a_morning_list(unit: UnitOfWork) -> None:
        reschedule(unit, village.ids["rua"], village.clock.now())
        unit.commit()

    await village.app.database.run(with_a_morning_list)
    await village.says("mary", "my chest feels tight")
    await village.says("mary", "/mydata")
    await village.taps("mary", "Leave", "Yes")

    assert "Mary: " in (await village.says("rua", "/alerts"))[-1]
    clients = (await village.says("rua", "/clients"))[-1]
    assert "Mary (has left): " in clients
    await village.at("07:00")
    assert texts_with(village.heard("rua"), "Good morning, Rua.")
    digest = texts_with(village.heard("rua"), "Good morning, Rua.")[-1]
    assert "Mary (has left): needs you" in digest
    assert texts_with(village.heard("rua"), "Not seen yet."), "and it is chased on"

    await village.says("rua", "/alerts")
    await village.taps("rua", "Mary", "I have seen")
    assert "Mary (has left): needs you" in (await village.says("rua", "/clients"))[-1]
    await village.says("rua", "/alerts")
    await village.taps("rua", "Mary")
    await lift(village)
    assert "Mary" not in (await village.says("rua", "/clients"))[-1]


async def test_a_new_alert_goes_before_more_words_of_another(village: Practice):
    await village.client("Hemi")
    await village.says("mary", "my chest feels tight")

    # Worked off while the sender sleeps.
    said = [
        ("mary", "it is no better"),
        ("mary", "I am alone"),
        ("hemi", "I cannot breathe at all"),
    ]
    for number, (who, words) in enumerate(said):
        at = village.clock.now()
        one = Incoming(CHANNEL, who, f"held-{number}", IncomingKind.TEXT, words, "", "", at)
        await village.app.engine.accept([one])
        await village.app.engine.settle()

    before = len(village.heard("rua"))
    await village.app.settle()
    firsts = [text.splitlines()[0] for text in village.heard("rua", before)]
    assert firsts == ["!! EMERGENCY: Hemi", "More from Mary:", "More from Mary:"]


# What an alert says.


async def test_the_alert_names_the_sign_in_the_third_person_with_the_number(village: Practice):
    await village.client("Hemi", conditions=["pressure"], limits={"numbers": ["pressure"]})
    await village.at("07:00")
    await village.taps("hemi", "None of these", "4", "4", "4", "4", "4")
    await village.says("hemi", "195/118")

    alert = texts_with(village.heard("rua"), "URGENT: Hemi")[-1]
    assert "What: high blood pressure\nBlood pressure 195 over 118." in alert
    assert "Your " not in alert


async def test_a_fever_with_a_new_joint_is_told_of_them_and_not_to_them(village: Practice):
    await village.client("Hemi", replaced_joints=["right knee"])
    await village.at("07:00")
    await village.taps("hemi", "Ill or fever", "Fever")

    alert = texts_with(village.heard("rua"), "URGENT: Hemi")[-1]
    assert "Has a fever, and an operated joint: right knee (replaced)." in alert
    assert "Replaced: Right knee" in alert
    assert "You have" not in alert


async def test_the_joint_and_the_side_that_were_told_stand_above_the_words(village: Practice):
    await village.client("Hemi", replaced_joints=["right knee", "left hip"])
    await village.says("hemi", "my new right knee is hot and red and swollen")

    alert = village.last_to("rua")
    assert "Named: right knee" in alert
    assert alert.index("Named:") < alert.index("Phone:") < alert.index("“my new right knee")


async def test_date_and_time_of_the_newest_sign_are_on_the_alert(village: Practice):
    await village.says("mary", "I feel dizzy")
    assert "When: Mon 02 Mar 18:00. It is 18:00 now." in village.last_to("rua")
    await village.taps("rua", "I have seen")
    await village.at("08:15")
    await village.says("mary", "my chest feels tight")

    assert "When: Tue 03 Mar 08:15. It is 08:15 now." in village.last_to("rua")


async def test_the_phone_stands_above_a_long_quote(village: Practice):
    await village.says("mary", "my chest feels tight " + "and it goes on and on " * 40)
    alert = village.last_to("rua")
    assert alert.index("Phone: 021 555 0101") < alert.index("“my chest feels tight")


@pytest.fixture
async def far_coach(tmp_path: Path, village: Practice) -> Practice:
    """Rua is in New Zealand, her client Ines in Spain."""
    await village.client("Ines", zone="Europe/Madrid", country="ES", phone="+34600000001")
    return village


async def test_a_coach_in_another_country_is_told_whom_to_call_first(far_coach: Practice):
    await far_coach.says("ines", "my chest feels tight")
    await far_coach.taps("ines", "I can't")

    alert = far_coach.last_to("rua")
    number = "112"  # EU: one number in every member state
    assert f"{number} does not work from yours." in alert
    assert f"Call {number} for them now" not in alert
    first = alert.index("Call Ines first: +34600000001.")
    assert first < alert.index("Then Tom: +64215550102.") < alert.index("What:")


async def test_a_coach_in_the_same_country_is_not(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.taps("mary", "I can't")
    assert "another country" not in village.last_to("rua")
    assert "Call 111 for them now." in village.last_to("rua")


# Abuse and despair.


async def test_danger_at_home_brings_nothing_more_to_that_phone(village: Practice):
    await village.coach("Ana", backup_of="rua")
    await village.says("mary", "my husband hits me and I am scared of him")
    before = village.heard("mary")

    await village.wait(24 * 60)

    assert village.heard("mary") == before
    assert "Tom" not in village.last_to("rua")
    assert "Tom" not in village.last_to("ana")


async def test_danger_at_home_in_another_country_leaves_the_contact_out(far_coach: Practice):
    await far_coach.says("ines", "my husband hits me and I am scared of him")
    alert = far_coach.last_to("rua")
    assert "Call Ines first" in alert
    assert "Tom" not in alert


async def test_despair_that_nobody_has_seen_gets_care_and_the_crisis_line(village: Practice):
    await village.says("mary", "I want to kill myself")
    before = len(village.heard("mary"))

    await village.wait(100)

    later = village.heard("mary", before)
    assert len(later) == 3
    for text in later:
        assert text.startswith("I am still here. If you may hurt yourself, call 111 now.")
        assert "You do not have to be alone" in text
        assert "1737" in text  # Te Whatu Ora


# Leave and erase with an open alert.


async def erase(village: Practice) -> list[str]:
    await village.says("mary", "/mydata")
    await village.taps("mary", "Leave and erase")
    asked = village.last_to("mary")
    await village.taps("mary", "Yes")
    return [asked, village.last_to("mary")]


async def kept(village: Practice) -> dict[str, object]:
    """What the store holds of Mary in words."""
    mary = village.ids["mary"]

    def read(unit: UnitOfWork) -> dict[str, object]:
        open_words = unit.session.exec(select(AlertRow).where(AlertRow.client_id == mary)).all()
        typed = unit.session.exec(
            select(InboxRow).where(InboxRow.person_id == mary, col(InboxRow.text_sealed) != "")
        ).all()
        sent = [
            str(unit.encryption.decrypt_json(one.payload_sealed))
            for one in unit.session.exec(select(OutboxRow).where(OutboxRow.payload_sealed != ""))
        ]
        profile = unit.session.get_one(ClientRow, mary).profile_sealed
        return {
            "name": unit.encryption.decrypt(unit.session.get_one(PersonRow, mary).name_sealed),
            "profile": unit.encryption.decrypt_json(profile) if profile else {},
            "words": [unit.encryption.decrypt_json(one.words_sealed) or [] for one in open_words],
            "typed": len(typed),
            "sent": sum("chest feels tight" in one for one in sent),
        }

    return await village.app.database.run(read)


async def test_what_help_needs_stays_until_the_alert_is_closed_and_then_goes(village: Practice):
    await village.says("mary", "my chest feels tight")
    asked, done = await erase(village)

    assert "Till it is closed I keep what help needs." in asked
    assert "your phone, your address" in asked
    assert "The rest goes when Rua has closed" in done
    assert "wants their words erased" in village.last_to("rua")
    left = await kept(village)
    assert left["name"] == "Mary"
    assert left["words"] == [["my chest feels tight"]]
    assert left["typed"] <= 1, "the tap that was just made"
    assert set(left["profile"]) <= {"phone", "home", "contact_name", "contact_phone"}
    await village.wait(2.1)
    repeat = texts_with(village.heard("rua"), "Not seen yet.")[-1]
    assert "“my chest feels tight”" in repeat
    assert "021 555 0101" in repeat
    assert "1 Kauri Street" in repeat

    await village.taps("rua", "I have seen")
    assert (await kept(village))["name"] == "Mary", "seen is not closed"
    await lift(village)

    gone = {"name": "", "profile": {}, "words": [[]], "typed": 0, "sent": 0}
    assert await kept(village) == gone
    assert "The rest of your words is erased now" in village.last_to("mary")


async def test_without_an_open_alert_all_goes_at_once(village: Practice):
    asked, done = await erase(village)
    assert "open note" not in asked
    assert done.startswith("Done. Your words are erased.")
    assert (await kept(village))["profile"] == {}


async def test_an_open_question_is_not_lost_by_erasing(village: Practice):
    await village.says("mary", "my chest felt odd for a moment")
    assert "Is this happening now?" in village.last_to("mary")
    await erase(village)

    await village.wait(2.1)

    alert = village.last_to("rua")
    assert "EMERGENCY: Mary" in alert
    assert "021 555 0101" in alert


async def test_words_of_an_alert_after_the_erasure_go_when_that_is_closed(village: Practice):
    await erase(village)
    await village.says("mary", "my chest feels tight")
    assert (await kept(village))["words"] == [["my chest feels tight"]]

    await village.taps("rua", "I have seen")
    await lift(village)

    assert (await kept(village))["words"] == [[]]


async def test_nobody_reached_is_said_and_not_that_somebody_has_not_seen_it(village: Practice):
    def block(unit: UnitOfWork) -> None:
        mark_blocked(unit, Address(CHANNEL, "rua"), village.clock.now())
        unit.commit()

    await village.app.database.run(block)
    await village.says("mary", "my chest feels tight")
    before = len(village.heard("mary"))
    await village.wait(10.1)

    (told,) = village.heard("mary", before)
    assert "I can reach nobody in a chat now." in told
    assert "has not seen" not in told


async def test_an_unseen_alert_is_told_to_the_client_after_a_crash_too(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.restart()
    await village.wait(10.1)
    assert texts_with(village.heard("mary"), "has not seen my message yet")


async def test_an_hour_of_downtime_brings_one_message_of_each(tmp_path: Path):
    async with practice(tmp_path, MONDAY_EVENING) as running:
        await running.coach("Rua")
        await running.client("Mary")
        await running.says("mary", "my chest feels tight")
        before = len(running.heard("mary")), len(running.heard("rua"))
        moment: datetime = running.clock.now().replace(hour=running.clock.now().hour + 1)
        running.clock.move_to(moment)
        await running.app.ticks.catch_up(moment)
        await running.app.settle()
        assert len(running.heard("mary")) == before[0] + 1
        assert len(running.heard("rua")) == before[1] + 1
