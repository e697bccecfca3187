"""Reading what people type instead of tapping: names of choices, clocks, dates, sizes, numbers.

Every reader gives a plain JSON value, or a :class:`Reask` that says what was wrong.
"""

import re
import unicodedata
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TypeVar

from rapidfuzz import fuzz, process

from bot.flows.typed_words import ClockWords, DateOrder, TypedWords
from core.number_words import NumberWords, numbers_in
from core.readiness.scales import UnusableAnswer

Answer = TypeVar("Answer")

CLOSE_ENOUGH = 88
"""Likeness (0 to 100) from which typed words count as a slip of the pen."""

SHORTEST_MONTH = 3
"""Letters from which the beginning of a month's name stands for it."""


class Why(StrEnum):
    """Why an answer must be asked for again; a sentence each in ``form/again.j2``.

    The reasons of :class:`core.readiness.scales.UnusableReason` are among them.
    """

    NOT_A_CHOICE = "not_a_choice"
    KEPT_FOR_LATER = "kept_for_later"
    NOTHING_TICKED = "nothing_ticked"
    NOT_A_NUMBER = "not_a_number"
    OUT_OF_RANGE = "out_of_range"
    NOT_A_PHONE = "not_a_phone"
    UNLIKELY_PHONE = "unlikely_phone"
    OWN_PHONE = "own_phone"
    NOT_A_TIME = "not_a_time"
    NOT_A_DATE = "not_a_date"
    WHICH_DAY = "which_day"
    NOT_YET = "not_yet"
    BEFORE_THE_SIGN = "before_the_sign"
    CLINICIAN_DUE = "clinician_due"
    NOT_A_NAME = "not_a_name"
    TOO_LONG = "too_long"
    TOO_SHORT = "too_short"
    UNKNOWN_COUNTRY = "unknown_country"
    UNKNOWN_TOWN = "unknown_town"
    SEVERAL_NUMBERS = "several_numbers"
    NOT_WHOLE = "not_whole"
    TOO_LOW = "too_low"
    TOO_HIGH = "too_high"
    OTHER_SCALE = "other_scale"
    OTHER_UNIT = "other_unit"
    TWO_NUMBERS_NEEDED = "two_numbers_needed"
    WRONG_ORDER = "wrong_order"


@dataclass(frozen=True, slots=True)
class Reask:
    """An unusable answer: why, and the words it is about."""

    why: Why
    about: str = ""

    @property
    def is_doubt(self) -> bool:
        """Whether the same answer, given again, is to be taken: it may be right as it stands."""
        return self.why is Why.OTHER_UNIT

    @property
    def days(self) -> tuple[date, ...]:
        """The days among which the answer leaves a choice, the likelier first; else none."""
        if self.why is not Why.WHICH_DAY:
            return ()
        return tuple(date.fromisoformat(day) for day in self.about.split())


def usable(answer: Answer | UnusableAnswer, text: str) -> Answer | Reask:
    """An answer that core has read; why not where it cannot be used, in this layer's shape."""
    if isinstance(answer, UnusableAnswer):
        return Reask(Why(answer.reason.value), text)
    return answer


APOSTROPHES = re.compile("[\u2018\u2019\u201b\u02bc\u02b9\u2032\u00b4\u0060\uff07]")
"""What keyboards write for an apostrophe."""


def plain_words(text: str) -> str:
    """Small letters without accents, marks or double spaces; apostrophes all alike.

    The one way in which typed words are made alike before they are looked up anywhere.
    """
    bare = unicodedata.normalize("NFKD", APOSTROPHES.sub("'", text.casefold()))
    bare = "".join(letter for letter in bare if not unicodedata.combining(letter))
    marked = re.sub(r"[^\w'/+:-]+", " ", bare)
    return " ".join(word for word in marked.split() if word.strip("'-"))


def read_answer(text: str, meant: Mapping[str, str]) -> str:
    """The value of the button that typed words stand for, or "".

    Args:
        meant: plain words -> value (``Reference.answers``); nothing is guessed.
    """
    return meant.get(plain_words(text), "")


def read_choice(text: str, codes: Collection[str], spoken: Mapping[str, str]) -> str | Reask:
    """The code that was tapped or typed.

    Args:
        spoken: what may be typed (plain words) -> code.
    """
    if text in codes:
        return text
    said = plain_words(text)
    offered = {words: code for words, code in spoken.items() if code in codes}
    code = meant_by(said, offered)
    return Reask(Why.NOT_A_CHOICE, text) if code is None else code


