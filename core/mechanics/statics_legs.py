"""What each movement of the legs and hips asks at a moment: moments in percent of body weight times
stature."""

import numpy as np

from core.mechanics.body import HIP_JOINT_HALF
from core.mechanics.pose import UPPER_BODY, Reals, leg_parts
from core.mechanics.posed import Posed, cross

MIDDLE_OF_FOOT = 0.5  # between heel and toe


def _under_foot(posed: Posed, side: str, x: Reals) -> Reals:
    heel, toe = posed.joint(f"heel_{side}").real, posed.joint(f"toe_{side}").real
    return np.clip(x, np.minimum(heel, toe), np.maximum(heel, toe))


def hip_and_knee(posed: Posed, side: str, load: Reals | float, under: Reals) -> tuple[Reals, Reals]:
    """Extension moments at hip and knee of a standing leg, in body weights times metres.

    ``load`` is the share of body weight under the foot, ``under`` where it acts (x, m). Their sum
    does not depend on the lean of the trunk; each alone does.
    """
    hip, knee = posed.joint(f"hip_{side}"), posed.joint(f"knee_{side}")
    thigh, shank, foot = leg_parts(side)
    at_hip = load * (under - hip.real) - posed.gravity((thigh, shank, foot), hip)
    at_knee = load * (knee.real - under) + posed.gravity((shank, foot), knee)
    return at_hip, at_knee


def _extension(moments: tuple[Reals, Reals]) -> Reals:
    return np.maximum(moments[0], 0.0) + np.maximum(moments[1], 0.0)


def squat(posed: Posed) -> Reals:
    """Hip plus knee moment of the leg that carries more, on two feet side by side.

    Deeper than level thighs counts as level: peaks do not change from 40 cm down (Yoshioka 2014).
    """
    share, where = posed.whole
    load = share * posed.given.number("lead", 0.5)
    under = _under_foot(posed, "near", where.real)
    moment = _extension(hip_and_knee(posed, "near", load, under))
    deepest = np.maximum.accumulate(np.broadcast_to(moment, posed.given.progress.shape), axis=1)
    return posed.percent(deepest) * (1.0 - posed.pose.supported)


def front_leg(posed: Posed) -> Reals:
    """Hip plus knee moment of the near leg, the weight shared with the far foot by its lever."""
    return _front_leg(posed, 0.0)


FEET_PUSH_APART = 0.5
"""In a split stance the feet push apart against the floor, so that the force on the front leg
points part of the way to the hip. Authored: halfway between upright and along the leg."""


def split_leg(posed: Posed) -> Reals:
    """As ``front_leg``, both feet on the floor and pushing apart."""
    return _front_leg(posed, FEET_PUSH_APART)


def _front_leg(posed: Posed, apart: float) -> Reals:
    share, where = posed.whole
    heel, toe = posed.joint("heel_near"), posed.joint("toe_near")
    contact = heel + MIDDLE_OF_FOOT * (toe - heel)
    rear = posed.joint("ball_far").real
    gap = contact.real - rear
    front = np.clip((where.real - rear) / np.where(gap > 0.12, gap, np.inf), 0.0, 1.0)
    front = np.where(gap > 0.12, front, 1.0)
    hip, knee = posed.joint("hip_near"), posed.joint("knee_near")
    to_hip = hip - contact
    force = share * front * (1j + apart * to_hip.real / to_hip.imag)
    thigh, shank, foot = leg_parts("near")
    at_hip = cross(contact - hip, force) - posed.gravity((thigh, shank, foot), hip)
    at_knee = -cross(contact - knee, force) + posed.gravity((shank, foot), knee)
    return posed.percent(_extension((at_hip, at_knee))) * (1.0 - posed.pose.supported)


MOST_RELIEF = 0.55


def hip_hinge(posed: Posed) -> Reals:
    """Hip extension moment of one leg, the trunk tipped; hands that hold relieve by their lever."""
    hip = posed.joint("hip_far")
    upper = posed.gravity(UPPER_BODY, hip)
    if posed.given.word("one_leg"):
        upper = upper + posed.gravity(leg_parts("near"), hip)
        legs = 1.0
    else:
        legs = 2.0
    hand = posed.joint("wrist_far").real - hip.real
    relief = posed.given.number("support") * np.maximum(hand, 0.0)
    # Steadying hands never carry more than this share of the tipped trunk.
    relief = np.minimum(relief, MOST_RELIEF * np.abs(upper))
    band = 2.0 * posed.tension * np.abs(posed.joint("wrist_near").real - hip.real)
    if posed.given.word("one_leg"):
        band = band / 2.0
    lead = posed.given.number("lead", 1.0 / legs)
    return posed.percent(np.maximum(upper - relief + band, 0.0) * lead)


HIP_STRAIGHT_LOSS = 0.4
"""Hip extension strength lost from 50 degrees bent to straight (Worrell 2001, from memory)."""


