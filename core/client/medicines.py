"""What each medicine class does to pulse, pressure and falls, and whether a pulse still guides.

Class level only, from the exercise-prescription handbooks (ACSM Guidelines, appendix A), cardiac
rehabilitation tables and the papers named in the rows. Where they differ the careful reading
stands: a class that may hold the pulse down hides it, since an honest "keep under 110" could then
be far too hard. No row is advice to change a medicine.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from core.vocabulary import Medicine


class Effect(StrEnum):
    """What a class does to a number, against the same person without it."""

    LOWER = "lower"
    NONE = "none"
    HIGHER = "higher"
    EITHER = "either"


class DizzyRisk(StrEnum):
    """Risk of dizziness and falls, mostly on standing up."""

    LOW = "low"
    SOME = "some"
    HIGH = "high"


class PulseUse(StrEnum):
    """Whether the pulse may guide effort, strictest first."""

    HIDDEN = "hidden"
    READS_HIGH = "reads_high"
    WITH_CARE = "with_care"
    SHOWN = "shown"


@dataclass(frozen=True, slots=True)
class MedicineEffect:
    """One row of the table.

    Attributes:
        rest, effort: on the pulse.
        pressure: on the blood pressure.
        reads_high_hours: hours after a dose while the pulse reads high; None means all day.
        can_lower_sugar: low sugar may come with or after exercise.
        hides_low_sugar: the fast heart that warns of low sugar may be missing.
    """

    rest: Effect
    effort: Effect
    pressure: Effect
    dizzy: DizzyRisk
    pulse: PulseUse
    reads_high_hours: float | None = None
    can_lower_sugar: bool = False
    hides_low_sugar: bool = False


_LOWER, _SAME, _HIGHER, _EITHER = Effect.LOWER, Effect.NONE, Effect.HIGHER, Effect.EITHER
_LOW, _SOME, _HIGH = DizzyRisk.LOW, DizzyRisk.SOME, DizzyRisk.HIGH
_HIDDEN, _READS_HIGH = PulseUse.HIDDEN, PulseUse.READS_HIGH
_WITH_CARE, _SHOWN = PulseUse.WITH_CARE, PulseUse.SHOWN

# Beats a minute come back about 138 minutes after a quick reliever (JMIR Cardio 2024 8:e56848).
_RELIEVER_HOURS = 3.0

EFFECTS: Mapping[Medicine, MedicineEffect] = {
    # Atenolol: about a quarter lower in effort (Rogers 1988).
    Medicine.BETA_BLOCKER: MedicineEffect(
        _LOWER, _LOWER, _LOWER, _SOME, _HIDDEN, hides_low_sugar=True
    ),
    # Timolol drops lower the pulse, betaxolol drops do not; the class is read as the first.
    Medicine.BETA_BLOCKER_EYE_DROPS: MedicineEffect(
        _LOWER, _LOWER, _LOWER, _SOME, _HIDDEN, hides_low_sugar=True
    ),
    Medicine.IVABRADINE: MedicineEffect(_LOWER, _LOWER, _SAME, _SOME, _HIDDEN),
    Medicine.RATE_CALCIUM_BLOCKER: MedicineEffect(_LOWER, _LOWER, _LOWER, _SOME, _HIDDEN),
    Medicine.CALCIUM_BLOCKER: MedicineEffect(_EITHER, _EITHER, _LOWER, _SOME, _WITH_CARE),
    # Lower at rest in atrial fibrillation, but effort is not held (Br Heart J 65:337).
    Medicine.DIGOXIN: MedicineEffect(_LOWER, _SAME, _SAME, _LOW, _HIDDEN),
    # Lower at peak effort (Yamauchi 1989), unchanged (van Baak 1991): usable, never alone.
    Medicine.ACE_OR_ARB: MedicineEffect(_SAME, _SAME, _LOWER, _SOME, _WITH_CARE),
    Medicine.NITRATE: MedicineEffect(_HIGHER, _HIGHER, _LOWER, _HIGH, _WITH_CARE),
    Medicine.DIURETIC: MedicineEffect(_SAME, _SAME, _LOWER, _SOME, _WITH_CARE),
    Medicine.ALPHA_BLOCKER: MedicineEffect(_HIGHER, _HIGHER, _LOWER, _HIGH, _WITH_CARE),
    Medicine.CENTRAL_PRESSURE: MedicineEffect(_LOWER, _LOWER, _LOWER, _SOME, _HIDDEN),
    # Amiodarone: rest 75 to 60, most 135 to 109.
    Medicine.RHYTHM_MEDICINE: MedicineEffect(_LOWER, _LOWER, _LOWER, _SOME, _HIDDEN),
    Medicine.RELIEVER_INHALER: MedicineEffect(
        _HIGHER, _EITHER, _SAME, _LOW, _READS_HIGH, reads_high_hours=_RELIEVER_HOURS
    ),
    Medicine.LONG_ACTING_INHALER: MedicineEffect(_SAME, _EITHER, _SAME, _LOW, _SHOWN),
    Medicine.ANTICHOLINERGIC_INHALER: MedicineEffect(_SAME, _SAME, _SAME, _LOW, _SHOWN),
    Medicine.THEOPHYLLINE: MedicineEffect(_HIGHER, _HIGHER, _SAME, _LOW, _READS_HIGH),
    Medicine.LEVOTHYROXINE: MedicineEffect(_EITHER, _EITHER, _EITHER, _LOW, _WITH_CARE),
    # Pseudoephedrine: 2.83 beats more (Salerno 2005).
    Medicine.DECONGESTANT: MedicineEffect(_HIGHER, _HIGHER, _HIGHER, _LOW, _READS_HIGH),
    Medicine.STIMULANT: MedicineEffect(_HIGHER, _HIGHER, _HIGHER, _LOW, _READS_HIGH),
    Medicine.SNRI: MedicineEffect(_HIGHER, _HIGHER, _HIGHER, _SOME, _READS_HIGH),
    # Five to twenty beats more, and a drop on standing.
    Medicine.TRICYCLIC: MedicineEffect(_HIGHER, _HIGHER, _LOWER, _HIGH, _READS_HIGH),
    # A drop on standing from 50 on (J Am Soc Hypertens 2018, 10.1016/j.jash.2018.06.002).
    Medicine.SSRI: MedicineEffect(_SAME, _SAME, _SAME, _SOME, _SHOWN),
    Medicine.INSULIN: MedicineEffect(_SAME, _SAME, _SAME, _LOW, _SHOWN, can_lower_sugar=True),
    Medicine.SULFONYLUREA: MedicineEffect(_SAME, _SAME, _SAME, _LOW, _SHOWN, can_lower_sugar=True),
    Medicine.BLOOD_THINNER: MedicineEffect(_SAME, _SAME, _SAME, _LOW, _SHOWN),
    # Low sugar: ADA Standards of Care, by excerpt; pulse and pressure from memory.
    Medicine.GLINIDE: MedicineEffect(_SAME, _SAME, _SAME, _LOW, _SHOWN, can_lower_sugar=True),
    # Standing drop: NHS medicine page, by excerpt; lower pressure from memory.
    Medicine.SGLT2: MedicineEffect(_SAME, _SAME, _LOWER, _SOME, _WITH_CARE),
    # Odds of a fall: opioids 1.60, sedatives 1.42, antiepileptics 1.55, antipsychotics 1.54,
    # medicines for Parkinson's 1.54 (0.99-2.39; meta-analyses, by excerpt). Pulse and pressure of
    # these five from memory.
    Medicine.OPIOID: MedicineEffect(_SAME, _SAME, _LOWER, _HIGH, _WITH_CARE),
    Medicine.SEDATIVE: MedicineEffect(_SAME, _SAME, _LOWER, _HIGH, _WITH_CARE),
    Medicine.GABAPENTINOID: MedicineEffect(_SAME, _SAME, _SAME, _HIGH, _SHOWN),
    Medicine.ANTIPSYCHOTIC: MedicineEffect(_HIGHER, _HIGHER, _LOWER, _HIGH, _READS_HIGH),
    Medicine.LEVODOPA: MedicineEffect(_EITHER, _EITHER, _LOWER, _HIGH, _WITH_CARE),
    # From memory.
    Medicine.STEROID: MedicineEffect(_SAME, _SAME, _HIGHER, _SOME, _WITH_CARE),
    # Dizzy, drowsy, a drop on standing (review of 2023, by excerpt); a faster pulse from memory.
    Medicine.BLADDER: MedicineEffect(_HIGHER, _HIGHER, _LOWER, _HIGH, _READS_HIGH),
    # From memory.
    Medicine.BONE: MedicineEffect(_SAME, _SAME, _SAME, _LOW, _SHOWN),
    Medicine.QUINOLONE: MedicineEffect(_SAME, _SAME, _SAME, _LOW, _SHOWN),
    # Not known: everything that any row warns of may be true.
    Medicine.UNKNOWN: MedicineEffect(_EITHER, _EITHER, _EITHER, _HIGH, _HIDDEN),
}

_STRICTNESS = {use: place for place, use in enumerate(PulseUse)}
_DIZZINESS = {risk: place for place, risk in enumerate(DizzyRisk)}


def strictest_pulse_use(medicines: Iterable[Medicine]) -> PulseUse:
    """The strictest pulse use of all classes taken."""
    uses = [EFFECTS[medicine].pulse for medicine in medicines]
    return min(uses, key=_STRICTNESS.__getitem__, default=PulseUse.SHOWN)


def highest_dizzy_risk(medicines: Iterable[Medicine]) -> DizzyRisk:
    """The highest risk of dizziness of all classes taken."""
    risks = [EFFECTS[medicine].dizzy for medicine in medicines]
    return max(risks, key=_DIZZINESS.__getitem__, default=DizzyRisk.LOW)


def lows_possible(medicines: Iterable[Medicine], *, diabetes: bool) -> bool:
    """Whether a medicine may bring the sugar too low; an unknown pill may, in diabetes."""
    return any(
        EFFECTS[medicine].can_lower_sugar or (diabetes and medicine is Medicine.UNKNOWN)
        for medicine in medicines
    )
