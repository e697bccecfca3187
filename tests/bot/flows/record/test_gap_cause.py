"""What the time away cost goes by what the record knows of it: illness, silence, a holiday."""

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.flows.record.planning import gap_before, planned
from core.dose.gap import GapCause
from core.dose.prescription import DoseCode
from tests.bot.flows.record.test_calibrating import (
    BOB,
    STRONG,
    TODAY,
    Record,
    morning,
    usual_sets,
)

AWAY = 12


def back(*, ill=False, silent=True, away_until=None):
    """Bob trained three times and comes back twelve days later."""
    facts = Record(BOB)
    facts.save(BOB, **STRONG)
    facts.joined(BOB)
    facts.cleared(BOB)
    days = [TODAY - timedelta(days=AWAY + more) for more in (4, 2, 0)]
    facts.trained(BOB, *(replace(one, on=day) for day in days for one in usual_sets(facts)))
    between = [] if silent else [TODAY - timedelta(days=n) for n in range(AWAY - 1, 0, -1)]
    told = {"trouble": "ill", "ill_kind": "above_neck"} if ill else {}
    facts.checked_in(BOB, *(morning(day, **told) for day in between), morning(TODAY))
    record = replace(facts.client(BOB.id), away_until=away_until)
    checkin = facts.checkin(BOB.id, TODAY)
    return gap_before(record, checkin, facts), planned(record, checkin, facts)


def codes(plan):
    return {reason.code for item in plan.prescriptions for reason in item.reasons}


@pytest.mark.parametrize(
    ("told", "cause", "code"),
    [
        ({"silent": False, "ill": True}, GapCause.ILL, DoseCode.AFTER_ILLNESS),
        ({}, GapCause.UNKNOWN, DoseCode.AFTER_SILENCE),
    ],
)
def test_illness_and_silence_lower_the_day_and_are_named(told, cause, code):
    gap, plan = back(**told)
    assert gap.cause is cause
    assert gap.lost > 0.0
    assert code in codes(plan)
    assert all(item.day_shift < 0.0 for item in plan.prescriptions if item.day_shift is not None)


@pytest.mark.parametrize("told", [{"silent": False}, {"away_until": TODAY - timedelta(days=1)}])
def test_well_days_and_a_holiday_that_was_told_of_cost_nothing_beside(told):
    gap, plan = back(**told)
    assert gap.lost == 0.0
    assert not {DoseCode.AFTER_ILLNESS, DoseCode.AFTER_SILENCE} & codes(plan)
