"""What a phone shows, from what the store holds."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from sqlmodel import select

from bot.channels.page.channel import NAME
from bot.channels.page.view import entries, next_moments, phone_value
from bot.messages import Kind, Outgoing, ReplyButton
from bot.storage import shown
from bot.storage.shown import Schedule
from bot.storage.tables import InboxRow, OutboxRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId
from tests.bot.channels.page import page_practice
from tests.bot.channels.page.page_practice import Practice

practice = page_practice.practice

ASK = Outgoing(
    "How did you sleep?",
    ((ReplyButton("Badly", "checkin.1.2"), ReplyButton("Well", "checkin.1.4")),),
)
NEXT = Outgoing("Noted. How sore are you?", ((ReplyButton("A little", "checkin.1.4s"),),))


def lines(practice: Practice, person: PersonId, most: int = 50) -> list[tuple[str, str]]:
    chat = practice.database.run_now(shown.chat, practice.at(person), most)
    return [(entry["from"], entry["text"]) for entry in entries(chat)]


def test_messages_and_answers_stand_in_the_order_in_which_they_came(practice: Practice) -> None:
    practice.tell(practice.mere, Outgoing("Good morning."), kind=Kind.PROMPT)
    practice.later(2)
    practice.do(practice.mere, text="Hello")
    practice.tell(practice.mere, Outgoing("Hello, Mere."))
    assert lines(practice, practice.mere) == [
        ("bot", "Good morning."),
        ("person", "Hello"),
        ("bot", "Hello, Mere."),
    ]


def test_a_message_is_shown_only_once_it_was_sent(practice: Practice) -> None:
    practice.tell(practice.mere, Outgoing("Not yet."), sent=False)
    assert lines(practice, practice.mere) == []


def test_another_phone_shows_nothing_of_it(practice: Practice) -> None:
    practice.tell(practice.mere, Outgoing("Only for Mere."))
    assert lines(practice, practice.basil) == []


def test_an_edit_stands_in_the_place_of_its_message_and_the_tap_needs_no_line(
    practice: Practice,
) -> None:
    asked = practice.tell(practice.mere, ASK)
    practice.later(1)
    practice.tell(practice.mere, Outgoing("A word between."))
    practice.later(1)
    practice.do(practice.mere, tap="checkin.1.4", on=asked)
    practice.tell(practice.mere, NEXT, edits=asked)
    assert lines(practice, practice.mere) == [("bot", NEXT.text), ("bot", "A word between.")]


def test_only_the_last_of_several_edits_is_shown(practice: Practice) -> None:
    asked = practice.tell(practice.mere, ASK)
    practice.tell(practice.mere, Outgoing("First change."), edits=asked)
    practice.tell(practice.mere, Outgoing("Second change."), edits=asked)
    assert lines(practice, practice.mere) == [("bot", "Second change.")]


def test_a_tap_that_is_answered_by_a_new_message_says_what_was_tapped(practice: Practice) -> None:
    asked = practice.tell(practice.mere, ASK)
    practice.later(1)
    practice.do(practice.mere, tap="checkin.1.4", on=asked)
    assert lines(practice, practice.mere)[-1] == ("person", "Well")


def test_a_tap_whose_answer_is_being_worked_out_is_not_shown_yet(practice: Practice) -> None:
    asked = practice.tell(practice.mere, ASK)
    practice.do(practice.mere, tap="checkin.1.4", on=asked, done=False)
    assert lines(practice, practice.mere) == [("bot", ASK.text)]


def test_what_was_erased_is_not_shown(practice: Practice) -> None:
    asked = practice.tell(practice.mere, ASK)
    practice.do(practice.mere, text="private words")
    practice.do(practice.mere, tap="checkin.1.4", on=asked)
    practice.tell(practice.mere, Outgoing("All your words are gone."))

    def erase(unit: UnitOfWork) -> None:
        unit.session.get_one(OutboxRow, asked).payload_sealed = ""
        for row in unit.session.exec(select(InboxRow)):
            row.text_sealed = ""
        unit.commit()

    practice.database.run_now(erase)
    assert lines(practice, practice.mere) == [("bot", "All your words are gone.")]


def test_typed_words_are_shown_as_soon_as_they_are_accepted(practice: Practice) -> None:
    practice.do(practice.mere, text="my chest feels tight", done=False)
    assert lines(practice, practice.mere) == [("person", "my chest feels tight")]


def alert(text: str, alert_id: int = 1) -> Outgoing:
    return Outgoing(
        f"EMERGENCY: client {alert_id}\n{text}",
        ((ReplyButton("I have seen this", f"alerts.{alert_id}.seen"),),),
    )


def test_repeats_of_one_alert_are_one_entry_with_a_count(practice: Practice) -> None:
    for minutes in (0, 2, 4):
        practice.tell(practice.coach, alert(f"Unseen for {minutes} minutes."), kind=Kind.ALERT)
        practice.later(2)
    chat = practice.database.run_now(shown.chat, practice.at(practice.coach), 50)
    (entry,) = entries(chat)
    assert entry["text"].endswith("Unseen for 4 minutes.")
    assert entry["times"] == 3
    assert datetime.fromisoformat(entry["firstAt"]) < datetime.fromisoformat(entry["at"])


def test_alerts_about_two_clients_are_kept_apart(practice: Practice) -> None:
    for _ in range(2):
        practice.tell(practice.coach, alert("Mere.", 1), kind=Kind.ALERT)
        practice.tell(practice.coach, alert("Basil.", 2), kind=Kind.ALERT)
        practice.later(2)
    said = [text.splitlines()[1] for _, text in lines(practice, practice.coach)]
    assert said == ["Mere.", "Basil."]


def test_more_words_of_the_client_do_not_hide_the_alert_they_belong_to(practice: Practice) -> None:
    practice.tell(practice.coach, alert("Phone 555."), kind=Kind.ALERT)
    more = Outgoing("More from Mere: it is worse", alert("").choices)
    practice.tell(practice.coach, more, kind=Kind.ALERT)
    assert len(lines(practice, practice.coach)) == 2


def test_words_of_an_earlier_message_are_never_folded_away(practice: Practice) -> None:
    for words in ("“lips swollen”", "“please hurry”", "“please hurry”"):
        practice.tell(practice.coach, alert(words), kind=Kind.ALERT)
    practice.tell(practice.coach, alert("“please hurry”\n“still here”"), kind=Kind.ALERT)
    said = [text.splitlines()[1:] for _, text in lines(practice, practice.coach)]
    assert said == [["“lips swollen”"], ["“please hurry”", "“still here”"]]


def test_a_new_alert_and_its_repeats_are_one_entry_of_the_kind_alert(practice: Practice) -> None:
    practice.tell(practice.coach, alert("First."), kind=Kind.NEW_ALERT)
    practice.tell(practice.coach, alert("Again."), kind=Kind.ALERT)
    chat = practice.database.run_now(shown.chat, practice.at(practice.coach), 50)
    (entry,) = entries(chat)
    assert (entry["kind"], entry["times"]) == ("alert", 2)


def test_an_alert_after_the_coach_did_something_is_not_folded_into_the_earlier(
    practice: Practice,
) -> None:
    practice.tell(practice.coach, alert("First."), kind=Kind.ALERT)
    practice.later(1)
    practice.do(practice.coach, text="clients")
    practice.later(1)
    practice.tell(practice.coach, alert("Again."), kind=Kind.ALERT)
    said = [text.splitlines()[-1] for _, text in lines(practice, practice.coach)]
    assert said == ["First.", "clients", "Again."]


def test_equal_replies_are_not_folded(practice: Practice) -> None:
    practice.tell(practice.mere, Outgoing("I did not get that."))
    practice.tell(practice.mere, Outgoing("I did not get that."))
    assert len(lines(practice, practice.mere)) == 2


def test_only_the_newest_messages_are_read_and_what_was_sent_among_them(practice: Practice) -> None:
    for number in range(10):
        practice.do(practice.mere, text=f"word {number}")
        practice.tell(practice.mere, Outgoing(f"answer {number}"))
        practice.later(1)
    chat = practice.database.run_now(shown.chat, practice.at(practice.mere), 3)
    assert [one.outgoing.text for one in chat.received] == ["answer 7", "answer 8", "answer 9"]
    assert [one.text for one in chat.sent] == ["word 7", "word 8", "word 9"]
    assert chat.more


def test_people_are_listed_with_their_role_and_what_is_open(practice: Practice) -> None:
    now = practice.clock.now()
    listed = {
        value["name"]: (value["role"], value["state"])
        for value in (
            phone_value(one, now) for one in practice.database.run_now(shown.phones, NAME)
        )
    }
    assert listed == {
        "Huia Marsden": ("coach", "ready"),
        "Piers Standish": ("backup", "ready"),
        "Mere Tolhurst": ("client", "ready"),
        "Basil Quarmby": ("client", "uncleared"),
    }


@pytest.mark.parametrize(
    ("zone", "now", "due", "morning", "session"),
    [
        # Monday 19:00 in London; trains Monday, Wednesday and Friday, asked at 8.
        ("Europe/London", (2026, 3, 2, 19), None, (2026, 3, 3, 8), (2026, 3, 4, 8)),
        # The kept moment counts where it lies ahead.
        ("Europe/London", (2026, 3, 2, 19), (2026, 3, 5, 8), (2026, 3, 5, 8), (2026, 3, 4, 8)),
        # A moment that has passed does not.
        ("Europe/London", (2026, 3, 2, 19), (2026, 3, 1, 8), (2026, 3, 3, 8), (2026, 3, 4, 8)),
        # Summer time begins in London on 29 March: 8 o'clock is then 7 UTC.
        ("Europe/London", (2026, 3, 29, 12), None, (2026, 3, 30, 7), (2026, 3, 30, 7)),
        ("Pacific/Auckland", (2026, 3, 2, 19, 30), None, (2026, 3, 3, 19), (2026, 3, 3, 19)),
    ],
)
def test_the_clock_can_go_to_the_next_morning_and_the_next_session(
    zone: str,
    now: tuple[int, ...],
    due: tuple[int, ...] | None,
    morning: tuple[int, ...],
    session: tuple[int, ...],
) -> None:
    schedule = Schedule("08:00", (1, 3, 5), None if due is None else utc(due))
    assert next_moments(schedule, ZoneInfo(zone), utc(now)) == (utc(morning), utc(session))


def test_a_coach_has_no_morning_to_go_to() -> None:
    assert next_moments(None, ZoneInfo("UTC"), datetime(2026, 3, 2, tzinfo=UTC)) == (None, None)


def utc(parts: tuple[int, ...]) -> datetime:
    year, month, day, hour, *minute = parts
    return datetime(year, month, day, hour, *minute, tzinfo=UTC)
