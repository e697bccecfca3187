"""What is at home is used on the way up: weights, bands, one leg, the floor; heavier before harder.

The order is the project's own wish; that more load at the same form is the usual first way up is
common practice.
"""

import itertools
from functools import cache

import pytest

from bot.cli.closed_loop_client import LoopClient
from core.client.client import KitAtHome
from core.dose.prescribe import _held
from core.dose.prior import steps_of
from core.movements.catalogue import Catalogue
from core.vocabulary import Aim, Band, Condition, Family, Kit, WalkingAid
from tests.support.dose_cases import client_of, on_day
from tests.support.facts import reference

SESSIONS = 40
HOME = {"chair": 43, "bench": 90, "table": 75, "step": 18}
KITS = {
    "nothing": KitAtHome(**HOME),
    "a bottle and a light band": KitAtHome(**HOME, bottle=2.5, band=Band.LIGHT),
    "six kilograms and a heavy band": KitAtHome(**HOME, bottle=6, band=Band.HEAVY),
}
FAMILIES = (
    Family.SQUAT,
    Family.HINGE,
    Family.PULL,
    Family.LUNGE,
    Family.STEP,
    Family.HEEL_RAISE,
    Family.SIDE_LIFT,
    Family.PUSH,
    Family.BRIDGE,
    Family.CARRY,
)


def catalogue() -> Catalogue:
    return reference().catalogue


@cache
def way_up(kit, family):
    return climbed(KITS[kit], family)


def climbed(kit, family):
    """The steps of a strong client who tells five or more each time, and her ladder."""
    who = client_of(Aim.OPEN, birth_year=1965, falls=0, kit=kit, stature_cm=165, mass_kg=68)
    steps = steps_of(who, family, catalogue())
    if not steps:
        return (), ()
    loop = LoopClient(who, {family: steps}, catalogue())
    found = []
    for session in range(SESSIONS):
        loop.open_day(on_day(2 * session))
        given = loop.next_set(family)
        if not found or found[-1].key != given.step.key:
            found.append(given.step)
        loop.set_done(family, given.amount, 5, slip=False, pain=0)
    return tuple(found), steps


def reached(kit, wanted):
    return any(wanted(step) for family in FAMILIES for step in way_up(kit, family)[0])


@pytest.mark.parametrize("kit", KITS)
@pytest.mark.parametrize("family", FAMILIES)
def test_no_posture_is_left_while_a_heavier_load_in_it_is_in_reach(kit, family):
    seen, steps = way_up(kit, family)
    for before, after in itertools.pairwise(seen):
        if after.demand <= before.demand or after.rung == before.rung:
            continue
        held, posture = _held(before, catalogue())
        left_out = [
            step.key
            for step in steps
            if step.rung == before.rung
            and before.demand < step.demand <= 1.15 * before.demand
            and _held(step, catalogue())[1] == posture
            and _held(step, catalogue())[0] > held
        ]
        assert not left_out, (before.key, after.key)


@pytest.mark.parametrize("kit", [kit for kit in KITS if kit != "nothing"])
def test_two_weights_and_a_band_are_reached(kit):
    home = KITS[kit]
    assert reached(kit, lambda step: _held(step, catalogue())[0][0] >= home.bottle)
    assert reached(kit, lambda step: step.rung in {"pull_two_arms", "hinge_bottles", "carry_both"})
    assert reached(kit, lambda step: Kit.BAND in step.needs)
    strongest = [*Band].index(home.band)
    assert reached(kit, lambda step: _held(step, catalogue())[0][1] == strongest)


@pytest.mark.parametrize("kit", KITS)
def test_one_leg_and_the_floor_are_reached(kit):
    assert reached(kit, lambda step: "one_leg" in step.rung)
    assert reached(kit, lambda step: step.rung in {"push_toes", "push_knees", "brace_toes"})
    assert reached(kit, lambda step: step.rung.startswith("bridge_one_leg"))


def two_of(kilograms):
    return KitAtHome(**HOME, bottle=kilograms)


