"""What is asked about each operation: when, from where, and what the surgeon said.

The form keeps flat answers ("operation1_on"), the profile whole values. The first operations have
questions of their own; what is not asked about any further one stays unknown, the strict side. When
the list of operations changes, the answers about one that went or moved are dropped with it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date

from bot.flows.facts import Answers
from bot.flows.form_question import FormQuestion, Option, Read, Setting, choice, many
from bot.flows.joining import sentences
from bot.flows.joining.operations_reading import (
    day_told,
    operation_ticks_of,
    other_ticked,
    ticked,
    ticks_of,
)
from bot.flows.parsing import Reask, Why, read_choice, read_day, read_number
from bot.json_values import JsonValue
from core.client.operations import (
    NO_LIMITS,
    Approach,
    ArmHeight,
    DayOrPart,
    Joint,
    Operation,
    OperationKind,
    SurgeonLimits,
    operation_json,
)

LISTS = ("replaced_joints", "operations")
ASKED_ABOUT = 3
"""So many operations are asked about one by one."""

PARTS = ("on", "approach", "limits", "bend", "weight", "until")
OWNER = "of"
"""Part of a key that is no question: which operation the answers belong to."""

_ARMS = frozenset({Joint.SHOULDER, Joint.ELBOW, Joint.WRIST, Joint.HAND})
_NO_ARMS = frozenset({Joint.KNEE, Joint.HIP, Joint.ANKLE, Joint.FOOT, Joint.EYE, Joint.GROIN})
_LEGS = frozenset({Joint.KNEE, Joint.HIP, Joint.ANKLE, Joint.FOOT})
_ARM_TICKS = {"arm_chest": ArmHeight.CHEST, "arm_shoulder": ArmHeight.SHOULDER}
NOTHING_FORBIDDEN = "no_limits"
"""The surgeon said so; it ends the rows that wait for a limit. With another tick it counts not."""
_KNEELING_TICKS = {"no_kneeling": False, "may_kneel": True}
BEND, WEIGHT = (10, 170), (0.5, 50)
"""Degrees from straight, and kg, that a surgeon may name."""
LAST_WEEK = 104
YEARS_OFFERED = 4


def key_of(number: int, part: str) -> str:
    """The key of an answer about the operation with this number, from 1."""
    return f"operation{number}_{part}"


KEYS = tuple(key_of(number, part) for number in range(1, ASKED_ABOUT + 1) for part in PARTS)


def operations_given(given: Answers) -> tuple[Operation, ...]:
    """All operations among the answers, with what was answered about each."""
    listed = _listed(given)
    return tuple(
        _filled(one, number, given) if number <= ASKED_ABOUT else one
        for number, one in enumerate(listed, 1)
    )


def _listed(given: Answers) -> tuple[Operation, ...]:
    """The operations as they were ticked or typed."""
    return (*ticked(given.get("replaced_joints")), *other_ticked(given.get("operations")))


def _filled(one: Operation, number: int, given: Answers) -> Operation:
    def told(part: str) -> JsonValue:
        value: JsonValue = given.get(key_of(number, part))
        return value

    on, approach = told("on"), told("approach")
    return replace(
        one,
        on=DayOrPart.fromisoformat(str(on)) if on else one.on,
        approach=Approach(str(approach)) if approach else one.approach,
        limits=_limits(told) if key_of(number, "limits") in given else one.limits,
    )


def _limits(told: Callable[[str], JsonValue]) -> SurgeonLimits:
    ticks = told("limits")
    said = [str(tick) for tick in ticks] if isinstance(ticks, list) else []
    bend, weight, until = told("bend"), told("weight"), told("until")
    return SurgeonLimits(
        bend_degrees=float(bend) if isinstance(bend, int | float) else None,
        weight_kg=float(weight) if isinstance(weight, int | float) else None,
        until=date.fromisoformat(until) if isinstance(until, str) else None,
        until_week=until if isinstance(until, int) else None,
        kneeling=next((_KNEELING_TICKS[tick] for tick in said if tick in _KNEELING_TICKS), None),
        arm_height=next((_ARM_TICKS[tick] for tick in said if tick in _ARM_TICKS), None),
        none_left=said == [NOTHING_FORBIDDEN],
    )


def stored_operations(given: Answers) -> dict[str, JsonValue]:
    """The operations as the profile keeps them, by its keys; what was not answered is left out."""
    whole = operations_given(given)
    new = len(ticked(given.get("replaced_joints")))
    parts: Mapping[str, Sequence[Operation]] = {
        "replaced_joints": whole[:new],
        "operations": whole[new:],
    }
    return {
        key: [operation_json(one) for one in parts[key]]
        for key in LISTS
        if given.get(key) is not None
    }


def given_operations(answers: Answers) -> dict[str, JsonValue]:
    """The form's answers for the operations of a profile."""
    lists = {key: answers[key] for key in LISTS if answers.get(key) is not None}
    whole = {key: ticked(stored) for key, stored in lists.items()}
    given: dict[str, JsonValue] = {}
    number = 0
    for key in LISTS:
        bare = []
        for one in whole.get(key, ()):
            number += 1
            bare.append(one)
            if number <= ASKED_ABOUT:
                bare[-1] = replace(one, on=None, approach=None, limits=NO_LIMITS)
                given |= _answers_about(one, number)
        if key in whole:
            given[key] = ticks_of(bare) if key == "replaced_joints" else operation_ticks_of(bare)
    return _owned(given)


