"""What a client may ask of a movement: easier, harder, it hurts, no kit."""

import itertools
from dataclasses import replace

import pytest

from core.client.client import KitAtHome, Limits
from core.client.steering import Trait
from core.dose.adjustments import easier, harder, hurts, without_kit
from core.dose.history import History
from core.dose.prescription import DoseCode, Instead
from core.dose.session import plan_session, today_of
from core.movements.ladder import ladder
from core.vocabulary import Aim, Band, Family, Spare
from tests.core.dose.test_session_plan import ready, trained
from tests.support.dose_cases import MONDAY, client_of
from tests.support.loaded import catalogue

CATALOGUE = catalogue()
BODY = {"stature_cm": 165, "mass_kg": 70}


def asked(family, client=None, history=None, on=MONDAY, level=4):
    """Today and the family's prescription in it."""
    client = client or client_of(Aim.ENDURANCE, **BODY)
    history = history or History()
    readiness = ready(client, on, level)
    plan = plan_session(client, history, readiness, CATALOGUE, on, families=[family])
    return today_of(client, history, readiness, CATALOGUE, on), plan.prescriptions[0]


@pytest.mark.parametrize("family", [Family.SQUAT, Family.PUSH, Family.BRACE, Family.BALANCE])
def test_easier_is_strictly_lower_down_to_the_lowest_which_says_so(family):
    today, current = asked(family)
    seen = [current.step.demand]
    while (choice := easier(today, current)).reason.code is DoseCode.MADE_EASIER:
        current = choice.prescription
        seen.append(current.step.demand)
    assert all(after < before for before, after in itertools.pairwise(seen))
    assert choice.reason.code is DoseCode.ALREADY_LOWEST
    assert choice.instead is not None
    assert current.step == today.steps(family)[0]


@pytest.mark.parametrize(
    "family", [Family.SQUAT, Family.PULL, Family.HINGE, Family.LUNGE, Family.HEEL_RAISE]
)
def test_easier_never_takes_the_hand_off_what_it_holds(family):
    """A free movement of less demand is no easier one for whom a hand was given."""
    today, current = asked(family, client_of(**BODY | {"birth_year": 1960}))

    def free(step):
        return Trait.UNHELD in CATALOGUE.by_id[step.rung].traits

    held = [step for step in today.steps(family) if not free(step)]
    assert any(free(step) and step.demand < held[-1].demand for step in today.steps(family))
    for step in held:
        found = easier(today, replace(current, step=step)).prescription
        assert found is None or not free(found.step), step.key


def test_easier_is_noticeably_easier_where_the_ladder_allows():
    today, current = asked(Family.PUSH)
    choice = easier(today, current)
    assert choice.prescription.step.demand <= 0.95 * current.step.demand
    assert choice.reason.numbers["percent"] >= 5


def test_at_the_lowest_there_are_fewer_repetitions_then_fewer_sets_then_leaving_it_out():
    lowest = ladder(client_of(**BODY), Family.SQUAT, CATALOGUE)[0]
    limits = Limits(ceilings={Family.SQUAT: lowest.demand})
    today, current = asked(Family.SQUAT, client_of(**BODY, limits=limits))
    current = replace(current, amount=current.high, sets=2)
    said = []
    while (choice := easier(today, current)).prescription is not None:
        said.append(choice.instead)
        assert choice.prescription.amount >= 8
        current = choice.prescription
        if choice.instead is Instead.FEWER_REPS:
            current = replace(current, sets=2)
    assert [*said, choice.instead] == [
        Instead.FEWER_REPS,
        Instead.REST_BETWEEN,
        Instead.LEAVE_OUT,
    ]


def test_easier_goes_below_the_coachs_floor_when_the_client_asks():
    steps = ladder(client_of(**BODY), Family.SQUAT, CATALOGUE)
    limits = Limits(
        floors={Family.SQUAT: steps[6].demand}, ceilings={Family.SQUAT: steps[6].demand}
    )
    today, current = asked(Family.SQUAT, client_of(**BODY, limits=limits))
    assert current.step.demand == steps[6].demand
    assert easier(today, current).prescription.step.demand < steps[6].demand


def test_harder_waits_for_two_good_sessions_and_says_so():
    client = client_of(Aim.STRENGTH, **BODY)
    history, on = trained(client, 1, left=3)
    today, current = asked(Family.SQUAT, client, history, on)
    choice = harder(today, current)
    assert choice.prescription == current
    assert choice.reason.code is DoseCode.HELD_FOR_GOOD_SESSIONS


def test_harder_is_refused_on_an_ease_off_day():
    client = client_of(Aim.STRENGTH, **BODY)
    history, on = trained(client, 8)
    today, current = asked(Family.SQUAT, client, history, on, level=3)
    choice = harder(today, current)
    assert choice.prescription == current
    assert choice.reason.code is DoseCode.NOT_HARDER_TODAY


def test_harder_is_refused_over_the_ceiling():
    limits = Limits(ceilings={Family.SQUAT: 2.5})
    client = client_of(Aim.OPEN, **BODY, limits=limits)
    history, on = trained(client, 8, left=5)
    today, current = asked(Family.SQUAT, client, history, on)
    assert harder(today, current).reason.code is DoseCode.OVER_CEILING


