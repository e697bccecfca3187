"""What the sender does with each way a handover can end, on a real store."""

from collections.abc import Sequence
from datetime import datetime, timedelta

import pytest

from bot.clock import ManualClock
from bot.delivery.outcome import ClosedChat
from bot.delivery.sender import Sender
from bot.errors import (
    ChannelDown,
    EditGone,
    Moved,
    NothingChanged,
    RateLimited,
    Rejected,
    Retryable,
    Unknown,
    Unreachable,
)
from bot.messages import Kind
from bot.storage import people
from bot.storage.database import Database
from bot.storage.people import Address
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role
from tests.bot.delivery.mailbox import Mailbox
from tests.bot.delivery.troubled import TroubledChannel


def sender_on(database: Database, channel: TroubledChannel, clock: ManualClock) -> Sender:
    return Sender(database, {channel.name: channel}, clock, jitter=lambda: 1.0)


async def test_the_most_urgent_goes_first_and_each_chat_keeps_its_order(
    database: Database, clock: ManualClock, mailbox: Mailbox
) -> None:
    channel = TroubledChannel()
    mailbox.put("digest", to="coach", kind=Kind.DIGEST)
    mailbox.put("prompt", kind=Kind.PROMPT)
    mailbox.put("first reply")
    mailbox.put("second reply")
    mailbox.put("alert", to="coach", kind=Kind.ALERT)
    mailbox.put("safety", kind=Kind.SAFETY)

    await sender_on(database, channel, clock).drain(clock.now())

    assert [one.outgoing.text for one in channel.sent] == [
        "safety",
        "alert",
        "first reply",
        "prompt",
        "digest",
        "second reply",
    ]
    assert set(mailbox.statuses()) == {"sent"}


async def test_an_edit_changes_the_message_that_was_sent(
    database: Database, clock: ManualClock, mailbox: Mailbox
) -> None:
    channel = TroubledChannel()
    sender = sender_on(database, channel, clock)
    shown = mailbox.put("question")
    await sender.drain(clock.now())
    mailbox.put("answered", edits=shown)

    await sender.drain(clock.now())

    assert [one.outgoing.text for one in channel.shown("1")] == ["answered"]
    assert [one.platform_id for one in mailbox.kept()] == ["1", "1"]


async def test_an_edit_that_waits_for_its_message_finds_it(
    database: Database, clock: ManualClock, mailbox: Mailbox
) -> None:
    channel = TroubledChannel()
    shown = mailbox.put("question")
    mailbox.put("answered", edits=shown)

    await sender_on(database, channel, clock).drain(clock.now())

    assert [one.outgoing.text for one in channel.shown("1")] == ["answered"]


async def test_of_two_waiting_edits_only_the_later_goes(
    database: Database, clock: ManualClock, mailbox: Mailbox
) -> None:
    channel = TroubledChannel()
    shown = mailbox.put("question")
    mailbox.put("half", edits=shown)
    mailbox.put("whole", edits=shown)

    await sender_on(database, channel, clock).drain(clock.now())

    assert channel.tries == ["question", "whole"]
    assert mailbox.statuses() == ["sent", "replaced", "sent"]


async def test_an_edit_whose_message_is_gone_goes_as_a_new_message(
    database: Database, clock: ManualClock, mailbox: Mailbox
) -> None:
    channel = TroubledChannel({"answered": [EditGone()]})
    shown = mailbox.put("question")
    mailbox.put("answered", edits=shown)

    await sender_on(database, channel, clock).drain(clock.now())

    assert channel.said_to("1") == ["question", "answered"]
    assert channel.sent[1].edits == ""
    assert mailbox.statuses() == ["sent", "sent"]


async def test_an_edit_that_changes_nothing_counts_as_sent(
    database: Database, clock: ManualClock, mailbox: Mailbox
) -> None:
    channel = TroubledChannel({"the same": [NothingChanged()]})
    shown = mailbox.put("the same at first")
    mailbox.put("the same", edits=shown)

    await sender_on(database, channel, clock).drain(clock.now())

    assert mailbox.kept()[1].status == "sent"
    assert mailbox.kept()[1].platform_id == "1"


@pytest.mark.parametrize(
    ("error", "wait"),
    [
        pytest.param(Retryable("no route"), timedelta(seconds=1), id="it surely did not arrive"),
        pytest.param(Unknown("cut"), timedelta(seconds=1), id="nobody knows whether it arrived"),
        pytest.param(RateLimited(timedelta(seconds=7)), timedelta(seconds=7), id="told to wait"),
    ],
)
async def test_what_did_not_go_is_tried_again_later_and_not_before(
    database: Database,
    clock: ManualClock,
    mailbox: Mailbox,
    error: Exception,
    wait: timedelta,
) -> None:
    channel = TroubledChannel({"hello": [error]})
    sender = sender_on(database, channel, clock)
    mailbox.put("hello")
    start = clock.now()

    await sender.drain(start)
    assert mailbox.kept()[0].attempts == 1
    await sender.drain(start + wait - timedelta(milliseconds=1))
    assert channel.said_to("1") == []
    await sender.drain(start + wait)

    assert channel.said_to("1") == ["hello"]
    assert mailbox.statuses() == ["sent"]


