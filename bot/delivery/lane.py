"""One channel's send loop: claim due messages, send them, record the results."""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.clock import Clock
from bot.delivery.channel import Channel
from bot.delivery.outcome import (
    ClosedChat,
    SendResult,
    TakeBack,
    nothing_taken_back,
    write_down,
)
from bot.delivery.pacing import Pacing, PacingLimits
from bot.delivery.retry import (
    Anew,
    AsSent,
    CloseChat,
    Decision,
    GiveUp,
    GiveUpReason,
    MoveTo,
    RetryAt,
    StopChannel,
    after_error,
)
from bot.errors import (
    ChannelDown,
    DeliveryError,
    Rejected,
    Retryable,
    StoreError,
    where_it_failed,
)
from bot.measures import Counted
from bot.messages import Kind, Outgoing
from bot.storage import outbox
from bot.storage.database import Database
from bot.storage.outbox import Due
from bot.storage.unit import UnitOfWork

MOST_IN_HAND = 8
"""Concurrent sends. More make the HTTP client slower, not faster."""

FOR_URGENT = 2
"""Send slots reserved for safety replies and alerts."""

HANGS_AFTER = timedelta(seconds=1)
"""After this long a send no longer holds back the next alert to the same chat."""

LOOK_AGAIN = timedelta(seconds=1)
"""Longest wait while messages are held back or the store fails."""

LONGEST_SLEEP = timedelta(seconds=15)
"""Longest wait while all that waits is to be tried again later."""

PUT_BACK = timedelta(seconds=2)
"""How far a clock goes back before it counts as put back; less is the usual setting right."""

FINISH_WITHIN = 4.0
"""Time-out in seconds for sends in progress at shutdown; all of a shutdown takes at most 10."""

CRASHES = 3
"""Attempts after which a message on which the channel itself crashes is given up."""

SAID: Mapping[type[Decision], str] = {
    AsSent: "sent",
    RetryAt: "again later",
    StopChannel: "channel down",
    Anew: "sent anew",
    MoveTo: "chat moved",
    GiveUp: "given up",
    CloseChat: "chat closed",
}
"""How a try ended, as a monitor is told."""

OnUnreachable = Callable[[ClosedChat], Awaitable[None]]

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class _InHand:
    due: Due
    since: datetime


