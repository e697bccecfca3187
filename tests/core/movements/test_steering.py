"""Every row of the table that steers: what it leaves out, what it limits, and for whom.

The figures of the first tests stand in hospital leaflets; each says which.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from enum import StrEnum
from functools import lru_cache

import pytest
import yaml

from bot.reference.catalogue import ROOT
from core.client.care import NO_WALK_RULE, Care
from core.client.client import Client
from core.client.operations import (
    Approach,
    ArmHeight,
    DayOrPart,
    Joint,
    Operation,
    OperationKind,
    SurgeonLimits,
)
from core.client.steering import (
    UNLIMITED,
    Effects,
    Fact,
    Row,
    RowWhen,
    Trait,
    cares_of,
    steering_of,
)
from core.client.told import CHOICES
from core.mechanics.body import body_of
from core.movements.demand import weigh
from core.movements.ladder import LadderStep, ladder
from core.movements.posture import Posture, posture
from core.vocabulary import Band, Condition, Family, Kit, Medicine, Spare, WalkingAid
from tests.core.movements.people import catalogue, client, words
from tests.support.generated_clients import broken_rows, generated_client

TODAY = date(2026, 3, 2)
TABLE = catalogue().steering
ROWS = {row.id: row for row in TABLE}
GENERATED = 100
"""In CI; ``python -m tests.bench.steering`` tries 2,000."""


def with_fact(row: Row) -> Client:
    """The plain client and the one fact that the row speaks of, with the answer it waits for."""
    return replace(_with_fact(row), told=frozenset(sorted(row.when.told)[:1]))


def _with_fact(row: Row) -> Client:
    when = row.when
    if when == RowWhen(told=when.told):
        return client()
    if when.conditions:
        return client(conditions=frozenset({min(when.conditions)}))
    if when.medicines:
        return client(medicines=frozenset(sorted(when.medicines)[: when.at_least]))
    if when.operation is not None:
        operation = Operation(
            kind=min(when.operation.kinds),
            joint=min(when.operation.joints),
            approach=min(when.operation.approaches, default=None),
            on=DayOrPart(2026, 2, 25),
        )
        return client(operations=(operation,))
    facts = {
        Fact.FELL: {"falls": 1},
        Fact.FEARS_FALLING: {"fears_falling": True},
        Fact.WALKING_AID: {"walking_aid": WalkingAid.STICK},
        Fact.TWO_HANDED_AID: {"walking_aid": WalkingAid.FRAME},
        Fact.ALONE: {"lives_alone": None},
        Fact.VERY_OLD: {"birth_year": 1938},
        Fact.YOUNG_HEART_DEVICE: {
            "conditions": frozenset({Condition.PACEMAKER}),
            "pacemaker_on": date(2026, 2, 1),
        },
    }
    assert when.fact is not None
    return client(**facts[when.fact])


def all_steps(someone: Client, today: date | None = TODAY) -> Iterator[LadderStep]:
    for family in Family:
        yield from ladder(someone, family, catalogue(), today)


@lru_cache
def plain_steps() -> tuple[LadderStep, ...]:
    return tuple(all_steps(client()))


def keys(steps: tuple[LadderStep, ...] | Iterator[LadderStep]) -> set[str]:
    """Without further loads: those are for nobody with an operation within a year, rows or none."""
    return {step.key for step in steps if not step.further_load}


def furthest(step: LadderStep) -> Posture:
    someone = client()
    rung = catalogue().by_id[step.rung]
    return posture(body_of(someone), rung, someone.kit, [step.setting])


@pytest.mark.parametrize("row", TABLE.rows, ids=lambda row: row.id)
def test_a_row_holds_for_whom_it_speaks_of_and_not_for_the_plain_client(row: Row) -> None:
    assert row in steering_of(with_fact(row), TABLE, TODAY).rows
    assert row not in steering_of(client(), TABLE, TODAY).rows


@pytest.mark.parametrize(
    "row", [row for row in TABLE if row.effects != Effects()], ids=lambda row: row.id
)
def test_a_row_that_leaves_out_or_limits_changes_the_ladder_of_that_client(row: Row) -> None:
    found = tuple(all_steps(with_fact(row)))
    assert not broken_rows(with_fact(row), catalogue(), found, TODAY)
    broken = [
        step for step in plain_steps() if broken_rows(with_fact(row), catalogue(), (step,), TODAY)
    ]
    assert broken, "nothing on the plain client's ladder is against this row"
    assert not keys(iter(broken)) & keys(found)


@pytest.mark.parametrize(
    "row", [row for row in TABLE if row.effects == Effects()], ids=lambda row: row.id
)
def test_a_row_without_limits_asks_warns_watches_or_is_read_elsewhere(row: Row) -> None:
    said = row.asks or row.warns or row.watches
    assert said or row.rather_not or row.company or row.cares or row.walk != NO_WALK_RULE


def test_every_condition_has_a_row() -> None:
    assert frozenset().union(*(row.when.conditions for row in TABLE)) == set(Condition)


@pytest.mark.parametrize(
    "fact",
    [
        Condition.HEART,
        Condition.ANGINA,
        Condition.PACEMAKER,
        Condition.ASTHMA,
        Medicine.BETA_BLOCKER,
        Medicine.UNKNOWN,
    ],
)
def test_heart_angina_device_asthma_and_pressure_pills_warm_up_for_long(fact: StrEnum) -> None:
    """A long warm-up in angina, asthma, after a device (leaflets by excerpt); pills from memory."""
    told = {"conditions": {fact}} if isinstance(fact, Condition) else {"medicines": {fact}}
    someone = client(**{name: frozenset(facts) for name, facts in told.items()})
    assert Care.LONG_WARM_UP in cares_of(someone, TABLE)
    assert Care.LONG_WARM_UP not in cares_of(client(), TABLE)


def test_the_rows_that_ask_for_more_in_hand_are_those_of_heart_and_vessels() -> None:
    """Three to four in hand (common practice, from memory)."""
    asking = {row.id for row in TABLE if row.cares & {Care.IN_HAND, Care.IN_HAND_UNTIL_CALM}}
    assert asking == {
        "heart",
        "heart_failure",
        "angina",
        "rhythm",
        "heart_device",
        "pressure",
        "valve",
        "aneurysm",
        "leg_arteries",
        "stroke",
        "heart_transplant",
    }


@pytest.mark.parametrize(
    "row", [row for row in TABLE if row.when.unless or row.when.told], ids=lambda row: row.id
)
def test_an_answer_ends_or_begins_a_row(row: Row) -> None:
    without = replace(with_fact(row), told=frozenset())
    assert (row in steering_of(without, TABLE, TODAY).rows) is not bool(row.when.told)
    for answer in row.when.unless:
        assert row not in steering_of(replace(without, told={answer}), TABLE, TODAY).rows


def test_every_answer_that_can_be_kept_is_asked_for_and_some_of_each_steers() -> None:
    steering = {ask for row in TABLE for ask, _ in row.when.told | row.when.unless}
    assert steering == set(CHOICES) <= {ask for row in TABLE for ask in row.asks}


def test_a_year_without_a_fit_opens_steps_and_no_band_of_rubber_is_freed_by_silence() -> None:
    """ILAE report by excerpt: free of fits for twelve months, all is open."""
    fits = client(conditions=frozenset({Condition.EPILEPSY}))
    assert all(Kit.STEP not in step.needs for step in all_steps(fits))
    free = replace(fits, told=frozenset({("last_fit", "over_year")}))
    assert any(Kit.STEP in step.needs for step in all_steps(free))
    latex = client(conditions=frozenset({Condition.LATEX_ALLERGY}))
    assert all(Kit.BAND not in step.needs for step in all_steps(latex))


def test_an_arm_with_a_fistula_or_not_known_carries_nothing() -> None:
    """No load on that arm (UKKA 2021, by excerpt)."""
    kidney = client(conditions=frozenset({Condition.KIDNEY}))
    assert all(furthest(step).held_kg[0] == 0 for step in all_steps(kidney))
    sound = replace(kidney, told=frozenset({("fistula", "no")}))
    assert any(furthest(step).held_kg[0] > 0 for step in all_steps(sound))


def test_every_caution_of_a_row_has_words() -> None:
    assert {code for row in TABLE for code in row.warns} <= set(words().cautions)


def test_rows_from_memory_are_listed_as_unsigned() -> None:
    """Whoever signs the table finds there what has no text behind it."""
    text = (ROOT / "deploy" / "SAFETY.md").read_text(encoding="utf-8")
    section = text.split("## Rows that nobody has signed")[1].split("\n## ")[0]
    listed = {word.strip("`,. ") for word in section.split() if word.startswith("`")}
    assert listed == {row.id for row in TABLE if row.unsigned}


@pytest.mark.parametrize("start", range(0, GENERATED, 10))
def test_no_ladder_of_generated_clients_breaks_a_row(start: int) -> None:
    for number in range(start, start + 10):
        someone = generated_client(number)
        found = tuple(all_steps(someone))
        assert not broken_rows(someone, catalogue(), found, TODAY), number


def hip(**said: object) -> Client:
    fields: dict[str, object] = {"joint": Joint.HIP, "on": DayOrPart(2026, 2, 20)}
    return client(operations=(Operation(**{**fields, **said}),))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "someone",
    [
        hip(),
        hip(on=None),
        hip(on=None, approach=Approach.POSTERIOR),
        hip(approach=Approach.POSTERIOR),
        client(conditions=frozenset({Condition.JOINT_REPLACEMENT})),
    ],
    ids=["approach not known", "date not known", "no date", "posterior", "only told of"],
)
def test_a_new_hip_bends_to_a_right_angle_and_no_leg_crosses_or_turns(someone: Client) -> None:
    """Not over 90 degrees, not over the middle, not turned in (leaflets, posterior approach)."""
    found = tuple(all_steps(someone))
    # A joint that nobody named may be a disc of the back, too: that takes the hinge away.
    named = {Family.HINGE} if someone.operations else set()
    assert {step.family for step in found} >= {Family.SQUAT, Family.HEEL_RAISE} | named
    for step in found:
        assert furthest(step).hip_bend[0] <= 90.5, step.key
        assert not catalogue().by_id[step.rung].traits & {Trait.CROSSING, Trait.TURNING}


def test_with_the_approach_not_known_all_three_sets_of_rules_hold_together() -> None:
    held = {row.id for row in steering_of(hip(), TABLE, TODAY).rows}
    assert {"hip_new", "hip_new_anterior", "hip_new_lateral"} <= held
    one = {row.id for row in steering_of(hip(approach=Approach.ANTERIOR), TABLE, TODAY).rows}
    assert "hip_new_anterior" in one
    assert not one & {"hip_new", "hip_new_lateral"}


def test_a_hip_of_twelve_weeks_is_not_barred_for_life() -> None:
    old = hip(on=DayOrPart(2025, 12, 8))
    assert keys(all_steps(old)) == keys(plain_steps())
    young = hip(on=DayOrPart(2025, 12, 9))
    assert keys(all_steps(young)) != keys(plain_steps())


def test_a_month_or_year_counts_to_its_last_day() -> None:
    """December may mean the 31st, which is not twelve weeks ago."""
    assert keys(all_steps(hip(on=DayOrPart(2025, 12)))) != keys(plain_steps())
    assert keys(all_steps(hip(on=DayOrPart(2025, 11)))) == keys(plain_steps())


def test_the_surgeons_bend_takes_the_place_of_the_leaflets() -> None:
    found = tuple(all_steps(hip(limits=SurgeonLimits(bend_degrees=70))))
    assert max(furthest(step).hip_bend[0] for step in found) <= 70.5
    wide = tuple(all_steps(hip(limits=SurgeonLimits(bend_degrees=100))))
    assert max(furthest(step).hip_bend[0] for step in wide) > 90.5


def test_a_told_bend_frees_no_leg_to_cross_or_turn_and_only_all_allowed_does() -> None:
    """The leaflets forbid both beside the bend, and no limit that is asked for speaks of them."""
    barred = {Trait.CROSSING, Trait.TURNING, Trait.ARMS_OFF}

    def asked_of(someone: Client) -> set[Trait]:
        rungs = (catalogue().by_id[step.rung] for step in all_steps(someone))
        return set().union(*(rung.traits for rung in rungs)) & barred

    posterior = {"approach": Approach.POSTERIOR}
    assert not asked_of(hip(**posterior, limits=SurgeonLimits(bend_degrees=90)))
    assert asked_of(hip(**posterior, limits=SurgeonLimits(none_left=True))) == barred
    assert not asked_of(hip(**posterior))


def test_a_frame_is_held_with_both_hands() -> None:
    """Who walks with one is offered nothing that is held with one hand, and no step back."""
    with_frame = client(walking_aid=WalkingAid.FRAME)
    one_hand = {"one_hand", "steady_hand", "resting_hand", "firm_hand", "fingertips", "none"}
    found = tuple(all_steps(with_frame))
    assert {Family.BALANCE, Family.STEP, Family.SIDE_LIFT} <= {step.family for step in found}
    for step in found:
        rung = catalogue().by_id[step.rung]
        plain = rung.dials.get("support", ("",))[0]
        assert step.dial.get("support", plain) not in one_hand, step.key
        assert not rung.traits & {Trait.ONE_HAND, Trait.UNHELD}, step.key


def test_a_cushion_never_takes_the_feet_off_the_floor() -> None:
    """On a chair of 43 cm somebody of 150 cm sits at about 51 with the feet flat (ours)."""
    rung = catalogue().by_id["squat_to_chair"]

    def thickest(stature_cm: float) -> float:
        someone = client(stature_cm=stature_cm, mass_kg=60.0)
        weighed = weigh(body_of(someone), rung, someone.kit)
        found = zip(weighed.settings, weighed.refused, strict=True)
        return max(float(dict(setting).get("cushion", 0)) for setting, why in found if not why)

    assert thickest(150.0) == 8
    assert thickest(180.0) == 10


def test_a_new_hip_rises_from_a_high_seat_with_the_hands_and_a_healing_breastbone_does_not() -> (
    None
):
    """The arms' push from a chair is barred after the chest was opened (survey in Sweden)."""
    assert "squat_high_seat" in {step.rung for step in all_steps(hip())}
    both = (*hip().operations, Operation(OperationKind.REPAIR, Joint.BREASTBONE))
    rungs = {step.rung for step in all_steps(client(operations=both))}
    assert not rungs & {"squat_high_seat", "squat_hands_help", "push_wall"}


