"""Who we train: body, kit, spares, medicines, clearance, aim and the coach's limits.

A plain value that flows, screening, ladder and dose read. Skipped answers keep cautious defaults.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time

from core.client.operations import (
    NO_JOINTS,
    Operation,
    OperationKind,
    Place,
    needs_stricter_rule,
    operations_meant,
)
from core.client.set_week import NOTHING_SET, SetWeek
from core.client.told import Told
from core.vocabulary import Aim, Band, Condition, Family, Medicine, Sex, Spare, WalkingAid

PULSE_LINE, HIGHEST_PULSE_LINE = 100.0, 110.0
"""Beats a minute at rest from which nothing is trained, and the most that a coach may make it."""


@dataclass(frozen=True, slots=True)
class KitAtHome:
    """What the client can use. ``None`` or False: not there.

    Attributes:
        chair: seat height, cm. A firm cushion adds to it in the ladder.
        cushion: thickness of a firm cushion under somebody's weight, cm.
        bench: kitchen bench height, cm.
        table: table height, cm.
        step: height of the bottom stair or a step, cm.
        bottle: heaviest filled bottle or hand weight, kg.
        band: stiffest band at home.
        wall: a clear wall.
        mat: a mat or carpet to lie on.
    """

    chair: float | None = 43.0
    bench: float | None = None
    table: float | None = None
    step: float | None = None
    bottle: float | None = None
    band: Band | None = None
    wall: bool = True
    mat: bool = True
    cushion: float | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """What the coach has set. A family missing from a mapping has no limit of that kind.

    Attributes:
        ceilings: highest allowed demand by family.
        floors: lowest demand to offer by family, unless the client asks for easier.
        forbidden: rung ids never to be offered.
        overhead_allowed: whether the overhead family may be offered at all.
        pulse_cap_percent: cap in percent of maximum heart rate; 76 until the coach raises it.
        numbers_asked: optional morning numbers that the coach turned on
            ("pulse", "pressure", "glucose", "weight").
        pulse_line: resting pulse from which nothing is trained, raised by the coach for an uneven
            rhythm with a doctor's word; counts for nobody else.
        pressure_calm_on: when the coach let less stay in hand, of high pressure alone.
        glucose_unit: "mmol/L" or "mg/dL", fixed per client.
        glucose_unit_fixed: whether the coach has fixed it; else it is only assumed.
        fixed: rung to take for now by family, wherever the rules let it be taken.
        skipped: families left out for now.
    """

    ceilings: Mapping[Family, float] = field(default_factory=dict)
    floors: Mapping[Family, float] = field(default_factory=dict)
    forbidden: frozenset[str] = frozenset()
    overhead_allowed: bool = False
    pulse_cap_percent: float = 76.0
    numbers_asked: frozenset[str] = frozenset()
    glucose_unit: str = "mmol/L"
    glucose_unit_fixed: bool = False
    pulse_line: float = PULSE_LINE
    pressure_calm_on: date | None = None
    fixed: Mapping[Family, str] = field(default_factory=dict)
    skipped: frozenset[Family] = frozenset()


@dataclass(frozen=True, slots=True)
class Clearance:
    """The coach's tap "cleared to start": who, when, until when."""

    by: str
    on: date
    until: date | None = None


@dataclass(frozen=True, slots=True)
class Client:
    """One client, as the rules need them.

    Attributes:
        birth_year: four digits; age is counted to the year's end (the cautious side).
        stature_cm: ``None`` when skipped: tables use a cautious default.
        mass_kg: ``None`` when skipped.
        pacemaker_on: date the pacemaker was put in, where known.
        operations: on joints; a replaced joint is one of them.
        medicine_changed_on: when a medicine or its dose last changed, where told.
        floor_ok: gets down to the floor and up again alone.
        falls: how often they fell in the last 12 months; ``None`` when it is not known.
        fears_falling: ``None`` when it is not known.
        walking_aid: the one with the most help of those used; ``None`` when it is not known.
        lives_alone: ``None`` when it is not known.
        told: what the coach was told of conditions (:mod:`core.client.told`).
        wished_families: families that the client's own aim asks for, the nearest to it first.
        checkin_at: local time of the morning check-in.
        training_days: ISO weekdays (1 Monday .. 7 Sunday) with a session.
        session_minutes: time for a session, warm-up and cool-down included; 0 for no limit,
            ``None`` when it was not told.
        week: what the coach has set of the week.
    """

    name: str
    country: str = ""
    zone: str = "UTC"
    birth_year: int = 1950
    sex: Sex = Sex.FEMALE
    stature_cm: float | None = None
    mass_kg: float | None = None
    conditions: frozenset[Condition] = frozenset()
    medicines: frozenset[Medicine] = frozenset()
    spares: frozenset[Spare] = frozenset()
    operations: tuple[Operation, ...] = ()
    pacemaker_on: date | None = None
    medicine_changed_on: date | None = None
    floor_ok: bool = False
    falls: int | None = None
    fears_falling: bool | None = None
    walking_aid: WalkingAid | None = None
    lives_alone: bool | None = None
    told: Told = frozenset()
    wished_families: tuple[Family, ...] = ()
    kit: KitAtHome = KitAtHome()
    aim: Aim = Aim.ENDURANCE
    limits: Limits = Limits()
    clearance: Clearance | None = None
    checkin_at: time = time(8, 0)
    training_days: tuple[int, ...] = (1, 3, 5)
    session_minutes: int | None = None
    week: SetWeek = NOTHING_SET

    def age_in(self, year: int) -> int:
        """Age in whole years at the end of ``year``."""
        return year - self.birth_year

    @property
    def operated(self) -> tuple[Operation, ...]:
        """The operations; a replaced joint of which nothing else is told is one not known."""
        told = Condition.JOINT_REPLACEMENT in self.conditions
        return self.operations or ((Operation(),) if told else ())

    @property
    def replaced_joints(self) -> tuple[Operation, ...]:
        """The operations that put in a new joint, or may have."""
        may_be = (OperationKind.REPLACEMENT, OperationKind.OTHER)
        return tuple(
            one for one in self.operated if one.kind in may_be and one.joint not in NO_JOINTS
        )

    @property
    def resting_pulse_line(self) -> float:
        """Beats a minute at rest from which the pulse is taken again, and nothing is trained."""
        uneven = Condition.RHYTHM in self.conditions
        return min(self.limits.pulse_line, HIGHEST_PULSE_LINE) if uneven else PULSE_LINE

    @property
    def pressure_is_calm(self) -> bool:
        """Whether the coach has let less stay in hand, and no pill has changed since."""
        calm, changed = self.limits.pressure_calm_on, self.medicine_changed_on
        return calm is not None and (changed is None or changed <= calm)

    def is_careful_at(self, place: Place) -> bool:
        """Whether the stricter rule for operated joints holds at a place on the body."""
        return needs_stricter_rule(place, self.operated)

    def operations_at(self, place: Place) -> tuple[Operation, ...]:
        """The operations that can be meant by a place on the body."""
        return operations_meant(place, self.operated)

    @property
    def known_conditions(self) -> frozenset[Condition]:
        """The conditions told, and a joint replacement where an operation says so."""
        # Asked for each row of each table: most people have had no operation.
        if not self.operations or not self.replaced_joints:
            return self.conditions
        return self.conditions | {Condition.JOINT_REPLACEMENT}

    @property
    def protected(self) -> frozenset[Spare]:
        """Spares said outright, plus those that other answers imply (no floor)."""
        implied = frozenset() if self.floor_ok else frozenset({Spare.FLOOR, Spare.KNEELING})
        return self.spares | implied
