"""Telegram's updates as arrivals."""

import logging
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from telegram import Bot, CallbackQuery, Contact, Message, Update
from telegram.constants import ChatType

from bot.channels.telegram.batches import id_of
from bot.channels.telegram.other_kinds import said_otherwise, words_in
from bot.messages import PLACE_MARK, Incoming, IncomingKind, storable

CHANNEL = "telegram"

WANTED = [Update.MESSAGE, Update.EDITED_MESSAGE, Update.CALLBACK_QUERY]
"""The kinds of update that we ask for."""


logger = logging.getLogger(__name__)


def incoming_of(raw: Mapping[str, Any], bot: Bot, now: datetime) -> Incoming | None:
    """What a person did; ``None`` for groups and for what nobody said (a pinned message, ...).

    Health is a private matter: what is said in a group is not read and not kept. What cannot be
    read at all is set aside: its id stands in the log.
    """
    update_id = id_of(raw)
    if update_id is None:
        logger.error("an update without an id is set aside")
        return None
    try:
        incoming = _read(Update.de_json(dict(raw), bot), raw, now)
    except Exception as error:  # noqa: BLE001 - whatever the library cannot read, the words count
        logger.error("update %d cannot be read: %s", update_id, type(error).__name__)
        incoming = _unread(raw, update_id, now)
        if incoming is None:
            logger.error("update %d is set aside", update_id)
    else:
        if incoming is None:
            logger.info("update %d is not for us", update_id)
    return incoming


def _read(update: Update, raw: Mapping[str, Any], now: datetime) -> Incoming | None:
    if update.callback_query is not None:
        return _tap(update, update.callback_query, now)
    message = update.message or update.edited_message
    if message is None or message.chat.type != ChatType.PRIVATE:
        return None
    said = _said(message) or said_otherwise(_message_in(raw) or {})
    if said is None:
        return None
    if update.message is None and said[0] is IncomingKind.TEXT:
        said = (IncomingKind.EDITED, said[1])
    return _incoming(update.update_id, message.chat.id, message.message_id, said, now)


def query_of(raw: Mapping[str, Any]) -> str:
    """The id by which a tapped button is answered, or ""."""
    query = raw.get("callback_query")
    return str(query.get("id", "")) if isinstance(query, Mapping) else ""


def _message_in(raw: Mapping[str, Any]) -> Mapping[str, Any] | None:
    message = raw.get("message") or raw.get("edited_message")
    return message if isinstance(message, Mapping) else None


def _unread(raw: Mapping[str, Any], update_id: int, now: datetime) -> Incoming | None:
    """The words of an update that the library cannot read."""
    message = _message_in(raw)
    chat = message.get("chat") if message is not None else None
    if message is None or not isinstance(chat, Mapping):
        return None
    if chat.get("type") != ChatType.PRIVATE or not _is_id(chat.get("id")):
        return None
    words = message.get("text") or message.get("caption") or words_in(message.get("poll"))
    told = isinstance(words, str) and words
    said = (IncomingKind.TEXT, words) if told else (IncomingKind.UNREADABLE, "")
    if told and not isinstance(raw.get("message"), Mapping):
        said = (IncomingKind.EDITED, words)
    return _incoming(update_id, chat["id"], message.get("message_id"), said, now)


def _incoming(
    update_id: int,
    chat_id: object,
    message_id: object,
    said: tuple[IncomingKind, str],
    now: datetime,
) -> Incoming:
    """An arrival of a message.

    Raises:
        ValueError: its chat or its words are none.
    """
    kind, text = said
    if not _is_id(chat_id) or not isinstance(text, str):
        raise ValueError("no message")
    return Incoming(
        channel=CHANNEL,
        address=str(chat_id),
        update_id=str(update_id),
        kind=kind,
        text=storable(text),
        tap="",
        message_id=str(message_id) if _is_id(message_id) else "",
        received_at=now,
    )


def _is_id(value: object) -> bool:
    """Whether this may be a chat's or a message's id: 52 bits and a sign (Bot API, "Chat")."""
    return isinstance(value, int) and not isinstance(value, bool) and abs(value) < 2**53


def _tap(update: Update, query: CallbackQuery, now: datetime) -> Incoming | None:
    """A tapped button; one of somebody else than the chat's own person counts for nothing."""
    shown = query.message
    if shown is None or shown.chat.type != ChatType.PRIVATE or not isinstance(query.data, str):
        return None
    if not _is_id(shown.chat.id) or query.from_user.id != shown.chat.id:
        return None
    return Incoming(
        channel=CHANNEL,
        address=str(shown.chat.id),
        update_id=str(update.update_id),
        kind=IncomingKind.TAP,
        text="",
        tap=storable(query.data),
        message_id=str(shown.message_id) if _is_id(shown.message_id) else "",
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
    place = _place_of(message)
    if place:
        return IncomingKind.TEXT, place
    if message.poll is not None:
        # Words that somebody wrote, as on a list of things to do.
        return None
    if message.effective_attachment is not None or message.story is not None:
        return IncomingKind.UNREADABLE, ""
    return None


def _place_of(message: Message) -> str:
    """A place that was shared, as words: in an emergency it says where help is to go."""
    at = message.venue.location if message.venue is not None else message.location
    if at is None:
        return ""
    named = f"{message.venue.title}, {message.venue.address}: " if message.venue else ""
    return f"{PLACE_MARK} {named}{at.latitude:.5f}, {at.longitude:.5f}"


def _number_of(message: Message, contact: Contact) -> str:
    """Telegram gives a person's own number with its country's code, but often without the plus."""
    number, sender = contact.phone_number, message.from_user
    own = sender is not None and contact.user_id == sender.id
    return f"+{number}" if own and not number.startswith("+") else number