def surgeon(joint: Joint, **limits: object) -> Client:
    said = SurgeonLimits(**limits)  # type: ignore[arg-type]
    return client(
        operations=(Operation(OperationKind.REPAIR, joint, on=DayOrPart(2020), limits=said),)
    )


def test_each_of_the_surgeons_limits_is_obeyed() -> None:
    for step in all_steps(surgeon(Joint.KNEE, bend_degrees=80)):
        assert furthest(step).knee_bend[0] <= 80.5, step.key
    for step in all_steps(surgeon(Joint.KNEE, weight_kg=2)):
        assert furthest(step).held_kg[0] <= 2.0, step.key
    for step in all_steps(surgeon(Joint.KNEE, kneeling=False)):
        assert Spare.KNEELING not in step.stresses
    for step in all_steps(surgeon(Joint.SHOULDER, arm_height=ArmHeight.SHOULDER)):
        assert furthest(step).arm_raise[0] <= 95.5, step.key


@pytest.mark.parametrize(
    ("limits", "held"),
    [
        ({"until": TODAY}, True),
        ({"until": TODAY - timedelta(days=1)}, False),
        ({"until_week": 400}, True),
        ({"until_week": 260}, False),
    ],
)
def test_the_surgeons_limits_end_with_their_last_day_or_week(limits: dict, held: bool) -> None:
    someone = surgeon(Joint.KNEE, bend_degrees=60, **limits)
    assert (keys(all_steps(someone)) != keys(plain_steps())) is held


