"""What the reader makes of one text: the level, the signs, the words that decided, and why."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from core.red_flags.scope import Status
from core.told_number import ToldNumber
from core.vocabulary import Sign, TextLevel

LOUDNESS = {
    TextLevel.NONE: 0,
    TextLevel.ASK: 1,
    TextLevel.URGENT: 2,
    TextLevel.EMERGENCY: 3,
}


class TextReasonCode(StrEnum):
    """Why a text has its level."""

    ASSERTED = "asserted"  # said of the writer, now or lately
    OVER_BY_NOW = "over_by_now"  # said of the writer, lately, gone
    OTHER_IN_DANGER = "other_in_danger"  # another person, at this moment
    SUSPICIOUS = "suspicious"  # words that may mean a sign
    PERHAPS_CLEARED = "perhaps_cleared"  # a sign, cleared only doubtfully
    SECOND_OPINION = "second_opinion"  # no sign found; the trained model doubts
    OPINION_SURE = "opinion_sure"  # the trained model leaves hardly a doubt of an emergency
    PERHAPS_WORSE = "perhaps_worse"  # an urgent sign; the trained model fears an emergency
    DOUBTED = "doubted"  # a sign found on weak evidence; the trained model doubts it
    MENTIONED = "mentioned"  # for the coach's list only
    CLEARED = "cleared"  # signs named, none of them the writer's own now
    NOTHING_FOUND = "nothing_found"


@dataclass(frozen=True, slots=True)
class TextReason:
    """A reason as a code with its numbers.

    ``opinion`` is the second opinion's probability that the text holds a sign, 0 to 1, or None
    where none was asked; ``mentions`` counts the places where a sign was named.
    """

    code: TextReasonCode
    mentions: int = 0
    opinion: float | None = None

    def __str__(self) -> str:
        """One line for logs and files: ``asserted mentions=2 opinion=0.98``."""
        opinion = "" if self.opinion is None else f" opinion={self.opinion:.2f}"
        return f"{self.code.value} mentions={self.mentions}{opinion}"


@dataclass(frozen=True, slots=True)
class Mention:
    """One place where a text names a sign: words [start, end) of the text, and its status.

    ``certain``: in plain words. ``firm``: no second opinion doubts it.
    """

    sign: Sign
    level: TextLevel
    status: Status
    certain: bool
    start: int
    end: int
    rule: str
    firm: bool = False


@dataclass(frozen=True, slots=True)
class Reading:
    """What to make of one text.

    ``span`` is the part of the text that decided ("" when nothing did). ``if_unanswered`` is what
    an ``ask`` becomes when nobody answers, and equals ``level`` otherwise. ``for_other``: it is
    about somebody else, who is in danger now. ``perhaps_client``: whoever writes on this phone,
    that somebody may be its owner. ``numbers``: all of the body that were told, whoever's.
    ``tongue``: the language (BCP 47) of words that are not English, or "".
    """

    level: TextLevel
    signs: tuple[Sign, ...]
    span: str
    because: TextReason
    if_unanswered: TextLevel
    for_other: bool = False
    perhaps_client: bool = False
    numbers: tuple[ToldNumber, ...] = ()
    tongue: str = ""
    mentions: tuple[Mention, ...] = ()

    def as_row(self, text: str) -> Mapping[str, object]:
        """The reading as one row of ``dayrung flags``."""
        return {
            "text": text,
            "level": self.level.value,
            "signs": [sign.value for sign in self.signs],
            "because": str(self.because),
            "if_unanswered": self.if_unanswered.value,
        }
