"""What poses on two feet share: legs, balance over the feet, and what the hands hold on to."""

import numpy as np

from core.mechanics.body import FOOT_LENGTH, Body
from core.mechanics.pose import (
    UPPER_BODY,
    Points,
    Pose,
    Prop,
    Reals,
    View,
    ankle_over_ball,
    centre,
    foot_points,
    turned,
    two_links,
)
from core.mechanics.pose_arms import Joints, add_arms, add_trunk, held_kilograms
from core.mechanics.pose_input import PoseInput

SEAT_TO_HIP = 0.047  # hip joint above the seat, as a fraction of stature
CHAIR_BACK = 0.44  # top of a chair's back above its seat, m
STRAIGHT = 0.994  # legs stand a little short of locked
HOLD_AHEAD = 0.26  # furniture to hold on to, ahead of the ankles, as a fraction of stature
SWINGS_FROM = 0.15  # share of the movement in which a standing foot leaves the floor
STAGGER_SOLE = -30.0  # degrees: the foot set back stands on its ball
STAGGER_BALL = -0.04  # ball of the foot set back, behind the other ankle, statures
BACK_DEPTH = 0.06  # hip joint to the back of the body, as a fraction of stature


def hold_height(given: PoseInput) -> float:
    """Height of what the hands hold on to: a bench, table, wall or the back of a chair."""
    hold = given.word("hold")
    if hold == "chair":
        return given.surface("chair") + CHAIR_BACK
    if hold == "chair_seat":
        return given.surface("chair")
    if hold == "wall":
        return 0.72 * given.body.stature
    return given.surface(hold)


def hold_ahead(given: PoseInput, wanted: float = HOLD_AHEAD) -> float:
    """How far ahead of the ankles the furniture is held, m: as wanted, or nearer within reach."""
    body = given.body
    shoulder = body.ankle_height + STRAIGHT * body.leg + body.lengths["trunk"]
    drop = shoulder - hold_height(given)
    reach = np.sqrt(max((0.97 * body.arm) ** 2 - drop**2, (0.2 * body.arm) ** 2))
    return float(min(wanted * body.stature, 0.25 * FOOT_LENGTH * body.stature + reach))


def hold_props(given: PoseInput, x: Points | float) -> tuple[Prop, ...]:
    """The furniture held on to, its edge at x; a chair shows its back to the person."""
    hold = given.word("hold")
    if not hold:
        return ()
    kind = {"chair": "chair_back", "chair_seat": "chair"}.get(hold, hold)
    return (Prop(kind, np.asarray(x + 1j * hold_height(given))),)


FIRM_AHEAD = 0.5  # furniture to stand near and not hold, ahead of the ankles, statures
USUAL_SEAT = 0.45  # m, of a chair that only stands near


def firm_near(given: PoseInput, ahead: float | None = None, *, facing: int = 1) -> tuple[Prop, ...]:
    """What the words call something firm to stand near: drawn as a chair, its back to the person.

    Nobody holds it, so it is not asked for in ``needs``. ``ahead`` is in m.
    """
    if not given.word("firm"):
        return ()
    where = FIRM_AHEAD * given.body.stature if ahead is None else ahead
    high = (given.surface("chair") or USUAL_SEAT) + CHAIR_BACK
    at = np.full((given.settings, 1), where + 1j * high, dtype=np.complex128)
    return (Prop("chair_back", at, facing=facing),)


def add_leg(
    joints: Joints,
    body: Body,
    side: str,
    ankle: Points,
    along: Points | complex = 1.0 + 0j,
    toes: Points | complex | None = None,
) -> None:
    """Adds knee, ankle and foot of one leg whose hip is placed and whose foot stands."""
    hip = joints[f"hip_{side}"]
    lengths = body.lengths
    knee, ankle = two_links(hip, ankle, lengths["thigh"], lengths["shank"], 1)
    joints[f"knee_{side}"], joints[f"ankle_{side}"] = knee, ankle
    heel, ball, toe = foot_points(body, ankle, along, toes)
    joints[f"heel_{side}"], joints[f"ball_{side}"], joints[f"toe_{side}"] = heel, ball, toe


def holds_at(given: PoseInput, x: float) -> dict[str, Points]:
    """Where both hands hold: at the edge of the furniture, x m ahead of the ankles."""
    point = np.full_like(given.progress, x, dtype=np.complex128) + 1j * hold_height(given)
    return {"near": point, "far": point}


