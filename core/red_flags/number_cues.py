"""What the finder of numbers looks for, parsed: cues, units, ranges, and what is no such number.

Every entry of ``numbers.yaml`` is a pattern that is matched on the text in lower case.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from core.errors import LexiconError
from core.told_number import NumberKind


@dataclass(frozen=True, slots=True)
class KindWords:
    """What names one kind of number.

    Attributes:
        cue: the concept whose words name it.
        ranges: unit -> least and most that can be meant; the first unit is meant where none is
            told and the number fits.
        units: unit -> what it is called right behind the number.
        sure_unit: a unit that needs no other word beside it, from the value ``sure_from`` on and
            where no word of the concept ``sure_unless`` is in the text.
        needs_verb: cues after which only a verb ("the meter says") makes a number one of these.
        needs_unit: a number without its unit is none.
        ahead_only: the cue stands before the number.
        vague: cues that may be of any kind ("two readings of"): beside one only a number with a
            tenth, within ``vague_range`` and in a text that names no other kind, is one of these.
        small: a whole number up to this needs a verb or a unit ("sugar 2" may be spoons).
        unless: a concept that makes the text one of something else.
        second, single: for pressure: range of the lower number, words for the upper one alone.
    """

    kind: NumberKind
    cue: str
    ranges: Mapping[str, tuple[float, float]]
    units: Mapping[str, re.Pattern[str]]
    sure_unit: re.Pattern[str] | None
    sure_from: float
    sure_unless: str
    needs_verb: re.Pattern[str] | None
    needs_unit: bool
    ahead_only: bool
    vague: re.Pattern[str] | None
    vague_range: tuple[float, float]
    small: float
    unless: str
    second: tuple[float, float]
    single: re.Pattern[str] | None


@dataclass(frozen=True, slots=True)
class NumberCues:
    """All of ``numbers:`` of the lexicon; see the class above and the names there."""

    kinds: tuple[KindWords, ...]
    pair: re.Pattern[str]
    pair_beside_word: re.Pattern[str]
    pair_by_place: re.Pattern[str]
    point: re.Pattern[str]
    shows: re.Pattern[str]
    may_show: re.Pattern[str]
    shown: re.Pattern[str]
    shows_high: re.Pattern[str]
    shows_low: re.Pattern[str]
    half_minute: re.Pattern[str]
    quarter_minute: re.Pattern[str]
    other_after: re.Pattern[str]
    other_before: re.Pattern[str]
    between_not: re.Pattern[str]


def parse_number_cues(data: Mapping[str, object]) -> NumberCues:
    """The cues of numbers from the parsed ``numbers:`` of a lexicon file.

    Raises LexiconError when an entry is missing or cannot be used.
    """
    try:
        lists = {name: _words(data[name]) for name in data if name != "kinds"}
        kinds = data["kinds"]
        if not isinstance(kinds, Mapping):
            raise TypeError("kinds must be a mapping")
        shows = _any_of(lists["shows"])
        off_scale = [
            word
            for name in ("high_word", "high_word_written", "low_word_written")
            for word in lists[name]
        ]
        return NumberCues(
            kinds=tuple(_kind(name, row) for name, row in kinds.items()),
            pair=_between(lists["pair"]),
            pair_beside_word=re.compile(
                rf"(?:[\s,/–-]|(?<!\w)(?:{_any_of(lists['pair_words'])})(?!\w)){{1,40}}"
            ),
            pair_by_place=_between(lists["pair_by_place"]),
            point=re.compile(rf"\s+(?:{_any_of(lists['point'])})\s+"),
            shows=re.compile(rf"(?<!\w)(?:{shows})(?!\w)|[=:]"),
            may_show=re.compile(rf"(?<!\w)(?:{_any_of(off_scale)})(?!\w)"),
            shown=re.compile(
                rf"(?<!\w)(?:{_any_of(lists['shown_by'])})\s[^.!?]{{0,14}}?(?:{shows})\s+(?:\w+\s+)?$"
            ),
            shows_high=_shown(shows, lists["high_word"], lists["high_word_written"]),
            shows_low=_shown(shows, lists["low_word_written"], ()),
            half_minute=_after(lists["half_minute"], 16),
            quarter_minute=_after(lists["quarter_minute"], 16),
            other_after=re.compile(rf"[\s-]*(?:{_any_of(lists['other_after'])})(?!\w)"),
            other_before=re.compile(rf"(?<!\w)(?:{_any_of(lists['other_before'])})\W{{0,3}}$"),
            between_not=re.compile(rf"(?<!\w)(?:{_any_of(lists['between_not'])})(?!\w)"),
        )
    except (KeyError, TypeError, ValueError, re.error) as error:
        raise LexiconError(f"numbers: {error!r}") from error


def _kind(name: str, row: object) -> KindWords:
    if not isinstance(row, Mapping):
        raise TypeError(f"{name} must be a mapping")
    sure, verbs, single, vague = (
        row.get(key) for key in ("sure_units", "needs_verb", "single", "vague")
    )
    second, vague_range = row.get("second", (0, 0)), row.get("vague_range", (0, 0))
    return KindWords(
        kind=NumberKind(name),
        cue=str(row["cue"]),
        ranges={unit: (float(least), float(most)) for unit, (least, most) in row["ranges"].items()},
        units={unit: _unit(_words(words)) for unit, words in row["units"].items()},
        sure_unit=_unit(_words(sure)) if sure else None,
        sure_from=float(row.get("sure_from", 0)),
        sure_unless=str(row.get("sure_unless", "")),
        needs_verb=re.compile(f"(?:{_any_of(_words(verbs))})$") if verbs else None,
        needs_unit=bool(row.get("needs_unit", False)),
        ahead_only=bool(row.get("ahead_only", False)),
        vague=re.compile(f"(?:{_any_of(_words(vague))})$") if vague else None,
        vague_range=(float(vague_range[0]), float(vague_range[1])),
        small=float(row.get("small", -1)),
        unless=str(row.get("unless", "")),
        second=(float(second[0]), float(second[1])),
        single=re.compile(rf"(?<!\w)(?:{_any_of(_words(single))})(?!\w)") if single else None,
    )


def _words(value: object) -> tuple[str, ...]:
    if not isinstance(value, Sequence) or isinstance(value, str):
        raise TypeError(f"must be a list: {value!r}")
    return tuple(str(word) for word in value)


def _any_of(words: Sequence[str]) -> str:
    return "|".join(sorted(words, key=len, reverse=True))


def _unit(words: Sequence[str]) -> re.Pattern[str]:
    return re.compile(rf"[\s-]*(?:{_any_of(words)})(?!\w)")


def _between(words: Sequence[str]) -> re.Pattern[str]:
    return re.compile(rf"\s*(?:{_any_of(words)})\s*")


def _after(words: Sequence[str], within: int) -> re.Pattern[str]:
    return re.compile(rf"[^.!?\d]{{0,{within}}}(?<!\w)(?:{_any_of(words)})(?!\w)")


def _shown(shows: str, capitals: Sequence[str], written: Sequence[str]) -> re.Pattern[str]:
    """What stands between a meter's name and what it shows: capitals, quoted, or after a verb."""
    capital = "|".join(word.upper() for word in capitals)
    quoted = "|".join(
        (*(word.upper() for word in capitals), *(word.capitalize() for word in capitals))
    )
    plain = "|".join((*capitals, *written))
    return re.compile(
        rf"(?P<capital>(?<!\w)(?:{capital})(?!\w))"
        rf"|[\"'“‘](?P<quoted>{quoted}|{plain})[\"'”’]"
        rf"|(?<!\w)(?i:{shows})\s+(?:just\s+|only\s+|still\s+)?(?P<plain>(?i:{plain}))(?!\w)"
    )