def test_kneeling_on_a_new_knee_waits_for_the_surgeons_word() -> None:
    """Kneel when told (Bradford leaflet); at any age of the knee."""
    old = Operation(joint=Joint.KNEE, on=DayOrPart(2015))
    assert all(Spare.KNEELING not in step.stresses for step in all_steps(client(operations=(old,))))
    told = replace(old, limits=SurgeonLimits(kneeling=True))
    assert any(Spare.KNEELING in step.stresses for step in all_steps(client(operations=(told,))))


def test_an_operation_on_the_belly_is_none_on_a_joint() -> None:
    belly = Operation(OperationKind.OTHER, Joint.BELLY, on=DayOrPart(2026, 2))
    assert not client(operations=(belly,)).replaced_joints
    assert {row.id for row in steering_of(client(operations=(belly,)), TABLE, TODAY).rows} == {
        "belly"
    }


def test_two_medicines_that_make_falls_likelier_ask_for_more_than_one() -> None:
    one = client(medicines=frozenset({Medicine.OPIOID}))
    two = client(medicines=frozenset({Medicine.OPIOID, Medicine.SEDATIVE}))
    assert keys(all_steps(two)) < keys(all_steps(one)) | keys(all_steps(two))
    assert any(Trait.UNHELD in catalogue().by_id[step.rung].traits for step in all_steps(one))
    assert all(Trait.UNHELD not in catalogue().by_id[step.rung].traits for step in all_steps(two))


