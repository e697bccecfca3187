"""The sender at work: it wakes, keeps what is urgent moving, and finishes what is in hand."""

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import datetime, timedelta

import pytest

from bot.clock import Clock, ManualClock, SystemClock
from bot.delivery.pacing import PacingLimits
from bot.delivery.sender import Sender
from bot.errors import ChannelDown, Retryable
from bot.messages import Kind
from bot.storage.database import Database
from tests.bot.delivery.mailbox import Mailbox
from tests.bot.delivery.troubled import TroubledChannel


class PutBack(SystemClock):
    """The machine's clock, which somebody puts back."""

    by = timedelta(0)

    def now(self) -> datetime:
        return super().now() - self.by


@asynccontextmanager
async def at_work(
    database: Database, channel: TroubledChannel, clock: Clock | None = None
) -> AsyncIterator[Sender]:
    sender = Sender(database, {channel.name: channel}, clock or SystemClock(), PacingLimits())
    stop = asyncio.Event()
    task = asyncio.create_task(sender.run(stop))
    try:
        yield sender
    finally:
        stop.set()
        await task


async def until(true: Callable[[], bool]) -> None:
    async with asyncio.timeout(120):
        while not true():  # noqa: ASYNC110 - the channel of this test rings no bell
            await asyncio.sleep(0.01)


@pytest.fixture
def outbox(database: Database) -> Mailbox:
    return Mailbox(database, SystemClock())


async def test_a_message_goes_out_when_the_sender_is_woken(
    database: Database, outbox: Mailbox
) -> None:
    channel = TroubledChannel()
    async with at_work(database, channel) as sender:
        await asyncio.sleep(0.05)
        outbox.put("hello")
        sender.wake()
        await until(lambda: channel.said_to("1") == ["hello"])
        await until(lambda: outbox.statuses() == ["sent"])


async def test_a_safety_reply_passes_a_chat_that_rests_and_sends_that_hang(
    database: Database, outbox: Mailbox
) -> None:
    gate = asyncio.Event()
    hanging = tuple(f"prompt {number}" for number in range(20))
    channel = TroubledChannel(held=hanging, gate=gate)
    for number, text in enumerate(hanging):
        outbox.put(text, to=str(number), kind=Kind.PROMPT)
    async with at_work(database, channel) as sender:
        await until(lambda: len(channel.tries) >= 6)
        outbox.put("call now", to="0", kind=Kind.SAFETY)
        sender.wake()
        await until(lambda: channel.said_to("0") == ["call now"])
        assert len(channel.tries) == 7
        gate.set()
        await until(lambda: set(outbox.statuses()) == {"sent"})


async def test_a_clock_put_back_mutes_nobody(database: Database) -> None:
    clock = PutBack()
    outbox = Mailbox(database, clock)
    channel = TroubledChannel({"second": [Retryable("once")]})
    async with at_work(database, channel, clock) as sender:
        outbox.put("first", to="1")
        outbox.put("second", to="2")
        sender.wake()
        await until(lambda: len(channel.tries) == 2)
        # Chat 1 has had its message of this second, and chat 2's is to be tried again.
        clock.by = timedelta(hours=1)
        outbox.put("third", to="1")
        for number in range(40):
            outbox.put(f"prompt {number}", to=f"other {number}", kind=Kind.PROMPT)
        sender.wake()
        await until(lambda: channel.said_to("1") == ["first", "third"])
        await until(lambda: set(outbox.statuses()) == {"sent"})

    assert channel.said_to("2") == ["second"]


async def test_what_is_in_hand_at_the_stop_is_finished_and_written_down(
    database: Database, outbox: Mailbox
) -> None:
    gate = asyncio.Event()
    channel = TroubledChannel(held=("slow",), gate=gate)
    outbox.put("slow")
    async with at_work(database, channel):
        await until(lambda: channel.tries == ["slow"])
        asyncio.get_running_loop().call_later(0.1, gate.set)

    assert outbox.statuses() == ["sent"]


async def test_a_channel_that_cannot_work_ends_the_run(
    database: Database, outbox: Mailbox, clock: ManualClock
) -> None:
    channel = TroubledChannel({"hello": [ChannelDown("token")]})
    outbox.put("hello")
    sender = Sender(database, {channel.name: channel}, SystemClock())

    with pytest.raises(ChannelDown):
        await sender.run(asyncio.Event())

    assert outbox.statuses() == ["waiting"]


async def test_a_store_that_can_be_read_but_not_written_does_not_hold_back_what_is_urgent(
    database: Database, outbox: Mailbox
) -> None:
    channel = TroubledChannel()
    outbox.put("call now", kind=Kind.SAFETY)
    outbox.put("alert", to="coach", kind=Kind.ALERT)
    with database.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA query_only=ON")
        connection.commit()
    async with at_work(database, channel):
        await until(lambda: len(channel.sent) == 2)
        await asyncio.sleep(0.2)

    assert len(channel.sent) == 2
