"""Operations on joints as values, and the one question which place on the body is a careful one.

A joint that cannot be named from what was told is ``None``: it counts as careful wherever a joint
can be meant, because a rule that is too strict costs a movement, one too lax a joint.
"""

import re
from calendar import monthrange
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from typing import Any


class Joint(StrEnum):
    """A joint, a group of small ones, or another place of the body that is operated on."""

    KNEE = "knee"
    HIP = "hip"
    SHOULDER = "shoulder"
    ELBOW = "elbow"
    WRIST = "wrist"
    HAND = "hand"
    ANKLE = "ankle"
    FOOT = "foot"
    SPINE = "spine"
    BREASTBONE = "breastbone"
    BREAST = "breast"
    BELLY = "belly"
    GROIN = "groin"
    EYE = "eye"


NO_JOINTS = frozenset({Joint.BREASTBONE, Joint.BREAST, Joint.BELLY, Joint.GROIN, Joint.EYE})
"""Places that are operated on and hold no joint that could be a new one."""


class Side(StrEnum):
    """Of the body, as its owner says it."""

    LEFT = "left"
    RIGHT = "right"


class OperationKind(StrEnum):
    """What was done; ``OTHER`` where only that there was an operation is known."""

    REPLACEMENT = "replacement"
    REPAIR = "repair"
    FIXATION = "fixation"
    FUSION = "fusion"
    OTHER = "other"


class Approach(StrEnum):
    """From where a hip was opened; each way has movements of its own that are barred at first."""

    POSTERIOR = "posterior"
    ANTERIOR = "anterior"
    LATERAL = "lateral"


class ArmHeight(StrEnum):
    """How high an arm may be lifted."""

    CHEST = "chest"
    SHOULDER = "shoulder"


@dataclass(frozen=True, slots=True)
class DayOrPart:
    """A day of which the month or the day may be unknown; an unknown month has no day.

    Raises:
        ValueError: there is no such day.
    """

    year: int
    month: int | None = None
    day: int | None = None

    def __post_init__(self) -> None:
        """Refuse what no calendar holds."""
        if self.month is None and self.day is not None:
            raise ValueError("a day needs its month")
        date(self.year, self.month or 1, self.day or 1)

    def isoformat(self) -> str:
        """ISO 8601 with reduced precision: "2019", "2019-03" or "2019-03-04"."""
        parts = [f"{self.year:04d}"]
        parts += [f"{part:02d}" for part in (self.month, self.day) if part is not None]
        return "-".join(parts)

    @property
    def latest(self) -> date:
        """The last day that it can be: the careful reading."""
        month = self.month or 12
        return date(self.year, month, self.day or monthrange(self.year, month)[1])

    @classmethod
    def fromisoformat(cls, text: str) -> "DayOrPart":
        """The reverse of :meth:`isoformat`."""
        return cls(*(int(part) for part in text.split("-")))


@dataclass(frozen=True, slots=True)
class SurgeonLimits:
    """What the surgeon has forbidden for now; ``None`` means that nothing was said about it.

    Attributes:
        bend_degrees: the joint may be bent so far, degrees from straight.
        weight_kg: as much may be lifted or carried, kg.
        until: the last day of these limits.
        until_week: the last week of them, counted from the operation.
        kneeling: whether kneeling is allowed.
        arm_height: the arm is lifted no higher than this.
        none_left: the surgeon said that nothing is forbidden any more, which is more than nothing
            said.
    """

    bend_degrees: float | None = None
    weight_kg: float | None = None
    until: date | None = None
    until_week: int | None = None
    kneeling: bool | None = None
    arm_height: ArmHeight | None = None
    none_left: bool = False


NO_LIMITS = SurgeonLimits()

FRESH = timedelta(weeks=12)
"""So long after an operation a doctor's word is wanted before training (ours, the careful side)."""

RECENT = timedelta(days=365)
"""So long after an operation its surgeon's limits and its way in are asked for."""


@dataclass(frozen=True, slots=True)
class Operation:
    """One operation on one joint.

    Attributes:
        joint: ``None`` where the words name none that we know.
        side: ``None`` where it was not said, or the joint has no side: both count.
        words: what was typed, word for word; "" where it was tapped.
        approach: of a hip; ``None`` where it was not said: each can be meant.
    """

    kind: OperationKind = OperationKind.REPLACEMENT
    joint: Joint | None = None
    side: Side | None = None
    on: DayOrPart | None = None
    limits: SurgeonLimits = NO_LIMITS
    words: str = ""
    approach: Approach | None = None

    def is_recent(self, on: date) -> bool:
        """Whether it may be less than :data:`RECENT` ago; one of an unknown day may be."""
        return self.on is None or on - self.on.latest < RECENT

    def is_fresh(self, on: date) -> bool:
        """Whether it may be less than :data:`FRESH` ago; one of an unknown day may be."""
        return self.on is None or on - self.on.latest < FRESH

    def may_follow(self, day: date) -> bool:
        """Whether it may have been on that day or later; one of an unknown day may have been."""
        return self.on is None or self.on.latest >= day


