"""What each movement of arms and trunk asks at a moment, and standing still: forces in percent of
body weight, moments in percent of weight times stature, pulls in percent of capacity."""

import numpy as np

from core.mechanics.body import FOOT_BREADTH, FOOT_LENGTH, GRAVITY, SHOULDER_HALF_WIDTH
from core.mechanics.pose import UPPER_BODY, Points, Reals, arm_parts, leg_parts
from core.mechanics.pose_plank import KNEE_CONTACT, arm_direction
from core.mechanics.posed import Posed, cross

MID_TRUNK = 0.35  # of the way from hips to shoulders: where a brace is weighed


STRAIGHT_ARMS = 0.5
"""Intensity of holding a share of body weight on straight arms beside bent ones. Authored: the
elbow moment is the force times the elbow's distance from the line of the arm, none when straight,
but shoulders and trunk still hold."""


def hands_share(posed: Posed) -> Reals:
    """Percent of body weight that the hands push with, less where the elbows are straighter."""
    shoulder, wrist = posed.joint("shoulder_near"), posed.joint("wrist_near")
    line = wrist - shoulder
    offset = np.abs(cross(posed.joint("elbow_near") - shoulder, line)) / np.abs(line)
    bent = np.clip(offset / (0.9 * posed.body.lengths["forearm"]), 0.0, 1.0)
    return 100.0 * push_force(posed) * (STRAIGHT_ARMS + (1.0 - STRAIGHT_ARMS) * bent)


def push_force(posed: Posed) -> Reals:
    """Force along the arms in body weights, the straight body turning about feet or knees."""
    knees = posed.given.word("pivot", "toes") == "knees"
    along = posed.joint("shoulder_near") - posed.joint("hip_near")
    tilt = np.angle(along)
    if knees:
        below, ahead = KNEE_CONTACT
        turn = along / np.abs(along)
        shin = (below + 1j * ahead) * posed.body.stature * turn
        contact: Points = np.asarray(posed.joint("knee_near") - shin)
        parts = tuple(p for p in posed.masses if not p.startswith(("shank", "foot")))
    else:
        contact = posed.joint("ball_near")
        parts = tuple(posed.masses)
    arm = arm_direction(tilt)
    on = "elbow_near" if posed.given.word("forearms") else "wrist_near"
    to_hand = posed.joint(on) - contact
    lever = to_hand.real * arm.imag - to_hand.imag * arm.real
    return np.asarray(posed.gravity(parts, contact) / lever)


def band_push(posed: Posed) -> Reals:
    """Percent of body weight that both hands push against a band round the back."""
    return 200.0 * np.broadcast_to(posed.tension, posed.given.progress.shape)


SHOULDER_CAPACITY = 0.55  # N m per kg of body mass, one arm (authored, from memory)


TRUNK_CAPACITY = 2.6  # N m per kg of body mass (authored, from memory)


TRUNK_RELIEF = {"hand_and_knee": 0.75, "hand": 0.5}  # share taken off the trunk (authored)


def pull(posed: Posed) -> Reals:
    """Percent of capacity, shoulder or trunk, whichever is used more."""
    shoulder, wrist = posed.joint("shoulder_near"), posed.joint("wrist_near")
    hip = posed.joint("hip_near")
    weight = GRAVITY * posed.body.mass
    at_shoulder = -posed.gravity(arm_parts("near"), shoulder)
    at_trunk = -posed.gravity(UPPER_BODY, hip)
    ends = posed.given.values.get("band_between")
    if isinstance(ends, (list, tuple)):
        line = posed.joint(str(ends[1])) - wrist
        pulled = posed.tension * line / np.maximum(np.abs(line), 1e-6)
        at_shoulder = at_shoulder + cross(wrist - shoulder, pulled)
        at_trunk = at_trunk + 2.0 * cross(wrist - hip, pulled)
    relief = TRUNK_RELIEF.get(posed.given.word("trunk_relief"), 0.0)
    shoulder_share = np.abs(at_shoulder) * weight / (SHOULDER_CAPACITY * posed.body.mass)
    trunk_share = np.abs(at_trunk) * weight / (TRUNK_CAPACITY * posed.body.mass) * (1.0 - relief)
    return 100.0 * np.maximum(shoulder_share, trunk_share)


BRACED_SHARE = 0.05
"""Of the arms' push in percent of body weight, as a moment of the trunk (authored)."""


