"""People on the Bot API double who wait for each reply and then do the next thing."""

import asyncio
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from tests.doubles.bot_api import BotApi
from tests.doubles.bot_api_chats import Shown
from tests.doubles.http_server import HttpRequest

MESSAGES = {
    "sendMessage",
    "sendPhoto",
    "sendAnimation",
    "sendDocument",
    "editMessageText",
    "editMessageMedia",
}
"""What people see; taking old buttons away and answering a button are extras."""

PATIENCE = 60.0
"""Seconds; a reply that takes longer is a fault of the bot or of this script."""


@dataclass
class Reply:
    """What a person waits for: ``messages`` of them. ``first_after``: seconds to the first."""

    messages: int
    asked_at: float
    first_after: float = 0.0
    complete: asyncio.Event = field(default_factory=asyncio.Event)

    def came(self, at: float) -> None:
        """A message has arrived."""
        self.first_after = self.first_after or at - self.asked_at
        self.messages -= 1
        if self.messages <= 0:
            self.complete.set()


class WatchedApi(BotApi):
    """The double, which also tells who waits that a message has come, and counts."""

    def __init__(self) -> None:
        super().__init__()
        self.waiting: dict[int, Reply] = {}
        self.requests = 0
        self.messages = 0

    def ask(self, chat_id: int, act: Callable[[], int], messages: int) -> Reply:
        """A person does something and waits."""
        reply = self.waiting[chat_id] = Reply(messages, time.perf_counter())
        act()
        return reply

    def _record(self, method: str, request: HttpRequest, *, ok: bool) -> None:
        # The list of all calls would only grow.
        self.requests += method != "getUpdates"
        if not ok:
            self.complaints.append(f"{method} was refused")
        if method in MESSAGES and ok:
            self.messages += 1
            reply = self.waiting.get(int(request.parameters["chat_id"]))
            if reply is not None:
                reply.came(time.perf_counter())


@dataclass(frozen=True)
class Step:
    """One thing to do. ``tap``: the end of a button's value; else ``say``."""

    say: str = ""
    tap: str = ""
    messages: int = 1


JOINED = (
    Step(say="check in"),
    Step(tap=".trouble=nothing"),
    *(4 * (Step(tap="=4"),)),
    Step(tap="=4", messages=2),
    Step(tap=".nothing", messages=2),
)
"""A whole check-in and the month's question: the first things that each client does."""

ROUND = (
    Step(tap=".change"),
    Step(tap=".pick=sleep"),
    Step(say="it has been raining here since Sunday", messages=2),
    Step(tap="=4"),
    Step(tap=".change"),
    Step(tap=".pick=leave"),
    Step(tap="open.today.today"),
    *(2 * (Step(tap=".see=0"), Step(tap=".list"))),
    Step(say="my neighbour has painted his fence green"),
)
"""Five taps of a check-in, of which an answer is changed, five of today's buttons, and words that
mean nothing to any flow: the reader reads them, the client is told, and an open question is asked
again."""

ECHOED = (Step(say="it has been raining here since Sunday"),)
ECHOED_MIX = (
    Step(say="it has been raining here since Sunday"),
    *(5 * (Step(tap="any"),)),
)
"""Two texts to ten taps, as in a round."""


class Client:
    """One person in one chat, who goes through steps again and again."""

    def __init__(self, api: WatchedApi, chat_id: int, steps: Sequence[Step]) -> None:
        self.api = api
        self.chat_id = chat_id
        self.steps = steps
        self._at = 0

    async def next(self) -> float:
        """Do the next step; seconds to the first message of the reply, after all have come."""
        step = self.steps[self._at % len(self.steps)]
        self._at += 1
        return await self.does(step)

    async def does(self, step: Step) -> float:
        """Do a step and wait for the whole reply."""
        api, chat_id = self.api, self.chat_id
        if step.say:
            reply = api.ask(chat_id, lambda: api.say(chat_id, step.say), step.messages)
        else:
            shown, value = self._button(step.tap)
            reply = api.ask(chat_id, lambda: self._tap(shown, value), step.messages)
        try:
            async with asyncio.timeout(PATIENCE):
                await reply.complete.wait()
        except TimeoutError:
            said = list(api.chat(chat_id).said.values())[-2:]
            raise AssertionError(f"no whole reply to {step}: {said}") from None
        return reply.first_after

    def _tap(self, shown: Shown, value: str) -> int:
        update_id = self.api.chats.tap_value(self.chat_id, shown.message_id, value)
        self.api.woken()
        return update_id

    def _button(self, ending: str) -> tuple[Shown, str]:
        """The newest button whose value ends so; any value at all for an echo bot."""
        said = self.api.chat(self.chat_id).said
        if ending == "any":
            return said[next(reversed(said))], f"any {self._at}"
        for shown in reversed(said.values()):
            for _, value in shown.buttons:
                if value.endswith(ending):
                    return shown, value
        raise AssertionError(f"no button {ending!r}: {list(said.values())[-2:]}")


async def in_waves(clients: Sequence[Client], steps: int, done: Callable[[int], None]) -> None:
    """All of them do ``steps`` steps. Two halves: while one reads, the bot works for the other.

    A half's updates come all at once, so that the bot has a full batch to fetch and never idles.
    """

    async def half(some: Sequence[Client]) -> None:
        for _ in range(steps):
            await asyncio.gather(*(client.next() for client in some))
            done(len(some))

    middle = len(clients) // 2
    await asyncio.gather(half(clients[:middle]), half(clients[middle:]))


async def paced(
    clients: Sequence[Client], per_second: float, seconds: float, done: Callable[[int], None]
) -> list[float]:
    """One client after another does the next step, at a steady pace; seconds to each reply.

    When everybody still waits for a reply, the pace is kept in the figures: the time that the next
    act comes late counts as delay.
    """
    free: asyncio.Queue[Client] = asyncio.Queue()
    for client in clients:
        free.put_nowait(client)

    async def act(client: Client, late: float) -> float:
        delay = await client.next()
        free.put_nowait(client)
        return late + delay

    works: list[asyncio.Task[float]] = []
    start = time.perf_counter()
    for number in range(int(per_second * seconds)):
        due = start + number / per_second
        await asyncio.sleep(max(0.0, due - time.perf_counter()))
        client = await free.get()
        late = max(0.0, time.perf_counter() - due)
        works.append(asyncio.create_task(act(client, late)))
        done(1)
    return await asyncio.gather(*works)
