"""Telegram's errors in our terms: one table, checked against the library's whole list.

The platform's own words are never passed on whole: they may repeat a token or a person's text.
"""

import re
from collections.abc import Callable
from datetime import timedelta

from telegram.error import (
    BadRequest,
    ChatMigrated,
    Conflict,
    EndPointNotFound,
    Forbidden,
    InvalidToken,
    NetworkError,
    PassportDecryptionError,
    RetryAfter,
    TelegramError,
    TimedOut,
)

from bot.errors import (
    ChannelDown,
    DeliveryError,
    EditGone,
    Moved,
    NothingChanged,
    RateLimited,
    Rejected,
    Retryable,
    Unknown,
    Unreachable,
)

NOTHING_CHANGED = ("message is not modified",)
EDIT_GONE = (
    "message to edit not found",
    "message can't be edited",
    "message_id_invalid",
    "there is no text in the message to edit",
    "there is no caption in the message to edit",
    "there is no media in the message to edit",
)
NO_CHAT = ("chat not found", "peer_id_invalid", "user not found", "chat_write_forbidden")
BAD_FILE = ("wrong file identifier", "wrong remote file identifier", "wrong type of the web page")

BEFORE_SENDING = ("ConnectError", "ConnectTimeout", "PoolTimeout")
"""Faults of the HTTP client after which the request surely did not reach the platform."""


def translate(error: TelegramError) -> DeliveryError:
    """The error of ours that says the same."""
    for kind, ours in TABLE:
        if isinstance(error, kind):
            return ours(error)
    return Unknown(type(error).__name__)


def is_bad_file(error: TelegramError) -> bool:
    """Whether the platform does not know (any more) a file that it was sent by its id."""
    return isinstance(error, BadRequest) and _says(error, BAD_FILE)


def _rate_limited(error: TelegramError) -> DeliveryError:
    # The public attribute warns, and changes its type by an environment variable.
    wait = getattr(error, "_retry_after", timedelta(seconds=1))
    return RateLimited(wait if isinstance(wait, timedelta) else timedelta(seconds=wait))


def _moved(error: TelegramError) -> DeliveryError:
    return Moved(str(getattr(error, "new_chat_id", "")))


def _bad_request(error: TelegramError) -> DeliveryError:
    if _says(error, NOTHING_CHANGED):
        return NothingChanged()
    if _says(error, EDIT_GONE):
        return EditGone()
    if _says(error, NO_CHAT):
        return Unreachable("no such chat")
    # The part before a colon or a quote names the fault; what follows may repeat our text.
    return Rejected(re.split(r"[:\"'<`]", error.message.removeprefix("Bad Request: "))[0][:60])


def _network(error: TelegramError) -> DeliveryError:
    cause = type(error.__cause__).__name__
    return Retryable(cause) if cause in BEFORE_SENDING else Unknown(cause)


TABLE: tuple[tuple[type[TelegramError], Callable[[TelegramError], DeliveryError]], ...] = (
    (RetryAfter, _rate_limited),
    (Forbidden, lambda _: Unreachable("forbidden")),
    (ChatMigrated, _moved),
    # A subclass of NetworkError: it must come first, or a malformed message is tried for ever.
    (BadRequest, _bad_request),
    (TimedOut, _network),
    (NetworkError, _network),
    (InvalidToken, lambda _: ChannelDown("the token is refused")),
    (Conflict, lambda _: ChannelDown("another process reads this bot's messages")),
    (EndPointNotFound, lambda _: Rejected("no such method")),
    (PassportDecryptionError, lambda _: Rejected("passport")),
    # Anything else is an answer that could not be read: it may have arrived.
    (TelegramError, lambda error: Unknown(type(error).__name__)),
)
"""Tried in this order; the first that fits decides."""


def _says(error: TelegramError, phrases: tuple[str, ...]) -> bool:
    said = error.message.lower()
    return any(phrase in said for phrase in phrases)
