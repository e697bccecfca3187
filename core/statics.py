"""Static moments and forces of a pose: what each measure of demand asks of the body at a moment.

The moment at a joint is the sum of segment weights and held weights times their horizontal
distance from it, plus contact forces and elastic tension. Moments come out as percent of body
weight times stature, forces as percent of body weight, so that bodies compare.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from core.body import FOOT_BREADTH, FOOT_LENGTH, GRAVITY, Body
from core.pose import (
    SIDES,
    UPPER_BODY,
    Points,
    Pose,
    Reals,
    arm_parts,
    centre,
    leg_parts,
)
from core.pose_input import BAND_NEWTONS, PoseInput, band_tension
from core.pose_plank import KNEE_CONTACT, arm_direction
from core.vocabulary import Band

MIDDLE_OF_FOOT = 0.5  # between heel and toe
MID_TRUNK = 0.35  # of the way from hips to shoulders: where a brace is weighed


@dataclass(frozen=True)
class Scene:
    """A pose with its body and settings, and its masses worked out once."""

    body: Body
    pose: Pose
    given: PoseInput

    @cached_property
    def masses(self) -> dict[str, tuple[Reals | float, Points]]:
        """Share of body mass and centre of every segment and held weight."""
        return self.pose.masses(self.body)

    @cached_property
    def whole(self) -> tuple[Reals | float, Points]:
        """Share (over 1 with held weights) and centre of everything."""
        return centre(self.masses)

    def joint(self, name: str) -> Points:
        """A joint by name."""
        return self.pose.joints[name]

    def gravity(self, parts: tuple[str, ...], about: Points) -> Reals:
        """Sum of share times horizontal distance from ``about``, m."""
        found: Reals | float = 0.0
        for part in parts:
            if part in self.masses:
                share, where = self.masses[part]
                found = found + share * (where.real - about.real)
        return np.asarray(found)

    def percent(self, metres: Reals) -> Reals:
        """A moment in body weights times metres, as percent of weight times stature."""
        return 100.0 * metres / self.body.stature

    @cached_property
    def tension(self) -> Reals:
        """Tension of one strand of the band, in body weights."""
        newtons = self.given.number("band", BAND_NEWTONS[Band.LIGHT])
        if not self.given.word("band_used") and "band" not in self.given.dials:
            return np.zeros((1, 1))
        return band_tension(newtons, self.given.path("stretch", 100.0)) / self.body.weight


def _cross(arm: Points, force: Points) -> Reals:
    return arm.real * force.imag - arm.imag * force.real


def _under_foot(scene: Scene, side: str, x: Reals) -> Reals:
    heel, toe = scene.joint(f"heel_{side}").real, scene.joint(f"toe_{side}").real
    return np.clip(x, np.minimum(heel, toe), np.maximum(heel, toe))


def hip_and_knee(scene: Scene, side: str, load: Reals | float, under: Reals) -> tuple[Reals, Reals]:
    """Extension moments at hip and knee of a standing leg, in body weights times metres.

    ``load`` is the share of body weight under the foot, ``under`` where it acts (x, m). Their sum
    does not depend on the lean of the trunk; each alone does.
    """
    hip, knee = scene.joint(f"hip_{side}"), scene.joint(f"knee_{side}")
    thigh, shank, foot = leg_parts(side)
    at_hip = load * (under - hip.real) - scene.gravity((thigh, shank, foot), hip)
    at_knee = load * (knee.real - under) + scene.gravity((shank, foot), knee)
    return at_hip, at_knee


def _extension(moments: tuple[Reals, Reals]) -> Reals:
    return np.maximum(moments[0], 0.0) + np.maximum(moments[1], 0.0)


def squat(scene: Scene) -> Reals:
    """Hip plus knee moment of the leg that carries more, on two feet side by side.

    Deeper than level thighs counts as level: peaks do not change from 40 cm down (Yoshioka 2014).
    """
    share, where = scene.whole
    load = share * scene.given.number("lead", 0.5)
    under = _under_foot(scene, "near", where.real)
    moment = _extension(hip_and_knee(scene, "near", load, under))
    deepest = np.maximum.accumulate(np.broadcast_to(moment, scene.given.progress.shape), axis=1)
    return scene.percent(deepest) * (1.0 - scene.pose.supported)


def one_leg(scene: Scene) -> Reals:
    """Hip plus knee moment of the far leg, which stands alone."""
    share, where = scene.whole
    under = _under_foot(scene, "far", where.real)
    moment = _extension(hip_and_knee(scene, "far", share * 1.0, under))
    deepest = np.maximum.accumulate(np.broadcast_to(moment, scene.given.progress.shape), axis=1)
    return scene.percent(deepest) * (1.0 - scene.pose.supported)


def front_leg(scene: Scene) -> Reals:
    """Hip plus knee moment of the near leg, the weight shared with the far foot by its lever."""
    return _front_leg(scene, 0.0)


FEET_PUSH_APART = 0.5
"""In a split stance the feet push apart against the floor, so that the force on the front leg
points part of the way to the hip. Authored: halfway between upright and along the leg."""


def split_leg(scene: Scene) -> Reals:
    """As ``front_leg``, both feet on the floor and pushing apart."""
    return _front_leg(scene, FEET_PUSH_APART)


def _front_leg(scene: Scene, apart: float) -> Reals:
    share, where = scene.whole
    heel, toe = scene.joint("heel_near"), scene.joint("toe_near")
    contact = heel + MIDDLE_OF_FOOT * (toe - heel)
    rear = scene.joint("ball_far").real
    gap = contact.real - rear
    front = np.clip((where.real - rear) / np.where(gap > 0.12, gap, np.inf), 0.0, 1.0)
    front = np.where(gap > 0.12, front, 1.0)
    hip, knee = scene.joint("hip_near"), scene.joint("knee_near")
    to_hip = hip - contact
    force = share * front * (1j + apart * to_hip.real / to_hip.imag)
    thigh, shank, foot = leg_parts("near")
    at_hip = _cross(contact - hip, force) - scene.gravity((thigh, shank, foot), hip)
    at_knee = -_cross(contact - knee, force) + scene.gravity((shank, foot), knee)
    return scene.percent(_extension((at_hip, at_knee))) * (1.0 - scene.pose.supported)


MOST_RELIEF = 0.55


def hip_hinge(scene: Scene) -> Reals:
    """Hip extension moment of one leg, the trunk tipped; hands that hold relieve by their lever."""
    hip = scene.joint("hip_far")
    upper = scene.gravity(UPPER_BODY, hip)
    if scene.given.word("one_leg"):
        upper = upper + scene.gravity(leg_parts("near"), hip)
        legs = 1.0
    else:
        legs = 2.0
    hand = scene.joint("wrist_far").real - hip.real
    relief = scene.given.number("support") * np.maximum(hand, 0.0)
    # Steadying hands never carry more than this share of the tipped trunk.
    relief = np.minimum(relief, MOST_RELIEF * np.abs(upper))
    band = 2.0 * scene.tension * np.abs(scene.joint("wrist_near").real - hip.real)
    if scene.given.word("one_leg"):
        band = band / 2.0
    lead = scene.given.number("lead", 1.0 / legs)
    return scene.percent(np.maximum(upper - relief + band, 0.0) * lead)


HIP_STRAIGHT_LOSS = 0.4
"""Hip extension strength lost from 50 degrees bent to straight (Worrell 2001, from memory)."""


def bridge(scene: Scene) -> Reals:
    """Hip plus knee moment of a supporting leg, hips held up between shoulders and feet."""
    shoulder, foot = scene.joint("shoulder_far"), scene.joint("heel_far").real
    single = "near_thigh" in scene.given.values
    parts = ("trunk", *leg_parts("near"), *leg_parts("far"))
    lifted = scene.gravity(parts, shoulder)
    if "held_near" in scene.masses:
        # A bottle on the hips: counted at the hip joint.
        share = scene.masses["held_near"][0]
        lifted = lifted + share * (scene.joint("hip_far").real - shoulder.real)
    lead = 1.0 if single else scene.given.number("lead", 0.5)
    force = lifted / (foot - shoulder.real) * lead
    hip, knee = scene.joint("hip_far"), scene.joint("knee_far")
    thigh, shank, sole = leg_parts("far")
    at_hip = force * (foot - hip.real) - scene.gravity((thigh, shank, sole), hip)
    at_knee = force * (foot - knee.real) - scene.gravity((shank, sole), knee)
    up = np.clip(scene.given.progress / 0.08, 0.0, 1.0)
    if scene.given.path("lift")[0, 0] > 0:
        up = np.ones_like(up)
    thigh_line, trunk_line = knee - hip, hip - shoulder
    flexed = np.degrees(np.angle(thigh_line / trunk_line))
    strength = 1.0 - HIP_STRAIGHT_LOSS * (1.0 - np.clip(flexed / 50.0, 0.0, 1.0))
    return scene.percent(np.maximum(at_hip, 0.0) / strength + np.abs(at_knee)) * up


def moving_leg(scene: Scene) -> Reals:
    """Weight moments at hip and knee of the near leg held in the air, band added at the ankle."""
    hip, knee = scene.joint("hip_near"), scene.joint("knee_near")
    at_hip = np.abs(scene.gravity(leg_parts("near"), hip))
    at_knee = np.abs(scene.gravity(leg_parts("near")[1:], knee))
    band = scene.tension * np.abs(scene.joint("ankle_near") - hip)
    both = 2.0 if scene.given.word("both_legs") else 1.0
    return scene.percent((at_hip + band) * both + at_knee)


CALF_SHORT_LOSS = 0.45
"""Calf strength lost from a flat foot to heels 30 degrees up (Sale 1982, from memory)."""


def _calf_strength(scene: Scene) -> Reals:
    risen = np.clip(scene.given.path("heels") / 30.0, 0.0, 1.0)
    return 1.0 - CALF_SHORT_LOSS * risen


def heel_raise(scene: Scene) -> Reals:
    """Ankle moment of one leg: body weight at the ball of the foot."""
    share, where = scene.whole
    ankle, ball = scene.joint("ankle_far"), scene.joint("ball_far")
    if scene.given.word("seated"):
        thigh, shank, foot = (scene.body.shares[n] for n in ("thigh", "shank", "foot"))
        on_knee = scene.given.number("load") / scene.body.mass / 2.0
        # Forearms on the thighs: half of what the trunk rests there is on each knee.
        on_knee = on_knee + np.asarray(scene.given.number("rests", 0.0)) / 2.0
        load = thigh / 2 + shank + foot + on_knee
        lifted = np.clip(scene.given.path("heels") / 4.0, 0.0, 1.0)
        return scene.percent(load * (ball.real - ankle.real) * lifted) / _calf_strength(scene)
    legs = 1.0 if "near_thigh" in scene.given.values else scene.given.number("lead", 0.5)
    # A heel off the floor leaves only the ball of the foot to stand on.
    risen = np.clip(np.abs(scene.given.path("heels")) / 6.0, 0.0, 1.0)
    flat = np.clip(where.real, ankle.real, ball.real)
    lever = flat + (ball.real - flat) * risen - ankle.real
    asked = scene.percent(share * legs * lever) * (1.0 - scene.pose.supported)
    return asked / _calf_strength(scene)


STRAIGHT_ARMS = 0.5
"""Intensity of holding a share of body weight on straight arms beside bent ones. Authored: the
elbow moment is the force times the elbow's distance from the line of the arm, none when straight,
but shoulders and trunk still hold."""


def hands_share(scene: Scene) -> Reals:
    """Percent of body weight that the hands push with, less where the elbows are straighter."""
    shoulder, wrist = scene.joint("shoulder_near"), scene.joint("wrist_near")
    line = wrist - shoulder
    offset = np.abs(_cross(scene.joint("elbow_near") - shoulder, line)) / np.abs(line)
    bent = np.clip(offset / (0.9 * scene.body.lengths["forearm"]), 0.0, 1.0)
    return 100.0 * push_force(scene) * (STRAIGHT_ARMS + (1.0 - STRAIGHT_ARMS) * bent)


def push_force(scene: Scene) -> Reals:
    """Force along the arms in body weights, the straight body turning about feet or knees."""
    knees = scene.given.word("pivot", "toes") == "knees"
    along = scene.joint("shoulder_near") - scene.joint("hip_near")
    tilt = np.angle(along)
    if knees:
        below, ahead = KNEE_CONTACT
        turn = along / np.abs(along)
        contact = scene.joint("knee_near") - (below + 1j * ahead) * scene.body.stature * turn
        parts = tuple(p for p in scene.masses if not p.startswith(("shank", "foot")))
    else:
        contact = scene.joint("ball_near")
        parts = tuple(scene.masses)
    arm = arm_direction(tilt)
    on = "elbow_near" if scene.given.word("forearms") else "wrist_near"
    to_hand = scene.joint(on) - contact
    lever = to_hand.real * arm.imag - to_hand.imag * arm.real
    return np.asarray(scene.gravity(parts, contact) / lever)


def band_push(scene: Scene) -> Reals:
    """Percent of body weight that both hands push against a band round the back."""
    return 200.0 * np.broadcast_to(scene.tension, scene.given.progress.shape)


def lying_press(scene: Scene) -> Reals:
    """Percent of body weight that both hands hold up, lying: the weights and most of the arms."""
    shares = scene.body.shares
    arms = shares["upper_arm"] * 0.5 + shares["forearm"] + shares["hand"]
    held = np.asarray(scene.pose.held["near"]) / scene.body.mass
    return 200.0 * np.broadcast_to(arms + held, scene.given.progress.shape)


SHOULDER_CAPACITY = 0.55  # N m per kg of body mass, one arm (authored, from memory)
TRUNK_CAPACITY = 2.6  # N m per kg of body mass (authored, from memory)
TRUNK_RELIEF = {"hand_and_knee": 0.75, "hand": 0.5}  # share taken off the trunk (authored)


def pull(scene: Scene) -> Reals:
    """Percent of capacity, shoulder or trunk, whichever is used more."""
    shoulder, wrist = scene.joint("shoulder_near"), scene.joint("wrist_near")
    hip = scene.joint("hip_near")
    weight = GRAVITY * scene.body.mass
    at_shoulder = -scene.gravity(arm_parts("near"), shoulder)
    at_trunk = -scene.gravity(UPPER_BODY, hip)
    ends = scene.given.values.get("band_between")
    if isinstance(ends, (list, tuple)):
        line = scene.joint(str(ends[1])) - wrist
        pulled = scene.tension * line / np.maximum(np.abs(line), 1e-6)
        at_shoulder = at_shoulder + _cross(wrist - shoulder, pulled)
        at_trunk = at_trunk + 2.0 * _cross(wrist - hip, pulled)
    relief = TRUNK_RELIEF.get(scene.given.word("trunk_relief"), 0.0)
    shoulder_share = np.abs(at_shoulder) * weight / (SHOULDER_CAPACITY * scene.body.mass)
    trunk_share = np.abs(at_trunk) * weight / (TRUNK_CAPACITY * scene.body.mass) * (1.0 - relief)
    return 100.0 * np.maximum(shoulder_share, trunk_share)


def abduction(scene: Scene) -> Reals:
    """Hip moment sideways: the larger of the moving leg's and the standing leg's."""
    hip = scene.joint("hip_near")
    moving = np.abs(scene.gravity(leg_parts("near"), hip))
    moving = moving + scene.tension * np.abs(scene.joint("ankle_near") - hip)
    if scene.given.word("seated"):
        return scene.percent(scene.tension * scene.body.lengths["thigh"])
    if scene.given.word("lying"):
        return scene.percent(moving)
    stance = scene.joint("hip_far")
    others = tuple(p for p in scene.masses if p not in leg_parts("far"))
    hand = np.abs(scene.joint("wrist_far").real - stance.real)
    relief = np.asarray(scene.given.number("support")) * hand
    standing = np.maximum(np.abs(scene.gravity(others, stance)) - relief, 0.0)
    lifted = np.clip(scene.given.progress / 0.08, 0.0, 1.0)
    return scene.percent(np.maximum(moving, standing * lifted))


def brace(scene: Scene) -> Reals:
    """Moment at mid-trunk that keeps a straight body from sagging between hands and feet."""
    hip, shoulder = scene.joint("hip_near"), scene.joint("shoulder_near")
    middle = hip + MID_TRUNK * (shoulder - hip)
    # The force along the arm acts at the shoulder.
    force = push_force(scene) * arm_direction(np.angle(shoulder - hip))
    beyond = tuple(part for part in UPPER_BODY if part != "trunk")
    trunk = scene.body.shares["trunk"] * (1.0 - MID_TRUNK)
    trunk_at = (middle + shoulder) / 2
    weights = scene.gravity(beyond, middle) + trunk * (trunk_at.real - middle.real)
    return scene.percent(np.abs(_cross(shoulder - middle, force) - weights))


def trunk_lean(scene: Scene) -> Reals:
    """Moment of the leaning trunk about the hips, seated."""
    return scene.percent(np.abs(scene.gravity(UPPER_BODY, scene.joint("hip_near"))))


def all_fours(scene: Scene) -> Reals:
    """Moments that limbs held out ask of the trunk, over what holding still on all fours asks."""
    resting = 0.8 * np.ones_like(scene.given.progress)
    arm = scene.gravity(arm_parts("near"), scene.joint("shoulder_near"))
    leg = -scene.gravity(leg_parts("far"), scene.joint("hip_far"))
    arm = arm * scene.given.path("near_arm_lift")
    leg = leg * scene.given.path("far_leg_lift")
    return resting + scene.percent(np.maximum(arm, 0.0) + np.maximum(leg, 0.0))


def overhead(scene: Scene) -> Reals:
    """Shoulder moment of one arm with what it holds; a band pulls down on the wrist."""
    shoulder, wrist = scene.joint("shoulder_near"), scene.joint("wrist_near")
    weight = scene.gravity(arm_parts("near"), shoulder)
    band = scene.tension * (wrist.real - shoulder.real)
    return scene.percent(np.abs(weight + band))


SWAY = 0.012
"""Sideways sway to allow for, as a fraction of stature: about 2 cm at 1.7 m (from memory)."""

TOUCH = {0.0: 1.0, 0.03: 0.75, 0.08: 0.6, 0.16: 0.45}
"""Sway left with a hand on something, by the support share; a light touch takes away a good
quarter to a half (Jeka and Lackner 1994, from memory)."""


def balance(scene: Scene) -> Reals:
    """Percent of the base of support that ordinary sway would use."""
    given = scene.given
    sideways = np.asarray(given.number("base_side", 0.5)) + FOOT_BREADTH / 2
    lengthways = np.asarray(given.number("base_length", 0.0)) + FOOT_LENGTH / 2
    sway = SWAY * given.number("sway", 1.0) * given.number("soft", 1.0)
    support = np.asarray(given.number("support"))
    touch = np.interp(support, sorted(TOUCH), [TOUCH[k] for k in sorted(TOUCH)])
    share = 100.0 * sway * touch * np.sqrt(1.0 / sideways**2 + 1.0 / lengthways**2)
    return np.asarray(np.broadcast_to(share, given.progress.shape))


MEASURES: dict[str, Callable[[Scene], Reals]] = {
    "squat": squat,
    "one_leg": one_leg,
    "front_leg": front_leg,
    "split_leg": split_leg,
    "hip_hinge": hip_hinge,
    "bridge": bridge,
    "moving_leg": moving_leg,
    "heel_raise": heel_raise,
    "hands_share": hands_share,
    "band_push": band_push,
    "lying_press": lying_press,
    "pull": pull,
    "abduction": abduction,
    "brace": brace,
    "all_fours": all_fours,
    "trunk_lean": trunk_lean,
    "overhead": overhead,
    "balance": balance,
}

EXPONENTS = {"hands_share": 1.83, "band_push": 1.83, "lying_press": 1.83, "pull": 1.83}
EXPONENTS |= {"overhead": 1.83, "abduction": 1.88}
USUAL_EXPONENT = 1.88
"""How intensity counts over a repetition: shoulder 1.83, knee 1.88 (Frey Law and Avin 2010)."""
