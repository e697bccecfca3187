"""The bands of numbers told in free words, at their lines.

Sources: AHA (180/110 at rest, 220 from memory), NEWS2 of the Royal College of Physicians (oxygen
92 and 94, pulse 40 and 131, temperature 35.0, 38.0 and 39.1, top number 90), NHS on ketoacidosis
(ketones 1.6 and 3.0), Diabetes UK (4.0; 27.8 from memory), heart-failure advice (2 kg in days).
"""

import pytest

from core.readiness.told_numbers import bands_of, unit_matters
from core.told_number import NumberBand as Band
from core.told_number import NumberKind as Kind
from core.told_number import OffScale, ToldNumber, When, Who
from core.vocabulary import Condition


def told(kind: Kind, *values: float, unit: str = "", **more: object) -> ToldNumber:
    return ToldNumber(kind, values, unit, Who.SELF, When.NOW, 0, 1, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("number", "bands"),
    [
        (told(Kind.PRESSURE, 179, 109, unit="mmHg"), {Band.PRESSURE_RAISED}),
        (told(Kind.PRESSURE, 180, 80, unit="mmHg"), {Band.PRESSURE_VERY_HIGH}),
        (told(Kind.PRESSURE, 150, 110, unit="mmHg"), {Band.PRESSURE_VERY_HIGH}),
        (
            told(Kind.PRESSURE, 220, 100, unit="mmHg"),
            {Band.PRESSURE_VERY_HIGH, Band.PRESSURE_EXTREME},
        ),
        (told(Kind.PRESSURE, 159, 99, unit="mmHg"), set()),
        (told(Kind.PRESSURE, 90, 50, unit="mmHg"), {Band.PRESSURE_LOW}),
        (told(Kind.PRESSURE, 18, 9), {Band.PRESSURE_VERY_HIGH}),
        (told(Kind.SUGAR, 3.9, unit="mmol/L"), {Band.SUGAR_LOW}),
        (told(Kind.SUGAR, 4.0, unit="mmol/L"), set()),
        (told(Kind.SUGAR, 13.8, unit="mmol/L"), set()),
        (told(Kind.SUGAR, 14.0, unit="mmol/L"), {Band.SUGAR_HIGH}),
        (told(Kind.SUGAR, 250, unit="mg/dL"), {Band.SUGAR_HIGH}),
        (told(Kind.SUGAR, 27.8, unit="mmol/L"), {Band.SUGAR_HIGH, Band.SUGAR_VERY_HIGH}),
        (told(Kind.SUGAR, 410), {Band.SUGAR_HIGH}),
        (told(Kind.SUGAR, off_scale=OffScale.HIGH), {Band.SUGAR_VERY_HIGH}),
        (told(Kind.SUGAR, off_scale=OffScale.LOW), {Band.SUGAR_LOW, Band.SUGAR_VERY_LOW}),
        (told(Kind.KETONES, 1.5, unit="mmol/L"), set()),
        (told(Kind.KETONES, 1.6, unit="mmol/L"), {Band.KETONES_SOME}),
        (told(Kind.KETONES, 3.0, unit="mmol/L"), {Band.KETONES_HIGH}),
        (told(Kind.KETONES, 2, unit="+"), {Band.KETONES_HIGH}),
        (told(Kind.PULSE, 39, unit="bpm"), {Band.PULSE_SLOW}),
        (told(Kind.PULSE, 40, unit="bpm"), set()),
        (told(Kind.PULSE, 120, unit="bpm"), set()),
        (told(Kind.PULSE, 121, unit="bpm"), {Band.PULSE_FAST}),
        (told(Kind.PULSE, 131, unit="bpm"), {Band.PULSE_FAST, Band.PULSE_VERY_FAST}),
        (told(Kind.PULSE, 9, unit="in 15 s"), {Band.PULSE_SLOW}),
        (told(Kind.PULSE, 135, unit="bpm", after_effort=True), set()),
        (told(Kind.TEMPERATURE, 35.0, unit="C"), {Band.TEMPERATURE_LOW}),
        (told(Kind.TEMPERATURE, 37.4, unit="C"), set()),
        (told(Kind.TEMPERATURE, 99.5, unit="F"), {Band.TEMPERATURE_WARM}),
        (told(Kind.TEMPERATURE, 38.0, unit="C"), {Band.TEMPERATURE_WARM, Band.TEMPERATURE_FEVER}),
        (told(Kind.OXYGEN, 92, unit="%"), {Band.OXYGEN_LOW}),
        (told(Kind.OXYGEN, 94, unit="%"), {Band.OXYGEN_LOWISH}),
        (told(Kind.OXYGEN, 95, unit="%"), set()),
        (told(Kind.WEIGHT_GAIN, 2.0, unit="kg", days=7), {Band.WEIGHT_UP_FAST}),
        (told(Kind.WEIGHT_GAIN, 2.0, unit="kg"), set()),
        (told(Kind.WEIGHT_GAIN, 5, unit="lb", days=7), {Band.WEIGHT_UP_FAST}),
    ],
)
def test_the_band_of_a_number_at_its_line(number: ToldNumber, bands: set[Band]):
    assert set(bands_of(number)) == bands


def test_the_unit_of_the_writer_decides_a_whole_sugar():
    number = told(Kind.SUGAR, 24)

    assert unit_matters(number)
    assert bands_of(number, "mg/dL") == (Band.SUGAR_LOW,)
    assert bands_of(number, "mmol/L") == (Band.SUGAR_HIGH,)


def test_in_lung_disease_an_oxygen_of_88_to_94_is_as_usual_and_below_it_is_not():
    lung = frozenset({Condition.LUNG})

    assert bands_of(told(Kind.OXYGEN, 88, unit="%"), None, lung) == ()
    assert bands_of(told(Kind.OXYGEN, 87, unit="%"), None, lung) == (Band.OXYGEN_LOW,)


def test_a_gain_in_weight_matters_more_with_a_weak_heart():
    number = told(Kind.WEIGHT_GAIN, 2.5, unit="kg", days=7)

    assert Band.WEIGHT_UP_HEART in bands_of(number, None, {Condition.HEART_FAILURE})
    assert Band.WEIGHT_UP_HEART not in bands_of(number)
