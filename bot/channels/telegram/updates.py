"""Telegram's updates as arrivals."""

import logging
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from telegram import Bot, CallbackQuery, Contact, Message, Update
from telegram.constants import ChatType

from bot.messages import Incoming, IncomingKind

CHANNEL = "telegram"

WANTED = [Update.MESSAGE, Update.EDITED_MESSAGE, Update.CALLBACK_QUERY]
"""The kinds of update that we ask for."""


logger = logging.getLogger(__name__)


def incoming_of(raw: Mapping[str, Any], bot: Bot, now: datetime) -> Incoming | None:
    """What a person did; ``None`` for groups and for what nobody said (a pinned message, ...).

    Health is a private matter: what is said in a group is not read and not kept.
    """
    try:
        update = Update.de_json(dict(raw), bot)
    except Exception as error:  # noqa: BLE001 - whatever the library cannot read, the words count
        logger.error("update %s cannot be read: %s", raw.get("update_id"), type(error).__name__)
        return _unread(raw, now)
    if update.callback_query is not None:
        return _tap(update, update.callback_query, now)
    message = update.message or update.edited_message
    if message is None or message.chat.type != ChatType.PRIVATE:
        return None
    said = _said(message)
    return None if said is None else _incoming(raw, message.chat.id, *said, now)


def query_of(raw: Mapping[str, Any]) -> str:
    """The id by which a tapped button is answered, or ""."""
    query = raw.get("callback_query")
    return str(query.get("id", "")) if isinstance(query, Mapping) else ""


def _unread(raw: Mapping[str, Any], now: datetime) -> Incoming | None:
    """The words of an update that the library cannot read."""
    message = raw.get("message") or raw.get("edited_message")
    chat = message.get("chat") if isinstance(message, Mapping) else None
    if not isinstance(message, Mapping) or not isinstance(chat, Mapping):
        return None
    if chat.get("type") != ChatType.PRIVATE or "id" not in chat:
        return None
    words = message.get("text") or message.get("caption") or ""
    kind = IncomingKind.TEXT if words else IncomingKind.UNREADABLE
    return _incoming(raw, chat["id"], kind, str(words), now)


def _incoming(
    raw: Mapping[str, Any], chat_id: object, kind: IncomingKind, text: str, now: datetime
) -> Incoming:
    message = raw.get("message") or raw.get("edited_message") or {}
    return Incoming(
        channel=CHANNEL,
        address=str(chat_id),
        update_id=str(raw["update_id"]),
        kind=kind,
        text=storable(text),
        tap="",
        message_id=str(message.get("message_id", "")),
        received_at=now,
    )


def storable(text: str) -> str:
    """``text`` without what no database takes: half characters and NUL."""
    return text.encode("utf-8", "replace").decode().replace("\x00", "")


def _tap(update: Update, query: CallbackQuery, now: datetime) -> Incoming | None:
    shown = query.message
    if shown is None or shown.chat.type != ChatType.PRIVATE or not isinstance(query.data, str):
        return None
    return Incoming(
        channel=CHANNEL,
        address=str(shown.chat.id),
        update_id=str(update.update_id),
        kind=IncomingKind.TAP,
        text="",
        tap=storable(query.data),
        message_id=str(shown.message_id),
        received_at=now,
    )


def _said(message: Message) -> tuple[IncomingKind, str] | None:
    words = message.text or message.caption
    if words:
        return IncomingKind.TEXT, words
    if message.contact is not None:
        return IncomingKind.CONTACT, _number_of(message, message.contact)
    if message.sticker is not None and message.sticker.emoji:
        return IncomingKind.TEXT, message.sticker.emoji
    if message.effective_attachment is not None or message.story is not None:
        return IncomingKind.UNREADABLE, ""
    return None


def _number_of(message: Message, contact: Contact) -> str:
    """Telegram gives a person's own number with its country's code, but often without the plus."""
    number, sender = contact.phone_number, message.from_user
    own = sender is not None and contact.user_id == sender.id
    return f"+{number}" if own and not number.startswith("+") else number