@pytest.mark.parametrize("kilograms", [1.5, 2.5, 5, 6, 12])
def test_a_strong_squat_goes_by_the_weights_at_home_before_a_harder_posture(kilograms):
    seen, steps = climbed(two_of(kilograms), Family.SQUAT)
    weighed = [step.demand for step in seen if step.rung == "squat_bottle"]
    harder = [step.demand for step in seen if step.rung == "squat_staggered"]
    assert weighed
    assert max(weighed) == max(s.demand for s in steps if s.rung == "squat_bottle")
    assert harder, "the way does not end at the weights"
    assert max(weighed) < min(harder)


WEIGHTS = (1, 1.5, 2.5, 4, 6, 10)
BANDS = (None, Band.LIGHT, Band.HEAVY)


def kilograms(step):
    """Both hands together; a band is none."""
    hands = 2 if catalogue().by_id[step.rung].pose.get("load_in", "both") == "both" else 1
    return hands * _held(step, catalogue())[0][0]


@cache
def pulls(weight, band):
    return climbed(KitAtHome(**HOME, bottle=weight, band=band), Family.PULL)[0]


def until_the_top(seen):
    """At the top rungs take turns, which is no way up."""
    most = max(range(len(seen)), key=lambda at: seen[at].demand)
    return seen[: next(at for at, one in enumerate(seen) if one.demand > 0.8 * seen[most].demand)]


@pytest.mark.parametrize("band", BANDS)
@pytest.mark.parametrize("weight", WEIGHTS)
def test_a_weight_that_was_taken_up_is_not_put_down_for_a_lighter_one(weight, band):
    """No "2.5 kg, then none, then 1 kg" (project's own wish)."""
    held = [kilograms(step) for step in until_the_top(pulls(weight, band))]
    assert max(held) >= weight
    assert held == sorted(held)


@pytest.mark.parametrize("weight", WEIGHTS)
def test_on_the_way_up_the_weight_stays_and_the_posture_gets_harder(weight):
    seen = [step for step in until_the_top(pulls(weight, None)) if step.rung == "pull_two_arms"]
    leans = [step.dial.get("lean", 40.0) for step in seen]
    assert len(seen) >= 3
    assert leans == sorted(leans)
    assert all(
        kilograms(step) == 2 * weight for step, lean in zip(seen, leans, strict=True) if lean > 20
    )


@pytest.mark.parametrize("weight", WEIGHTS)
def test_who_has_held_nothing_begins_with_a_light_weight(weight):
    first = next(step for step in pulls(weight, None) if kilograms(step))
    assert kilograms(first) <= 3.0


@pytest.mark.parametrize("family", [Family.SQUAT, Family.LUNGE, Family.PULL])
def test_nobody_begins_elsewhere_or_with_more_weight_for_weights_at_home(family):
    """The frail have no further load at all; others begin where they began without them."""
    for facts in ({"birth_year": 1941}, {"birth_year": 1965}, {"birth_year": 1965, "falls": 2}):
        told = {"falls": 0, "stature_cm": 165, "mass_kg": 68, **facts}
        who = client_of(Aim.OPEN, kit=two_of(6), **told)
        steps = steps_of(who, family, catalogue())
        usual = tuple(step for step in steps if not step.further_load)
        assert (len(usual) == len(steps)) is bool(told["falls"])
        first, plain = (LoopClient(who, {family: of}, catalogue()) for of in (steps, usual))
        for loop in (first, plain):
            loop.open_day(on_day(0))
        assert first.next_set(family).step.key == plain.next_set(family).step.key


@pytest.mark.parametrize(
    "facts",
    [
        {"conditions": frozenset({Condition.HEART})},
        {"conditions": frozenset({Condition.THIN_BONES})},
        {"fears_falling": True},
        {"walking_aid": WalkingAid.STICK},
    ],
)
def test_who_needs_care_climbs_by_posture_alone(facts):
    who = client_of(Aim.OPEN, birth_year=1965, falls=0, kit=two_of(6), **facts)
    assert not any(
        step.further_load for family in FAMILIES for step in steps_of(who, family, catalogue())
    )