async def test_a_reply_waits_behind_an_older_one_that_failed_but_a_safety_reply_does_not(
    database: Database, clock: ManualClock, mailbox: Mailbox
) -> None:
    channel = TroubledChannel({"first": [Retryable()], "call now": [Retryable()]})
    sender = sender_on(database, channel, clock)
    mailbox.put("first")
    mailbox.put("second")
    mailbox.put("call now", kind=Kind.SAFETY)
    mailbox.put("have you called?", kind=Kind.SAFETY)

    await sender.drain(clock.now())

    assert channel.said_to("1") == ["have you called?"]
    await sender.drain(clock.now() + timedelta(minutes=1))
    assert channel.said_to("1") == ["have you called?", "call now", "first", "second"]


async def test_a_message_that_is_our_fault_is_given_up_and_does_not_hold_the_next(
    database: Database, clock: ManualClock, mailbox: Mailbox
) -> None:
    channel = TroubledChannel({"broken": [Rejected("bad request")]})
    mailbox.put("broken")
    mailbox.put("fine")

    await sender_on(database, channel, clock).drain(clock.now())

    assert mailbox.statuses() == ["refused", "sent"]
    assert mailbox.kept()[0].last_error == "Rejected: bad request"


async def test_a_message_that_crashes_the_channel_is_given_up_after_three_tries(
    database: Database, clock: ManualClock, mailbox: Mailbox, caplog: pytest.LogCaptureFixture
) -> None:
    channel = TroubledChannel({"my chest hurts": [TypeError("my chest hurts")] * 3})
    sender = sender_on(database, channel, clock)
    mailbox.put("my chest hurts")
    mailbox.put("fine", to="2")

    for minutes in range(3):
        await sender.drain(clock.now() + timedelta(minutes=minutes))

    assert mailbox.statuses() == ["refused", "sent"]
    assert channel.tries.count("my chest hurts") == 3
    assert "chest" not in caplog.text
    assert "chest" not in mailbox.kept()[0].last_error


async def test_a_moved_chat_gets_its_messages_at_the_new_address(
    database: Database, clock: ManualClock, mailbox: Mailbox
) -> None:
    channel = TroubledChannel({"hello": [Moved("-100200")]})
    mailbox.put("hello")
    mailbox.put("again")

    await sender_on(database, channel, clock).drain(clock.now())

    assert channel.said_to("-100200") == ["hello", "again"]


async def test_a_closed_chat_is_marked_and_somebody_is_told_whom_it_spoke_for(
    database: Database, clock: ManualClock, mailbox: Mailbox
) -> None:
    at = Address("record", "1")

    def joined(unit: UnitOfWork) -> PersonId:
        person_id = people.add_person(unit, Role.COACH, "Ruth", clock.now())
        people.bind(unit, person_id, at, clock.now())
        unit.commit()
        return person_id

    coach = database.run_now(joined)
    told: list[tuple[Address, list[PersonId]]] = []

    async def on_unreachable(closed: Address, persons: Sequence[PersonId]) -> None:
        told.append((closed, list(persons)))

    channel = TroubledChannel({"alert": [Unreachable()], "digest": [Unreachable()]})
    sender = Sender(
        database, {"record": channel}, clock, on_unreachable=on_unreachable, jitter=lambda: 1.0
    )
    mailbox.put("alert", kind=Kind.ALERT)
    mailbox.put("digest", kind=Kind.DIGEST)
    mailbox.put("second digest", kind=Kind.DIGEST)

    await sender.drain(clock.now())

    assert told == [(at, [coach])]
    assert mailbox.statuses() == ["refused", "refused", "refused"]
    assert database.run_now(lambda unit: people.addresses_of(unit, coach)) == []
    assert "second digest" not in channel.tries


async def test_a_fault_in_taking_back_still_leaves_the_messages_refused(
    database: Database,
    clock: ManualClock,
    mailbox: Mailbox,
    caplog: pytest.LogCaptureFixture,
) -> None:
    def take_back(_unit: UnitOfWork, _closed: ClosedChat, _now: datetime) -> None:
        raise KeyError("Mary")

    channel = TroubledChannel({"hello": [Unreachable()]})
    sender = Sender(database, {"record": channel}, clock, jitter=lambda: 1.0, take_back=take_back)
    mailbox.put("hello")

    await sender.drain(clock.now())

    assert mailbox.statuses() == ["refused"]
    assert "were not taken back" in caplog.text
    assert "Mary" not in caplog.text


async def test_a_channel_that_cannot_work_stops_the_sender_and_keeps_the_message(
    database: Database, clock: ManualClock, mailbox: Mailbox
) -> None:
    channel = TroubledChannel({"hello": [ChannelDown("token")]})
    mailbox.put("hello")

    with pytest.raises(ChannelDown):
        await sender_on(database, channel, clock).drain(clock.now())

    assert mailbox.statuses() == ["waiting"]