def meant_by(said: str, known: Mapping[str, str]) -> str | None:
    """What plain words stand for; in more than three letters a slip of the pen is forgiven."""
    if said in known:
        return known[said]
    if len(said) > 3:
        near = process.extractOne(said, list(known), scorer=fuzz.ratio, score_cutoff=CLOSE_ENOUGH)
        if near:
            return known[near[0]]
    return None


def read_many(
    text: str, codes: Collection[str], spoken: Mapping[str, str], typed: TypedWords
) -> tuple[list[str], list[str]]:
    """Codes found in a typed list ("asthma, gout and angina"), and the words that are none."""
    whole = read_choice(text, codes, spoken)
    if isinstance(whole, str):
        return [whole], []
    found, unknown = [], []
    for part in typed.listing.split(text):
        if not part.strip():
            continue
        code = read_choice(part.strip(), codes, spoken)
        if isinstance(code, str):
            found.append(code)
            continue
        words = [read_choice(word, codes, spoken) for word in part.split()]
        if words and all(isinstance(word, str) for word in words):
            found += [word for word in words if isinstance(word, str)]
        else:
            unknown.append(part.strip())
    return list(dict.fromkeys(found)), unknown


def read_number(text: str, low: float, high: float, words: NumberWords) -> float | Reask:
    """One number between ``low`` and ``high``."""
    numbers = numbers_in(text, words)
    if len(numbers) != 1:
        return Reask(Why.NOT_A_NUMBER, text)
    value = numbers[0].value
    return value if low <= value <= high else Reask(Why.OUT_OF_RANGE, text)


def read_year(text: str, first: int, last: int) -> int | Reask:
    """A year of four digits."""
    found = re.findall(r"(?<!\d)(?:18|19|20)\d{2}(?!\d)", text)
    if len(found) != 1:
        return Reask(Why.NOT_A_NUMBER, text)
    year = int(found[0])
    return year if first <= year <= last else Reask(Why.OUT_OF_RANGE, text)


PHONE_DIGITS = (6, 15)
"""The longest international number has 15 digits (ITU E.164); a short one at least 6."""


def read_phone(text: str) -> str | Reask:
    """A phone number in its digits, with a leading plus where there was one."""
    kept = re.sub(r"\(0\)", "", text) if text.strip().startswith("+") else text
    digits = re.sub(r"\D", "", kept)
    letters = re.sub(r"[\d\s+()./-]", "", kept)
    if not PHONE_DIGITS[0] <= len(digits) <= PHONE_DIGITS[1] or len(letters) > 12:
        return Reask(Why.NOT_A_PHONE, text)
    return ("+" if "+" in kept.split(digits[0])[0] else "") + digits


def read_words(text: str, longest: int, shortest: int = 1) -> str | Reask:
    """Free words in one piece."""
    words = " ".join(text.split())
    if len(words) > longest:
        return Reask(Why.TOO_LONG, str(longest))
    if len(words) < shortest or not any(letter.isalnum() for letter in words):
        return Reask(Why.TOO_SHORT, text)
    return words


_NUMBER_CLOCK = re.compile(r"([01]?\d|2[0-3])([0-5]\d)")


def read_clock(text: str, earliest: str, latest: str, words: TypedWords) -> str | Reask:
    """A time of day as "HH:MM", between two others: "7", "7.30", "0730", "half past seven"."""
    said = _clock_alone(text, words.clock)
    before_noon = words.clock.morning.search(said)
    said = words.clock.morning.sub("", said)
    joined = _NUMBER_CLOCK.fullmatch(said)
    plain = words.clock.time.fullmatch(said.rstrip(":"))
    if joined:
        hour, minute = int(joined[1]), int(joined[2])
    elif plain:
        hour, minute = int(plain["hour"]), int(plain["minute"] or 0)
        if plain["pm"] and hour < 12:
            hour += 12
        if (plain["am"] or before_noon) and hour == 12:
            hour = 0
    else:
        spoken = _spoken_clock(said, words)
        if spoken is None:
            return Reask(Why.NOT_A_TIME, text)
        hour, minute = spoken
    clock = f"{hour:02d}:{minute:02d}"
    return clock if earliest <= clock <= latest else Reask(Why.OUT_OF_RANGE, text)


def _clock_alone(text: str, clock: ClockWords) -> str:
    """A typed time in small letters, without the words that go without saying."""
    # "7.30" and "a.m." alike: a full stop and a colon are the same here.
    said = plain_words(text.replace(".", ":"))
    for passed_over in clock.passed_over:
        said = said.replace(passed_over, "")
    return clock.before.sub("", said.strip())


