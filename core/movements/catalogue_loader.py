"""Builds the catalogue from parsed movement files and refuses what does not make sense.

Every refusal names the file, the rung and the field.
"""

from collections.abc import Collection, Iterable, Mapping
from typing import Any, NoReturn, TypeVar

import numpy as np

from core.client.client import KitAtHome
from core.client.steering import NO_ROWS, SteeringTable, Trait
from core.errors import CatalogueError
from core.mechanics.body import Body
from core.mechanics.pose_arms import ARM_PLACES
from core.mechanics.stances import POSE_SETTINGS, STANCES
from core.mechanics.statics import MEASURES
from core.movements.catalogue import Amount, Catalogue, DialValue, FamilyRungs, Rung, Tempo
from core.movements.demand import AUTHORED, pose_input
from core.movements.dials import DIALS
from core.vocabulary import Aim, Band, Family, Kit, Sex, Spare

FAMILY_FIELDS = {"family", "defaults", "rungs"}
RUNG_FIELDS = {
    "stance",
    "pose",
    "measure",
    "factor",
    "factor_source",
    "dials",
    "way_up",
    "unit",
    "tempo",
    "amounts",
    "needs",
    "stresses",
    "traits",
    "cautions",
    "each_side",
    "why_placed",
    "stands_in_for",
    "effort",
}
UNITS = ("reps", "seconds")
ENDS = np.array([[0.0, 1.0]])
ARM_FIELDS = ("arms", "near_arm", "far_arm")
FURNITURE = {name: Kit(name) for name in ("chair", "bench", "table", "step", "wall")}
FURNITURE["chair_seat"] = Kit.CHAIR

_E = TypeVar("_E", Family, Aim, Kit, Spare, Trait)


class _Checker:
    """Says where in which file something is wrong."""

    def __init__(self, file: str, rung: str = "") -> None:
        self.file, self.rung = file, rung

    def refuse(self, field: str, why: str) -> NoReturn:
        where = f"{self.file}: {self.rung}: {field}" if self.rung else f"{self.file}: {field}"
        raise CatalogueError(f"{where}: {why}")

    def mapping(self, field: str, value: object) -> Mapping[str, Any]:
        if not isinstance(value, Mapping):
            self.refuse(field, "must be a mapping")
        return value

    def number(self, field: str, value: object, low: float, high: float) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self.refuse(field, f"must be a number, not {value!r}")
        if not low <= value <= high:
            self.refuse(field, f"must be from {low:g} to {high:g}, not {value!r}")
        return float(value)

    def enum(self, field: str, kind: type[_E], value: object) -> _E:
        try:
            return kind(str(value))
        except ValueError:
            known = ", ".join(member.value for member in kind)
            self.refuse(field, f"{value!r} is not one of {known}")

    def enums(self, field: str, kind: type[_E], values: object) -> tuple[_E, ...]:
        if not isinstance(values, list):
            self.refuse(field, "must be a list")
        return tuple(self.enum(field, kind, value) for value in values)

    def words(self, field: str, values: object) -> tuple[str, ...]:
        if not isinstance(values, list) or not all(isinstance(v, str) for v in values):
            self.refuse(field, "must be a list of words")
        return tuple(values)


def catalogue_from(
    files: Mapping[str, Mapping[str, Any]],
    steering: SteeringTable = NO_ROWS,
    *,
    drawn: Collection[str] = (),
) -> Catalogue:
    """The catalogue of parsed movement files, by file name.

    Several files may add rungs to one family (a coach's own beside the shipped one).

    Args:
        steering: the rows that leave rungs out; each rung they name must be there.
        drawn: files whose poses are known to be drawn; the others' are tried on a body.

    Raises:
        CatalogueError: naming file, rung and field.
    """
    found: dict[Family, list[Rung]] = {}
    by_id: dict[str, Rung] = {}
    for file, content in files.items():
        for rung in _rungs_of(file, content, found):
            if rung.id in by_id:
                _Checker(file, rung.id).refuse("rungs", "this id is already used")
            if file not in drawn:
                _strikes_its_pose(_Checker(file, rung.id), rung)
            by_id[rung.id] = rung
            found.setdefault(rung.family, []).append(rung)
    families = {family: FamilyRungs(family, tuple(rungs)) for family, rungs in found.items()}
    for rung in by_id.values():
        other = by_id.get(rung.stands_in_for)
        if rung.stands_in_for and (other is None or other.family is not rung.family):
            _Checker(rung.family, rung.id).refuse("stands_in_for", "no rung of this family")
    for row in steering:
        for rung_id in sorted({*row.effects.rungs, *row.prefers} - set(by_id)):
            _Checker("steering", row.id).refuse("rungs", f"there is no rung {rung_id}")
    return Catalogue({f: families[f] for f in Family if f in families}, by_id, steering)


