"""Demand behaves: more of what makes a rung hard never asks less, and every body gets an answer."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from core.client.client import KitAtHome
from core.mechanics.body import Body
from core.mechanics.pose import PoseRefusal
from core.mechanics.pose_input import HAND_SUPPORT, band_tension
from core.mechanics.stances import STANCES
from core.movements.catalogue import Rung, Setting
from core.movements.demand import UNWEIGHED, Weighed, over_repetition, pose_input, weigh
from core.vocabulary import Sex
from tests.core.movements.people import FULL_KIT, bodies, catalogue, demand, kits

RUNGS = [rung for rung in catalogue() if rung.family not in UNWEIGHED]
SLACK = 1.002  # rounding of the search for a start pose


def with_dial(name: str) -> list[Rung]:
    return [rung for rung in RUNGS if name in rung.dials]


def ids(rung: Rung) -> str:
    return rung.id


@given(body=bodies, low=st.floats(0.0, 1.0), high=st.floats(0.0, 1.0))
@settings(max_examples=40, deadline=None)
@pytest.mark.parametrize("surface", ["bench", "table", "chair"])
def test_a_higher_surface_never_asks_more_of_a_push(
    surface: str, body: Body, low: float, high: float
) -> None:
    rung = catalogue().by_id[f"push_{surface}"]
    heights = sorted((30.0 + 75.0 * low, 30.0 + 75.0 * high))
    lower, higher = (demand(body, rung, KitAtHome(**{surface: height})) for height in heights)
    assume(not math.isnan(lower) and not math.isnan(higher))
    assert higher <= lower * SLACK


@given(body=bodies, low=st.floats(40.0, 60.0), high=st.floats(40.0, 60.0))
@settings(max_examples=60, deadline=None)
def test_a_higher_seat_never_asks_more(body: Body, low: float, high: float) -> None:
    rung = catalogue().by_id["squat_to_chair"]
    low, high = sorted((low, high))
    lower, higher = (demand(body, rung, KitAtHome(chair=height)) for height in (low, high))
    assume(not math.isnan(lower) and not math.isnan(higher))
    assert higher <= lower * SLACK


@given(body=bodies, seat=st.floats(34.0, 40.0))
@settings(max_examples=40, deadline=None)
def test_seats_below_forty_centimetres_ask_the_same(body: Body, seat: float) -> None:
    """Flat, as peaks are (Yoshioka 2014)."""
    rung = catalogue().by_id["squat_to_chair"]
    low, forty = (demand(body, rung, KitAtHome(chair=height)) for height in (seat, 40.0))
    assume(not math.isnan(low) and not math.isnan(forty))
    assert low == pytest.approx(forty, rel=1e-6)


@given(body=bodies)
@settings(max_examples=8, deadline=None)
@pytest.mark.parametrize("rung", with_dial("load"), ids=ids)
def test_more_load_never_asks_less(rung: Rung, body: Body) -> None:
    kilograms = sorted(float(kg) for kg in rung.dials["load"] if float(kg) <= 5.0)
    asked = [demand(body, rung, load=kg) for kg in kilograms]
    assert all(a <= b * SLACK for a, b in itertools.pairwise(asked))


@given(body=bodies)
@settings(max_examples=8, deadline=None)
@pytest.mark.parametrize("rung", with_dial("support"), ids=ids)
def test_more_hand_support_never_asks_more(rung: Rung, body: Body) -> None:
    words = sorted(map(str, rung.dials["support"]), key=HAND_SUPPORT.__getitem__)
    asked = [demand(body, rung, support=word) for word in words]
    assert all(a * SLACK >= b for a, b in itertools.pairwise(asked))


@given(body=bodies)
@settings(max_examples=8, deadline=None)
@pytest.mark.parametrize("rung", with_dial("band"), ids=ids)
def test_a_stiffer_or_shorter_band_never_asks_less(rung: Rung, body: Body) -> None:
    stiffer = [demand(body, rung, band=band) for band in ("light", "medium", "heavy")]
    shorter = [demand(body, rung, stretch=float(s)) for s in sorted(rung.dials["stretch"])]
    for asked in (stiffer, shorter):
        assert all(a <= b * SLACK for a, b in itertools.pairwise(asked))


@given(body=bodies)
@settings(max_examples=8, deadline=None)
@pytest.mark.parametrize("rung", with_dial("lead"), ids=ids)
def test_more_weight_on_the_leading_leg_asks_more(rung: Rung, body: Body) -> None:
    asked = [demand(body, rung, lead=float(share)) for share in sorted(rung.dials["lead"])]
    assert all(a < b for a, b in itertools.pairwise(asked))


@given(body=bodies, kit=kits)
@settings(max_examples=25, deadline=None)
def test_every_rung_is_placed_or_says_why_and_is_worth_something(
    body: Body, kit: KitAtHome
) -> None:
    reasons = {"", *PoseRefusal}
    for rung in catalogue():
        if not all(getattr(kit, item.value) for item in rung.needs):
            continue
        weighed = weigh(body, rung, kit)
        for asked, why in zip(weighed.demand, weighed.refused, strict=True):
            assert str(why) in reasons
            assert math.isnan(asked) if why else asked > 0.0, rung.id


@given(body=bodies)
@settings(max_examples=25, deadline=None)
def test_nothing_sinks_below_the_floor(body: Body) -> None:
    progress = np.linspace(0.0, 1.0, 9)[None, :]
    for rung in catalogue():
        given_ = pose_input(body, rung, FULL_KIT, [()], progress)
        pose = STANCES[rung.stance](given_)
        if pose.refused[0]:
            continue
        for name, points in pose.joints.items():
            assert np.min(points.imag) >= -0.004, f"{rung.id} {name}"


@given(body=bodies)
@settings(max_examples=15, deadline=None)
def test_no_limb_changes_its_length(body: Body) -> None:
    """Side views only: from in front, limbs that come towards the viewer look shorter."""
    progress = np.linspace(0.0, 1.0, 7)[None, :]
    for rung in catalogue():
        pose = STANCES[rung.stance](pose_input(body, rung, FULL_KIT, [()], progress))
        if pose.refused[0] or pose.view == "front" or rung.stance == "supine":
            continue
        for part, (near, far) in {"thigh": ("hip", "knee"), "shank": ("knee", "ankle")}.items():
            for side in ("near", "far"):
                length = np.abs(pose.joints[f"{near}_{side}"] - pose.joints[f"{far}_{side}"])
                assert np.allclose(length, body.lengths[part], atol=0.004), f"{rung.id} {part}"


def test_rest_lowers_and_holds_raise_the_one_number() -> None:
    body = Body(Sex.FEMALE, 1.65, 70.0)
    rung = catalogue().by_id["squat_pause"]
    assert demand(body, rung, pause=3.0) > demand(body, rung)
    pulse = catalogue().by_id["squat_pulse"]
    assert demand(body, pulse, pulses=4.0) > demand(body, pulse, pulses=1.0)


def test_an_even_intensity_without_rest_is_its_own_mean() -> None:
    rung = catalogue().by_id["push_toes_pulse"]
    assert over_repetition(rung, {}, np.full((1, 9), 42.0))[0] == pytest.approx(42.0)


def test_slower_pause_and_pulses_are_counted_for_each_setting_alone() -> None:
    body = Body(Sex.FEMALE, 1.65, 70.0)
    rung = catalogue().by_id["push_bench"]
    together = dict(zip(*_asked(weigh(body, rung, FULL_KIT)), strict=True))
    for setting, asked in together.items():
        assert asked == pytest.approx(demand(body, rung, **dict(setting)), rel=1e-9)


def _asked(weighed: Weighed) -> tuple[tuple[Setting, ...], list[float]]:
    return weighed.settings, weighed.demand.tolist()


@pytest.mark.parametrize(
    ("percent", "newtons"), [(100.0, 20.4), (200.0, 29.7)], ids=["twice", "three times"]
)
def test_band_tension_goes_through_the_published_points(percent: float, newtons: float) -> None:
    """4.6 lbf (20.5 N) at 100 % and 6.7 lbf (29.8 N) at 200 % of a common published ladder."""
    assert band_tension(20.44, percent) == pytest.approx(newtons, abs=0.2)


def test_a_slack_band_pulls_nothing_and_no_band_is_stretched_past_three_times() -> None:
    assert band_tension(20.0, 0.0) == 0.0
    assert band_tension(20.0, 260.0) == band_tension(20.0, 200.0)
