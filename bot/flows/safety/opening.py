"""What a safety conversation is begun with, and what it keeps while it goes on: one value.

The store keeps it as JSON in the conversation's answers; fields at their defaults are left out, and
what an older version kept beside them is passed over.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from pydantic import TypeAdapter

from bot.flows.machine import Begin, State
from bot.flows.reasons import Reason
from core.told_number import NumberKind, OffScale
from core.vocabulary import PersonId, Sign, TextLevel

SAFETY = "safety"
"""Name of the conversation about a warning sign."""


class Heard(StrEnum):
    """What became of a question: why the advice is given."""

    ANSWER = ""  # it was answered, or nothing was asked
    SILENCE = "silence"  # nothing came back in time
    UNCLEAR = "unclear"  # words came back, and none that were understood


class Late(StrEnum):
    """What is said although the conversation that asked has ended, or is out of sight."""

    NOTHING = ""
    NOW = "now"  # it is happening now
    CANNOT = "cannot"  # the client cannot call for help
    MORE = "more"  # more words to the open alert


@dataclass(frozen=True, slots=True)
class NumberHeard:
    """A number of the body that the advice repeats.

    Attributes:
        values: as told.
        off_scale: what the meter showed instead.
    """

    kind: NumberKind
    values: tuple[float, ...] = ()
    off_scale: OffScale | None = None


@dataclass(frozen=True, slots=True)
class SafetyOpening:
    """What is known of a warning sign when its conversation begins.

    Attributes:
        level: what to do at once: the alert's level, or a question first.
        signs: what was found, as told.
        if_unanswered: what silence, or a yes, makes of the question.
        words: the person's own words, a line for each message.
        about: the words that the question quotes; ``words`` where it is "".
        for_other: the danger is somebody beside the client.
        perhaps_client: whoever writes on this phone, that somebody may be its owner.
        others: clients who use this phone too, where nobody knows who of them wrote it.
        asks_unit: a blood sugar whose unit decides.
        numbers: those of now that were told beside the signs.
        unread: a voice note or a picture that nobody here can read.
        which: the check-in's button for signs was tapped: which one is asked after the advice.
        why: what else the coach must know.
        until: when silence counts as yes.
        heard: what became of the question.
        earlier: it was answered with "earlier".
        tries: how many answers to the question were not understood.
        late: what was said after its conversation had ended.
        tongue: the language (BCP 47) that was written in, "" for English.
    """

    level: TextLevel = TextLevel.NONE
    signs: tuple[Sign, ...] = ()
    if_unanswered: TextLevel = TextLevel.URGENT
    words: str = ""
    about: str = ""
    for_other: bool = False
    perhaps_client: bool = False
    others: tuple[PersonId, ...] = ()
    asks_unit: bool = False
    numbers: tuple[NumberHeard, ...] = ()
    unread: bool = False
    which: bool = False
    why: Reason | None = None
    until: datetime | None = None
    heard: Heard = Heard.ANSWER
    earlier: bool = False
    tries: int = 0
    late: Late = Late.NOTHING
    tongue: str = ""

    @property
    def quoted(self) -> str:
        """The words that the question is about."""
        return self.about or self.words


_STORED = TypeAdapter(SafetyOpening)


def opened_with(stored: Mapping[str, Any]) -> SafetyOpening:
    """The value that was stored; unknown keys of older versions are passed over.

    Raises:
        pydantic.ValidationError: a sign, level or time in it is none.
    """
    return _STORED.validate_python(dict(stored))


def as_stored(opening: SafetyOpening) -> dict[str, Any]:
    """Plain JSON values; :func:`opened_with` reads them again."""
    stored: dict[str, Any] = _STORED.dump_python(opening, mode="json", exclude_defaults=True)
    return stored


def begin_safety(opening: SafetyOpening) -> Begin:
    """Open the safety conversation: the one way to do it."""
    return Begin(SAFETY, as_stored(opening))


def at_step(step: str, opening: SafetyOpening) -> State:
    """The safety conversation at a step."""
    return State(SAFETY, step, as_stored(opening))
