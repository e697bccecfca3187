"""Somebody whose words are erased, as far as that must be done outside of the transaction."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Erased:
    """What is known of the files that may hold words of theirs.

    Attributes:
        person_id: a client's id.
        chats: channel and address of all they ever wrote from.
        pictures: content ids that were shown to them, or of them to others.
    """

    person_id: int
    chats: tuple[tuple[str, str], ...]
    pictures: frozenset[str] = frozenset()
