"""The coach's own questions about a client: aim, strength at the start, numbers, the pulse cap."""

from collections.abc import Mapping
from datetime import date, timedelta

from bot.flows.changes import Audit, Change, SaveProfile
from bot.flows.coach.typed_days import order_of
from bot.flows.facts import ClientRecord, Facts
from bot.flows.form_question import FormQuestion, Option, Setting, choice, many, yes_no
from bot.flows.forms import Form
from bot.flows.parsing import Reask, read_choice, read_number, read_told_day
from bot.json_values import JsonValue
from core.client.client import HIGHEST_PULSE_LINE, PULSE_LINE
from core.client.screening import VALID_DAYS
from core.client.steering import cares_of
from core.dose.pressure_calm import PressureReading, may_leave_less
from core.dose.prior import CoachWord
from core.vocabulary import Aim, Condition

NUMBERS = ("pulse", "pressure", "glucose", "weight")
UNITS = ("mmol/L", "mg/dL")
PULSE_CAP_PERCENT = (50, 90)
"""Percent of maximum; the plain cap is 76, and vigorous work ends at 95 (ACSM)."""


def _pulse_cap(text: str, setting: Setting) -> float | Reask:
    return read_number(text, *PULSE_CAP_PERCENT, setting.words.numbers)


def _caps(_setting: Setting) -> tuple[Option, ...]:
    return tuple(Option(str(percent), f"{percent} %") for percent in (64, 70, 76, 85))


def _medicine_day(text: str, setting: Setting) -> str | Reask | None:
    """An ISO day, or None where there was no change."""
    code = read_choice(text, ("today", "none"), setting.spoken("medicine_day"))
    if code == "none":
        return None
    if code == "today":
        return setting.today.isoformat()
    return read_told_day(text, setting.today, setting.words, order_of(setting.facts))


def _pulse_line(text: str, setting: Setting) -> float | Reask:
    return read_number(text, PULSE_LINE, HIGHEST_PULSE_LINE, setting.words.numbers)


def _pressure_calm(text: str, setting: Setting) -> str | Reask | None:
    """The day from which less stays in hand, or None."""
    code = read_choice(text, ("yes", "no"), setting.spoken("yes_no"))
    if isinstance(code, Reask):
        return code
    return setting.today.isoformat() if code == "yes" else None


LIMIT_FORM = Form(
    "coach/limit",
    (
        choice("aim", "limits", "aim", (Aim.ENDURANCE, Aim.STRENGTH)),
        choice("fitness", "limits", "fitness", tuple(CoachWord)),
        yes_no("overhead", "limits"),
        many("numbers", "limits", "number_asked", NUMBERS),
        choice("glucose_unit", "limits", "glucose_unit", UNITS, columns=2),
        FormQuestion("pulse_cap", "limits", _pulse_cap, options=_caps, columns=4),
        FormQuestion(
            "pulse_line",
            "limits",
            _pulse_line,
            options=lambda _setting: tuple(Option(str(to), str(to)) for to in (100, 105, 110)),
            columns=3,
        ),
        FormQuestion(
            "pressure_calm",
            "limits",
            _pressure_calm,
            group="yes_no",
            options=lambda _setting: (Option("yes"), Option("no")),
            columns=2,
        ),
        FormQuestion(
            "medicine_changed_on",
            "limits",
            _medicine_day,
            group="medicine_day",
            options=lambda _setting: (Option("today"), Option("none")),
            columns=2,
        ),
    ),
)


WORD_COUNTS = timedelta(days=VALID_DAYS)


def limits_open(record: ClientRecord, facts: Facts) -> tuple[str, ...]:
    """The keys that the coach may set for this client, in order; two of them only with a ground."""
    today = record.person.local(facts.now).date()
    closed = set()
    if not _pulse_line_may_rise(record, today):
        closed.add("pulse_line")
    if record.client.limits.pressure_calm_on is None and not _pressure_is_calm(
        record, today, facts
    ):
        closed.add("pressure_calm")
    return tuple(key for key in LIMIT_FORM.by_key if key not in closed)


def _pulse_line_may_rise(record: ClientRecord, today: date) -> bool:
    """An uneven rhythm, and a doctor's word with name and day within a year."""
    said_on = record.answers.get("doctor_word_on")
    fresh = bool(said_on) and today - date.fromisoformat(str(said_on)) <= WORD_COUNTS
    word = fresh and bool(record.answers.get("doctor_word"))
    return word and Condition.RHYTHM in record.client.conditions


def _pressure_is_calm(record: ClientRecord, today: date, facts: Facts) -> bool:
    sets = facts.history(record.id).sets
    readings = [
        PressureReading(one.on, one.systolic, one.diastolic)
        for one in facts.mornings(record.id)
        if one.systolic is not None and one.diastolic is not None
    ]
    cares = cares_of(record.client, facts.reference.catalogue.steering)
    return may_leave_less(record.client, cares, sets[0].on if sets else None, readings, today)


def limits_given(record: ClientRecord) -> dict[str, JsonValue]:
    """What is set now, under the form's keys."""
    limits = record.client.limits
    return {
        "called": record.person.name,
        "aim": record.client.aim.value,
        "fitness": record.answers.get("fitness") or CoachWord.USUAL.value,
        "overhead": limits.overhead_allowed,
        "numbers": [*sorted(limits.numbers_asked)],
        "glucose_unit": limits.glucose_unit,
        "pulse_cap": limits.pulse_cap_percent,
        "pulse_line": limits.pulse_line,
        "pressure_calm": limits.pressure_calm_on.isoformat() if limits.pressure_calm_on else None,
        "medicine_changed_on": record.answers.get("medicine_changed_on"),
    }


def limit_changes(key: str, value: JsonValue, record: ClientRecord) -> tuple[Change, ...]:
    """What is to be written down when one of them is set."""
    audit = Audit(record.id, "limit_changed", key)
    if key in ("aim", "fitness", "medicine_changed_on"):
        return (SaveProfile(record.id, {key: value}), audit)
    return (SaveProfile(record.id, {"limits": merged_limits(record, {key: value})}), audit)


def merged_limits(record: ClientRecord, new: Mapping[str, JsonValue]) -> dict[str, JsonValue]:
    """The client's limits as the profile keeps them, with some replaced."""
    return {**record.answers.get("limits", {}), **new}
