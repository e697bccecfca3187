"""Channel-neutral values: what comes in, what goes out.

A channel turns its platform's updates into ``Incoming`` and shows ``Outgoing``; nothing else of a
platform is known beyond ``bot/channels``.
"""

import re
from dataclasses import dataclass
from datetime import datetime
from enum import IntEnum, StrEnum

_TURNS_DIRECTION = re.compile("[\u202a-\u202e\u2066-\u2069]")
"""Embeddings, overrides and isolates (Unicode, UAX #9): words beside them would run backwards."""


class IncomingKind(StrEnum):
    """What a person sent."""

    TEXT = "text"
    EDITED = "edited"  # other words in place of a message that was sent before
    TAP = "tap"
    CONTACT = "contact"
    UNREADABLE = "unreadable"  # voice, photo or film without words


PLACE_MARK = "\N{ROUND PUSHPIN}"
"""What a channel begins the words with that stand for a place somebody shared."""

TYPED = (IncomingKind.TEXT, IncomingKind.EDITED)
"""What holds a person's own words."""


@dataclass(frozen=True, slots=True)
class Incoming:
    """One thing a person did in a chat.

    Attributes:
        channel: the channel's name.
        address: the chat, as the channel knows it.
        update_id: the platform's id; a repeat with the same id is a no-op.
        kind: text, tap, contact or something that cannot be read.
        text: the words (text, caption, edited text), a contact's phone number, or "".
        tap: the button's value, or "".
        message_id: the platform's id of the message whose button was tapped, or "".
        received_at: when the channel took it, aware, UTC.
    """

    channel: str
    address: str
    update_id: str
    kind: IncomingKind
    text: str
    tap: str
    message_id: str
    received_at: datetime


def storable(text: str) -> str:
    """``text`` without what no database takes (half characters, NUL), and without signs that turn
    the direction of what is written beside it, in an alert for example."""
    kept = text.encode("utf-8", "replace").decode().replace("\x00", "")
    return _TURNS_DIRECTION.sub("", kept)


@dataclass(frozen=True, slots=True)
class ReplyButton:
    """A button: what it says and what it sends back (at most 64 bytes).

    ``copies``: instead of sending anything it puts this text into the reader's clipboard.
    """

    label: str
    value: str
    copies: str = ""


class Kind(IntEnum):
    """Why a message goes out; a higher number goes first."""

    DIGEST = 10
    PROMPT = 20
    REPLY = 30
    ALERT = 40
    NEW_ALERT = 45  # before repeats of other alerts, and words added to them
    SAFETY = 50


@dataclass(frozen=True, slots=True)
class Outgoing:
    """One message to a chat, in final words.

    Attributes:
        text: plain text; channels escape and split it.
        choices: rows of buttons.
        picture: content id of a picture to show above the text, or "".
        picture_text: what the picture shows, for those who cannot see it.
        document: content id of a file to hand over, or "".
        asks_contact: the chat may offer to share the person's own phone number.
    """

    text: str
    choices: tuple[tuple[ReplyButton, ...], ...] = ()
    picture: str = ""
    picture_text: str = ""
    document: str = ""
    asks_contact: bool = False
