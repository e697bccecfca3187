"""What a gap cost, by its days and its cause: a dose after it is lower, and the reason is true.

The numbers are the project's own (from memory, see the module); the order of causes is checked.
"""

from datetime import timedelta

import pytest

from bot.cli.closed_loop_client import LoopClient
from core.dose.gap import GapCause, gap_loss
from core.dose.prescription import DoseCode
from core.readiness.morning_questions import IllKind, Morning
from core.vocabulary import Aim, Family
from tests.support.dose_cases import MONDAY, client_of, fine_ladder


def day(number):
    return MONDAY + timedelta(days=number)


def loss(days, *, ill=(), well=(), trained=(0,)):
    return gap_loss(
        [day(one) for one in trained],
        day(days),
        ill_on={day(one) for one in ill},
        well_on={day(one) for one in well},
    )


def test_the_usual_days_between_two_sessions_cost_nothing():
    for days in range(1, 8):
        assert loss(days).lost == 0.0


def test_illness_costs_more_than_silence_and_silence_more_than_a_known_holiday():
    ill = loss(20, ill=range(3, 15), well=range(15, 21))
    silent, away = loss(20), loss(20, well=range(1, 21))
    assert [one.cause for one in (ill, silent, away)] == [
        GapCause.ILL,
        GapCause.UNKNOWN,
        GapCause.WELL,
    ]
    assert ill.lost > silent.lost > away.lost == 0.0


@pytest.mark.parametrize("cause", ["ill", "silent"])
def test_more_days_cost_more_up_to_a_limit(cause):
    found = [loss(days, ill=range(1, days) if cause == "ill" else ()).lost for days in range(9, 90)]
    assert found == sorted(found)
    assert found[0] < found[-1] <= 0.15


def test_an_illness_told_on_its_first_and_last_morning_counts_whole():
    assert loss(9, ill=(2, 7)).lost == loss(9, ill=range(2, 8)).lost


def test_the_second_session_after_it_still_counts_half_and_the_third_none():
    first = loss(10, ill=range(3, 9)).lost
    assert loss(12, ill=range(3, 9), trained=(0, 10)).lost == pytest.approx(first / 2)
    assert loss(14, ill=range(3, 9), trained=(0, 10, 12)).lost == 0.0


def told(on, ill=IllKind.NONE):
    return Morning(on, sleep=4, tiredness=4, soreness=4, stress=4, mood=4, ill=ill)


def first_set_back(kind, aim=Aim.OPEN):
    """After eight sessions and a gap of ten days of which it is told, or not."""
    loop = LoopClient(client_of(aim, falls=0), {Family.SQUAT: fine_ladder()})
    for session in range(8):
        loop.morning(day(2 * session), told(day(2 * session)))
        given = loop.next_set(Family.SQUAT)
        loop.set_done(Family.SQUAT, given.amount, 2, slip=False, pain=0)
    for away in range(15, 24):
        ill = IllKind.BELOW_NECK if kind == "ill" else IllKind.NONE
        if kind != "silent":
            loop.morning(day(away), told(day(away), ill))
    loop.morning(day(24), told(day(24)))
    return loop.next_set(Family.SQUAT)


def work(given):
    return given.step.demand * (1 + 0.03 * given.amount)


def test_the_dose_is_lower_and_says_why():
    well, ill, silent = map(first_set_back, ("well", "ill", "silent"))
    assert work(ill) < work(silent) <= work(well)
    codes = {kind.reasons[0].code for kind in (ill,)}
    assert codes == {DoseCode.AFTER_ILLNESS}
    assert DoseCode.AFTER_SILENCE in {reason.code for reason in silent.reasons}
    assert not {DoseCode.AFTER_ILLNESS, DoseCode.AFTER_SILENCE} & {
        reason.code for reason in well.reasons
    }
    assert DoseCode.LOW_DAY not in {reason.code for reason in ill.reasons}