def test_a_latex_allergy_has_no_band() -> None:
    someone = client(conditions=frozenset({Condition.LATEX_ALLERGY}))
    assert all(Kit.BAND not in step.needs for step in all_steps(someone))


def test_a_cushion_is_there_only_where_the_client_says_so_and_at_most_ten_centimetres() -> None:
    without = client(kit=replace(client().kit, cushion=None))
    assert all("cushion" not in step.key for step in all_steps(without))
    thick = client(kit=replace(client().kit, cushion=30.0))
    assert all(step.dial.get("cushion", 0) <= 10 for step in all_steps(thick))
    thin = client(kit=replace(client().kit, cushion=4.0))
    assert max(step.dial.get("cushion", 0) for step in all_steps(thin)) == 4.0


def test_only_what_is_known_to_be_there_is_limited() -> None:
    assert steering_of(client(), TABLE, TODAY).effects.limits == UNLIMITED


def test_the_file_says_each_row_once() -> None:
    """YAML keeps the last of two equal keys without a word."""
    text = (ROOT / "core" / "client" / "steering.yaml").read_text(encoding="utf-8")
    names = [
        line.rstrip(":") for line in text.splitlines() if line.endswith(":") and line[0] != " "
    ]
    assert sorted(names) == sorted(set(names)) == sorted(yaml.safe_load(text))