def _rungs_of(
    file: str, content: Mapping[str, Any], found: Mapping[Family, list[Rung]]
) -> Iterable[Rung]:
    check = _Checker(file)
    for field in check.mapping("file", content):
        if field not in FAMILY_FIELDS:
            check.refuse(field, f"unknown; known: {', '.join(sorted(FAMILY_FIELDS))}")
    family = check.enum("family", Family, content.get("family"))
    defaults = check.mapping("defaults", content.get("defaults", {}))
    rungs = check.mapping("rungs", content.get("rungs"))
    start = len(found.get(family, ()))
    for place, (name, fields) in enumerate(rungs.items(), start + 1):
        inner = _Checker(file, str(name))
        own = inner.mapping("rung", fields)
        yield _rung(inner, family, str(name), place, {**defaults, **own})


def _rung(
    check: _Checker, family: Family, name: str, place: int, fields: Mapping[str, Any]
) -> Rung:
    for field in fields:
        if field not in RUNG_FIELDS:
            check.refuse(field, f"unknown; known: {', '.join(sorted(RUNG_FIELDS))}")
    for field in ("stance", "unit", "tempo", "amounts"):
        if field not in fields:
            check.refuse(field, "is missing")
    if fields["stance"] not in STANCES:
        check.refuse("stance", f"{fields['stance']!r} is not one of {', '.join(STANCES)}")
    if fields["unit"] not in UNITS:
        check.refuse("unit", f"{fields['unit']!r} is not one of {', '.join(UNITS)}")
    measure = fields.get("measure", AUTHORED)
    if measure != AUTHORED and measure not in MEASURES:
        check.refuse("measure", f"{measure!r} is not one of {AUTHORED}, {', '.join(MEASURES)}")
    effort = check.number("effort", fields.get("effort", 0), 0, 100)
    if measure == AUTHORED and effort <= 0:
        check.refuse("effort", "a rung that is not weighed needs its place: a number over 0")
    factor = check.number("factor", fields.get("factor", 1), 0.3, 3)
    if factor != 1 and not fields.get("factor_source"):
        check.refuse("factor_source", "an authored factor needs its source")
    pose = _pose(check, fields.get("pose", {}))
    needs = check.enums("needs", Kit, fields.get("needs", []))
    _furniture_is_needed(check, pose, needs)
    dials = _dials(check, fields.get("dials", {}), needs)
    way_up = _dials(check, fields.get("way_up", {}), needs)
    for dial, values in way_up.items():
        if "load" not in dials or dial not in dials or {*values} & {*dials[dial]}:
            check.refuse(f"way_up.{dial}", "more settings of a dial, of a rung with a load")
    return Rung(
        id=name,
        family=family,
        place=place,
        stance=fields["stance"],
        pose=pose,
        measure=measure,
        dials={dial: (*values, *way_up.get(dial, ())) for dial, values in dials.items()},
        unit=fields["unit"],
        tempo=_tempo(check, fields["tempo"]),
        amounts=_amounts(check, fields["amounts"]),
        needs=needs,
        stresses=frozenset(check.enums("stresses", Spare, fields.get("stresses", []))),
        traits=frozenset(check.enums("traits", Trait, fields.get("traits", []))),
        cautions=check.words("cautions", fields.get("cautions", [])),
        each_side=bool(fields.get("each_side", False)),
        factor=factor,
        factor_source=str(fields.get("factor_source", "")),
        why_placed=str(fields.get("why_placed", "")),
        stands_in_for=str(fields.get("stands_in_for", "")),
        way_up=way_up,
        effort=effort,
    )


