"""Somebody whose words are erased, as far as that must be done outside of the transaction."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Erased:
    """What is known of the files that may hold words of theirs.

    Attributes:
        person_id: a client's id.
        chats: channel and address of all they ever wrote from.
        pictures: content ids that were shown to them, or of them to others.
        own_chats: chats of theirs alone; known while the erasure itself runs.
        asked_at: when they asked for it; as ``own_chats``.
    """

    person_id: int
    chats: tuple[tuple[str, str], ...]
    pictures: frozenset[str] = frozenset()
    own_chats: tuple[tuple[str, str], ...] = ()
    asked_at: datetime | None = None
