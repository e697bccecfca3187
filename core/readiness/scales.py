"""Typed answers: each scale knows its range, its step, its good end and its anchors.

The words shown at the anchors are templates; here they are codes. Two effort scales from 0 to 10
exist in the literature with different words at 5 ("hard" on the session scale of Foster 2001,
"moderate" on the scale relative to capacity of Nelson 2007), so that every rating carries its
scale, and ratings of different scales cannot be compared or added.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from core.errors import OutOfRangeError
from core.number_words import Link, NumberWords, numbers_in
from core.vocabulary import MMOL_PER_MG


class ScaleId(StrEnum):
    """Name of a scale, as stored with each answer."""

    MORNING = "morning_1_5"
    SESSION_EFFORT = "session_effort_0_10"
    SESSION_EFFORT_WORDED = "session_effort_worded_0_10"
    CAPACITY_EFFORT = "capacity_effort_0_10"
    PAIN = "pain_0_10"
    LEFT_IN_HAND = "left_in_hand_0_5"
    REPS = "reps"
    MINUTES = "minutes"
    PULSE = "pulse_per_minute"
    SYSTOLIC = "systolic_mmhg"
    DIASTOLIC = "diastolic_mmhg"
    GLUCOSE_MMOL = "glucose_mmol_per_l"
    GLUCOSE_MG = "glucose_mg_per_dl"
    WEIGHT_KG = "weight_kg"


class GoodEnd(StrEnum):
    """Which end of a scale is the good one."""

    LOW = "low"
    HIGH = "high"
    NEITHER = "neither"


@dataclass(frozen=True, slots=True)
class Scale:
    """Range and meaning of one kind of answer.

    Attributes:
        low, high: the range in which an answer is believed, both included.
        step: the finest difference that counts; 1 means whole numbers.
        anchors: value -> code of the word shown there (empty: no words).
        out_of: "7/10" and "7 out of 10" are read as 7.
    """

    id: ScaleId
    low: float
    high: float
    good_end: GoodEnd
    step: float = 1.0
    anchors: Mapping[int, str] = field(default_factory=dict)
    out_of: bool = False

    def holds(self, value: float) -> bool:
        """Whether ``value`` lies on the scale, its step included."""
        return self.low <= value <= self.high and self.on_step(value)

    def on_step(self, value: float) -> bool:
        """Whether ``value`` is a multiple of the step."""
        steps = value / self.step
        return abs(steps - round(steps)) < 1e-9


MORNING = Scale(
    ScaleId.MORNING,
    1,
    5,
    GoodEnd.HIGH,
    anchors={1: "worst", 2: "poor", 3: "middling", 4: "good", 5: "best"},
    out_of=True,
)
# Anchored where Foster 2001 has anchors: no words at 6, 8 and 9.
SESSION_EFFORT = Scale(
    ScaleId.SESSION_EFFORT,
    0,
    10,
    GoodEnd.NEITHER,
    step=0.5,
    anchors={
        0: "resting",
        1: "hardly_any",
        2: "little",
        3: "middling",
        4: "rather_hard",
        5: "hard",
        7: "very_hard",
        10: "all_i_had",
    },
    out_of=True,
)
# The same with a word at every number, for people who cannot place themselves between words. The
# words at 6, 8 and 9 are ours, so that it has a name of its own; older ratings keep theirs.
SESSION_EFFORT_WORDED = replace(
    SESSION_EFFORT,
    id=ScaleId.SESSION_EFFORT_WORDED,
    anchors={**SESSION_EFFORT.anchors, 6: "harder", 8: "very_very_hard", 9: "nearly_all_i_had"},
)
CAPACITY_EFFORT = Scale(
    ScaleId.CAPACITY_EFFORT,
    0,
    10,
    GoodEnd.NEITHER,
    anchors={0: "sitting", 5: "medium", 7: "vigorous", 10: "utmost"},
    out_of=True,
)
PAIN = Scale(
    ScaleId.PAIN,
    0,
    10,
    GoodEnd.LOW,
    anchors={0: "no_pain", 10: "worst_pain"},
    out_of=True,
)
# Five stands for "five or more".
LEFT_IN_HAND = Scale(ScaleId.LEFT_IN_HAND, 0, 5, GoodEnd.NEITHER, anchors={5: "five_or_more"})
REPS = Scale(ScaleId.REPS, 0, 60, GoodEnd.NEITHER)
MINUTES = Scale(ScaleId.MINUTES, 0, 240, GoodEnd.NEITHER)
PULSE = Scale(ScaleId.PULSE, 25, 240, GoodEnd.NEITHER)
SYSTOLIC = Scale(ScaleId.SYSTOLIC, 60, 280, GoodEnd.NEITHER)
DIASTOLIC = Scale(ScaleId.DIASTOLIC, 30, 160, GoodEnd.NEITHER)
GLUCOSE_MMOL = Scale(ScaleId.GLUCOSE_MMOL, 1.0, 35.0, GoodEnd.NEITHER, step=0.1)
GLUCOSE_MG = Scale(ScaleId.GLUCOSE_MG, 18, 630, GoodEnd.NEITHER)
WEIGHT_KG = Scale(ScaleId.WEIGHT_KG, 30, 250, GoodEnd.NEITHER, step=0.1)

SCALES: Mapping[ScaleId, Scale] = {
    scale.id: scale
    for scale in (
        MORNING,
        SESSION_EFFORT,
        SESSION_EFFORT_WORDED,
        CAPACITY_EFFORT,
        PAIN,
        LEFT_IN_HAND,
        REPS,
        MINUTES,
        PULSE,
        SYSTOLIC,
        DIASTOLIC,
        GLUCOSE_MMOL,
        GLUCOSE_MG,
        WEIGHT_KG,
    )
}

SESSION_SCALES = frozenset({ScaleId.SESSION_EFFORT, ScaleId.SESSION_EFFORT_WORDED})
"""Both have the words of Foster 2001 at its anchors, so that loads may be made of either (ours)."""

EFFORT_SCALES = SESSION_SCALES | {ScaleId.CAPACITY_EFFORT}


class UnusableReason(StrEnum):
    """Why an answer has to be asked again; one sentence each in the templates."""

    NOT_A_NUMBER = "not_a_number"
    SEVERAL_NUMBERS = "several_numbers"
    NOT_WHOLE = "not_whole"
    TOO_LOW = "too_low"
    TOO_HIGH = "too_high"
    OTHER_SCALE = "other_scale"
    OTHER_UNIT = "other_unit"
    TWO_NUMBERS_NEEDED = "two_numbers_needed"
    WRONG_ORDER = "wrong_order"
    NOT_A_CHOICE = "not_a_choice"


@dataclass(frozen=True, slots=True)
class UnusableAnswer:
    """An answer that cannot be used, and why. ``numbers`` are those the sentence may show."""

    reason: UnusableReason
    numbers: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class EffortRating:
    """An effort out of ten with the scale it was given on.

    Raises:
        OutOfRangeError: ``scale`` is not an effort scale, or ``value`` is not on it.
    """

    value: float
    scale: ScaleId = ScaleId.SESSION_EFFORT

    def __post_init__(self) -> None:
        if self.scale not in EFFORT_SCALES:
            raise OutOfRangeError(f"{self.scale} is not an effort scale")
        if not SCALES[self.scale].holds(self.value):
            raise OutOfRangeError(f"{self.value} is not on {self.scale}")


@dataclass(frozen=True, slots=True)
class Pressure:
    """A blood pressure, mmHg."""

    systolic: int
    diastolic: int


# A number of these is none of the body: "about 25 minutes" is no blood sugar. "72 a minute" is a
# pulse.
_TIME_OR_WAY = (
    r"mins?|minutes?|hours?|hrs?|days?|weeks?|months?|years?|o'?clock|[ap]\.?m\b"
    r"|steps|km|kilomet(?:re|er)s?|met(?:re|er)s|miles?|times|reps?"
)
_OF_THE_BODY = frozenset(
    {ScaleId.PULSE, ScaleId.GLUCOSE_MMOL, ScaleId.GLUCOSE_MG, ScaleId.WEIGHT_KG}
)
_OTHER_WEIGHT_UNITS = re.compile(r"\b(lbs?|pounds?|stones?|st)\b|\d(lbs?|st)\b")
# Below this, a figure "in mg/dL" is nearly always one in mmol/L; above 35 the reverse.
_DOUBTFUL_MG = 36.0
# Pounds over kilos of one person: 2.2, and a fifth of change in weight either way.
_POUNDS_OF_KG = (1.8, 2.7)


def parse_number(text: str, scale: Scale, words: NumberWords) -> int | float | UnusableAnswer:
    """Read one number on ``scale`` from free text.

    Whole-number scales give an int. Finer scales round to their step.
    """
    found = numbers_in(text, words)
    if not found:
        return UnusableAnswer(UnusableReason.NOT_A_NUMBER)
    if len(found) == 2 and scale.out_of and found[1].link is not Link.NONE:
        if found[1].value != scale.high:
            return UnusableAnswer(UnusableReason.OTHER_SCALE, (scale.low, scale.high))
    elif len(found) > 1:
        return UnusableAnswer(UnusableReason.SEVERAL_NUMBERS)
    if scale.id in _OF_THE_BODY and _counts_time_or_way(text, words):
        return UnusableAnswer(UnusableReason.NOT_A_NUMBER)
    if scale.id is ScaleId.WEIGHT_KG and _OTHER_WEIGHT_UNITS.search(text.casefold()):
        return UnusableAnswer(UnusableReason.OTHER_UNIT)
    return _on_scale(found[0].value, scale)


def _counts_time_or_way(text: str, words: NumberWords) -> bool:
    number = rf"(?:\d|(?:{words.spoken_run.pattern}))"
    return re.search(rf"{number}[\s-]*(?:{_TIME_OR_WAY})\b", text.casefold()) is not None


def _on_scale(value: float, scale: Scale) -> int | float | UnusableAnswer:
    if value < scale.low:
        return UnusableAnswer(UnusableReason.TOO_LOW, (scale.low, scale.high))
    if value > scale.high:
        return UnusableAnswer(UnusableReason.TOO_HIGH, (scale.low, scale.high))
    if scale.step < 1:
        return round(round(value / scale.step) * scale.step, 6)
    return int(value) if scale.on_step(value) else UnusableAnswer(UnusableReason.NOT_WHOLE)


def parse_pressure(text: str, words: NumberWords) -> Pressure | UnusableAnswer:
    """Read "142/88", "142 over 88" or "142 88"; a pulse after the pair is passed over."""
    found = numbers_in(text, words)
    if not found:
        return UnusableAnswer(UnusableReason.NOT_A_NUMBER)
    if len(found) == 1:
        return UnusableAnswer(UnusableReason.TWO_NUMBERS_NEEDED)
    if len(found) > 2 and found[1].link is Link.NONE:
        return UnusableAnswer(UnusableReason.SEVERAL_NUMBERS)
    upper = _on_scale(found[0].value, SYSTOLIC)
    lower = _on_scale(found[1].value, DIASTOLIC)
    if found[0].value <= found[1].value:
        return UnusableAnswer(UnusableReason.WRONG_ORDER)
    if isinstance(upper, UnusableAnswer):
        return upper
    if isinstance(lower, UnusableAnswer):
        return lower
    return Pressure(int(upper), int(lower))


def parse_weight(
    text: str, usual_kg: float | None, words: NumberWords, *, confirmed: bool = False
) -> float | int | UnusableAnswer:
    """Read a body weight in kg.

    A figure about 2.2 times the client's usual weight is pounds more likely than kilos, and is
    asked again; ``confirmed`` says that the client has been asked and stays with it.

    Args:
        usual_kg: the weight told when joining, if it was.
    """
    value = parse_number(text, WEIGHT_KG, words)
    if isinstance(value, UnusableAnswer) or confirmed or not usual_kg:
        return value
    low, high = _POUNDS_OF_KG
    return (
        UnusableAnswer(UnusableReason.OTHER_UNIT, (value,))
        if low <= value / usual_kg <= high
        else value
    )


def parse_glucose(
    text: str, unit: str, words: NumberWords, *, confirmed: bool = False
) -> float | UnusableAnswer:
    """Read a blood sugar in the client's fixed ``unit`` ("mmol/L" or "mg/dL"), as mmol/L.

    A figure that would be plausible in the other unit is asked again; ``confirmed`` says that the
    client has been asked and stays with the fixed unit.
    """
    if unit not in ("mmol/L", "mg/dL"):
        raise OutOfRangeError(f"unknown glucose unit {unit!r}")
    in_mg = unit == "mg/dL"
    value = parse_number(text, GLUCOSE_MG if in_mg else GLUCOSE_MMOL, words)
    figures = numbers_in(text, words)
    if len(figures) == 1 and not confirmed and not _counts_time_or_way(text, words):
        figure = figures[0].value
        if in_mg and GLUCOSE_MMOL.low <= figure < _DOUBTFUL_MG:
            return UnusableAnswer(UnusableReason.OTHER_UNIT, (figure,))
        if not in_mg and GLUCOSE_MMOL.high < figure <= GLUCOSE_MG.high:
            return UnusableAnswer(UnusableReason.OTHER_UNIT, (figure,))
    if isinstance(value, UnusableAnswer):
        return value
    return value * MMOL_PER_MG if in_mg else float(value)
