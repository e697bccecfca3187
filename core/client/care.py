"""What the doses and the walks of a client must mind: the words of the table that steers."""

from collections.abc import Set
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from core.client.client import Client
from core.vocabulary import Condition, WalkingAid

HARMLESS: Final = frozenset(
    {
        Condition.ARTHRITIS,
        Condition.HIP_KNEE_ARTHRITIS,
        Condition.DIABETES,
        Condition.OBESITY,
        Condition.LATEX_ALLERGY,
    }
)
"""Conditions with which work near the limit, and more weight, may be done (ours: caution).

Diabetes without a medicine that can bring lows, where the work goes near the limit."""


class Care(StrEnum):
    """What a row asks of doses and sessions."""

    IN_HAND = "in_hand"
    """Three or four left in hand, stop at three."""
    IN_HAND_UNTIL_CALM = "in_hand_until_calm"
    """The same, until the coach has let less stay in hand."""
    LONG_WARM_UP = "long_warm_up"
    """Ten minutes of warm-up, and of cool-down."""
    SLOW_STAND_UPS = "slow_stand_ups"
    """Pressure may drop on standing, and after effort."""
    NO_BRISK_WALK = "no_brisk_walk"
    """No minute of a walk is brisk."""
    NO_WALK = "no_walk"
    """No walk is planned."""


class WalkStyle(StrEnum):
    """How a walk goes; a few sentences each in the templates."""

    STEADY = "steady"
    INDOOR_LAPS = "indoor_laps"
    WALK_AND_REST = "walk_and_rest"
    LEANING_STOPS = "leaning_stops"


class WalkCare(StrEnum):
    """What to mind on a walk, the weightiest first; one sentence each in the templates."""

    FEET = "feet"
    SPRAY = "spray"
    RELIEVER = "reliever"
    SWEET = "sweet"
    AFTER_MEAL = "after_meal"
    FLAT = "flat"
    OWN_PACE = "own_pace"


@dataclass(frozen=True, slots=True)
class WalkRule:
    """What a row asks of walks.

    Attributes:
        style: how it goes; ``None`` where the row says nothing of it.
        longest: minutes of one bout at most.
        minds: what to mind.
    """

    style: WalkStyle | None = None
    longest: int | None = None
    minds: frozenset[WalkCare] = frozenset()


NO_WALK_RULE = WalkRule()


def is_careful(client: Client, cares: Set[Care]) -> bool:
    """Whether a condition asks for more in hand; pressure alone not, once the coach said so.

    Args:
        cares: what the rows of this client ask (:func:`core.client.steering.cares_of`).
    """
    until_calm = Care.IN_HAND_UNTIL_CALM in cares and not client.pressure_is_calm
    return Care.IN_HAND in cares or until_calm


def is_frail(client: Client) -> bool:
    """Whether something asks for slow steps whatever is told (caution).

    Falls and fear of them, an aid to walk, any operation, and each condition that is not harmless.
    """
    aided = client.walking_aid not in (None, WalkingAid.NONE)
    falls = bool(client.falls) or bool(client.fears_falling)
    return aided or falls or bool(client.operated) or bool(client.conditions - HARMLESS)
