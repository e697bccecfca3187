"""The channels to people that the settings name: Telegram, and the second route for alerts."""

from collections.abc import Sequence
from dataclasses import dataclass

from bot.channels.telegram.channel import TelegramChannel, Webhook
from bot.clock import Clock, SystemClock
from bot.delivery.channel import Accept
from bot.errors import StoreError
from bot.flows.commands import CLIENT_COMMANDS
from bot.messages import Incoming
from bot.reference.words import Words
from bot.runtime.contents import Contents
from bot.settings import Settings
from bot.storage.database import Database
from bot.storage.pictures import StoredFiles

TELEGRAM = "telegram"
OFFERED_COMMANDS = ("today", "checkin", "unwell", "message", "menu", "help")
"""The commands in the chat's own list, the ones asked for most first."""


@dataclass(slots=True)
class Links:
    """Addresses that open a chat with the bot; known once its name is."""

    username: str = ""

    def to(self, code: str) -> str:
        """The address that brings an invitation's code along, or ""."""
        plain = code.replace("-", "")
        return f"https://t.me/{self.username}?start={plain}" if self.username else ""


async def _take_nothing(batch: Sequence[Incoming]) -> None:
    """A channel that only asks the platform takes no messages."""
    raise StoreError(f"{len(batch)} messages came to a channel that takes none")


def _load_nothing(content_id: str) -> tuple[bytes, str]:
    raise KeyError(content_id)


def telegram_to_ask(settings: Settings) -> TelegramChannel:
    """A channel that is only asked who the bot is; it takes and sends nothing."""
    return TelegramChannel(
        settings.telegram_token,
        settings.telegram_api,
        _take_nothing,
        SystemClock(),
        load=_load_nothing,
        contact_label="-",
        webhook=_webhook(settings),
    )


def _webhook(settings: Settings) -> Webhook | None:
    if not settings.telegram_webhook:
        return None
    return Webhook(settings.telegram_webhook, settings.telegram_secret)


def telegram(
    settings: Settings,
    clock: Clock,
    database: Database,
    words: Words,
    contents: Contents,
    accept: Accept,
) -> TelegramChannel:
    """The Telegram channel as the settings want it; nothing is opened yet."""
    offered = [
        (name, str(words.word("menu_commands", name)))
        for name in OFFERED_COMMANDS
        if name in CLIENT_COMMANDS
    ]
    return TelegramChannel(
        settings.telegram_token,
        settings.telegram_api,
        accept,
        clock,
        load=contents.load,
        contact_label=str(words.word("menu_commands", "share_number")),
        known=StoredFiles(database, TELEGRAM),
        commands=offered,
        webhook=_webhook(settings),
    )