@pytest.mark.parametrize(
    "told",
    [
        {"birth_year": 1938},
        {"falls": 1},
        {"walking_aid": WalkingAid.STICK},
        {"conditions": frozenset({Condition.STROKE})},
        {"operations": (Operation(joint=Joint.HIP, on=DayOrPart(2026, 2, 20)),)},
        {"operations": (Operation(joint=Joint.FOOT, on=DayOrPart(2026, 2, 20)),)},
    ],
    ids=lambda told: next(iter(told)),
)
def test_who_is_not_steady_leans_far_on_no_single_hand_or_foot(told: dict) -> None:
    """Ours: a slip ends in a fall where one hand or foot is all that holds."""
    far = {"push_wall_one_arm", "brace_wall_one_hand", "brace_wall_leg"}
    found = {
        step.rung
        for family in (Family.PUSH, Family.BRACE)
        for step in ladder(client(**{"birth_year": 1966, **told}), family, catalogue(), TODAY)
    }
    assert "push_wall" in found
    assert not found & far
    steady = ladder(client(birth_year=1966), Family.PUSH, catalogue(), TODAY)
    assert "push_wall_one_arm" in {step.rung for step in steady}


MENDED = [OperationKind.FIXATION, OperationKind.REPAIR, OperationKind.FUSION]


