"""The coach's own questions about a client: aim, strength at the start, numbers, the pulse cap."""

from collections.abc import Mapping

from bot.flows.changes import Audit, Change, SaveProfile
from bot.flows.facts import ClientRecord
from bot.flows.form_question import FormQuestion, Option, Setting, choice, many, yes_no
from bot.flows.forms import Form
from bot.flows.parsing import Reask, read_choice, read_day, read_number
from bot.json_values import JsonValue
from core.dose.prior import CoachWord
from core.vocabulary import Aim

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
    return read_day(text, setting.today, setting.words)


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
            "medicine_changed_on",
            "limits",
            _medicine_day,
            group="medicine_day",
            options=lambda _setting: (Option("today"), Option("none")),
            columns=2,
        ),
    ),
)


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