def bridge(posed: Posed) -> Reals:
    """Hip plus knee moment of a supporting leg, hips held up between shoulders and feet."""
    shoulder, foot = posed.joint("shoulder_far"), posed.joint("heel_far").real
    single = "near_thigh" in posed.given.values
    parts = ("trunk", *leg_parts("near"), *leg_parts("far"))
    lifted = posed.gravity(parts, shoulder)
    if "held_near" in posed.masses:
        # A bottle on the hips: counted at the hip joint.
        share = posed.masses["held_near"][0]
        lifted = lifted + share * (posed.joint("hip_far").real - shoulder.real)
    lead = 1.0 if single else posed.given.number("lead", 0.5)
    force = lifted / (foot - shoulder.real) * lead
    hip, knee = posed.joint("hip_far"), posed.joint("knee_far")
    thigh, shank, sole = leg_parts("far")
    at_hip = force * (foot - hip.real) - posed.gravity((thigh, shank, sole), hip)
    at_knee = force * (foot - knee.real) - posed.gravity((shank, sole), knee)
    up = np.clip(posed.given.progress / 0.08, 0.0, 1.0)
    if posed.given.path("lift")[0, 0] > 0:
        up = np.ones_like(up)
    thigh_line, trunk_line = knee - hip, hip - shoulder
    flexed = np.degrees(np.angle(thigh_line / trunk_line))
    strength = 1.0 - HIP_STRAIGHT_LOSS * (1.0 - np.clip(flexed / 50.0, 0.0, 1.0))
    return np.asarray(posed.percent(np.maximum(at_hip, 0.0) / strength + np.abs(at_knee)) * up)


def moving_leg(posed: Posed) -> Reals:
    """Weight moments at hip and knee of the near leg held in the air, band added at the ankle."""
    hip, knee = posed.joint("hip_near"), posed.joint("knee_near")
    at_hip = np.abs(posed.gravity(leg_parts("near"), hip))
    at_knee = np.abs(posed.gravity(leg_parts("near")[1:], knee))
    band = posed.tension * np.abs(posed.joint("ankle_near") - hip)
    both = 2.0 if posed.given.word("both_legs") else 1.0
    return posed.percent((at_hip + band) * both + at_knee)


CALF_SHORT_LOSS = 0.45
"""Calf strength lost from a flat foot to heels 30 degrees up (Sale 1982, from memory)."""


def _calf_strength(posed: Posed) -> Reals:
    risen = np.clip(posed.given.path("heels") / 30.0, 0.0, 1.0)
    return np.asarray(1.0 - CALF_SHORT_LOSS * risen)


def heel_raise(posed: Posed) -> Reals:
    """Ankle moment of one leg: body weight at the ball of the foot."""
    share, where = posed.whole
    ankle, ball = posed.joint("ankle_far"), posed.joint("ball_far")
    if posed.given.word("seated"):
        thigh, shank, foot = (posed.body.shares[n] for n in ("thigh", "shank", "foot"))
        on_knee = posed.given.number("load") / posed.body.mass / 2.0
        # Forearms on the thighs: half of what the trunk rests there is on each knee.
        on_knee = on_knee + np.asarray(posed.given.number("rests", 0.0)) / 2.0
        load = thigh / 2 + shank + foot + on_knee
        lifted = np.clip(posed.given.path("heels") / 4.0, 0.0, 1.0)
        return posed.percent(load * (ball.real - ankle.real) * lifted) / _calf_strength(posed)
    legs = 1.0 if "near_thigh" in posed.given.values else posed.given.number("lead", 0.5)
    # A heel off the floor leaves only the ball of the foot to stand on.
    risen = np.clip(np.abs(posed.given.path("heels")) / 6.0, 0.0, 1.0)
    flat = np.clip(where.real, ankle.real, ball.real)
    lever = flat + (ball.real - flat) * risen - ankle.real
    asked = posed.percent(share * legs * lever) * (1.0 - posed.pose.supported)
    return asked / _calf_strength(posed)


def abduction(posed: Posed) -> Reals:
    """Hip moment sideways: the larger of the moving leg's and the standing leg's."""
    hip = posed.joint("hip_near")
    moving = np.abs(posed.gravity(leg_parts("near"), hip))
    moving = moving + posed.tension * np.abs(posed.joint("ankle_near") - hip)
    if posed.given.word("seated"):
        return posed.percent(posed.tension * posed.body.lengths["thigh"])
    if posed.given.word("lying"):
        return posed.percent(moving)
    stance = posed.joint("hip_far")
    hand = np.abs(posed.joint("wrist_far").real - stance.real)
    relief = np.asarray(posed.given.number("support")) * hand
    # The body is over the standing foot: half the pelvis lies between it and the hip joint.
    carried = posed.whole[0] - sum(posed.body.shares[p] for p in ("thigh", "shank", "foot"))
    across = carried * HIP_JOINT_HALF * posed.body.stature
    standing = np.maximum(across - relief, 0.0)
    lifted = np.clip(posed.given.progress / 0.08, 0.0, 1.0)
    return posed.percent(np.maximum(moving, standing * lifted))