def _spoken_clock(said: str, typed: TypedWords) -> tuple[int, int] | None:
    """ "half past seven", "quarter to eight", "seven thirty", "seven"."""
    clock, minutes = typed.clock, 0
    for words, shift in clock.before_hour.items():
        if said.startswith(f"{words} "):
            said, minutes = said.removeprefix(words), shift
    first, _, last = said.rpartition(" ")
    if not minutes and first and last in clock.after_hour:
        said, minutes = first, clock.after_hour[last]
    numbers = numbers_in(said, typed.numbers)
    if len(numbers) != 1 or not 1 <= numbers[0].value <= 12:
        return None
    return divmod(int(numbers[0].value) * 60 + minutes, 60)


def read_day(text: str, today: date, words: TypedWords, *, future: bool = False) -> str | Reask:
    """A day as ISO text. Where part of it is missing or unclear, the latest possible day.

    Args:
        today: days after it are refused; with ``future``, days before it.
    """
    meant = _days_meant(text, today, words)
    possible = [day for day in meant if future or day <= today]
    if not possible:
        return Reask(Why.NOT_YET if meant else Why.NOT_A_DATE, text)
    latest = max(possible)
    if future and latest < today:
        return Reask(Why.OUT_OF_RANGE, text)
    return latest.isoformat()


def read_coming_day(text: str, today: date, words: TypedWords) -> str | Reask:
    """A day from today on as ISO text; without a year it is the next such day."""
    if re.search(r"\b\d{4}\b", text):
        return read_day(text, today, words, future=True)
    this_year, next_year = (
        read_day(f"{text} {year}", today, words, future=True)
        for year in (today.year, today.year + 1)
    )
    return next_year if isinstance(this_year, Reask) else this_year


def read_told_day(
    text: str, today: date, words: TypedWords, order: DateOrder, last: date | None = None
) -> str | Reask:
    """A day as :func:`read_day` reads it, but for "4/6/2026", which may be two days.

    The country's order settles which, else whichever of them can be meant; where both can, the
    answer is ``WHICH_DAY`` with both.

    Args:
        last: with it days to come are told, up to this day; else days up to today.
    """
    meant = _in_figures(text, words, order)
    if not meant:
        return read_day(text, today, words, future=last is not None)
    possible = [day for day in meant if (day <= today if last is None else today <= day <= last)]
    if not possible:
        return Reask(Why.NOT_YET if last is None else Why.OUT_OF_RANGE, text)
    return _one_of(possible, order)


def read_day_ahead(
    text: str, today: date, words: TypedWords, order: DateOrder, last: date
) -> str | Reask:
    """A day from today to ``last``, as :func:`read_coming_day` and :func:`read_told_day` read it.

    Without a year each way of reading "4/6" is the next such day.
    """
    if re.search(r"\b\d{4}\b", text):
        told = read_told_day(text, today, words, order, last)
    else:
        years = (today.year, today.year + 1)
        ways: dict[bool, date] = {}
        for day in (day for year in years for day in _in_figures(f"{text} {year}", words, order)):
            day_first = day.day == int(re.findall(r"\d+", text)[0])
            if day >= today:
                ways.setdefault(day_first, day)
        possible = [ways[way] for way in (True, False) if way in ways and ways[way] <= last]
        if ways and not possible:
            return Reask(Why.OUT_OF_RANGE, text)
        told = _one_of(possible, order) if possible else read_coming_day(text, today, words)
    if not isinstance(told, Reask) and date.fromisoformat(told) > last:
        return Reask(Why.OUT_OF_RANGE, text)
    return told


def _one_of(days: Sequence[date], order: DateOrder) -> str | Reask:
    """The one day; of two, told with the day first and the month first, a question which."""
    known = list(dict.fromkeys(days))
    if len(known) == 1:
        return known[0].isoformat()
    if order is DateOrder.MONTH_FIRST:
        known.reverse()
    return Reask(Why.WHICH_DAY, " ".join(day.isoformat() for day in known))


def _in_figures(text: str, words: TypedWords, order: DateOrder) -> list[date]:
    """The days of "4/6/2026", the day first before the month first; none of any other text.

    Where the country's order settles it, the other way is not meant.
    """
    said = plain_words(text)
    numbers = re.findall(r"\d+", said)
    named = set(re.findall(r"[^\W\d_]+", said)) - words.beside_dates
    if named or len(numbers) != 3 or len(numbers[0]) == 4:
        return []
    meant = _days_meant(text, date.max, words)
    return meant[:1] if order is DateOrder.DAY_FIRST else meant


