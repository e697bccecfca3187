"""Dials: what makes a rung easier or harder without changing it, and what their settings mean.

A number is used as it is; a word stands for a number that is written here once.
"""

from collections.abc import Container, Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np

from core.client.client import KitAtHome
from core.mechanics.pose import Reals
from core.mechanics.pose_input import BAND_NEWTONS, HAND_SUPPORT
from core.movements.catalogue import DialValue, Rung, Setting
from core.vocabulary import Band, Kit


@dataclass(frozen=True, slots=True)
class Dial:
    """What settings a dial may have: numbers in a range, or words that stand for numbers."""

    low: float = 0.0
    high: float = 0.0
    words: Mapping[str, float] | None = None

    def number(self, value: DialValue) -> float:
        """The number that a setting stands for."""
        if isinstance(value, str):
            return (self.words or {})[value]
        return float(value)

    def allows(self, value: object) -> bool:
        """Whether a movement file may use this setting."""
        if self.words is not None:
            return isinstance(value, str) and value in self.words
        is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
        return is_number and self.low <= float(value) <= self.high  # type: ignore[arg-type] # checked


SLOWER = {"usual": 1.0, "slow": 1.6, "very_slow": 2.4}
"""Times as long on the way out and back."""

SLOWER_ASKS_MORE = {"usual": 1.0, "slow": 1.05, "very_slow": 1.10}
"""Demand of a slower repetition beside its smaller share of rest. Authored: slower repetitions at
the same load end sets earlier (Hatfield 2006, from memory); the size is a cautious guess."""

SOFT = {"firm": 1.0, "folded_towel": 1.4, "cushion": 1.7}
"""Sway on a soft surface over a firm one (authored): soft ground comes after firm ground without a
hand, so that a touch of the fingertips, which leaves 0.75 of the sway, does not make up for it."""

HELD_FIRMLY = frozenset({"one_hand", "two_hands", "steady_hand", "resting_hand", "firm_hand"})
"""Not with soft ground: who needs the whole hand stands on firm ground."""

THICKEST_CUSHION = 10.0
"""cm: on a thicker one the feet leave the floor or the seat slides (ours)."""

DIALS: Mapping[str, Dial] = {
    "cushion": Dial(0.0, THICKEST_CUSHION),  # cm on the seat
    "range": Dial(0.05, 1.0),  # share of the full movement
    "tempo": Dial(words=SLOWER),
    "pause": Dial(0.0, 10.0),  # s more at the end pose
    "pulses": Dial(0, 5),  # small ones at the end pose
    "support": Dial(words=HAND_SUPPORT),
    "load": Dial(0.0, 12.0),  # kg in each hand
    "band": Dial(words={band.value: newtons for band, newtons in BAND_NEWTONS.items()}),
    "stretch": Dial(25.0, 200.0),  # percent of the band's length, at the end pose
    "distance": Dial(1.0, 5.0),  # foot lengths from the wall
    "step": Dial(0.15, 0.60),  # length of a step, statures
    "lead": Dial(0.5, 0.95),  # share of weight on the working leg
    "soft": Dial(words=SOFT),
    "lean": Dial(0.0, 70.0),  # degrees of the trunk
    "rests": Dial(0.0, 0.3),  # share of body weight that the trunk rests on the knees
    "stance": Dial(0.0, 0.2),  # feet apart, statures
}

Barred = frozenset[tuple[str, str]]
NOT_BARRED: Barred = frozenset()

MOST_TURNED = 2
"""Dials away from their plain setting in one step: more is too much to tell a client."""


def has_kit(kit: KitAtHome, needs: tuple[Kit, ...]) -> bool:
    """Whether everything in ``needs`` is at home."""
    return all(getattr(kit, item.value) not in (None, False) for item in needs)


def surfaces_of(kit: KitAtHome) -> dict[str, float]:
    """Heights of the furniture in metres; furniture that is not there is missing."""
    found = {name: getattr(kit, name) for name in ("chair", "bench", "table", "step")}
    return {name: cm / 100.0 for name, cm in found.items() if cm is not None}


def values_at_home(name: str, values: tuple[DialValue, ...], kit: KitAtHome) -> list[DialValue]:
    """The settings of a dial that this kit allows, in the authored order."""
    if name == "load":
        heaviest = kit.bottle or 0.0
        return [v for v in values if not isinstance(v, str) and v <= heaviest + 1e-9]
    if name == "cushion":
        thickest = min(kit.cushion or 0.0, THICKEST_CUSHION)
        return [v for v in values if not isinstance(v, str) and v <= thickest]
    if name == "soft":
        return [v for v in values if v != Kit.CUSHION or kit.cushion]
    if name == "band":
        stiffness = list(Band)
        if kit.band is None:
            return []
        return [v for v in values if stiffness.index(Band(str(v))) <= stiffness.index(kit.band)]
    return list(values)


def settings_of(rung: Rung, kit: KitAtHome, barred: Barred = NOT_BARRED) -> list[Setting]:
    """Every combination of dial settings that the kit allows; each leaves out plain settings.

    Args:
        barred: settings that are left out, as (dial, value).
    """
    names = sorted(rung.dials)
    choices = []
    for name in names:
        values = values_at_home(name, rung.dials[name], kit)
        choices.append([value for value in values if (name, value) not in barred])
    settings = (
        tuple(
            (name, value)
            for name, value in zip(names, chosen, strict=True)
            if value != rung.dials[name][0]
        )
        for chosen in product(*choices)
    )
    return [
        setting
        for setting in settings
        if len(setting) <= MOST_TURNED and not _soft_but_held(dict(setting))
    ]


def _soft_but_held(turned: Mapping[str, DialValue]) -> bool:
    return "soft" in turned and turned.get("support") in HELD_FIRMLY


def dial_values(rung: Rung, settings: list[Setting]) -> dict[str, list[DialValue]]:
    """The value of every dial in every setting, plain ones filled in."""
    found: dict[str, list[DialValue]] = {}
    chosen = [dict(setting) for setting in settings]
    for name, values in rung.dials.items():
        found[name] = [one.get(name, values[0]) for one in chosen]
    return found


def as_columns(values: Mapping[str, list[DialValue]]) -> dict[str, Reals]:
    """Dial values as numbers, one column (settings, 1) a dial."""
    return {
        name: np.array([[DIALS[name].number(v)] for v in column]) for name, column in values.items()
    }


ALWAYS_TOLD = frozenset({"load", "band", "distance", "lead", "lean", "stretch"})
"""Dials whose plain setting a client cannot guess: it is said, where others go without saying."""


def told(rung: Rung, setting: Setting, also: Container[str] = ()) -> Setting:
    """What a client is told: the turned dials, and the plain ones that nobody could guess.

    Args:
        also: dials that are told in their plain setting too, as they were turned until now.
    """
    chosen = dict(setting)
    plain = {
        name: rung.dials[name][0] for name in rung.dials if name in ALWAYS_TOLD or name in also
    }
    return tuple(sorted({**plain, **chosen}.items()))
