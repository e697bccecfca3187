"""Who needs a doctor's word before starting: the ACSM 2015 table as the floor, and our own rules.

The table is that of Riebe 2015 (Med Sci Sports Exerc 47:2473-9). Beyond it, lung disease, a joint
replacement and arthritis also need the doctor's word (design of this practice), and so do the other
conditions we know of (common practice). The result is a proposal: the coach decides.
"""

from collections.abc import Collection, Set
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from core.client.client import Clearance
from core.vocabulary import Condition


class IntensityWish(StrEnum):
    """How hard the client wants to train."""

    LIGHT_OR_MODERATE = "light_or_moderate"
    VIGOROUS = "vigorous"


class ScreeningSign(StrEnum):
    """The nine signs or symptoms of the table."""

    CHEST = "chest"
    BREATHLESS = "breathless"
    DIZZY_OR_FAINT = "dizzy_or_faint"
    BREATHLESS_LYING = "breathless_lying"
    ANKLES_SWOLLEN = "ankles_swollen"
    HEART_RACES = "heart_races"
    CALF_PAIN_WALKING = "calf_pain_walking"
    HEART_MURMUR = "heart_murmur"
    UNUSUALLY_TIRED = "unusually_tired"


class Decision(StrEnum):
    """The outcomes of the table."""

    START = "start"
    CLEARANCE_FIRST = "clearance_first"
    CONTINUE = "continue"
    CONTINUE_MODERATE = "continue_moderate"
    CLEARANCE_FOR_VIGOROUS = "clearance_for_vigorous"
    STOP_UNTIL_CLEARED = "stop_until_cleared"


class HealthChange(StrEnum):
    """The monthly question: has anything changed?"""

    NOTHING = "nothing"
    NEW_DIAGNOSIS = "new_diagnosis"
    OPERATION = "operation"
    NEW_MEDICINE = "new_medicine"
    NEW_DOSE = "new_dose"
    HOSPITAL_STAY = "hospital_stay"
    TOLD_TO_REST = "told_to_rest"


ENDS_NO_CLEARANCE = frozenset({HealthChange.NOTHING, HealthChange.NEW_DOSE})
"""A new dose of a known medicine eases two weeks (:mod:`core.readiness.absolute_rules`); all else
is judged anew."""

RESTARTS_EASIEST = frozenset({HealthChange.OPERATION, HealthChange.HOSPITAL_STAY})
"""After these the new clearance begins at the easiest (ours, the careful side)."""

CHANGES_MEDICINE = frozenset({HealthChange.NEW_MEDICINE, HealthChange.NEW_DOSE})

# Cardiac, peripheral or cerebrovascular; metabolic; renal. High pressure alone is a risk factor
# and not a disease of the table.
TABLE_CONDITIONS = frozenset(
    {
        Condition.HEART,
        Condition.HEART_FAILURE,
        Condition.ANGINA,
        Condition.RHYTHM,
        Condition.PACEMAKER,
        Condition.HEART_TRANSPLANT,
        Condition.STROKE,
        Condition.DIABETES,
        Condition.KIDNEY,
        Condition.VALVE,
        Condition.ANEURYSM,
        Condition.LEG_ARTERIES,
        Condition.DEFIBRILLATOR,
    }
)
NO_WORD_NEEDED = frozenset({Condition.LATEX_ALLERGY, Condition.OBESITY})
"""They change a plan and are by themselves no ground to ask a doctor (ours)."""

OUR_CONDITIONS = frozenset(Condition) - TABLE_CONDITIONS - NO_WORD_NEEDED

WORD_WHATEVER_THE_ROW = frozenset(
    {
        Condition.HEART_FAILURE,
        Condition.ANGINA,
        Condition.DEFIBRILLATOR,
        Condition.HEART_TRANSPLANT,
        Condition.VALVE,
        Condition.ANEURYSM,
    }
)
"""Of the table's conditions, those that need a doctor's word also of somebody who is active already
and wants no more than moderate work, where the table asks for none (ours)."""

ACTIVE_MINUTES, ACTIVE_DAYS, ACTIVE_MONTHS = 30, 3, 3
"""Active: planned, at least moderate, 30 minutes on 3 days a week for the last 3 months."""

VALID_DAYS = 365
CHANGE_ASKED_EVERY_DAYS = 30


@dataclass(frozen=True, slots=True)
class ScreeningAnswers:
    """What the client answered.

    Attributes:
        active: see ``ACTIVE_MINUTES``; not sure counts as no.
        cleared_by: name of the doctor who gave the last clearance; without it, it is hearsay.
        cleared_on: date of the last doctor's clearance, if there is one.
        changed_since: signs or health changed since then, an operation or a stay in hospital
            among them; not sure counts as yes.
        freshly_operated: an operation that may be less than twelve weeks old.
    """

    active: bool
    conditions: Set[Condition] = frozenset()
    signs: Set[ScreeningSign] = frozenset()
    wish: IntensityWish = IntensityWish.LIGHT_OR_MODERATE
    cleared_by: str = ""
    cleared_on: date | None = None
    changed_since: bool = True
    freshly_operated: bool = False