def read_exact_day(
    text: str, today: date, words: TypedWords, order: DateOrder = DateOrder.OPEN
) -> str | Reask:
    """A day as ISO text that can be no other; without a year it is one of this year.

    Of a date in figures that is two days up to today, the country's order may settle which.

    Args:
        today: days after it are refused.
    """
    numbers = re.findall(r"\d+", text)
    without_year = 0 < len(numbers) <= 2 and all(len(number) <= 2 for number in numbers)
    meant = set(_days_meant(f"{text} {today.year}" if without_year else text, today, words))
    if len(meant) != 1:
        dated = f"{text} {today.year}" if without_year else text
        if not _in_figures(dated, words, order):
            return Reask(Why.NOT_A_DATE, text)
        return read_told_day(dated, today, words, order)
    (day,) = meant
    return day.isoformat() if day <= today else Reask(Why.NOT_YET, text)


def _days_meant(text: str, today: date, words: TypedWords) -> list[date]:
    """All days that a text can mean; a whole month or year stands for its days up to today."""
    said = plain_words(text)
    numbers = [int(number) for number in re.findall(r"\d+", said)]
    years = [number for number in numbers if 1900 <= number <= 2200]
    if len(years) != 1:
        return []
    year = years[0]
    rest = [number for number in numbers if number != year]
    named = [
        _month(word, words)
        for word in re.findall(r"[^\W\d_]+", said)
        if word not in words.beside_dates
    ]
    if len(set(named)) > 1 or None in named or len(rest) > 2:
        return []
    if named:
        return _days(year, [month for month in named[:1] if month], rest) if len(rest) < 2 else []
    if len(rest) == 2:
        if said.startswith(str(year)):
            return _days(year, rest[:1], rest[1:])
        return [*_days(year, rest[1:], rest[:1]), *_days(year, rest[:1], rest[1:])]
    if len(rest) == 1:
        return _days(year, rest, []) or []
    before_today = [today] if year == today.year else []
    return [*_days(year, [12], [31]), *before_today]


def _month(word: str, words: TypedWords) -> int | None:
    """The number of the month that a word names, shortened or with a slip of the pen."""
    if len(word) >= SHORTEST_MONTH:
        for number, name in enumerate(words.months, 1):
            if name.startswith(word):
                return number
    near = process.extractOne(word, words.months, scorer=fuzz.ratio, score_cutoff=CLOSE_ENOUGH)
    return near[2] + 1 if near else None


def _days(year: int, months: Sequence[int], days: Sequence[int]) -> list[date]:
    found = []
    for month in months:
        for day in days or range(28, 32):
            try:
                found.append(date(year, month, day))
            except ValueError:
                continue
        if not days:
            found += [date(year, month, day) for day in range(1, 28) if 1 <= month <= 12]
    return found


KG_PER_STONE, KG_PER_POUND = 6.35029, 0.453592
_STATURE_CM = (120.0, 220.0)
_MASS_KG = (30.0, 250.0)


def read_stature(text: str, words: TypedWords) -> float | Reask:
    """Height in cm from "172", "1.72 m" or "5 ft 8"."""
    said = text.casefold().replace(",", ".").replace("’", "'")
    feet = words.units.feet.search(said)
    if feet:
        value = int(feet[1]) * 30.48 + float(feet[2] or 0) * 2.54
    else:
        number = read_number(said, 0, 300, words.numbers)
        if isinstance(number, Reask):
            return number
        value = number * 100 if number < 3 else number
    low, high = _STATURE_CM
    return round(value, 1) if low <= value <= high else Reask(Why.OUT_OF_RANGE, text)


def read_mass(text: str, units: str, words: TypedWords) -> float | Reask:
    """Weight in kg; a bare number is in the country's usual unit.

    Args:
        units: "metric", "imperial" (pounds) or "stone".
    """
    said = text.casefold().replace(",", ".")
    stone = words.units.stone.search(said)
    if stone:
        value = int(stone[1]) * KG_PER_STONE + int(stone[2] or 0) * KG_PER_POUND
    else:
        number = read_number(said, 0, 600, words.numbers)
        if isinstance(number, Reask):
            return number
        kilos = words.units.kilos.search(said) is not None
        pounds = not kilos and words.units.pounds.search(said) is not None
        if pounds or (not kilos and units == "imperial"):
            value = number * KG_PER_POUND
        elif not kilos and units == "stone" and number < 30:
            value = number * KG_PER_STONE
        else:
            value = number
    low, high = _MASS_KG
    return round(value, 1) if low <= value <= high else Reask(Why.OUT_OF_RANGE, text)


def read_length(text: str, low: float, high: float, words: TypedWords) -> float | Reask:
    """A height of furniture in cm; inches where they are named."""
    said = text.casefold().replace(",", ".")
    number = read_number(said, 0, 1000, words.numbers)
    if isinstance(number, Reask):
        return number
    value = number * 2.54 if words.units.inches.search(said) else number
    return round(value, 1) if low <= value <= high else Reask(Why.OUT_OF_RANGE, text)
