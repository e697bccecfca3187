"""Balance against what is published, by excerpt."""

import pytest

from bot.reference.catalogue import load_catalogue
from core.client.home_tests import ONE_LEG_RISK_UNDER_SECONDS
from core.programme.balance import (
    BEGIN_ANEW_AFTER,
    STANCES,
    START_BY_SECONDS,
)


def test_stances_stand_in_the_order_of_their_sway():
    """Apart about as half-step, under heel-to-toe, under one leg (ages 60 to 89, PMC11566129)."""
    order = ("balance_apart", "balance_half_step", "balance_heel_to_toe", "balance_one_leg")
    ranks = [STANCES[rung] for rung in order]
    assert ranks == sorted(ranks)
    assert len(set(ranks)) == len(ranks)


def test_every_rung_that_is_shipped_has_its_stance():
    shipped = {rung.id for rung in load_catalogue() if rung.family == "balance"}
    assert shipped == set(STANCES)


def test_under_five_seconds_nothing_narrower_than_a_half_step_begins():
    """Five seconds on one leg is the line for injurious falls (Vellas 1997, from memory)."""
    risky = [row for row in START_BY_SECONDS if row[0] < ONE_LEG_RISK_UNDER_SECONDS]
    assert risky == [(0.0, 2, "one_hand")]


def test_it_begins_anew_before_half_is_lost():
    """Twelve weeks after training half of the range was lost (Vogler 2012); at eight weeks most was
    kept (Modaberi 2021).
    """
    assert BEGIN_ANEW_AFTER.days <= 8 * 7


@pytest.mark.parametrize(("seconds", "stance"), [(4.9, 2), (5.0, 3), (10.0, 3), (20.0, 4)])
def test_rows_of_the_start(seconds: float, stance: int):
    """Common practice: the rows of a physiotherapist's table, each from its own second on."""
    assert next(row[1] for row in START_BY_SECONDS if seconds >= row[0]) == stance