def mended(joint: Joint, kind: OperationKind, **said: object) -> Client:
    fields: dict[str, object] = {"on": DayOrPart(2026, 2, 20), **said}
    return client(operations=(Operation(kind, joint, **fields),))  # type: ignore[arg-type]


def traits_of(someone: Client) -> set[Trait]:
    rungs = (catalogue().by_id[step.rung] for step in all_steps(someone))
    return set().union(*(rung.traits for rung in rungs))


@pytest.mark.parametrize("kind", MENDED)
def test_a_leg_joint_mended_this_month_stands_held_and_on_both_legs(kind: OperationKind) -> None:
    """The knee may give way and the foot may not be loaded (from memory, unsigned)."""
    for joint in (Joint.KNEE, Joint.HIP, Joint.ANKLE, Joint.FOOT):
        assert not traits_of(mended(joint, kind)) & {Trait.UNHELD, Trait.ONE_LEG}, joint
    for joint in (Joint.ANKLE, Joint.FOOT):
        found = tuple(all_steps(mended(joint, kind)))
        assert all(Spare.ANKLE not in step.stresses for step in found)
        later = tuple(all_steps(mended(joint, kind, on=DayOrPart(2025, 12, 20))))
        assert all(Kit.STEP not in step.needs for step in (*found, *later))
        assert Trait.ONE_LEG not in traits_of(mended(joint, kind, on=DayOrPart(2025, 12, 20)))
        assert keys(all_steps(mended(joint, kind, on=DayOrPart(2025, 11, 20)))) == keys(
            plain_steps()
        )
    assert Trait.TURNING not in traits_of(mended(Joint.KNEE, kind))


def test_a_hand_wrist_or_elbow_mended_this_month_neither_carries_the_body_nor_grips() -> None:
    """Nothing heavier than a cup (from memory; the kilogram is ours)."""
    barred = {Trait.WEIGHT_ON_HANDS, Trait.PUSHES_UP, Trait.GRIP}
    for joint, kind in zip((Joint.HAND, Joint.WRIST, Joint.ELBOW), MENDED, strict=True):
        someone = mended(joint, kind)
        assert not traits_of(someone) & barred, joint
        assert all(furthest(step).held_kg[0] <= 1.0 for step in all_steps(someone))
        free = mended(joint, kind, limits=SurgeonLimits(none_left=True))
        assert keys(all_steps(free)) == keys(plain_steps())


@pytest.mark.parametrize("cut", ["", "keyhole", "open"])
def test_a_belly_mended_this_month_holds_no_plank_but_at_the_wall(cut: str) -> None:
    """No plank and no lowered leg for six to twelve weeks (from memory; the longer when open)."""
    planks = {"brace_bench", "brace_table", "brace_chair", "brace_knees", "brace_lying_legs"}
    planks |= {"push_table", "push_knees_small", "push_knees", "push_chair", "push_step"}
    someone = mended(Joint.BELLY, OperationKind.REPAIR)
    if cut:
        someone = replace(someone, told=frozenset({("keyhole_or_open", cut)}))
    found = {step.rung for step in all_steps(someone)}
    assert not found & planks
    assert found >= {"brace_wall", "brace_lean_back", "push_wall", "push_bench"}


def test_a_new_heart_device_lifts_light_and_leaves_no_weight_on_one_arm() -> None:
    """Light only for six weeks (hospital leaflets); the kilograms are ours."""
    someone = client(conditions=frozenset({Condition.PACEMAKER}))
    found = tuple(all_steps(someone))
    one_arm = {"pull_hand_and_knee", "push_wall_one_arm", "brace_wall_one_hand"}
    assert not {step.rung for step in found} & one_arm
    assert all(furthest(step).held_kg[0] <= 4.5 for step in found)
    assert one_arm & {step.rung for step in plain_steps()}