def brace(posed: Posed) -> Reals:
    """Moment at mid-trunk that keeps a straight body from sagging between hands and feet.

    In a steep lean the arms hold the chest up by themselves and nothing sags; a share of their push
    is still braced against, so that further away is never easier than near.
    """
    hip, shoulder = posed.joint("hip_near"), posed.joint("shoulder_near")
    middle = hip + MID_TRUNK * (shoulder - hip)
    # The force along the arm acts at the shoulder.
    force = push_force(posed) * arm_direction(np.angle(shoulder - hip))
    beyond = tuple(part for part in UPPER_BODY if part != "trunk")
    trunk = posed.body.shares["trunk"] * (1.0 - MID_TRUNK)
    trunk_at = (middle + shoulder) / 2
    weights = posed.gravity(beyond, middle) + trunk * (trunk_at.real - middle.real)
    sag = posed.percent(cross(shoulder - middle, force) - weights)
    return np.asarray(np.maximum(sag, BRACED_SHARE * 100.0 * push_force(posed)))


CARRY_LEVER = SHOULDER_HALF_WIDTH
"""A bag at the side hangs under the shoulder: so far beside the spine, statures."""


def side_load(posed: Posed) -> Reals:
    """Moment sideways that one hand's load asks of the trunk, over what standing straight asks."""
    standing = 0.3 * np.ones_like(posed.given.progress)
    share = np.abs(posed.masses["held_near"][0]) if "held_near" in posed.masses else 0.0
    return standing + 100.0 * CARRY_LEVER * np.asarray(share)


GRIP_SHARE = 0.5
"""What carried kilograms ask of grip and legs, over what they ask of the trunk sideways: less, as
the same in each hand asks less of the back than in one alone (McGill 2013, from memory)."""


def carry(posed: Posed) -> Reals:
    """What carried loads ask of trunk and grip, over what standing straight asks.

    A load at one side tips the trunk sideways, one before the chest forwards.
    """
    asked = 0.3 * np.ones_like(posed.given.progress)
    hip, sideways = posed.joint("hip_near").real, np.zeros_like(posed.given.progress)
    for side, sign in (("near", 1.0), ("far", -1.0)):
        if f"held_{side}" not in posed.masses:
            continue
        share = np.abs(posed.masses[f"held_{side}"][0])
        ahead = np.maximum(posed.joint(f"wrist_{side}").real - hip, 0.0) / posed.body.stature
        sideways = sideways + sign * share
        asked = asked + 100.0 * share * (GRIP_SHARE * CARRY_LEVER + ahead)
    return np.asarray(asked + 100.0 * CARRY_LEVER * np.abs(sideways))


def trunk_lean(posed: Posed) -> Reals:
    """Moment of the leaning trunk about the hips, seated."""
    return posed.percent(np.abs(posed.gravity(UPPER_BODY, posed.joint("hip_near"))))


def all_fours(posed: Posed) -> Reals:
    """Moments that limbs held out ask of the trunk, over what holding still on all fours asks."""
    resting = 0.8 * np.ones_like(posed.given.progress)
    arm = posed.gravity(arm_parts("near"), posed.joint("shoulder_near"))
    leg = -posed.gravity(leg_parts("far"), posed.joint("hip_far"))
    arm = arm * posed.given.path("near_arm_lift")
    leg = leg * posed.given.path("far_leg_lift")
    return resting + posed.percent(np.maximum(arm, 0.0) + np.maximum(leg, 0.0))


def overhead(posed: Posed) -> Reals:
    """Shoulder moment of one arm with what it holds; a band pulls down on the wrist."""
    shoulder, wrist = posed.joint("shoulder_near"), posed.joint("wrist_near")
    weight = posed.gravity(arm_parts("near"), shoulder)
    band = posed.tension * (wrist.real - shoulder.real)
    return posed.percent(np.abs(weight + band))


SWAY = 0.012
"""Sideways sway to allow for, as a fraction of stature: about 2 cm at 1.7 m (from memory)."""


TOUCH = {0.0: 1.0, 0.03: 0.75, 0.08: 0.6, 0.16: 0.45, 0.20: 0.4}
"""Sway left with a hand on something, by the support share; a light touch takes away a good
quarter to a half (Jeka and Lackner 1994, from memory)."""


def balance(posed: Posed) -> Reals:
    """Percent of the base of support that ordinary sway would use."""
    given = posed.given
    sideways = np.asarray(given.number("base_side", 0.5)) + FOOT_BREADTH / 2
    lengthways = np.asarray(given.number("base_length", 0.0)) + FOOT_LENGTH / 2
    sway = SWAY * given.number("sway", 1.0) * given.number("soft", 1.0)
    support = np.asarray(given.number("support"))
    touch = np.interp(support, sorted(TOUCH), [TOUCH[k] for k in sorted(TOUCH)])
    share = 100.0 * sway * touch * np.sqrt(1.0 / sideways**2 + 1.0 / lengthways**2)
    return np.asarray(np.broadcast_to(share, given.progress.shape))