def _answers_about(one: Operation, number: int) -> dict[str, JsonValue]:
    """What is known of an operation as answers; what is not stays "not said"."""
    limits = one.limits
    ticks: list[JsonValue] = []
    if limits.bend_degrees is not None:
        ticks.append("bend")
    if limits.weight_kg is not None:
        ticks.append("weight")
    ticks += [tick for tick, may in _KNEELING_TICKS.items() if limits.kneeling is may]
    ticks += [tick for tick, height in _ARM_TICKS.items() if limits.arm_height is height]
    if limits.none_left:
        ticks.append(NOTHING_FORBIDDEN)
    until: JsonValue = limits.until.isoformat() if limits.until else limits.until_week
    about: dict[str, JsonValue] = {
        "on": one.on.isoformat() if one.on else None,
        "limits": ticks or None,
    }
    if one.joint is Joint.HIP:
        about["approach"] = one.approach.value if one.approach else None
    if limits.bend_degrees is not None:
        about["bend"] = limits.bend_degrees
    if limits.weight_kg is not None:
        about["weight"] = limits.weight_kg
    if ticks and not limits.none_left:
        about["until"] = until
    return {key_of(number, part): value for part, value in about.items()}


def settled(given: Answers) -> dict[str, JsonValue]:
    """The answers without those about an operation that went or moved; typed days kept."""
    kept = dict(given)
    for number in range(1, ASKED_ABOUT + 1):
        one = _at(kept, number)
        owner = operation_json(replace(one, on=None)) if one else None
        if kept.get(key_of(number, OWNER)) == owner:
            continue
        for part in PARTS:
            kept.pop(key_of(number, part), None)
        if one is not None and one.on is not None:
            kept[key_of(number, "on")] = one.on.isoformat()
    return _owned(kept)


def _owned(given: dict[str, JsonValue]) -> dict[str, JsonValue]:
    """The answers with the owner of each operation's answers written down anew."""
    kept = {key: value for key, value in given.items() if not key.endswith(f"_{OWNER}")}
    for number in range(1, ASKED_ABOUT + 1):
        one = _at(kept, number)
        if one is not None:
            kept[key_of(number, OWNER)] = operation_json(replace(one, on=None))
    return kept


def _at(given: Answers, number: int) -> Operation | None:
    """The operation with this number as it was ticked or typed, if there is one."""
    listed = _listed(given)
    return listed[number - 1] if number <= len(listed) else None


def _told_at(given: Answers, number: int) -> Operation | None:
    """The same with what was answered about it."""
    whole = operations_given(given)
    return whole[number - 1] if number <= len(whole) else None


def _day_options(setting: Setting) -> Sequence[Option]:
    """This month and the last by name, then years."""
    year = setting.today.year
    years = [Option(str(year - ago)) for ago in range(YEARS_OFFERED)]
    return (
        Option("this_month"),
        Option("last_month"),
        *(Option(one.code, one.code) for one in years),
    )


