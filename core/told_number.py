"""A number of the body told in free words, and the bands that it may fall into.

The red-flag reader finds such numbers; :mod:`core.readiness.told_numbers` says their bands.
"""

from dataclasses import dataclass
from enum import StrEnum


class NumberKind(StrEnum):
    """What was measured."""

    PRESSURE = "pressure"
    SUGAR = "sugar"
    PULSE = "pulse"
    TEMPERATURE = "temperature"
    OXYGEN = "oxygen"
    WEIGHT = "weight"
    WEIGHT_GAIN = "weight_gain"
    WEIGHT_LOSS = "weight_loss"
    KETONES = "ketones"


class Who(StrEnum):
    """Whose number it is."""

    SELF = "self"
    OTHER = "other"


class When(StrEnum):
    """Whether the number is one of now; an aim, a limit or a supposed number is none of anybody."""

    NOW = "now"
    PAST = "past"
    AIM = "aim"


class OffScale(StrEnum):
    """What a meter shows in the place of a number that it cannot show."""

    HIGH = "HI"
    LOW = "LO"


class NumberBand(StrEnum):
    """What a number means; the lexicon's rules name these as they name its concepts."""

    PRESSURE_EXTREME = "PRESSURE_EXTREME"
    PRESSURE_VERY_HIGH = "PRESSURE_VERY_HIGH"
    PRESSURE_RAISED = "PRESSURE_RAISED"
    PRESSURE_LOW = "PRESSURE_LOW"
    SUGAR_VERY_LOW = "SUGAR_VERY_LOW"
    SUGAR_LOW = "SUGAR_LOW"
    SUGAR_HIGH = "SUGAR_HIGH"
    SUGAR_VERY_HIGH = "SUGAR_VERY_HIGH"
    KETONES_SOME = "KETONES_SOME"
    KETONES_HIGH = "KETONES_HIGH"
    PULSE_SLOW = "PULSE_SLOW"
    PULSE_FAST = "PULSE_FAST"
    PULSE_VERY_FAST = "PULSE_VERY_FAST"
    TEMPERATURE_LOW = "TEMPERATURE_LOW"
    TEMPERATURE_WARM = "TEMPERATURE_WARM"
    TEMPERATURE_FEVER = "TEMPERATURE_FEVER"
    TEMPERATURE_HIGH = "TEMPERATURE_HIGH"
    TEMPERATURE_EXTREME = "TEMPERATURE_EXTREME"
    OXYGEN_LOW = "OXYGEN_LOW"
    OXYGEN_LOWISH = "OXYGEN_LOWISH"
    WEIGHT_UP_FAST = "WEIGHT_UP_FAST"
    WEIGHT_UP_HEART = "WEIGHT_UP_HEART"


@dataclass(frozen=True, slots=True)
class ToldNumber:
    """A number as told, found in a text at characters [start, end).

    Attributes:
        values: as told, in ``unit``; a pressure is (top, bottom), or the top alone. Several of the
            same kind told one after the other stand in one value, first to last.
        unit: "mmHg", "mmol/L", "mg/dL", "bpm", "in 15 s", "in 30 s", "C", "F", "%", "kg", "lb",
            "st" or "+"; "" where none was told.
        off_scale: what the meter showed instead of a number; then there are no values.
        after_effort: told of during or right after exertion.
        days: within how many days a weight was gained, where told.
    """

    kind: NumberKind
    values: tuple[float, ...]
    unit: str
    who: Who
    when: When
    start: int
    end: int
    off_scale: OffScale | None = None
    after_effort: bool = False
    days: int | None = None

    @property
    def counts(self) -> bool:
        """Whether it is the writer's own number of now: then it is kept on record."""
        return self.who is Who.SELF and self.when is When.NOW