class Lane:
    """Sends the messages of one channel, within its limits."""

    def __init__(
        self,
        database: Database,
        channel: Channel,
        clock: Clock,
        limits: PacingLimits,
        *,
        on_unreachable: OnUnreachable,
        jitter: Callable[[], float],
        take_back: TakeBack = nothing_taken_back,
    ) -> None:
        """``jitter`` gives numbers from 0 to 1."""
        self._database = database
        self._channel = channel
        self._clock = clock
        self._pacing = Pacing(limits, clock.steady())
        self._ahead = clock.now() - clock.steady()
        self._on_unreachable = on_unreachable
        self._take_back = take_back
        self._jitter = jitter
        self._woken = asyncio.Event()
        self._claiming = asyncio.Lock()
        self._in_hand: dict[int, _InHand] = {}
        self._ended: list[SendResult] = []
        self._closed: list[ClosedChat] = []
        self._tasks: set[asyncio.Task[None]] = set()
        self._down = False

    def wake(self) -> None:
        """Look for due messages now."""
        self._woken.set()

    async def run(self, stop: asyncio.Event) -> None:
        """Send what is due until ``stop`` is set, then finish what is in hand.

        Raises:
            ChannelDown: the channel cannot work.
        """
        try:
            while not stop.is_set() and not self._down:
                self._woken.clear()
                try:
                    await self._notice_a_clock_put_back()
                    for due in await self._claim(self._clock.now(), paced=True):
                        self._start(due)
                    await self._tell_closed()
                    await self._wait()
                except StoreError as error:
                    logger.error("%s: the store fails: %s", self._channel.name, error)
                    await asyncio.sleep(LOOK_AGAIN.total_seconds())
                except Exception as error:  # noqa: BLE001 - without the sender nobody hears anything
                    logger.error("%s: %s", self._channel.name, where_it_failed(error))
                    await asyncio.sleep(LOOK_AGAIN.total_seconds())
        finally:
            await self._finish()
        if self._down:
            raise ChannelDown(self._channel.name)

    async def drain(self, now: datetime) -> None:
        """Send everything due at ``now``, without pacing, and nothing twice.

        Raises:
            ChannelDown: the channel cannot work.
            StoreError: the store cannot be used.
        """
        while not self._down:
            dues = await self._claim(now, paced=False)
            for due in dues:
                await self._send(due)
            closed = bool(self._closed)
            await self._tell_closed()
            if self._tasks:
                await asyncio.wait(self._tasks)
            # What follows a closed chat may be due in this very moment.
            if not (dues or closed or self._ended):
                return
        raise ChannelDown(self._channel.name)

    async def _notice_a_clock_put_back(self) -> None:
        """What was to go by a clock that has been put back since then may go now."""
        ahead = self._clock.now() - self._clock.steady()
        if ahead < self._ahead - PUT_BACK:
            await self._database.run(outbox.due_at_once, self._channel.name, self._clock.now())
        self._ahead = ahead

    def _start(self, due: Due) -> None:
        task = asyncio.create_task(self._send(due))
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def _claim(self, now: datetime, *, paced: bool) -> list[Due]:
        """Record finished sends, then claim the messages that may go now.

        When the first fails the second is still tried: a store that can be read but not written
        must not hold back a safety reply.
        """
        async with self._claiming:
            ended, self._ended = self._ended, []
            over = {outcome.due.id for outcome in ended}
            in_hand = {id_: one for id_, one in self._in_hand.items() if id_ not in over}
            ask = self._asking(now, in_hand, paced=paced)
            try:
                if ended:
                    unreached, dues = await self._database.run(
                        lambda unit: (write_down(unit, ended, self._take_back), ask(unit))
                    )
                else:
                    unreached, dues = [], await self._database.read(ask)
            except StoreError:
                self._ended = ended + self._ended
                if not ended or not paced:
                    raise
                unreached = []
                dues = await self._database.read(self._asking(now, self._in_hand, paced=paced))
            else:
                self._in_hand = in_hand
            for due in dues:
                self._in_hand[due.id] = _InHand(due, self._clock.steady())
                if paced:
                    self._pacing.spend(due.at.address, self._clock.steady())
        self._closed += unreached
        return dues

    async def _tell_closed(self) -> None:
        """Pass closed chats on; one that could not be passed on stays on the list."""
        while self._closed:
            await self._on_unreachable(self._closed[0])
            del self._closed[0]

    def _asking(
        self, now: datetime, in_hand: Mapping[int, _InHand], *, paced: bool
    ) -> Callable[[UnitOfWork], list[Due]]:
        """The query for what may go now, given the sends in progress and the limits."""
        # What has ended and could not be written down yet must not use up the places.
        over = sum(outcome.due.id in in_hand for outcome in self._ended)
        most = MOST_IN_HAND - len(in_hand) + over
        ordinary = most - FOR_URGENT
        steady = self._clock.steady()
        if paced:
            allowance = self._pacing.allowance(steady)
            most, ordinary = min(most, allowance.all), min(ordinary, allowance.ordinary)
        else:
            ordinary = most
        ids = tuple(in_hand)
        slow = [id_ for id_, one in in_hand.items() if steady - one.since >= HANGS_AFTER]
        writing = {(one.due.at, one.due.kind) for one in in_hand.values()}
        resting = tuple(self._pacing.resting(steady)) if paced else ()
        limited = tuple(self._pacing.limited(steady)) if paced else ()

        def ask(unit: UnitOfWork) -> list[Due]:
            if most < 1:
                return []
            dues = outbox.claim(
                unit,
                now,
                channel=self._channel.name,
                # Rows passed over below must not use up the places of others.
                most=most + len(ids),
                least=Kind.DIGEST if ordinary > 0 else Kind.ALERT,
                in_hand=ids,
                slow=slow,
                resting=resting,
                limited=limited,
            )
            urgent = [due for due in dues if due.kind >= Kind.ALERT]
            # An edit that was replaced while being sent no longer holds its successor back in the
            # store; here it does.
            others = [
                due for due in dues if due.kind < Kind.ALERT and (due.at, due.kind) not in writing
            ]
            return (urgent + others[: max(0, ordinary)])[:most]

        return ask

    async def _send(self, due: Due) -> None:
        """Send one message; its result is recorded with the next claim."""
        outcome = await self._outcome(due)
        decision = outcome.decision
        ended = SAID[type(decision)]
        self._database.measures.count(Counted.SENDS, self._channel.name, ended)
        if isinstance(decision, RetryAt) and decision.chat_rests:
            wait = decision.at - outcome.ended_at
            self._pacing.limit(due.at.address, self._clock.steady() + wait)
        if isinstance(decision, StopChannel):
            self._down = True
        if isinstance(decision, GiveUp):
            logger.error("outbox row %d given up: %s", due.id, outcome.error)
        self._ended.append(outcome)
        self._woken.set()

    async def _outcome(self, due: Due) -> SendResult:
        error: DeliveryError
        if due.outgoing is None:
            # An alert that this was of is told again; all others must not wait for it.
            return SendResult(
                due, GiveUp(GiveUpReason.DAMAGED), self._clock.now(), error="it cannot be opened"
            )
        try:
            platform_id = await self._hand_over(due, due.outgoing)
            return SendResult(due, AsSent(), self._clock.now(), platform_id)
        except DeliveryError as caught:
            error = caught
        except Exception as crash:  # noqa: BLE001 - one broken message must not stop the others
            # Without the trace's last line, which may hold people's words.
            logger.error("outbox row %d crashed the channel: %s", due.id, type(crash).__name__)
            error = (Rejected if due.attempts + 1 >= CRASHES else Retryable)(type(crash).__name__)
        now = self._clock.now()
        decision = after_error(
            error,
            kind=due.kind,
            attempts=due.attempts,
            created_at=due.created_at,
            now=now,
            jitter=self._jitter(),
        )
        return SendResult(due, decision, now, error=f"{type(error).__name__}: {error}"[:200])

    async def _hand_over(self, due: Due, outgoing: Outgoing) -> str:
        if due.edits_platform_id:
            return await self._channel.edit(due.at.address, due.edits_platform_id, outgoing)
        return await self._channel.send(due.at.address, outgoing)

    async def _wait(self) -> None:
        """Wait until there may be something to send."""
        now, steady = self._clock.now(), self._clock.steady()
        waits = [LOOK_AGAIN]
        change = self._pacing.next_change(steady)
        if change is not None:
            waits.append(change - steady)
        if not self._in_hand:
            due_at = await self._database.read(
                lambda unit: outbox.next_due(unit, self._channel.name)
            )
            if due_at is None:
                await self._woken.wait()
                return
            if due_at > now:
                # A clock that is put back meanwhile is noticed before long.
                waits = [min(due_at - now, LONGEST_SLEEP)]
        try:
            async with asyncio.timeout(min(waits).total_seconds()):
                await self._woken.wait()
        except TimeoutError:
            return

    async def _finish(self) -> None:
        """Let sends in progress end, and record them; what does not end in time is sent again."""
        if self._tasks:
            await asyncio.wait(self._tasks, timeout=FINISH_WITHIN)
        for task in self._tasks:
            task.cancel()
        ended, self._ended = self._ended, []
        if not ended:
            return
        try:
            await self._database.run(lambda unit: write_down(unit, ended, self._take_back))
        except StoreError as error:
            logger.error("%s: %d sends not written down: %s", self._channel.name, len(ended), error)
