"""The words of one language in typed times, dates, sizes and lists, ready to be looked for.

The lists stand in ``templates/<language>/words/typed.yaml``.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from core.number_words import NumberWords


class DateOrder(StrEnum):
    """How a date in figures ("4/6") is written where somebody lives (``countries.yaml``, dates)."""

    DAY_FIRST = "day"
    MONTH_FIRST = "month"
    OPEN = "open"


@dataclass(frozen=True, slots=True)
class ClockWords:
    """What people write around a time of day.

    Attributes:
        before: passed over at the beginning ("at").
        passed_over: left out wherever they stand ("o'clock").
        morning: at the end, says that it is before noon.
        time: an hour, perhaps minutes, perhaps which half of the day (groups ``hour``,
            ``minute``, ``am``, ``pm``).
        before_hour, after_hour: minutes in words, before or after an hour in words.
    """

    before: re.Pattern[str]
    passed_over: tuple[str, ...]
    morning: re.Pattern[str]
    time: re.Pattern[str]
    before_hour: Mapping[str, int]
    after_hour: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class UnitWords:
    """Where a unit is named.

    Attributes:
        feet: feet, perhaps inches: two groups.
        stone: stone, perhaps pounds: two groups.
        kilos, pounds, inches: named anywhere in a text.
    """

    feet: re.Pattern[str]
    stone: re.Pattern[str]
    kilos: re.Pattern[str]
    pounds: re.Pattern[str]
    inches: re.Pattern[str]


@dataclass(frozen=True, slots=True)
class TypedWords:
    """All of them.

    Attributes:
        months: each month's name, January first.
        beside_dates: what may stand beside a date without changing it; ordinals are among them.
        listing: splits a typed list.
        between: splits a list whose parts may hold a date with a stroke.
        day: a day of the month, perhaps as an ordinal.
    """

    numbers: NumberWords
    clock: ClockWords
    units: UnitWords
    months: tuple[str, ...]
    beside_dates: frozenset[str]
    listing: re.Pattern[str]
    between: re.Pattern[str]
    day: re.Pattern[str]

    @classmethod
    def from_yaml(cls, data: Mapping[str, Any], numbers: NumberWords) -> "TypedWords":
        """Read the parsed file; ``KeyError`` where a list is missing."""
        clock, units = data["clock"], data["units"]
        # A typed time has colons for its full stops (bot/flows/parsing.py).
        am, pm = (_any(word.replace(".", ":") for word in clock[half]) for half in ("am", "pm"))
        return cls(
            numbers=numbers,
            clock=ClockWords(
                before=re.compile(rf"^(?:{_any(clock['before'])})\s+"),
                passed_over=tuple(clock["passed_over"]),
                morning=re.compile(rf"\s+(?:{_any(clock['morning'])})$"),
                time=re.compile(
                    r"(?P<hour>[01]?\d|2[0-3])(?:\s*[:.h]\s*(?P<minute>[0-5]\d))?\s*"
                    rf"(?:(?P<am>{am})|(?P<pm>{pm}))?"
                ),
                before_hour=dict(clock["before_hour"]),
                after_hour=dict(clock["after_hour"]),
            ),
            units=UnitWords(
                feet=re.compile(rf"(\d)\s*(?:{_any(units['feet'])})\s*(\d{{1,2}}(?:\.\d+)?)?"),
                stone=re.compile(rf"(\d{{1,2}})\s*(?:{_any(units['stone'])})\b\s*(\d{{1,2}})?"),
                kilos=re.compile(_any(units["kilos_part"])),
                pounds=re.compile(_any(units["pounds_part"])),
                inches=re.compile(
                    rf"\b(?:{_any(units['inches_whole'])})\b|{_any(units['inches_part'])}"
                ),
            ),
            months=tuple(data["months"]),
            beside_dates=frozenset([*data["ordinals"], *data["beside_dates"]]),
            listing=re.compile(rf"[,;/&\n]|\b(?:{_any(data['listing'])})\b"),
            between=re.compile(rf"[,;&+.\n]|\b(?:{_any(data['listing'])})\b", re.IGNORECASE),
            day=re.compile(rf"(?<![\d/])(\d{{1,2}})(?:{_any(data['ordinals'])})?(?![\d/])"),
        )


def _any(words: Iterable[str]) -> str:
    """A pattern for any of the words, the longest first."""
    return "|".join(re.escape(word) for word in sorted(words, key=len, reverse=True))
