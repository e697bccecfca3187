"""What a fact about a client does to the choice of movements: the rows of one table, and their sum.

The rows are data (``steering.yaml``); :mod:`core.client.steering_loader` reads them. A fact that is
not known counts as its row says; an operation without a date counts as one of today.
"""

from calendar import monthrange
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, fields
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from core.client.care import NO_WALK_RULE, Care, WalkRule
from core.client.client import Client
from core.client.home_tests import HomeTest, RatherNot
from core.client.operations import (
    NO_JOINTS,
    NO_LIMITS,
    Approach,
    ArmHeight,
    DayOrPart,
    Joint,
    Operation,
    OperationKind,
)
from core.client.told import Told
from core.vocabulary import Condition, Kit, Medicine, Sign, Spare, WalkingAid


class Trait(StrEnum):
    """What a rung asks that its pose does not show; written beside it in the movement files."""

    UNHELD = "unheld"
    """Standing without a hand on anything."""
    ONE_HAND = "one_hand"
    """Standing with one hand on something, and no way to use both."""
    NARROW = "narrow"
    """Standing on less than a half-step."""
    ONE_LEG = "one_leg"
    """One leg carries all."""
    EDGE = "edge"
    """The heel hangs over an edge."""
    TURNING = "turning"
    """The trunk or a leg turns."""
    CROSSING = "crossing"
    """A leg comes to the middle of the body or over it."""
    LEG_OUT = "leg_out"
    """A leg is lifted sideways by its own muscles."""
    SPINE_LOAD = "spine_load"
    """The back bends under load, or to the end of its way."""
    STRAIN = "strain"
    """A hard hold, in which many hold their breath."""
    HEAD_LOW = "head_low"
    """The head is below the heart, or near it."""
    FLAT = "flat"
    """Lying flat on the back."""
    WEIGHT_ON_HANDS = "weight_on_hands"
    """The arms carry a large part of the body."""
    BACKWARD = "backward"
    """A step to where nobody looks."""
    TASK = "task"
    """Something to think of beside the movement."""
    PUSHES_UP = "pushes_up"
    """The arms push the body up from a seat."""
    ARMS_OFF = "arms_off"
    """Rising from a seat without the arms."""
    GRIP = "grip"
    """A tight grip."""
    PERSON = "person"
    """Only with somebody there."""
    LONG_ARMS = "long_arms"
    """Long work of raised arms."""


class Fact(StrEnum):
    """A fact that is neither a condition, a medicine nor an operation."""

    FELL = "fell"
    FEARS_FALLING = "fears_falling"
    WALKING_AID = "walking_aid"
    TWO_HANDED_AID = "two_handed_aid"
    ALONE = "alone"
    VERY_OLD = "very_old"
    YOUNG_HEART_DEVICE = "young_heart_device"


VERY_OLD_FROM: Final = 80
TWO_HANDED: Final = frozenset(
    {WalkingAid.CRUTCHES, WalkingAid.FRAME, WalkingAid.WHEELED_FRAME, WalkingAid.WHEELCHAIR}
)
"""Aids that both hands hold, or that somebody sits in."""
HEART_DEVICE_HEALS: Final = timedelta(weeks=6)
HEART_DEVICES: Final = frozenset({Condition.PACEMAKER, Condition.DEFIBRILLATOR})


class EndsWhenTold(StrEnum):
    """Which of the surgeon's limits, once stored, takes the place of a row."""

    BEND = "bend"
    WEIGHT = "weight"
    KNEELING = "kneeling"
    ARM_HEIGHT = "arm_height"
    ALL_ALLOWED = "all_allowed"
    """Only the word that nothing is forbidden any more, which ends the others too."""


