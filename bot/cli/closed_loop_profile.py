"""Reading a profile line of the closed loop, and the checks that all its lines share."""

import math
from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import Any, Final, TypeVar

from bot.cli.closed_loop_client import FIRST_DAY
from core.client.client import Client, KitAtHome
from core.errors import CoreError
from core.vocabulary import Aim, Band, Condition, Family, Kit, Medicine, Sex, Spare

STANDARD_FAMILIES: Final = (
    Family.SQUAT,
    Family.PUSH,
    Family.PULL,
    Family.HINGE,
    Family.HEEL_RAISE,
    Family.BALANCE,
)
_ALWAYS_THERE: Final = frozenset({Kit.WALL, Kit.MAT})
_MOST: Final = {
    Kit.CHAIR: 80,
    Kit.BENCH: 130,
    Kit.TABLE: 110,
    Kit.STEP: 60,
    Kit.BOTTLE: 30,
    Kit.CUSHION: 30,
}

Word = TypeVar("Word", bound=StrEnum)


class BadLineError(CoreError):
    """A line of the closed loop that cannot be used; the message says what is wrong with it."""


def number(
    content: Mapping[str, Any],
    name: str,
    low: float,
    high: float,
    *,
    default: float | None = None,
) -> float:
    """A number of a line within its range; ``default`` where it is missing or null."""
    told = content.get(name)
    if told is None and default is not None:
        return default
    fits = isinstance(told, int | float) and not isinstance(told, bool) and math.isfinite(told)
    if not fits or not low <= float(told or 0) <= high:
        raise BadLineError(f"{name} is a number from {low:g} to {high:g}.")
    return float(told or 0)


def flag(content: Mapping[str, Any], name: str, *, default: bool) -> bool:
    """A yes or no of a line; ``default`` where it is missing or null."""
    told = content.get(name)
    if told is None:
        return default
    if not isinstance(told, bool):
        raise BadLineError(f"{name} is true or false.")
    return told


def choice(content: Mapping[str, Any], name: str, words: Sequence[str]) -> str:
    """One of a list of words."""
    told = content.get(name)
    if told not in words:
        raise BadLineError(f"{name} is one of: {', '.join(words)}.")
    return str(told)


def profile_client(content: Mapping[str, Any]) -> tuple[Client, tuple[Family, ...]]:
    """The client of a profile line, and the families she trains. Unknown keys are ignored.

    Raises:
        BadLineError: a value that cannot be used, such as an unknown condition.
    """
    spares = _words(content, "spares", Spare)
    sex = content.get("sex")
    aim = content.get("aim")
    client = Client(
        name="",
        birth_year=FIRST_DAY.year - round(number(content, "age", 18, 110, default=70.0)),
        sex=Sex.FEMALE if sex is None else _sex(sex),
        stature_cm=_optional(content, "stature_cm", 100, 230),
        mass_kg=_optional(content, "mass_kg", 25, 300),
        conditions=_words(content, "conditions", Condition),
        medicines=_words(content, "medicines", Medicine),
        spares=spares,
        floor_ok=Spare.FLOOR not in spares,
        kit=_kit(content.get("kit")),
        aim=Aim.OPEN if aim is None else Aim(choice(content, "aim", [a.value for a in Aim])),
    )
    families = content.get("families")
    if families is None:
        return client, STANDARD_FAMILIES
    return client, tuple(_in_order(content, "families", Family))


def _optional(content: Mapping[str, Any], name: str, low: float, high: float) -> float | None:
    return None if content.get(name) is None else number(content, name, low, high)


def _sex(told: object) -> Sex:
    first = str(told)[:1].lower()
    if first not in {sex.value for sex in Sex}:
        raise BadLineError("sex is f or m.")
    return Sex(first)


def _in_order(content: Mapping[str, Any], name: str, kind: type[Word]) -> list[Word]:
    told = content.get(name)
    if told is None:
        return []
    if not isinstance(told, list):
        raise BadLineError(f"{name} is a list.")
    known = [word.value for word in kind]
    for word in told:
        if word not in known:
            raise BadLineError(f"{name} holds only these: {', '.join(known)}.")
    return [kind(word) for word in dict.fromkeys(told)]


def _words(content: Mapping[str, Any], name: str, kind: type[Word]) -> frozenset[Word]:
    return frozenset(_in_order(content, name, kind))


def _kit(told: object) -> KitAtHome:
    """The kit of a profile; what is not named is not there, but for wall and mat."""
    if told is None:
        return KitAtHome()
    if not isinstance(told, dict):
        raise BadLineError("kit is an object.")
    sizes = {
        kit.value: None if _is_absent(told.get(kit.value)) else number(told, kit.value, 0.1, most)
        for kit, most in _MOST.items()
    }
    band = None if _is_absent(told.get(Kit.BAND.value)) else told[Kit.BAND.value]
    there = {kit.value: flag(told, kit.value, default=True) for kit in _ALWAYS_THERE}
    return KitAtHome(
        **sizes,
        band=None if band is None else Band(choice(told, "band", [one.value for one in Band])),
        wall=there[Kit.WALL.value],
        mat=there[Kit.MAT.value],
    )


def _is_absent(told: object) -> bool:
    """Null, false and 0 all say that there is none."""
    return told is None or told is False or (isinstance(told, int | float) and told == 0)