@dataclass(frozen=True, slots=True)
class Proposal:
    """What is proposed to the coach.

    Attributes:
        decision: by the table.
        needs_doctor: a doctor's word is wanted before the first plan, by the table or our rules,
            and there is none that still stands.
        word_stands: a doctor's word of the last year is told that nothing speaks against.
        vigorous_later: may progress to vigorous; otherwise as tolerated, moderate at most for now.
        table_conditions, our_conditions, signs: what led to it.
        valid_until: when the screening is to be repeated.
    """

    decision: Decision
    needs_doctor: bool
    word_stands: bool
    vigorous_later: bool
    table_conditions: tuple[Condition, ...]
    our_conditions: tuple[Condition, ...]
    signs: tuple[ScreeningSign, ...]
    valid_until: date


def table_decision(
    *, active: bool, disease: bool, signs: bool, wish: IntensityWish, cleared_recently: bool = False
) -> Decision:
    """The table itself.

    Args:
        disease: known cardiovascular, metabolic or renal disease.
        cleared_recently: cleared in the last 12 months and nothing changed since.
    """
    if signs:
        return Decision.STOP_UNTIL_CLEARED if active else Decision.CLEARANCE_FIRST
    if not active:
        return Decision.CLEARANCE_FIRST if disease else Decision.START
    if not disease:
        return Decision.CONTINUE
    if wish is IntensityWish.VIGOROUS and not cleared_recently:
        return Decision.CLEARANCE_FOR_VIGOROUS
    return Decision.CONTINUE if wish is IntensityWish.VIGOROUS else Decision.CONTINUE_MODERATE


def propose(answers: ScreeningAnswers, on: date) -> Proposal:
    """The proposal for the coach."""
    found = frozenset(answers.conditions)
    decision = table_decision(
        active=answers.active,
        disease=bool(found & TABLE_CONDITIONS),
        signs=bool(answers.signs),
        wish=answers.wish,
        cleared_recently=_cleared_recently(answers, on),
    )
    ours = tuple(condition for condition in Condition if condition in found & OUR_CONDITIONS)
    # A word given in the last year still stands, unless signs speak against it.
    word_stands = _cleared_recently(answers, on) and not answers.signs
    by_table = decision in (
        Decision.CLEARANCE_FIRST,
        Decision.STOP_UNTIL_CLEARED,
        Decision.CLEARANCE_FOR_VIGOROUS,
    )
    by_us = bool(found & (OUR_CONDITIONS | WORD_WHATEVER_THE_ROW)) or answers.freshly_operated
    return Proposal(
        decision=decision,
        needs_doctor=(by_table or by_us) and not word_stands,
        word_stands=word_stands,
        vigorous_later=decision in (Decision.START, Decision.CONTINUE)
        and (not by_us or word_stands),
        table_conditions=tuple(c for c in Condition if c in found & TABLE_CONDITIONS),
        our_conditions=ours,
        signs=tuple(sign for sign in ScreeningSign if sign in answers.signs),
        valid_until=_first_valid_until(answers, on),
    )


def _cleared_recently(answers: ScreeningAnswers, on: date) -> bool:
    if answers.cleared_on is None or not answers.cleared_by or answers.changed_since:
        return False
    return timedelta(0) <= on - answers.cleared_on <= timedelta(days=VALID_DAYS)


def _first_valid_until(answers: ScreeningAnswers, on: date) -> date:
    """A year from the doctor's word where that still counts, otherwise from today."""
    start = answers.cleared_on if _cleared_recently(answers, on) else None
    return (start or on) + timedelta(days=VALID_DAYS)


def clearance_ends(clearance: Clearance) -> date:
    """The last day of the coach's "cleared to start"; a year at most."""
    return clearance.until or clearance.on + timedelta(days=VALID_DAYS)


def clearance_holds(
    clearance: Clearance | None, on: date, changes: Collection[HealthChange] = ()
) -> bool:
    """Whether the coach's "cleared to start" still holds on a day.

    Args:
        changes: health changes told since the clearance.
    """
    if clearance is None or on < clearance.on:
        return False
    return on <= clearance_ends(clearance) and ENDS_NO_CLEARANCE.issuperset(changes)


def change_question_due(last_asked: date, on: date) -> bool:
    """Whether the monthly question on changes in health is due."""
    return (on - last_asked).days >= CHANGE_ASKED_EVERY_DAYS
