"""The words of one language by which answers in sentences are read."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Generic, TypeVar

from core.answers.plain import bare
from core.number_words import NumberWords

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Understood(Generic[Value]):
    """What an answer means.

    Attributes:
        sure: can hardly mean anything else; what is not sure must be said back first.
    """

    value: Value
    sure: bool = True


@dataclass(frozen=True, slots=True)
class PhraseHit:
    """A phrase that stands in a clause, at words ``start`` to ``end`` (not included)."""

    code: str
    start: int
    end: int


class Phrases:
    """Phrases, each for a code; found as whole words, the longest first."""

    def __init__(self, coded: Mapping[str, Iterable[str]]) -> None:
        """Take in code -> its phrases, as they are typed; the first code of a phrase counts."""
        self._codes: dict[tuple[str, ...], str] = {}
        for code, phrases in coded.items():
            for phrase in phrases:
                words = tuple(bare(phrase))
                if words:
                    self._codes.setdefault(words, code)
        self._longest = max((len(words) for words in self._codes), default=0)

    @cached_property
    def vocabulary(self) -> frozenset[str]:
        """All words of the phrases."""
        return frozenset(word for words in self._codes for word in words)

    def hits(self, words: Sequence[str]) -> list[PhraseHit]:
        """Where phrases stand in a clause, in order, none within another."""
        return list(self._find(words))

    def stands_in(self, words: Sequence[str]) -> bool:
        """Whether any phrase does."""
        return next(self._find(words), None) is not None

    def are(self, words: Sequence[str]) -> bool:
        """Whether the whole clause is one phrase."""
        return tuple(words) in self._codes

    def _find(self, words: Sequence[str]) -> Iterator[PhraseHit]:
        at = 0
        while at < len(words):
            for length in range(min(self._longest, len(words) - at), 0, -1):
                code = self._codes.get(tuple(words[at : at + length]))
                if code is not None:
                    yield PhraseHit(code, at, at + length)
                    at += length
                    break
            else:
                at += 1


@dataclass(frozen=True, eq=False)
class SentenceWords:
    """All of them (``templates/<language>/words/sentences.yaml`` and its neighbours).

    Attributes:
        numbers: number words.
        choices: question -> the phrases for each of its codes.
        lists: name -> phrases that all say the same.
        conditions, medicines: phrases for the codes of ``core.vocabulary``.
        endings: ending of a medicine's name -> its code.
        ordinals: word -> number.
        months, weekdays: name, also shortened -> number from 1.
        named_days: name of a day -> "MM-DD".
        towns: names of countries and of places in them -> ISO code.
        common: words that spelling repair never touches.
    """

    numbers: NumberWords
    choices: Mapping[str, Phrases]
    lists: Mapping[str, Phrases]
    conditions: Phrases
    medicines: Phrases
    endings: Mapping[str, str]
    ordinals: Mapping[str, int]
    months: Mapping[str, int]
    weekdays: Mapping[str, int]
    named_days: Mapping[str, str]
    towns: Phrases
    common: frozenset[str]
    mended: dict[tuple[int, str], str] = field(default_factory=dict, init=False, repr=False)

    @classmethod
    def from_yaml(
        cls,
        data: Mapping[str, Any],
        numbers: NumberWords,
        *,
        conditions: Mapping[str, Iterable[str]],
        medicines: Mapping[str, Iterable[str]],
        towns: Mapping[str, Iterable[str]],
        common: Iterable[str],
    ) -> "SentenceWords":
        """Read the parsed file; ``KeyError`` where a part is missing."""
        return cls(
            numbers=numbers,
            choices={group: Phrases(coded) for group, coded in data["choices"].items()},
            lists={name: Phrases({name: said}) for name, said in data["lists"].items()},
            conditions=_both(conditions, data["conditions"]),
            medicines=_both(medicines, data["medicines"]),
            endings=dict(data["endings"]),
            ordinals=dict(data["ordinals"]),
            months=_numbered(data["months"]),
            weekdays=_numbered(data["weekdays"]),
            named_days={" ".join(bare(name)): on for name, on in data["named_days"].items()},
            towns=Phrases(towns),
            common=frozenset(common),
        )


def _both(known: Mapping[str, Iterable[str]], more: Mapping[str, Iterable[str]]) -> Phrases:
    """The phrases of sentences go before the labels of buttons."""
    codes = dict.fromkeys([*more, *known])
    return Phrases({code: [*more.get(code, ()), *known.get(code, ())] for code in codes})


def _numbered(named: Sequence[Sequence[str]]) -> dict[str, int]:
    return {name: number for number, names in enumerate(named, 1) for name in names}
