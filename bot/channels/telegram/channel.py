"""The Telegram channel: the library's Bot, Update and request types over a loop of our own.

The library's own runners confirm an update when it is queued, so a crash in between loses it. Here
an update is confirmed (by the next offset, or by answering 200) only after its commit.
"""

import asyncio
import contextlib
import logging
from collections.abc import Sequence
from dataclasses import dataclass

from starlette.routing import Route
from telegram import BotCommand
from telegram.error import TelegramError

from bot.channels.telegram.errors import translate
from bot.channels.telegram.files import Files, KnownFiles, Load, NoKnownFiles
from bot.channels.telegram.polling import Backoff, PollingBot, RawUpdate, pause_or_stop, poll
from bot.channels.telegram.request import Request
from bot.channels.telegram.sending import Writing
from bot.channels.telegram.updates import CHANNEL, WANTED, incoming_of, query_of
from bot.channels.telegram.webhook import PATH, webhook_route
from bot.clock import Clock
from bot.delivery.channel import Accept
from bot.errors import Rejected
from bot.messages import Outgoing

CONNECTIONS = 16
"""For eight sends in hand and as many answers to buttons."""

ANSWERS_AT_ONCE = 4
MOST_ANSWERS = 400
"""Answers to buttons that wait; further ones are left out, which people hardly notice."""

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Webhook:
    """Where the platform is to bring updates.

    Attributes:
        address: public https address of our web server, without a path.
        secret: what it must send with each call (letters, digits, "_" and "-").
    """

    address: str
    secret: str

    @property
    def url(self) -> str:
        """The whole address."""
        return self.address.rstrip("/") + PATH


@dataclass(frozen=True, slots=True)
class BotName:
    """Who the bot is: its name for links, and as people see it."""

    username: str
    name: str


