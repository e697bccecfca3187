"""Typed answers about operated joints as values: "new hip 2019, right", "both knees", "left ankle".

The words are those of names.yaml. Nothing typed is lost: each value keeps its words, and words that
name no joint we know are kept as an operation on a joint that is not known.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from bot.flows.form_question import Setting
from bot.flows.joining.sentences import names_an_operation
from bot.flows.parsing import meant_by, plain_words, read_choice
from bot.flows.typed_words import TypedWords
from bot.json_values import JsonValue
from core.client.operations import (
    UNNAMED_CODE,
    DayOrPart,
    Joint,
    Operation,
    OperationKind,
    Side,
    operation_json,
    operations_of,
)

Spoken = Callable[[str], Mapping[str, str]]
"""What may be typed for the choices of a group of names.yaml: plain words -> code."""

BOTH = "both"
NOT_SURE = "not_sure"
LONGEST_WORDS = 120
"""Letters of the words kept beside a value."""

_YEAR = re.compile(r"(?<!\d)(?:19|20)\d{2}(?!\d)")
_MONTH_OF_YEAR = re.compile(r"(?<![\d/])(\d{1,2})/((?:19|20)\d{2})(?!\d)")

OPERATION_CODES: Mapping[str, Operation] = {
    **{
        f"{side} {joint}": Operation(OperationKind.REPAIR, joint, side)
        for joint in (Joint.KNEE, Joint.HIP, Joint.SHOULDER)
        for side in Side
    },
    "back": Operation(OperationKind.OTHER, Joint.SPINE),
    "chest": Operation(OperationKind.OTHER, Joint.BREASTBONE),
    "belly": Operation(OperationKind.OTHER, Joint.BELLY),
    "hernia": Operation(OperationKind.REPAIR, Joint.GROIN),
    "breast": Operation(OperationKind.OTHER, Joint.BREAST),
    "eye": Operation(OperationKind.OTHER, Joint.EYE),
    "other": Operation(OperationKind.OTHER),
}
"""Other operations that have a button, and the value of each."""

JOINT_CODES = (
    "left knee",
    "right knee",
    "left hip",
    "right hip",
    "left shoulder",
    "right shoulder",
    UNNAMED_CODE,
)
"""Replaced joints that have a button; each code reads as a value."""

_CODES = {operation: code for code in JOINT_CODES for operation in operations_of([code])}


def ticks_of(operations: Iterable[Operation]) -> list[JsonValue]:
    """Operations as the form ticks them: the code of a button that says all of it, else JSON."""
    ticks: list[JsonValue] = [_CODES.get(one) or operation_json(one) for one in operations]
    return [tick for at, tick in enumerate(ticks) if tick not in ticks[:at]]


def operation_ticks_of(operations: Iterable[Operation]) -> list[JsonValue]:
    """The same of other operations."""
    codes = {operation: code for code, operation in OPERATION_CODES.items()}
    ticks: list[JsonValue] = [codes.get(one) or operation_json(one) for one in operations]
    return [tick for at, tick in enumerate(ticks) if tick not in ticks[:at]]


def other_ticked(ticks: JsonValue) -> tuple[Operation, ...]:
    """The other operations of a stored or ticked list."""
    found: list[Operation] = []
    for one in ticks if isinstance(ticks, list) else []:
        if isinstance(one, str) and one in OPERATION_CODES:
            found.append(OPERATION_CODES[one])
        elif isinstance(one, dict):
            found += operations_of([one])
    return tuple(dict.fromkeys(found))


def ticked(stored: JsonValue) -> tuple[Operation, ...]:
    """The operations of a stored or ticked list."""
    items = stored if isinstance(stored, list) else []
    return operations_of([one for one in items if isinstance(one, str | dict)])


def read_joints(text: str, setting: Setting) -> Sequence[JsonValue]:
    """Typed joints as ticks; words that only say what a button says are that button.

    Who is not sure which joint it was has one that is not known; other words of the form's own and
    questions are no joints.
    """
    steering = setting.spoken("form").get(plain_words(text))
    if steering == NOT_SURE:
        return [UNNAMED_CODE]
    code = read_choice(text, JOINT_CODES, setting.spoken("joint"))
    if isinstance(code, str):
        return [code]
    found = _told(read_operations(text, setting.spoken, setting.today, setting.words), setting)
    a_question = "?" in text and all(one.joint is None for one in found)
    return () if steering or a_question else ticks_of(found)


def read_other_operations(text: str, setting: Setting) -> Sequence[JsonValue]:
    """The same of operations that put in no new joint."""
    steering = setting.spoken("form").get(plain_words(text))
    if steering == NOT_SURE:
        return ["other"]
    code = read_choice(text, tuple(OPERATION_CODES), setting.spoken("operation"))
    if isinstance(code, str):
        return [code]
    found = _told(
        read_operations(text, setting.spoken, setting.today, setting.words, OperationKind.OTHER),
        setting,
    )
    a_question = "?" in text and all(one.joint is None for one in found)
    return () if steering or a_question else operation_ticks_of(found)


def _told(found: Sequence[Operation], setting: Setting) -> Sequence[Operation]:
    """The operations without small talk beside a joint ("it has been a marvel")."""
    if all(one.joint is None for one in found):
        return found
    return [one for one in found if one.joint is not None or names_an_operation(one.words, setting)]


@dataclass(slots=True)
class _Told:
    """What one piece of the text tells; ``rest`` is what none of our words explains."""

    words: list[str]
    joint: Joint | None = None
    sides: list[Side] = field(default_factory=list)
    kinds: set[OperationKind] = field(default_factory=set)
    on: DayOrPart | None = None
    rest: bool = False

    def take(self, other: "_Told") -> None:
        """Add what a piece without a joint of its own tells: a side, a date, what was done."""
        self.sides = list(dict.fromkeys([*self.sides, *other.sides]))
        self.kinds |= other.kinds
        self.on = self.on or other.on

    def operations(self, unsaid: OperationKind) -> list[Operation]:
        """One operation a side; ``unsaid``: what was done where the words do not say it."""
        # Of several things said to be done, the one with the most to mind.
        several = OperationKind.REPLACEMENT if self.kinds else unsaid
        kind = next(iter(self.kinds)) if len(self.kinds) == 1 else several
        words = " ".join(", ".join(self.words).split())[:LONGEST_WORDS]
        if self.joint is not None and not self.rest and not re.search(r"\d", words):
            words = ""  # the value says all of it
        one = Operation(kind, self.joint, None, self.on, words=words)
        return [replace(one, side=side) for side in self.sides] or [one]


def read_operations(
    text: str,
    spoken: Spoken,
    today: date,
    typed: TypedWords,
    unsaid: OperationKind = OperationKind.REPLACEMENT,
) -> tuple[Operation, ...]:
    """The operations that a text tells, each once; nothing for a text without a letter.

    Args:
        today: a month without a year is the newest one that has begun.
        unsaid: what was done, where the words do not say it.
    """
    told: list[_Told] = []
    waiting: list[_Told] = []
    for piece in typed.between.split(text):
        if not any(letter.isalnum() for letter in piece):
            continue
        for one in _read_piece(piece, spoken, today, typed):
            if one.joint is not None or one.rest:
                for before in waiting:
                    one.take(before)
                one.words = [*(word for before in waiting for word in before.words), *one.words]
                waiting = []
                told.append(one)
            elif told and told[-1].joint is not None:
                told[-1].take(one)
                told[-1].words += one.words
            else:
                waiting.append(one)
    if waiting:
        first, *more = waiting
        for one in more:
            first.take(one)
            first.words += one.words
        told.append(first)
    found = [operation for one in told for operation in one.operations(unsaid)]
    return tuple(dict.fromkeys(found))


def _read_piece(piece: str, spoken: Spoken, today: date, typed: TypedWords) -> list[_Told]:
    """What stands between two commas: as a rule one joint, else one value for each joint named.

    A side before a joint belongs to it; one after the last joint belongs to that.
    """
    told = [_Told([piece.strip()])]
    named: list[_Told] = []
    for word in re.findall(r"[^\W\d_]+", plain_words(piece).replace("'s", "")):
        now = told[-1]
        known = False
        for kind in _meant(word, spoken("operation_kind")):
            now.kinds.add(OperationKind(kind))
            known = True
        for side in _meant(word, spoken("body_side")):
            sides = list(Side) if side == BOTH else [Side(side)]
            now.sides = list(dict.fromkeys([*now.sides, *sides]))
            known = True
        for joint in _meant(word, spoken("body_joint"), near=True):
            if now.joint is not None and now.joint is not Joint(joint):
                now = _Told([piece.strip()])
                told.append(now)
            now.joint = Joint(joint)
            named.append(now)
            known = True
        known = known or word in spoken("month") or word in spoken("operation_filler")
        now.rest = now.rest or not known
    if len(told) > 1:
        # Which of the sides is whose cannot be told for sure: each joint counts on both.
        return [_Told(one.words, one.joint) for one in told]
    told[0].on = day_told(piece, spoken("month"), today, typed)
    return told


def _meant(word: str, spoken: Mapping[str, str], *, near: bool = False) -> Iterable[str]:
    """The code of one word, if it has one; with ``near`` a slip of the pen is forgiven."""
    code = meant_by(word, spoken) if near else spoken.get(word)
    return () if code is None else (code,)


def day_told(
    piece: str, months: Mapping[str, str], today: date, typed: TypedWords
) -> DayOrPart | None:
    """When it was, as exactly as was said; ``None`` where that is unclear or yet to come."""
    said = plain_words(piece)
    years = {int(year) for year in _YEAR.findall(said)}
    numbered = _MONTH_OF_YEAR.search(said)
    named = {int(months[word]) for word in re.findall(r"[^\W\d_]+", said) if word in months}
    month = named.pop() if len(named) == 1 else int(numbered[1]) if numbered else None
    if not years and month is not None:
        years = {today.year if month <= today.month else today.year - 1}
    if len(years) != 1:
        return None
    (year,) = years
    days = [int(day) for day in typed.day.findall(said)] if not numbered else []
    day = days[0] if month is not None and len(days) == 1 else None
    try:
        on = DayOrPart(year, month, day)
    except ValueError:
        return DayOrPart(year) if year <= today.year else None
    first_day = date(year, month or 1, day or 1)
    return on if first_day <= today else None