@dataclass(frozen=True, slots=True)
class Place:
    """A place on the body as somebody told it.

    Attributes:
        joints: those that can be meant; none at the head, the chest, the belly or the calf.
        side: ``None`` where it was not said: either can be meant.
    """

    joints: frozenset[Joint]
    side: Side | None = None


def needs_stricter_rule(place: Place, operations: Iterable[Operation]) -> bool:
    """Whether an operated joint can be meant by this place."""
    return bool(operations_meant(place, operations))


def operations_meant(place: Place, operations: Iterable[Operation]) -> tuple[Operation, ...]:
    """The operations whose joint can be meant by this place."""
    return tuple(one for one in operations if _can_be_meant(place, one))


def _can_be_meant(place: Place, operation: Operation) -> bool:
    if operation.joint is None:
        return bool(place.joints)
    sides = {place.side, operation.side}
    return operation.joint in place.joints and (None in sides or len(sides) == 1)


def operation_json(operation: Operation) -> dict[str, Any]:
    """An operation as plain JSON; what is not known is left out."""
    limits = operation.limits
    said = {
        "bend_degrees": limits.bend_degrees,
        "weight_kg": limits.weight_kg,
        "until": limits.until.isoformat() if limits.until else None,
        "until_week": limits.until_week,
        "kneeling": limits.kneeling,
        "arm_height": limits.arm_height.value if limits.arm_height else None,
        "none_left": limits.none_left or None,
    }
    found: dict[str, Any] = {
        "kind": operation.kind.value,
        "joint": operation.joint.value if operation.joint else None,
        "side": operation.side.value if operation.side else None,
        "on": operation.on.isoformat() if operation.on else None,
        "limits": {key: value for key, value in said.items() if value is not None} or None,
        "words": operation.words or None,
        "approach": operation.approach.value if operation.approach else None,
    }
    return {key: value for key, value in found.items() if value is not None}


def operations_of(stored: Iterable[str | Mapping[str, Any]]) -> tuple[Operation, ...]:
    """The operations of a stored list, each once: values, and the plain words of older profiles."""
    found: list[Operation] = []
    for one in stored:
        found += _of_words(one) if isinstance(one, str) else [_of_json(one)]
    return tuple(dict.fromkeys(found))


def _of_json(stored: Mapping[str, Any]) -> Operation:
    joint, side, on = (stored.get(key) for key in ("joint", "side", "on"))
    limits = stored.get("limits", {})
    until, height = limits.get("until"), limits.get("arm_height")
    approach = stored.get("approach")
    return Operation(
        kind=OperationKind(stored.get("kind", OperationKind.REPLACEMENT)),
        joint=Joint(joint) if joint else None,
        side=Side(side) if side else None,
        on=DayOrPart.fromisoformat(on) if on else None,
        limits=SurgeonLimits(
            bend_degrees=limits.get("bend_degrees"),
            weight_kg=limits.get("weight_kg"),
            until=date.fromisoformat(until) if until else None,
            until_week=limits.get("until_week"),
            kneeling=limits.get("kneeling"),
            arm_height=ArmHeight(height) if height else None,
            none_left=bool(limits.get("none_left", False)),
        ),
        words=str(stored.get("words", "")),
        approach=Approach(approach) if approach else None,
    )


UNNAMED_CODE = "other joint"
"""What an older profile holds, and a tap says, for a joint without a button of its own."""


def _of_words(text: str) -> list[Operation]:
    """A code or words as profiles held them once: "left knee", "Right hip", "other joint".

    Words that name no joint, or more than one, are a joint that is not known; they are kept.
    """
    code = " ".join(text.split()).casefold()
    words = [word.removesuffix("s") for word in re.findall(r"[a-z]+", code)]
    joints = {Joint(word) for word in words if word in set(Joint)}
    sides = [Side(word) for word in dict.fromkeys(words) if word in set(Side)]
    if "both" in words:
        sides = list(Side)
    joint = joints.pop() if len(joints) == 1 else None
    if joint is None:
        return [Operation(words="" if code == UNNAMED_CODE else text)]
    plain = code in {joint.value, *(f"{side.value} {joint.value}" for side in sides)}
    kept = "" if plain else text
    one = Operation(joint=joint, words=kept)
    return [replace(one, side=side) for side in sides] or [one]