def test_harder_is_refused_where_too_little_would_stay_in_hand():
    client = client_of(Aim.OPEN, **BODY)
    history, on = trained(client, 8, left=1)
    today, current = asked(Family.SQUAT, client, history, on)
    choice = harder(today, current)
    assert choice.prescription == current
    assert choice.reason.code in {DoseCode.TOO_HARD_TODAY, DoseCode.STEP_TOO_LARGE}


def test_harder_gives_the_next_step_when_all_rules_allow():
    client = client_of(Aim.OPEN, **BODY)
    history, on = trained(client, 6, left=5)
    today, current = asked(Family.SQUAT, client, history, on)
    lower = easier(today, current).prescription
    choice = harder(today, lower)
    assert choice.reason.code is DoseCode.MADE_HARDER
    assert choice.prescription.step.demand > lower.step.demand


@pytest.mark.parametrize(
    ("how_much", "options", "code", "told"),
    [
        # 0-2 safe, 3-5 acceptable, over 5 too much (Thomee 1997, Ageberg 2010).
        (2, {}, DoseCode.PAIN_WATCH, False),
        (3, {}, DoseCode.PAIN_SUBSTITUTE, False),
        (5, {}, DoseCode.PAIN_SUBSTITUTE, False),
        (6, {}, DoseCode.PAIN_STOP_MOVEMENT, True),
        # A careful joint stops from 4 on, sharp pain at any number (caution).
        (4, {"careful_joint": True}, DoseCode.PAIN_STOP_MOVEMENT, True),
        (1, {"sharp": True}, DoseCode.PAIN_STOP_SHARP, True),
    ],
)
def test_the_pain_rule(how_much, options, code, told):
    today, current = asked(Family.PUSH)
    choice = hurts(today, current, Spare.WRIST, how_much, **options)
    assert choice.reason.code is code
    assert choice.tell_coach is told
    assert (choice.prescription is None) is told


def test_a_sore_wrist_gets_a_push_that_spares_it_at_87_percent_or_less():
    today, current = asked(Family.PUSH)
    found = hurts(today, current, Spare.WRIST, 4).prescription
    assert Spare.WRIST not in found.step.stresses
    assert found.step.demand <= 0.87 * current.step.demand * 1.001


def test_pain_without_anything_easier_ends_the_movement():
    lowest = ladder(client_of(**BODY), Family.SQUAT, CATALOGUE)[0]
    limits = Limits(ceilings={Family.SQUAT: lowest.demand})
    today, current = asked(Family.SQUAT, client_of(**BODY, limits=limits))
    choice = hurts(today, current, None, 4)
    assert choice.prescription is None
    assert choice.instead is Instead.LEAVE_OUT


def test_no_kit_gives_a_step_that_needs_none_of_it():
    client = client_of(Aim.OPEN, **BODY)
    history, on = trained(client, 12, left=5)
    today, current = asked(Family.PULL, client, history, on)
    bare = KitAtHome()
    choice = without_kit(today, current, bare)
    assert choice.reason.code is DoseCode.KIT_SUBSTITUTE
    assert all(getattr(bare, need.value) for need in choice.prescription.step.needs)


def test_after_a_signs_hold_nothing_much_harder_stands_in_for_missing_kit():
    """Seen: "No kit" for squeezing a towel on a chair gave a bent-over row with a bottle (ours)."""
    at_home = KitAtHome(chair=43, bench=90, table=75, band=Band.LIGHT, bottle=1.5)
    today, current = asked(Family.PULL, client_of(**BODY, kit=at_home))
    left = replace(at_home, chair=None)

    assert without_kit(today, current, left).prescription is not None
    choice = without_kit(replace(today, lightest=True), current, left)
    assert choice.prescription is None
    assert choice.reason.code is DoseCode.NOTHING_WITHOUT_KIT


def test_nothing_without_kit_leaves_the_movement_out():
    march = Limits(forbidden=frozenset({"step_march"}))
    today, current = asked(Family.STEP, client_of(**BODY, limits=march))
    choice = without_kit(today, current, KitAtHome(chair=None, step=None, wall=False, mat=False))
    assert choice.prescription is None
    assert choice.reason.code is DoseCode.NOTHING_WITHOUT_KIT


@pytest.mark.parametrize("family", [Family.SQUAT, Family.PUSH, Family.PULL, Family.HEEL_RAISE])
def test_what_is_asked_to_be_easier_never_asks_for_more_repetitions(family):
    today, current = asked(family)
    current = replace(current, amount=current.low)
    lighter = [hurts(today, current, None, 4)]
    while (choice := easier(today, current)).reason.code is DoseCode.MADE_EASIER:
        lighter.append(choice)
        current = choice.prescription
    assert len(lighter) > 1, "else the test shows nothing"
    for choice in lighter:
        made = choice.prescription
        assert made is None or made.unit is not current.unit or made.amount <= current.low


def test_a_refusal_says_that_it_was_asked_for_so_that_what_must_happen_is_added():
    client = client_of(Aim.STRENGTH, **BODY)
    history, on = trained(client, 8, left=3)
    last = history.of_family(Family.SQUAT)[-1]
    slipped = tuple(replace(one, slip=True) if one is last else one for one in history.sets)
    today, current = asked(Family.SQUAT, client, replace(history, sets=slipped), on)
    refused = harder(today, current).reason
    assert refused.code is DoseCode.DOWN_AFTER_SLIP
    assert refused.numbers["asked"] == 1