def swing_leg(
    joints: Joints, given: PoseInput, thigh: Reals, knee: Reals, ankle: Reals | float
) -> None:
    """Adds the near leg off the floor: degrees of the thigh forward of hanging, of knee bend, and
    of toes up.

    A leg that hangs straight at the start stands beside the far one first and then swings.
    """
    body, hip = given.body, joints["hip_near"]
    far = joints["knee_far"] - joints["hip_far"], joints["ankle_far"] - joints["knee_far"]
    stands = bool(np.all(thigh[:, 0] == 0))
    swung = np.clip(given.progress / SWINGS_FROM, 0.0, 1.0) if stands else np.ones_like(thigh)
    at_rest = [np.degrees(np.angle(part * 1j)) for part in far]
    thigh_at = at_rest[0] + (thigh - at_rest[0]) * swung
    shin_at = at_rest[1] + (thigh - knee - at_rest[1]) * swung
    joints["knee_near"] = hip + body.lengths["thigh"] * turned(180.0 - thigh_at)
    shin = turned(180.0 - shin_at)
    joints["ankle_near"] = joints["knee_near"] + body.lengths["shank"] * shin
    tip = (shin_at + np.asarray(ankle)) * swung
    sole = np.exp(1j * np.radians(tip))
    points = foot_points(body, joints["ankle_near"], sole)
    # A foot that would scuff the floor is lifted clear by bending the knee.
    scuff = np.maximum(0.0, -np.min([point.imag for point in points], axis=0))
    add_leg(joints, body, "near", joints["ankle_near"] + 1j * scuff, sole)


def stagger(given: PoseInput, joints: Joints) -> None:
    """Sets the far foot back on its ball where the near leg leads (the lead dial)."""
    if "lead" not in given.dials:
        return
    body = given.body
    sole = np.exp(1j * np.radians(STAGGER_SOLE)) * np.ones_like(joints["hip_far"])
    ball = np.full_like(joints["hip_far"], STAGGER_BALL * body.stature)
    add_leg(joints, body, "far", ankle_over_ball(body, ball, sole), sole, np.ones_like(sole))


def mirror_leg(joints: Joints) -> None:
    """The far leg is where the near one is."""
    for part in ("knee", "ankle", "heel", "ball", "toe"):
        joints[f"{part}_far"] = joints[f"{part}_near"]


def _leg_centre(body: Body, hip: Points, ankle: complex) -> tuple[float, Reals]:
    """Mass share and first moment about x = 0 of one leg between hip and ankle."""
    shares, centres = body.shares, body.centres
    knee, _ = two_links(hip, np.asarray(ankle), body.lengths["thigh"], body.lengths["shank"], 1)
    thigh = hip + (knee - hip) * centres["thigh"]
    shank = knee + (ankle - knee) * centres["shank"]
    foot = ankle.real + 0.2 * FOOT_LENGTH * body.stature
    first = shares["thigh"] * thigh.real + shares["shank"] * shank.real + shares["foot"] * foot
    return shares["thigh"] + shares["shank"] + shares["foot"], first


def over_the_feet(given: PoseInput, height: Reals, lean: Reals) -> tuple[Joints, Points]:
    """Feet flat at x = 0, hips at ``height``, trunk leaning by ``lean`` degrees, in balance.

    The hips move back until the centre of mass is above the middle of the feet. Hips that the
    legs cannot reach are lowered to where they can.
    """
    body = given.body
    ankle = 1j * body.ankle_height
    middle = 0.25 * FOOT_LENGTH * body.stature
    trunk = turned(lean)
    zero = np.zeros_like(height, dtype=np.complex128)
    joints: Joints = {"hip_near": zero, "hip_far": zero}
    for part in ("knee", "ankle", "heel", "ball", "toe"):
        joints[f"{part}_near"] = joints[f"{part}_far"] = zero - 1j
    add_trunk(joints, body, trunk)
    add_arms(joints, given, trunk, {"near": zero + 0.3j, "far": zero + 0.3j})
    upper_share, upper = _upper_centre(given, joints)
    x = np.full_like(height, -0.05)
    y = height
    for _ in range(4):
        y = np.minimum(height, body.ankle_height + _reachable(body, x))
        leg_share, leg_first = _leg_centre(body, x + 1j * y, ankle)
        total = upper_share + 2 * leg_share
        offset = (upper_share * (x + upper.real) + 2 * leg_first) / total - middle
        x = x - offset / ((upper_share + leg_share) / total)
    hip = x + 1j * y
    joints["hip_near"] = joints["hip_far"] = hip
    add_leg(joints, body, "near", np.asarray(ankle))
    mirror_leg(joints)
    add_trunk(joints, body, trunk)
    return joints, trunk


def _reachable(body: Body, x: Reals) -> Reals:
    return np.asarray(np.sqrt(np.maximum((STRAIGHT * body.leg) ** 2 - x**2, 0.01)))


def _upper_centre(given: PoseInput, joints: Joints) -> tuple[Reals | float, Points]:
    pose = Pose(View.SIDE, joints, joints["gaze"], held_kilograms(given), given.nothing_refused())
    held = tuple(part for part in UPPER_BODY if part in pose.parts)
    return centre(pose.mass(given.body, part) for part in held)
