"""What a number of the body told in free words means: its bands, by the lines of the check-in.

The lines of pressure, pulse and sugar are those of :mod:`core.readiness.morning_numbers`; those
that only free words have (oxygen, temperature, ketones, a gain in weight) stand here with their
source. A clinician has yet to sign them. None of these is a diagnosis.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Set

from core.readiness.morning_numbers import (
    PRESSURE_HOLD,
    PRESSURE_LIGHT,
    PULSE_SLOW_UNDER,
    PULSE_VERY_FAST_OVER,
    SUGAR_HIGH_FROM,
)
from core.told_number import NumberBand, NumberKind, OffScale, ToldNumber
from core.vocabulary import MMOL_PER_MG, Condition

_Bands = Callable[[ToldNumber, str | None, Set[Condition]], Iterable[NumberBand]]
MMOL, MG = "mmol/L", "mg/dL"
HEART_AND_KIDNEY = frozenset(
    {Condition.HEART_FAILURE, Condition.HEART, Condition.KIDNEY, Condition.HEART_TRANSPLANT}
)

_MOST_MMOL = 33.9  # meters show "HI" above 33.3 mmol/L
_LEAST_MG = 20
_SUGAR_LOW_UNDER, _SUGAR_VERY_HIGH = 4.0, 27.8  # facts: hypo under 4.0; 27.8 from memory
_KETONES_SOME, _KETONES_HIGH = 1.6, 3.0  # NHS on ketoacidosis; in urine 1+ and 2+
_PRESSURE_EXTREME, _PRESSURE_LOW = 220, 90  # from memory; NEWS2 (90)
_PULSE_VERY_FAST = 131  # NEWS2
_OXYGEN_LOW, _OXYGEN_LOWISH, _OXYGEN_LOW_IN_LUNG_DISEASE = 92, 94, 87
# NHS and NEWS2: 38 is a fever, 39.1 a high one, 35.0 cold; 37.5 counts under chemotherapy.
_COLD, _WARM, _FEVER, _HIGH_FEVER, _EXTREME = 35.0, 37.5, 38.0, 39.1, 40.0
_GAIN_DAYS_KG = 2.0  # heart-failure advice: 2 kg in three days
_KG_PER = {"kg": 1.0, "lb": 0.45359237, "st": 6.35029318, "": 1.0}


def bands_of(
    number: ToldNumber,
    glucose_unit: str | None = None,
    conditions: Set[Condition] = frozenset(),
) -> tuple[NumberBand, ...]:
    """The bands that ``number`` falls into; of several values the worst counts.

    Args:
        glucose_unit: the writer's own ("mmol/L", "mg/dL"); None where it is not known: then a
            whole number from 34 is mg/dL, any other mmol/L.
        conditions: the writer's, where known.
    """
    return tuple(_BANDS[number.kind](number, glucose_unit, conditions))


def unit_matters(number: ToldNumber) -> bool:
    """Whether a sugar was told without a unit that is grave in either: nobody can say in which."""
    return (
        number.kind is NumberKind.SUGAR
        and not number.unit
        and any(value == int(value) and _LEAST_MG <= value <= _MOST_MMOL for value in number.values)
    )


def in_mmol(value: float, unit: str, glucose_unit: str | None) -> float:
    """A sugar in mmol/L; one that cannot be in the writer's unit is in the other one."""
    if unit:
        return value * MMOL_PER_MG if unit == MG else value
    if value != int(value) or value < _LEAST_MG:
        return value  # nobody tells mg/dL with a tenth, or under 20
    return value * MMOL_PER_MG if value > _MOST_MMOL or glucose_unit == MG else value


def per_minute(value: float, unit: str) -> float:
    """A pulse counted over part of a minute, for a whole one."""
    return value * {"in 15 s": 4, "in 30 s": 2}.get(unit, 1)


def celsius(value: float, unit: str) -> float:
    """A temperature in degrees Celsius; from 80 on it was told in Fahrenheit."""
    return (value - 32) / 1.8 if unit == "F" or (not unit and value > 80) else value


def kilograms(value: float, unit: str) -> float:
    """A weight in kilograms."""
    return value * _KG_PER[unit]


def _pressure(
    number: ToldNumber, _unit: str | None, _known: Set[Condition]
) -> Iterator[NumberBand]:
    scale = 1 if number.unit else 10  # told in centimetres of mercury
    top = number.values[0] * scale
    low = number.values[1] * scale if len(number.values) > 1 else 0.0
    if number.unit == "" and len(number.values) == 1:
        top = number.values[0]
    if top >= _PRESSURE_EXTREME:
        yield NumberBand.PRESSURE_EXTREME
    if top >= PRESSURE_HOLD[0] or low >= PRESSURE_HOLD[1]:
        yield NumberBand.PRESSURE_VERY_HIGH
    elif top >= PRESSURE_LIGHT[0] or low >= PRESSURE_LIGHT[1]:
        yield NumberBand.PRESSURE_RAISED
    elif top <= _PRESSURE_LOW:
        yield NumberBand.PRESSURE_LOW