ANY_BODY = Body(Sex.FEMALE, 1.65, 70.0)
ANY_KIT = KitAtHome(
    chair=43.0, bench=90.0, table=75.0, step=17.0, bottle=12.0, band=Band.HEAVY, cushion=10.0
)


def _strikes_its_pose(check: _Checker, rung: Rung) -> None:
    """Places an ordinary body once, so that a pose that cannot be drawn is found on loading."""
    try:
        pose = STANCES[rung.stance](pose_input(ANY_BODY, rung, ANY_KIT, [()], ENDS))
    except (KeyError, TypeError, ValueError) as error:
        check.refuse("pose", f"cannot be placed with stance {rung.stance}: {error!r}")
    if pose.refused[0]:
        check.refuse("pose", f"no ordinary body can take it: {pose.refused[0]}")


def _pose(check: _Checker, value: object) -> Mapping[str, object]:
    pose = check.mapping("pose", value)
    for name, setting in pose.items():
        if name not in POSE_SETTINGS:
            check.refuse(f"pose.{name}", f"unknown; known: {', '.join(sorted(POSE_SETTINGS))}")
        pair = isinstance(setting, list) and len(setting) == 2
        single = isinstance(setting, (int, float, str)) and not isinstance(setting, bool)
        if not (single or pair):
            check.refuse(f"pose.{name}", "must be a number, a word, or a pair (start, end)")
        if name in ARM_FIELDS:
            for place in setting if isinstance(setting, list) else [setting]:
                if place not in ARM_PLACES:
                    known = ", ".join(ARM_PLACES)
                    check.refuse(f"pose.{name}", f"{place!r} is not one of {known}")
    return dict(pose)


def _furniture_is_needed(
    check: _Checker, pose: Mapping[str, object], needs: tuple[Kit, ...]
) -> None:
    for name in ("seat", "hold", "surface", "feet_on", "far_knee_on"):
        thing = pose.get(name)
        if thing is None:
            continue
        if thing not in FURNITURE:
            check.refuse(f"pose.{name}", f"{thing!r} is not one of {', '.join(FURNITURE)}")
        if FURNITURE[str(thing)] not in needs:
            check.refuse("needs", f"must name {FURNITURE[str(thing)]}, which pose.{name} uses")


def _dials(
    check: _Checker, value: object, needs: tuple[Kit, ...]
) -> Mapping[str, tuple[DialValue, ...]]:
    dials: dict[str, tuple[DialValue, ...]] = {}
    for name, values in check.mapping("dials", value).items():
        if name not in DIALS:
            check.refuse(f"dials.{name}", f"unknown; known: {', '.join(DIALS)}")
        if not isinstance(values, list) or not values:
            check.refuse(f"dials.{name}", "must be a list of settings, the plain one first")
        for setting in values:
            if not DIALS[name].allows(setting):
                check.refuse(f"dials.{name}", f"{setting!r} is not a setting of this dial")
        for kit in (Kit.BAND, Kit.BOTTLE):
            if name == {"band": "band", "bottle": "load"}[kit.value] and kit not in needs:
                check.refuse("needs", f"must name {kit.value}, which dials.{name} uses")
        dials[str(name)] = tuple(v if isinstance(v, str) else float(v) for v in values)
    return dials


def _tempo(check: _Checker, value: object) -> Tempo:
    fields = check.mapping("tempo", value)
    names = ("out", "there", "back", "rest")
    if set(fields) != set(names):
        check.refuse("tempo", f"must have exactly {', '.join(names)} (seconds)")
    return Tempo(*(check.number(f"tempo.{n}", fields[n], 0, 60) for n in names))


def _amounts(check: _Checker, value: object) -> Mapping[Aim, Amount]:
    found = {}
    for name, numbers in check.mapping("amounts", value).items():
        aim = check.enum("amounts", Aim, name)
        if not isinstance(numbers, list) or len(numbers) != 3:
            check.refuse(f"amounts.{name}", "must be [sets, lowest, highest]")
        sets, low, high = (int(check.number(f"amounts.{name}", n, 1, 600)) for n in numbers)
        if low > high:
            check.refuse(f"amounts.{name}", "the lowest is over the highest")
        found[aim] = Amount(sets, low, high)
    if set(found) != set(Aim):
        check.refuse("amounts", f"must name {', '.join(Aim)}")
    return found