@dataclass(frozen=True, slots=True)
class BodyLimits:
    """The most that a pose may ask; ``None``: no limit.

    Attributes:
        hip_bend, knee_bend: degrees from straight.
        hip_back: degrees that a thigh goes behind the line of the trunk.
        arm_raise: degrees of an upper arm from hanging along the trunk.
        held_kg: in both hands together, the pull of a band that they hold as well.
    """

    hip_bend: float | None = None
    knee_bend: float | None = None
    hip_back: float | None = None
    arm_raise: float | None = None
    held_kg: float | None = None

    def with_(self, other: "BodyLimits") -> "BodyLimits":
        """The stricter of each."""
        return BodyLimits(
            *(_stricter(getattr(self, name), getattr(other, name)) for name in LIMITS)
        )


def _stricter(one: float | None, other: float | None) -> float | None:
    if one is None or other is None:
        return other if one is None else one
    return min(one, other)


LIMITS: Final = tuple(one.name for one in fields(BodyLimits))
UNLIMITED: Final = BodyLimits()

ARM_DEGREES: Final = {ArmHeight.CHEST: 70.0, ArmHeight.SHOULDER: 95.0}
"""An arm held ahead at the shoulder is a right angle; a little over it is still that."""


@dataclass(frozen=True, slots=True)
class Effects:
    """What is left out of a ladder.

    Attributes:
        stresses: rungs that stress one of these.
        traits: rungs that have one of these.
        rungs: these rungs.
        kit: rungs that need one of these.
        settings: these settings of dials, as (dial, value).
        limits: settings whose pose goes beyond.
    """

    stresses: frozenset[Spare] = frozenset()
    traits: frozenset[Trait] = frozenset()
    rungs: frozenset[str] = frozenset()
    kit: frozenset[Kit] = frozenset()
    settings: frozenset[tuple[str, str]] = frozenset()
    limits: BodyLimits = UNLIMITED

    def with_(self, other: "Effects") -> "Effects":
        """Both together."""
        return Effects(
            self.stresses | other.stresses,
            self.traits | other.traits,
            self.rungs | other.rungs,
            self.kit | other.kit,
            self.settings | other.settings,
            self.limits.with_(other.limits),
        )


NO_EFFECTS: Final = Effects()


@dataclass(frozen=True, slots=True)
class OperationWhen:
    """Which operations a row speaks of.

    Attributes:
        joints: on any of these; a joint that was not named can be each.
        approaches: of a hip, empty for any; one not told can be each.
        under_weeks: so young at most, or of unknown date; ``None`` for ever.
        ends_when_told: the surgeon's limit that takes the row's place.
    """

    joints: frozenset[Joint]
    kinds: frozenset[OperationKind]
    approaches: frozenset[Approach] = frozenset()
    under_weeks: int | None = None
    ends_when_told: EndsWhenTold | None = None