@pytest.mark.parametrize("joint", [*Joint])
def test_an_operation_of_this_month_is_never_without_effect(joint: Joint) -> None:
    """Whatever was done: a disc is replaced, a belly mended with a net (ours, the careful side)."""
    for kind in OperationKind:
        assert steering_of(mended(joint, kind), TABLE, TODAY).effects != Effects(), kind


def in_hands(someone: Client, rung: str, **dials: float | str) -> float:
    setting = tuple(sorted(dials.items()))
    found = posture(body_of(someone), catalogue().by_id[rung], someone.kit, [setting])
    return float(found.held_kg[0])


def test_a_band_weighs_in_the_hands_what_it_pulls_at_its_furthest() -> None:
    """One strand a hand, by the line through published points: F = 11.1 + 0.0934 % for 20.4 N."""

    def both(newtons: float, percent: float) -> float:
        return 2 * newtons * (11.1 + 0.0934 * percent) / 20.44 / 9.81

    someone = client()
    heavy = in_hands(someone, "push_band_seated", band="heavy", stretch=175.0)
    assert heavy == pytest.approx(both(29.0, 175.0), rel=0.01)
    light = in_hands(someone, "push_band_seated")
    assert light == pytest.approx(both(13.0, 75.0), rel=0.01)
    # It begins at its furthest, and gives way on the way down.
    assert in_hands(someone, "hinge_band") == pytest.approx(both(13.0, 90.0), rel=0.01)
    # Nothing says which band: the stiffest at home.
    assert in_hands(someone, "pull_turn_out_band") == pytest.approx(both(29.0, 100.0), rel=0.01)
    weak = replace(someone, kit=replace(someone.kit, band=Band.LIGHT))
    assert in_hands(weak, "pull_turn_out_band") == pytest.approx(both(13.0, 100.0), rel=0.01)
    assert in_hands(someone, "side_lying_band") == 0  # about the ankles


def test_a_limit_of_weight_cuts_bands_as_well() -> None:
    """A surgeon's kilogram, and none on an arm with a fistula (UKKA 2021, by excerpt)."""
    held = {"push_band_seated", "pull_seated_band", "pull_band_lean", "pull_turn_out_band"}
    held |= {"pull_apart_band", "overhead_band", "hinge_band"}

    def offered(someone: Client) -> set[str]:
        return {step.rung for step in all_steps(someone)}

    assert held <= offered(client())
    assert not held & offered(surgeon(Joint.KNEE, weight_kg=1))
    assert not held & offered(client(conditions=frozenset({Condition.KIDNEY})))
    two = tuple(all_steps(surgeon(Joint.KNEE, weight_kg=2.4)))
    assert {"push_band_seated"} <= {step.rung for step in two}
    assert all(step.dial.get("band", "light") == "light" for step in two if step.rung in held)


def test_what_the_page_names_for_a_hip_from_in_front_and_a_new_fused_back_is_left_out() -> None:
    """Leg behind; walking only to six weeks, small squats to twelve (leaflets, some by excerpt)."""
    front = tuple(all_steps(hip(approach=Approach.ANTERIOR)))
    assert not {step.rung for step in front} & {"bridge_leg_back", "bridge_leg_back_bow"}
    assert max(furthest(step).hip_back[0] for step in front) <= 5.5
    new = {step.rung for step in all_steps(mended(Joint.SPINE, OperationKind.FUSION))}
    large = {"squat_free", "squat_staggered", "lunge_forward", "brace_bench"}
    assert not new & {*large, "carry_hug", "squat_held", "squat_to_chair"}
    assert {"squat_small_held", "squat_knee_straight", "step_march_bench"} <= new
    eight = mended(Joint.SPINE, OperationKind.FUSION, on=DayOrPart(2026, 1, 5))
    later = {step.rung for step in all_steps(eight)}
    assert "squat_held" in later
    assert not later & large
    fifteen = mended(Joint.SPINE, OperationKind.FUSION, on=DayOrPart(2025, 11, 15))
    assert "squat_free" in {step.rung for step in all_steps(fifteen)}
