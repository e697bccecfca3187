"""Upright poses from the side: heels may rise, a leg or the arms may move."""

import numpy as np

from core.mechanics.body import FOOT_LENGTH, HEEL_BEHIND_ANKLE, HEEL_TO_BALL
from core.mechanics.pose import Points, Pose, Prop, ankle_over_ball, foot_points, turned
from core.mechanics.pose_arms import Joints, add_arms, add_trunk
from core.mechanics.pose_feet import (
    HOLD_AHEAD,
    STRAIGHT,
    add_leg,
    firm_near,
    hold_ahead,
    hold_props,
    holds_at,
    swing_leg,
)
from core.mechanics.pose_input import PoseInput, share_of_way
from core.mechanics.pose_props import finished

STEP_CLEAR = 0.03  # how high a foot is lifted in a step on level ground, statures
TAPE_AHEAD = 0.13  # tape on the floor, ahead of the standing ankle, statures
TAPE_WIDE = 0.05  # m
TAP_EDGE = 0.125  # edge of the step ahead of the standing ankle, statures


def stand(given: PoseInput) -> Pose:
    """Upright; heels may rise, and the near leg may swing or bend.

    Settings (degrees, each a number or a pair): heels (both soles tip up onto the ball, or the
    far one when the near leg is lifted), toes (both soles tip up onto the heel), near_thigh
    (forward of hanging), near_knee (bend), near_ankle (toes up), lean, nod; near_back (statures
    the near foot stands behind the far one, a pair for a step forward), clear (statures that its
    foot is lifted on the way, over a tape); step (word: stand with the ball on a step); tap (word:
    the near foot is put on a step); hold, hold_ahead (statures), arms.
    """
    body = given.body
    heels = given.path("heels")
    base = given.surface("step") if given.word("step") else 0.0
    sole = np.exp(-1j * np.radians(heels))
    length = FOOT_LENGTH * body.stature
    ball_ahead = (HEEL_TO_BALL - HEEL_BEHIND_ANKLE) * length
    ball = np.full_like(given.progress, ball_ahead, dtype=np.complex128) + 1j * base
    ankle = ankle_over_ball(body, ball, sole)
    bent: Points | None = np.ones_like(sole)
    if "toes" in given.values:
        heel = foot_points(body, ankle, sole)[0]
        tipped = np.exp(1j * np.radians(given.path("toes")))
        ankle, sole, bent = heel + (ankle - heel) * tipped, tipped, None
    over = np.clip(np.abs(heels) / 12.0, 0.0, 1.0)
    hip_x = (1 - over) * 0.25 * length + over * ball_ahead
    hip_x = hip_x + given.path("shift") * body.stature
    hip_y = ankle.imag + np.sqrt((STRAIGHT * body.leg) ** 2 - (hip_x - ankle.real) ** 2)
    hip = hip_x + 1j * hip_y
    joints: Joints = {"hip_near": hip, "hip_far": hip}
    add_leg(joints, body, "far", ankle, sole, bent)
    props: tuple[Prop, ...] = ()
    if "near_thigh" in given.values:
        paths = (given.path(name) for name in ("near_thigh", "near_knee", "near_ankle"))
        swing_leg(joints, given, *paths)
    elif given.word("tap"):
        props += (_tap(given, joints, ankle),)
    elif "near_back" in given.values:
        walks = isinstance(given.values["near_back"], (list, tuple))
        near_back = given.path("near_back") * body.stature
        if walks:
            # The hips go along: halfway between the feet all the time.
            joints["hip_near"] = joints["hip_far"] = hip = hip - near_back / 2
            add_leg(joints, body, "far", ankle, sole, np.ones_like(sole))
        clear = (
            given.number("clear", STEP_CLEAR) * body.stature * np.sin(np.pi * share_of_way(given))
            if walks
            else 0.0
        )
        add_leg(joints, body, "near", ankle - near_back + 1j * clear, sole, np.ones_like(sole))
    else:
        for part in ("knee", "ankle", "heel", "ball", "toe"):
            joints[f"{part}_near"] = joints[f"{part}_far"]
    trunk = turned(given.path("lean"))
    add_trunk(joints, body, trunk, given.path("nod"))
    wanted = given.values.get("hold_ahead", HOLD_AHEAD)
    ahead = hold_ahead(given, float(str(wanted)))
    add_arms(joints, given, trunk, holds_at(given, ahead))
    props += (*hold_props(given, ahead), *firm_near(given))
    if "clear" in given.values:
        # A tape on the floor just ahead of the standing toes.
        near_edge = TAPE_AHEAD * body.stature * np.ones((given.settings, 1), dtype=np.complex128)
        props += (Prop("tape", near_edge, near_edge + TAPE_WIDE),)
    if base:
        edge = ball[:, :1] - 0.02 * body.stature
        props += (Prop("step", edge),)
    return finished(given, joints, props)


def _tap(given: PoseInput, joints: Joints, standing: Points) -> Prop:
    """Puts the near foot onto a step ahead, lifted clear of its edge on the way."""
    body = given.body
    height = given.surface("step")
    edge = TAP_EDGE * body.stature
    target = edge + 0.05 * body.stature + 1j * (height + body.ankle_height)
    s = given.progress
    # Up first, then forward: the foot passes over the edge.
    up, along = np.sin(np.clip(s / 0.6, 0, 1) * np.pi / 2), np.clip((s - 0.3) / 0.7, 0, 1)
    x = standing.real + (target.real - standing.real) * along
    clear = 0.04 * body.stature * np.sin(np.pi * s)
    y = standing.imag + (target.imag - standing.imag) * up + clear
    add_leg(joints, body, "near", x + 1j * y)
    return Prop("step", np.full((given.settings, 1), edge + 1j * height))
