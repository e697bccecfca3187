"""Builds the table of rows that steer from its parsed file and refuses what does not make sense.

Every refusal names the row and the field.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Any, NoReturn, TypeVar

from core.client.care import NO_WALK_RULE, Care, WalkCare, WalkRule, WalkStyle
from core.client.home_tests import HomeTest, RatherNot
from core.client.operations import Approach, Joint, OperationKind
from core.client.steering import (
    LIMITS,
    BodyLimits,
    Effects,
    EndsWhenTold,
    Fact,
    OperationWhen,
    Row,
    RowWhen,
    SteeringTable,
    Trait,
)
from core.client.told import CHOICES, Told
from core.errors import CatalogueError
from core.vocabulary import Condition, Kit, Medicine, Sign, Spare

ROW_FIELDS = {
    "when",
    "asks",
    "excludes",
    "limits",
    "prefers",
    "warns",
    "instead",
    "watches",
    "rather_not",
    "company",
    "cares",
    "walk",
    "ground",
    "source",
    "unsigned",
}
WHEN_FIELDS = {"condition", "medicine", "at_least", "operation", "fact", "told", "unless"}
OPERATION_FIELDS = {"joint", "kinds", "approaches", "under_weeks", "ends_when_told"}
WALK_FIELDS = {"style", "longest", "minds"}
EXCLUDES_FIELDS = {"stresses", "traits", "rungs", "kit", "settings"}
FROM_MEMORY = "from memory"

_E = TypeVar("_E", bound=StrEnum)


class _Checker:
    """Says in which row and field something is wrong."""

    def __init__(self, row: str) -> None:
        self.row = row

    def refuse(self, field: str, why: str) -> NoReturn:
        raise CatalogueError(f"steering: {self.row}: {field}: {why}")

    def mapping(self, field: str, value: object, known: set[str]) -> Mapping[str, Any]:
        if not isinstance(value, Mapping):
            self.refuse(field, "must be a mapping")
        for name in value:
            if name not in known:
                self.refuse(f"{field}.{name}", f"unknown; known: {', '.join(sorted(known))}")
        return value

    def words(self, field: str, value: object) -> tuple[str, ...]:
        if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
            self.refuse(field, "must be a list of words")
        return tuple(value)

    def enum(self, field: str, kind: type[_E], value: object) -> _E:
        try:
            return kind(str(value))
        except ValueError:
            self.refuse(field, f"{value!r} is not one of {', '.join(kind)}")

    def enums(self, field: str, kind: type[_E], value: object) -> frozenset[_E]:
        return frozenset(self.enum(field, kind, one) for one in self.words(field, value))


def steering_from(content: Mapping[str, Any]) -> SteeringTable:
    """The table of a parsed file: fields by row id.

    Raises:
        CatalogueError: naming row and field.
    """
    return SteeringTable(tuple(_row(str(name), fields) for name, fields in content.items()))


def _row(name: str, value: object) -> Row:
    check = _Checker(name)
    fields = check.mapping("row", value, ROW_FIELDS)
    for wanted in ("when", "ground", "source"):
        if not fields.get(wanted):
            check.refuse(wanted, "is missing")
    source, unsigned = str(fields["source"]), bool(fields.get("unsigned", False))
    if FROM_MEMORY in source and not unsigned:
        check.refuse("unsigned", "must be true for what is from memory")
    tests = check.mapping("rather_not", fields.get("rather_not", {}), set(HomeTest))
    return Row(
        id=name,
        when=_when(check, fields["when"]),
        effects=_effects(check, fields),
        ground=str(fields["ground"]),
        source=source,
        unsigned=unsigned,
        asks=check.words("asks", fields.get("asks", [])),
        prefers=check.words("prefers", fields.get("prefers", [])),
        warns=check.words("warns", fields.get("warns", [])),
        instead=_instead(check, fields.get("instead", {})),
        watches=tuple(
            check.enum("watches", Sign, one)
            for one in check.words("watches", fields.get("watches", []))
        ),
        rather_not={
            HomeTest(test): check.enum("rather_not", RatherNot, why) for test, why in tests.items()
        },
        company=bool(fields.get("company", False)),
        cares=check.enums("cares", Care, fields.get("cares", [])),
        walk=_walk(check, fields["walk"]) if "walk" in fields else NO_WALK_RULE,
    )


def _walk(check: _Checker, value: object) -> WalkRule:
    fields = check.mapping("walk", value, WALK_FIELDS)
    style, longest = fields.get("style"), fields.get("longest")
    return WalkRule(
        style=check.enum("walk.style", WalkStyle, style) if style is not None else None,
        longest=int(longest) if longest is not None else None,
        minds=check.enums("walk.minds", WalkCare, fields.get("minds", [])),
    )


def _instead(check: _Checker, value: object) -> Mapping[str, str]:
    if not isinstance(value, Mapping):
        check.refuse("instead", "must be a mapping of cautions")
    return {str(old): str(new) for old, new in value.items()}


def _when(check: _Checker, value: object) -> RowWhen:
    fields = check.mapping("when", value, WHEN_FIELDS)
    operation = fields.get("operation")
    fact = fields.get("fact")
    return RowWhen(
        conditions=check.enums("when.condition", Condition, fields.get("condition", [])),
        medicines=check.enums("when.medicine", Medicine, fields.get("medicine", [])),
        at_least=int(fields.get("at_least", 1)),
        operation=_operation(check, operation) if operation is not None else None,
        fact=check.enum("when.fact", Fact, fact) if fact is not None else None,
        told=_told(check, "when.told", fields.get("told", {})),
        unless=_told(check, "when.unless", fields.get("unless", {})),
    )


def _told(check: _Checker, field: str, value: object) -> Told:
    found = set()
    for ask, answers in check.mapping(field, value, set(CHOICES)).items():
        for answer in check.words(f"{field}.{ask}", answers):
            if answer not in CHOICES[ask]:
                check.refuse(f"{field}.{ask}", f"{answer!r} is no answer")
            found.add((ask, answer))
    return frozenset(found)


def _operation(check: _Checker, value: object) -> OperationWhen:
    fields = check.mapping("when.operation", value, OPERATION_FIELDS)
    if not fields.get("joint"):
        check.refuse("when.operation.joint", "is missing")
    told = fields.get("ends_when_told")
    weeks = fields.get("under_weeks")
    return OperationWhen(
        joints=check.enums("when.operation.joint", Joint, fields.get("joint", [])),
        kinds=check.enums("when.operation.kinds", OperationKind, fields.get("kinds")),
        approaches=check.enums("when.operation.approaches", Approach, fields.get("approaches", [])),
        under_weeks=int(weeks) if weeks is not None else None,
        ends_when_told=check.enum("when.operation.ends_when_told", EndsWhenTold, told)
        if told is not None
        else None,
    )


def _effects(check: _Checker, fields: Mapping[str, Any]) -> Effects:
    excludes = check.mapping("excludes", fields.get("excludes", {}), EXCLUDES_FIELDS)
    limits = check.mapping("limits", fields.get("limits", {}), set(LIMITS))
    settings = excludes.get("settings", {})
    if not isinstance(settings, Mapping):
        check.refuse("excludes.settings", "must be a mapping of dials")
    return Effects(
        stresses=check.enums("excludes.stresses", Spare, excludes.get("stresses", [])),
        traits=check.enums("excludes.traits", Trait, excludes.get("traits", [])),
        rungs=frozenset(check.words("excludes.rungs", excludes.get("rungs", []))),
        kit=check.enums("excludes.kit", Kit, excludes.get("kit", [])),
        settings=frozenset(
            (str(dial), value)
            for dial, values in settings.items()
            for value in check.words(f"excludes.settings.{dial}", values)
        ),
        limits=BodyLimits(**{name: float(most) for name, most in limits.items()}),
    )
