"""A burst: more texts of one chat wait than anybody answers one by one.

Its signs go first, each kind of them once, whatever was written before them. All other words are
kept, looked at for numbers and alarming words, and answered once, together; they are no answer to
what is asked, since nobody knows which of them came after the question.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from bot.invitation_codes import code_in
from bot.messages import TYPED, IncomingKind
from bot.storage.inbox import Waiting
from core.red_flags.reading import LOUDNESS, Reading
from core.vocabulary import Sign, TextLevel

MANY = 20
"""Texts of one chat that wait at one time; more are a burst."""

SIGNS_ANSWERED = 6
"""Signs of one burst that are answered each for itself; a louder one than all before always is."""

ALWAYS_NEWS = frozenset({Sign.SELF_HARM, Sign.ABUSE})
"""Signs that are answered however many were before them, each kind once."""

CODES_TRIED = 3
"""Texts of one burst that may be invitation codes and are tried."""

SKIMMED_AT_ONCE = 25
READ_AT_ONCE = 4
"""Texts of a burst that are read before another chat's turn comes: without, and with, the second
opinion, which takes most of the time."""

MOST_TOGETHER = 40_000
"""Characters that are looked at as one text; more of them are more texts."""

MOST_TEXTS = 500
"""Texts that wait for one answer; with so many a burst ends, even while more of it arrives."""

_WORDS = (*TYPED, IncomingKind.UNREADABLE)


def is_burst(lane: Iterable[Waiting]) -> bool:
    """Whether so much waits in a chat that it is not answered one by one."""
    return sum(row.incoming.kind in _WORDS for row in lane) > MANY


def is_loud(reading: Reading | None) -> bool:
    """Whether a text holds a sign."""
    return reading is not None and (reading.level is not TextLevel.NONE or bool(reading.signs))


def together(rows: Sequence[Waiting]) -> list[str]:
    """The words of many texts, a line each, in pieces that can be looked at; one piece at least."""
    pieces: list[list[str]] = [[]]
    length = 0
    for row in rows:
        text = row.incoming.text
        if not text:
            continue
        if pieces[-1] and length + len(text) > MOST_TOGETHER:
            pieces.append([])
            length = 0
        pieces[-1].append(text)
        length += len(text) + 1
    return ["\n".join(piece) for piece in pieces]


@dataclass(slots=True)
class BurstState:
    """What has become of a burst so far.

    Attributes:
        together: what is answered at the end, as one.
        apart: what is worked off one by one at the end: buttons, numbers that were shared.
        second: what waits for its second opinion.
    """

    together: list[Waiting] = field(default_factory=list)
    apart: list[Waiting] = field(default_factory=list)
    second: list[Waiting] = field(default_factory=list)
    _signs: set[tuple[Sign, bool]] = field(default_factory=set)
    _loudest: int = 0
    _answered: int = 0
    _codes: int = 0
    _unreadable: bool = False

    @property
    def is_long(self) -> bool:
        """Whether so much has come that it is answered before anything else is taken in."""
        return len(self.together) + len(self.apart) >= MOST_TEXTS

    def sort(self, row: Waiting) -> bool:
        """Put what is no text where it belongs; True for a text that is to be read."""
        incoming = row.incoming
        if incoming.kind is IncomingKind.UNREADABLE and self._unreadable:
            # That something could not be read has been said.
            self.together.append(row)
            return False
        self._unreadable |= incoming.kind is IncomingKind.UNREADABLE
        if incoming.kind not in TYPED:
            self.apart.append(row)
            return False
        if self._codes < CODES_TRIED and code_in(incoming.text):
            self._codes += 1
            self.apart.append(row)
        return row not in self.apart

    def is_news(self, reading: Reading) -> bool:
        """Whether these signs are to be answered for themselves, and not as more of the same."""
        signs = {(sign, reading.for_other) for sign in reading.signs}
        loudness = LOUDNESS[reading.level]
        known = loudness <= self._loudest and signs <= self._signs
        grave = any(sign in ALWAYS_NEWS for sign, _ in signs - self._signs)
        enough = self._answered >= SIGNS_ANSWERED and loudness <= self._loudest
        if known or (enough and not grave):
            return False
        self._signs |= signs
        self._loudest = max(self._loudest, loudness)
        self._answered += 1
        return True

    def adds_signs(self, reading: Reading) -> bool:
        """Whether signs that are not answered for themselves are new to the coach."""
        signs = {(sign, reading.for_other) for sign in reading.signs}
        new = not signs <= self._signs
        self._signs |= signs
        return new