@dataclass(frozen=True, slots=True)
class RowWhen:
    """The facts that make a row hold: any one of them.

    Attributes:
        at_least: so many of the medicines together.
        told: one of these answers must have been told, too; alone they are enough.
        unless: any of these answers ends the row.
    """

    conditions: frozenset[Condition] = frozenset()
    medicines: frozenset[Medicine] = frozenset()
    at_least: int = 1
    operation: OperationWhen | None = None
    fact: Fact | None = None
    told: Told = frozenset()
    unless: Told = frozenset()


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the table.

    Attributes:
        asks: what is asked of the client or the coach.
        prefers: rungs that come to the ladder before others of the same demand.
        warns: cautions said at the start of a session and beside movements (``cautions.yaml``).
        instead: cautions that this client is told another in place of.
        watches: signs to be watched for.
        rather_not: home tests that speak against themselves, with the reason.
        company: whether somebody must be there in a home test.
        cares: what doses, warm-up and walks mind.
        walk: how walks go.
        ground: why, in a sentence.
        source: the text it was read in, or "from memory".
        unsigned: nobody qualified has signed what is from memory or ours.
    """

    id: str
    when: RowWhen
    effects: Effects
    ground: str
    source: str
    unsigned: bool
    asks: tuple[str, ...] = ()
    prefers: tuple[str, ...] = ()
    warns: tuple[str, ...] = ()
    instead: Mapping[str, str] = field(default_factory=dict)
    watches: tuple[Sign, ...] = ()
    rather_not: Mapping[HomeTest, RatherNot] = field(default_factory=dict)
    company: bool = False
    cares: frozenset[Care] = frozenset()
    walk: WalkRule = NO_WALK_RULE


@dataclass(frozen=True, slots=True, eq=False)
class SteeringTable:
    """All rows. Compared and hashed by identity: it is loaded once."""

    rows: tuple[Row, ...]

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)


NO_ROWS: Final = SteeringTable(())


@dataclass(frozen=True, slots=True)
class Steering:
    """What the facts of one client add up to on one day.

    Attributes:
        rows: those that hold, in the order of the table.
        effects: of all of them, with what the surgeon and the client have said.
    """

    rows: tuple[Row, ...]
    effects: Effects

    @property
    def prefers(self) -> frozenset[str]:
        """Rungs that some row prefers."""
        return frozenset(rung for row in self.rows for rung in row.prefers)

    @property
    def asks(self) -> tuple[str, ...]:
        """What the rows want asked, each once, in the order of the table."""
        return tuple(dict.fromkeys(ask for row in self.rows for ask in row.asks))

    @property
    def watches(self) -> tuple[Sign, ...]:
        """Signs to be watched for, each once."""
        return tuple(dict.fromkeys(sign for row in self.rows for sign in row.watches))

    @property
    def warns(self) -> tuple[str, ...]:
        """The cautions of the rows, as this client is told them, each once."""
        return self.as_told(code for row in self.rows for code in row.warns)

    def as_told(self, cautions: Iterable[str]) -> tuple[str, ...]:
        """Cautions with those in their place that suit this client, each once."""
        instead = {old: new for row in self.rows for old, new in row.instead.items()}
        return tuple(dict.fromkeys(instead.get(code, code) for code in cautions))


def steering_of(client: Client, table: SteeringTable, today: date | None = None) -> Steering:
    """What holds for a client; without ``today`` every operation may be of today."""
    known = client.known_conditions
    held = tuple(row for row in table if holds(row.when, client, today, known))
    effects = Effects(stresses=client.protected)
    for row in held:
        effects = effects.with_(row.effects)
    for operation in client.operated:
        effects = effects.with_(surgeons_word(operation, today))
    return Steering(held, effects)


def cares_of(client: Client, table: SteeringTable) -> frozenset[Care]:
    """What doses and walks mind, by every row that holds on some day."""
    known = client.known_conditions
    asking = (row for row in table if row.cares and holds(row.when, client, None, known))
    return frozenset(care for row in asking for care in row.cares)


def holds(
    when: RowWhen,
    client: Client,
    today: date | None,
    known: frozenset[Condition] | None = None,
) -> bool:
    """Whether the facts of a row are there, or may be where they are not known.

    Args:
        known: the client's known conditions, where many rows are asked for.
    """
    if when.unless & client.told or (when.told and not when.told & client.told):
        return False
    if when.conditions & (client.known_conditions if known is None else known):
        return True
    if when.medicines and len(when.medicines & client.medicines) >= when.at_least:
        return True
    if when.operation is not None:
        return any(_speaks_of(when.operation, one, today) for one in client.operated)
    if when.fact is not None:
        return FACTS[when.fact](client, today)
    return bool(when.told) and not when.conditions


def _speaks_of(when: OperationWhen, operation: Operation, today: date | None) -> bool:
    unknown = operation.joint is None and not when.joints <= NO_JOINTS
    if operation.joint not in when.joints and not unknown:
        return False
    if operation.kind not in when.kinds and operation.kind is not OperationKind.OTHER:
        return False
    other_way = operation.approach is not None and operation.approach not in when.approaches
    if when.approaches and other_way:
        return False
    if _is_over(operation, today) or _has_told(operation, when.ends_when_told):
        return False
    return when.under_weeks is None or _may_be_younger(operation, when.under_weeks, today)


def _has_told(operation: Operation, limit: EndsWhenTold | None) -> bool:
    limits = operation.limits
    told = {
        EndsWhenTold.BEND: limits.bend_degrees is not None,
        EndsWhenTold.WEIGHT: limits.weight_kg is not None,
        EndsWhenTold.KNEELING: limits.kneeling is not None,
        EndsWhenTold.ARM_HEIGHT: limits.arm_height is not None,
        EndsWhenTold.ALL_ALLOWED: False,
    }
    return limit is not None and (told[limit] or limits.none_left)


def _may_be_younger(operation: Operation, weeks: int, today: date | None) -> bool:
    if operation.on is None or today is None:
        return True
    return today - latest_day(operation.on) < timedelta(weeks=weeks)


def latest_day(on: DayOrPart) -> date:
    """The last day that a day, month or year can mean."""
    month = on.month or 12
    return date(on.year, month, on.day or monthrange(on.year, month)[1])


def _is_over(operation: Operation, today: date | None) -> bool:
    """Whether what the surgeon forbade was for a time that has passed."""
    limits = operation.limits
    if today is None:
        return False
    if limits.until is not None:
        return today > limits.until
    if limits.until_week is None:
        return False
    return not _may_be_younger(operation, limits.until_week, today)


def surgeons_word(operation: Operation, today: date | None) -> Effects:
    """The surgeon's own limits as effects, while they last."""
    limits = operation.limits
    if limits == NO_LIMITS or _is_over(operation, today):
        return NO_EFFECTS
    bends = {
        name: limits.bend_degrees
        for name, joint in BENDS.items()
        if limits.bend_degrees is not None and operation.joint in (joint, None)
    }
    raise_ = ARM_DEGREES[limits.arm_height] if limits.arm_height else None
    if raise_ is not None:
        bends["arm_raise"] = min(raise_, bends.get("arm_raise", raise_))
    stresses = {Spare.KNEELING} if limits.kneeling is False else set()
    if limits.arm_height:
        stresses.add(Spare.OVERHEAD)
    return Effects(
        stresses=frozenset(stresses),
        limits=BodyLimits(held_kg=limits.weight_kg, **bends),
    )