class TelegramChannel:
    """A channel to Telegram chats."""

    def __init__(
        self,
        token: str,
        api: str,
        accept: Accept,
        clock: Clock,
        *,
        load: Load,
        contact_label: str,
        known: KnownFiles | None = None,
        commands: Sequence[tuple[str, str]] = (),
        webhook: Webhook | None = None,
    ) -> None:
        """Open nothing yet.

        Args:
            api: address of the Bot API server; "/bot<token>" is added.
            load: makes a picture or document from its content id.
            contact_label: words of the button that shares one's own phone number.
            known: remembers what the platform calls pictures.
            commands: the commands offered in the chat, with what they do.
            webhook: where updates are brought; without it they are fetched.
        """
        keep_quiet()
        self._requests = (
            Request(connections=CONNECTIONS),
            Request(connections=1),
        )
        self._bot = PollingBot(
            token,
            base_url=f"{api.rstrip('/')}/bot",
            base_file_url=f"{api.rstrip('/')}/file/bot",
            request=self._requests[0],
            get_updates_request=self._requests[1],
        )
        self._accept = accept
        self._clock = clock
        self._commands = commands
        self._webhook = webhook
        self._writing = Writing(self._bot, Files(load, known or NoKnownFiles()), contact_label)
        self._answers: set[asyncio.Task[None]] = set()
        self._answering = asyncio.Semaphore(ANSWERS_AT_ONCE)
        self.gives_way = False
        """Whether a conflict means that another service has taken our place: then it is left the
        updates."""

    @property
    def name(self) -> str:
        """What the channel is called in stored rows."""
        return CHANNEL

    async def send(self, address: str, outgoing: Outgoing) -> str:
        """Hand a new message over; gives the platform's id of it."""
        return await self._writing.send(_number(address), outgoing)

    async def edit(self, address: str, platform_id: str, outgoing: Outgoing) -> str:
        """Change a message in place; gives the platform's id of it."""
        return await self._writing.edit(_number(address), _number(platform_id), outgoing)

    async def who(self) -> BotName:
        """Who the bot is. Raises ``DeliveryError`` (``ChannelDown``: the token is refused)."""
        try:
            me = await self._bot.get_me()
        except TelegramError as error:
            raise translate(error) from None
        return BotName(username=me.username or "", name=me.first_name)

    async def webhook_in_the_way(self) -> str:
        """The address of a webhook that is not ours, or "". Raises ``DeliveryError``."""
        try:
            info = await self._bot.get_webhook_info()
        except TelegramError as error:
            raise translate(error) from None
        ours = "" if self._webhook is None else self._webhook.url
        return info.url if info.url != ours else ""

    def route(self) -> Route | None:
        """The webhook's route for the web server, when there is one."""
        if self._webhook is None:
            return None
        return webhook_route(self._receive_one, self._webhook.secret)

    async def run(self, stop: asyncio.Event) -> None:
        """Take updates until ``stop`` is set.

        Raises:
            ChannelDown: the token is refused, or another process reads this bot's messages.
        """
        await self._prepare(stop)
        if self._webhook is None:
            await poll(self._bot, self._receive, stop, lambda: self.gives_way)
        else:
            await stop.wait()

    async def close(self) -> None:
        """Let go of all connections; nothing can be sent afterwards."""
        for task in self._answers:
            task.cancel()
        await asyncio.gather(*self._answers, return_exceptions=True)
        for request in self._requests:
            await request.shutdown()

    async def _prepare(self, stop: asyncio.Event) -> None:
        """Tell the platform how we take updates, and which commands there are."""
        backoff = Backoff()
        while not stop.is_set():
            try:
                await self._choose_polling_or_webhook()
                await self._bot.set_my_commands([BotCommand(*one) for one in self._commands])
            except TelegramError as error:
                logger.warning("Telegram cannot be prepared: %s", type(error).__name__)
                await pause_or_stop(backoff.after(error), stop)
            else:
                return

    async def _choose_polling_or_webhook(self) -> None:
        if self._webhook is None:
            # A webhook left over would keep every update from us. Nothing that waits is lost.
            await self._bot.delete_webhook(drop_pending_updates=False)
            return
        await self._bot.set_webhook(
            self._webhook.url,
            secret_token=self._webhook.secret,
            allowed_updates=WANTED,
            # One at a time keeps what a person does in order.
            max_connections=1,
        )

    async def _receive_one(self, raw: RawUpdate) -> None:
        """One update that the platform brought."""
        await self._receive([raw])

    async def _receive(self, updates: Sequence[RawUpdate]) -> None:
        """Put a batch on the disk, then stop the buttons' spinning."""
        now = self._clock.now()
        found = [incoming_of(raw, self._bot, now) for raw in updates]
        batch = [incoming for incoming in found if incoming is not None]
        if batch:
            await self._accept(batch)
        for raw in updates:
            query_id = query_of(raw)
            if query_id:
                self._answer(query_id)

    def _answer(self, query_id: str) -> None:
        """Stop a button's spinning, at once and without waiting; best effort."""
        if len(self._answers) >= MOST_ANSWERS:
            return
        task = asyncio.create_task(self._answer_quietly(query_id))
        self._answers.add(task)
        task.add_done_callback(self._answers.discard)

    async def _answer_quietly(self, query_id: str) -> None:
        # That a query is too old is normal after a restart.
        async with self._answering:
            with contextlib.suppress(TelegramError):
                await self._bot.answer_callback_query(query_id)


def keep_quiet() -> None:
    """The libraries log addresses, which hold the token, and what people say; let them not."""
    for name in ("httpx", "httpcore"):
        logging.getLogger(name).setLevel(logging.WARNING)
    # This one logs answers and updates that it cannot read word for word, up to the highest level.
    logging.getLogger("telegram").setLevel(logging.CRITICAL + 1)


def _number(text: str) -> int:
    """A chat or message id. One that is no number was never Telegram's."""
    try:
        return int(text)
    except ValueError:
        raise Rejected("not an id of Telegram") from None