def _sugar(
    number: ToldNumber, glucose_unit: str | None, _known: Set[Condition]
) -> Iterator[NumberBand]:
    if number.off_scale is not None:
        high = number.off_scale is OffScale.HIGH
        yield NumberBand.SUGAR_VERY_HIGH if high else NumberBand.SUGAR_LOW
        if not high:
            yield NumberBand.SUGAR_VERY_LOW
        return
    # After rounding to a tenth, 72, 250 and 500 mg/dL fall on the printed lines.
    mmol = round(in_mmol(number.values[-1], number.unit, glucose_unit), 1)
    if mmol < _SUGAR_LOW_UNDER:
        yield NumberBand.SUGAR_LOW
    elif mmol >= SUGAR_HIGH_FROM:
        yield NumberBand.SUGAR_HIGH
        if mmol >= _SUGAR_VERY_HIGH:
            yield NumberBand.SUGAR_VERY_HIGH


def _ketones(number: ToldNumber, _unit: str | None, _known: Set[Condition]) -> Iterator[NumberBand]:
    value, plus = max(number.values), number.unit == "+"
    if value >= (2 if plus else _KETONES_HIGH):
        yield NumberBand.KETONES_HIGH
    elif value >= (1 if plus else _KETONES_SOME):
        yield NumberBand.KETONES_SOME


def _pulse(number: ToldNumber, _unit: str | None, _known: Set[Condition]) -> Iterator[NumberBand]:
    beats = [per_minute(value, number.unit) for value in number.values]
    if min(beats) < PULSE_SLOW_UNDER:
        yield NumberBand.PULSE_SLOW
    elif max(beats) > PULSE_VERY_FAST_OVER and not number.after_effort:
        yield NumberBand.PULSE_FAST
        if max(beats) >= _PULSE_VERY_FAST:
            yield NumberBand.PULSE_VERY_FAST


def _temperature(
    number: ToldNumber, _unit: str | None, _known: Set[Condition]
) -> Iterator[NumberBand]:
    degrees = [round(celsius(value, number.unit), 1) for value in number.values]
    if min(degrees) <= _COLD:
        yield NumberBand.TEMPERATURE_LOW
    for least, band in (
        (_WARM, NumberBand.TEMPERATURE_WARM),
        (_FEVER, NumberBand.TEMPERATURE_FEVER),
        (_HIGH_FEVER, NumberBand.TEMPERATURE_HIGH),
        (_EXTREME, NumberBand.TEMPERATURE_EXTREME),
    ):
        if max(degrees) >= least:
            yield band


def _oxygen(
    number: ToldNumber, _unit: str | None, conditions: Set[Condition]
) -> Iterator[NumberBand]:
    least = min(number.values)
    in_lung_disease = Condition.LUNG in conditions
    if least <= (_OXYGEN_LOW_IN_LUNG_DISEASE if in_lung_disease else _OXYGEN_LOW):
        # Right after exertion it is taken again at rest first.
        yield NumberBand.OXYGEN_LOWISH if number.after_effort else NumberBand.OXYGEN_LOW
    elif least <= _OXYGEN_LOWISH and not in_lung_disease:
        yield NumberBand.OXYGEN_LOWISH


def _weight(
    number: ToldNumber, _unit: str | None, conditions: Set[Condition]
) -> Iterator[NumberBand]:
    """Weights told one after the other, in kilograms or pounds, are a gain in days."""
    rise = kilograms(number.values[-1] - number.values[0], number.unit)
    if rise >= _GAIN_DAYS_KG:
        yield from _gained(conditions)


def _weight_gain(
    number: ToldNumber, _unit: str | None, conditions: Set[Condition]
) -> Iterator[NumberBand]:
    gain = kilograms(max(number.values), number.unit)
    if number.days is not None and gain >= _GAIN_DAYS_KG:
        yield from _gained(conditions)


def _gained(conditions: Set[Condition]) -> Iterator[NumberBand]:
    yield NumberBand.WEIGHT_UP_FAST
    if conditions & HEART_AND_KIDNEY:
        yield NumberBand.WEIGHT_UP_HEART


def _nothing(_number: ToldNumber, _unit: str | None, _known: Set[Condition]) -> tuple[()]:
    return ()


_BANDS: Mapping[NumberKind, _Bands] = {
    NumberKind.PRESSURE: _pressure,
    NumberKind.SUGAR: _sugar,
    NumberKind.KETONES: _ketones,
    NumberKind.PULSE: _pulse,
    NumberKind.TEMPERATURE: _temperature,
    NumberKind.OXYGEN: _oxygen,
    NumberKind.WEIGHT: _weight,
    NumberKind.WEIGHT_GAIN: _weight_gain,
    NumberKind.WEIGHT_LOSS: _nothing,
}