BENDS: Final[Mapping[str, Joint]] = {
    "hip_bend": Joint.HIP,
    "knee_bend": Joint.KNEE,
    "arm_raise": Joint.SHOULDER,
}


def _fell(client: Client, _today: date | None) -> bool:
    return bool(client.falls)


def _fears_falling(client: Client, _today: date | None) -> bool:
    return client.fears_falling is True


def _walks_with_an_aid(client: Client, _today: date | None) -> bool:
    return client.walking_aid not in (None, WalkingAid.NONE)


def _needs_both_hands(client: Client, _today: date | None) -> bool:
    return client.walking_aid in TWO_HANDED


def _may_be_alone(client: Client, _today: date | None) -> bool:
    return client.lives_alone is not False


def _is_very_old(client: Client, today: date | None) -> bool:
    return today is None or client.age_in(today.year) >= VERY_OLD_FROM


def _may_have_a_young_heart_device(client: Client, today: date | None) -> bool:
    if client.pacemaker_on is None or today is None:
        return bool(client.conditions & HEART_DEVICES)
    return today - client.pacemaker_on < HEART_DEVICE_HEALS


FACTS: Final[Mapping[Fact, Callable[[Client, date | None], bool]]] = {
    Fact.FELL: _fell,
    Fact.FEARS_FALLING: _fears_falling,
    Fact.WALKING_AID: _walks_with_an_aid,
    Fact.TWO_HANDED_AID: _needs_both_hands,
    Fact.ALONE: _may_be_alone,
    Fact.VERY_OLD: _is_very_old,
    Fact.YOUNG_HEART_DEVICE: _may_have_a_young_heart_device,
}
"""When a fact counts: falls, fear and an aid that were not told do not, being alone does."""
