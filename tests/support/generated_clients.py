"""Invented clients of all sorts, by number, and which rows of the steering table a ladder breaks.

The check reads rungs and poses itself and shares no code with the ladder but the poses.
"""

import itertools
import random
from collections.abc import Iterable
from datetime import date, timedelta
from enum import StrEnum
from typing import Any

from core.client.client import Client, KitAtHome, Limits
from core.client.operations import (
    Approach,
    DayOrPart,
    Joint,
    Operation,
    OperationKind,
    SurgeonLimits,
)
from core.client.steering import LIMITS, UNLIMITED, steering_of
from core.mechanics.body import body_of
from core.movements.catalogue import Catalogue
from core.movements.ladder import LadderStep
from core.movements.posture import posture
from core.vocabulary import Band, Condition, Medicine, Sex, Spare, WalkingAid

LATEST = date(2026, 3, 1)


def generated_client(number: int) -> Client:
    """The same client for the same number."""
    dice = random.Random(number)

    def some(kind: type[StrEnum], most: int) -> frozenset[Any]:
        return frozenset(dice.sample(list(kind), dice.randint(0, most)))

    def maybe(value: float) -> float | None:
        return round(value, 1) if dice.random() < 0.7 else None

    return Client(
        name=f"Number {number}",
        birth_year=dice.randint(1932, 1975),
        sex=dice.choice(list(Sex)),
        stature_cm=maybe(dice.uniform(145, 195)),
        mass_kg=maybe(dice.uniform(45, 130)),
        conditions=some(Condition, 4),
        medicines=some(Medicine, 4),
        spares=some(Spare, 2),
        operations=tuple(_operation(dice) for _ in range(dice.randint(0, 2))),
        floor_ok=dice.random() < 0.5,
        falls=dice.choice([None, 0, 1, 3]),
        fears_falling=dice.choice([None, False, True]),
        walking_aid=dice.choice([None, *WalkingAid]),
        lives_alone=dice.choice([None, False, True]),
        kit=KitAtHome(
            chair=maybe(dice.uniform(38, 52)),
            bench=maybe(dice.uniform(80, 100)),
            table=maybe(dice.uniform(65, 80)),
            step=maybe(dice.uniform(10, 22)),
            bottle=maybe(dice.uniform(0.5, 10)),
            band=dice.choice([None, *Band]),
            cushion=maybe(dice.uniform(3, 20)),
        ),
        limits=Limits(overhead_allowed=dice.random() < 0.5),
    )


def _operation(dice: random.Random) -> Operation:
    on = LATEST - timedelta(days=dice.choice([3, 30, 60, 100, 400, 4000]))
    said = SurgeonLimits(
        bend_degrees=dice.choice([None, None, 60.0, 110.0]),
        weight_kg=dice.choice([None, None, 2.0]),
        until=dice.choice([None, LATEST - timedelta(days=1), LATEST + timedelta(days=30)]),
        kneeling=dice.choice([None, False, True]),
    )
    return Operation(
        kind=dice.choice(list(OperationKind)),
        joint=dice.choice([None, *Joint]),
        on=dice.choice([None, DayOrPart(on.year), DayOrPart(on.year, on.month, on.day)]),
        limits=said,
        approach=dice.choice([None, *Approach]),
    )


def broken_rows(
    someone: Client, catalogue: Catalogue, steps: Iterable[LadderStep], today: date
) -> list[tuple[str, str]]:
    """Each step that goes against a row that holds, or against a surgeon's word: (row, step)."""
    steering = steering_of(someone, catalogue.steering, today)
    against = [(row.id, row.effects) for row in steering.rows]
    against.append(("all together", steering.effects))
    limited = any(effects.limits != UNLIMITED for _, effects in against)
    found = []
    for rung_id, group in itertools.groupby(sorted(steps, key=_rung_of), key=_rung_of):
        rung, of_rung = catalogue.by_id[rung_id], list(group)
        plain = {name: values[0] for name, values in rung.dials.items()}
        settings = [step.setting for step in of_rung]
        pose = posture(body_of(someone), rung, someone.kit, settings) if limited else None
        for place, step in enumerate(of_rung):
            setting = {**plain, **dict(step.setting)}
            for name, effects in against:
                beyond = [
                    limit
                    for limit in LIMITS
                    if pose is not None
                    and (most := getattr(effects.limits, limit)) is not None
                    and getattr(pose, limit)[place] > most + 0.51
                ]
                if (
                    rung.stresses & effects.stresses
                    or rung.traits & effects.traits
                    or rung.id in effects.rungs
                    or effects.kit.intersection(rung.needs)
                    or effects.settings.intersection(setting.items())
                    or beyond
                ):
                    found.append((name, step.key))
    return found


def _rung_of(step: LadderStep) -> str:
    return step.rung