def _read_day(text: str, setting: Setting) -> str | Reask:
    today = setting.today
    code = read_choice(text, ("this_month", "last_month"), setting.spoken("operated_on"))
    if isinstance(code, str):
        month = today.replace(day=1)
        if code == "last_month":
            month = date(today.year - (today.month == 1), (today.month - 2) % 12 + 1, 1)
        return DayOrPart(month.year, month.month).isoformat()
    told = day_told(text, setting.spoken("month"), today, setting.words)
    if told is not None:
        return told.isoformat()
    return read_day(text, today, setting.words)


def _read_until(text: str, setting: Setting) -> int | str | Reask:
    """The last week counted from the operation, or the last day."""
    day = read_day(text, setting.today, setting.words, future=True)
    if isinstance(day, str):
        return day
    week = read_number(text, 1, LAST_WEEK, setting.words.numbers)
    if isinstance(week, Reask):
        return day if day.why is Why.OUT_OF_RANGE else week
    return round(week)


def _number_reader(low: float, high: float) -> Callable[[str, Setting], float | Reask]:
    def read(text: str, setting: Setting) -> float | Reask:
        return read_number(text, low, high, setting.words.numbers)

    return read


def _limit_codes(one: Operation | None) -> tuple[str, ...]:
    """What a surgeon can have said about this operation."""
    joint = one.joint if one else None
    codes: list[str] = []
    if joint is None or joint in _LEGS | _ARMS | {Joint.SPINE}:
        codes.append("bend")
    codes.append("weight")
    if joint is None or joint in _LEGS:
        codes += _KNEELING_TICKS
    if joint not in _NO_ARMS:
        codes += _ARM_TICKS
    return (*codes, NOTHING_FORBIDDEN)


def _questions_about(number: int) -> tuple[FormQuestion, ...]:
    """The questions about one operation; each is asked only where it can matter."""

    def exists(setting: Setting) -> bool:
        return _at(setting.given, number) is not None

    def way_in_matters(setting: Setting) -> bool:
        one = _told_at(setting.given, number)
        replaced = (OperationKind.REPLACEMENT, OperationKind.OTHER)
        return (
            one is not None
            and one.joint is Joint.HIP
            and one.kind in replaced
            and one.is_recent(setting.today)
        )

    def has_limit(*ticks: str) -> Callable[[Setting], bool]:
        def when(setting: Setting) -> bool:
            told = setting.given.get(key_of(number, "limits")) or ()
            return exists(setting) and any(tick in told for tick in ticks)

        return when

    def limits_offered(setting: Setting) -> Sequence[Option]:
        return tuple(Option(code) for code in _limit_codes(_at(setting.given, number)))

    def subject(setting: Setting) -> JsonValue:
        one = _told_at(setting.given, number)
        return operation_json(replace(one, limits=NO_LIMITS, approach=None)) if one else None

    def about(template: str, question: FormQuestion) -> FormQuestion:
        return replace(question, skippable=True, template=template, subject=subject)

    def amount(part: str, read: Read, offered: Sequence[Option]) -> FormQuestion:
        return FormQuestion(
            key_of(number, part),
            "health",
            read,
            options=lambda _setting: offered,
            when=has_limit(part),
            columns=4,
        )

    bends = [Option(str(to), f"{to}°") for to in (60, 90, 110)]
    weights = [Option(str(kg), f"{kg} kg") for kg in (1, 2, 5, 10)]
    said = many(key_of(number, "limits"), "health", "surgeon_limit", (), when=exists)
    return (
        about(
            "operation_on",
            FormQuestion(
                key_of(number, "on"),
                "health",
                _read_day,
                group="operated_on",
                options=_day_options,
                when=exists,
                columns=2,
                sentence=sentences.day,
            ),
        ),
        about(
            "operation_approach",
            choice(
                key_of(number, "approach"),
                "health",
                "approach",
                tuple(Approach),
                when=way_in_matters,
            ),
        ),
        about("operation_limits", replace(said, options=limits_offered)),
        about("operation_bend", amount("bend", _number_reader(*BEND), bends)),
        about("operation_weight", amount("weight", _number_reader(*WEIGHT), weights)),
        about(
            "operation_until",
            FormQuestion(
                key_of(number, "until"),
                "health",
                _read_until,
                group="limit_until",
                options=lambda _setting: (Option("6"), Option("12")),
                when=has_limit("bend", "weight", "no_kneeling", *_ARM_TICKS),
                columns=2,
            ),
        ),
    )


QUESTIONS = tuple(
    question for number in range(1, ASKED_ABOUT + 1) for question in _questions_about(number)
)
