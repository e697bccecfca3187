"""How hard today may be, from the record: talk, effort out of ten, and the pulse where it may show.

The rules are :mod:`core.intensity.effort_guide`; here they meet today's answers.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import TypedDict

from bot.flows.facts import Checkin, ClientRecord, Facts
from bot.flows.record.planning import morning_of_answers
from bot.json_values import JsonValue
from core.client.medicines import EFFECTS, PulseUse
from core.intensity.bands import NEW_CLIENT_CAP_PERCENT, band_of_max
from core.intensity.effort_guide import EffortGuide, IntensityCode, effort_guide
from core.vocabulary import Medicine

RELIEVER_AT = "reliever_at"
"""Key among a morning's answers: when the reliever was last used, an ISO moment.

It is no question of the morning, so that the rules of readiness pass it over.
"""

RESTING_DAYS = 14
"""A resting pulse counts as known for so long."""

USED: Mapping[str, timedelta] = {
    "just_now": timedelta(0),
    "hours_ago": timedelta(hours=1),
    "not_used": timedelta(hours=3),
}
"""Answer about the reliever -> how long ago at least, the careful end of what was said."""


class GuideValues(TypedDict):
    """The guide for templates: codes of ``reasons/intensity.yaml`` and their numbers."""

    talk: str
    lowest: int
    highest: int
    pulse: str
    use: str
    numbers: dict[str, float | str]
    hiding: list[str]
    cautions: list[str]
    cap: float
    cap_band: str
    raised: bool
    reliever: bool


def guide_of(record: ClientRecord, checkin: Checkin | None, facts: Facts) -> EffortGuide:
    """The guide of this very moment.

    Args:
        checkin: today's, as far as it goes.
    """
    now = record.person.local(facts.now)
    return effort_guide(
        record.client,
        now,
        resting=_resting(record, checkin, facts),
        reliever_at=_reliever_at(checkin, now),
        medicine_changed_on=record.client.medicine_changed_on,
    )


def _resting(record: ClientRecord, checkin: Checkin | None, facts: Facts) -> float | None:
    """The resting pulse told last, today's first; of two readings the second."""
    today = record.person.local(facts.now).date()
    mornings = [one for one in facts.mornings(record.id) if (today - one.on).days <= RESTING_DAYS]
    if checkin is not None:
        mornings.append(morning_of_answers(checkin.on, checkin.answers))
    told = [one.pulse_again or one.pulse for one in mornings if one.pulse is not None]
    return float(told[-1]) if told and told[-1] is not None else None


def _reliever_at(checkin: Checkin | None, now: datetime) -> datetime | None:
    told = None if checkin is None else checkin.answers.get(RELIEVER_AT)
    return None if not told else datetime.fromisoformat(told).astimezone(now.tzinfo)


def asks_reliever(record: ClientRecord, checkin: Checkin | None, facts: Facts) -> bool:
    """Whether the pulse hangs on a reliever inhaler and nothing was told of it today."""
    return guide_of(record, checkin, facts).pulse.code is IntensityCode.PULSE_AFTER_RELIEVER


def reliever_told(
    answers: Mapping[str, JsonValue], value: str, now: datetime
) -> dict[str, JsonValue]:
    """The morning's answers with what was said of the reliever (see ``USED``)."""
    return {**answers, RELIEVER_AT: (now - USED[value]).isoformat()}


def guide_values(record: ClientRecord, checkin: Checkin | None, facts: Facts) -> GuideValues:
    """The guide for templates: codes of ``reasons/intensity.yaml`` and their numbers."""
    guide = guide_of(record, checkin, facts)
    pulse, medicines = guide.pulse, record.client.medicines
    hiding = [one.value for one in Medicine if one in medicines and _hides(one)]
    numbers: dict[str, float | str] = {}
    if pulse.target is not None:
        target = pulse.target
        numbers = {"low": target.low, "high": target.high, "ceiling": target.ceiling}
    if pulse.until is not None:
        numbers["until"] = pulse.until.strftime("%H:%M")
    return {
        "talk": guide.talk.value,
        "lowest": int(guide.effort[0]),
        "highest": int(guide.effort[1]),
        "pulse": pulse.code.value,
        "use": pulse.use.value,
        "numbers": numbers,
        "hiding": hiding,
        "cautions": [code.value for code in guide.cautions],
        "cap": record.client.limits.pulse_cap_percent,
        "cap_band": band_of_max(record.client.limits.pulse_cap_percent).value,
        "raised": record.client.limits.pulse_cap_percent > NEW_CLIENT_CAP_PERCENT,
        "reliever": Medicine.RELIEVER_INHALER in medicines,
    }


def _hides(medicine: Medicine) -> bool:
    return EFFECTS[medicine].pulse is PulseUse.HIDDEN
