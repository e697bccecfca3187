"""Telegram's updates as arrivals."""

from datetime import datetime

from telegram import CallbackQuery, Message, Update
from telegram.constants import ChatType

from bot.messages import Incoming, IncomingKind

CHANNEL = "telegram"

WANTED = [Update.MESSAGE, Update.EDITED_MESSAGE, Update.CALLBACK_QUERY]
"""The kinds of update that we ask for."""


def incoming_of(update: Update, now: datetime) -> Incoming | None:
    """What a person did; ``None`` for groups and for what nobody said (a pinned message, ...).

    Health is a private matter: what is said in a group is not read and not kept.
    """
    if update.callback_query is not None:
        return _tap(update, update.callback_query, now)
    message = update.message or update.edited_message
    if message is None or message.chat.type != ChatType.PRIVATE:
        return None
    said = _said(message)
    if said is None:
        return None
    kind, text = said
    return Incoming(
        channel=CHANNEL,
        address=str(message.chat.id),
        update_id=str(update.update_id),
        kind=kind,
        text=text,
        tap="",
        message_id=str(message.message_id),
        received_at=now,
    )


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
        tap=query.data,
        message_id=str(shown.message_id),
        received_at=now,
    )


def _said(message: Message) -> tuple[IncomingKind, str] | None:
    words = message.text or message.caption
    if words:
        return IncomingKind.TEXT, words
    if message.contact is not None:
        return IncomingKind.CONTACT, message.contact.phone_number
    if message.sticker is not None and message.sticker.emoji:
        return IncomingKind.TEXT, message.sticker.emoji
    if message.effective_attachment is not None or message.story is not None:
        return IncomingKind.UNREADABLE, ""
    return None
