"""What a client is told about effort today: talk, effort out of ten, and the pulse if it may show.

The talk test leads. People tend to pass it while truly above the first threshold (Foster 2008), and
the last passed stage already lies near 79 percent of maximum (Foster 2009), so that "not sure"
counts as no, and new and older clients work one stage below: full sentences without a stop.
"""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Final

from core.client.client import Client
from core.client.medicines import (
    EFFECTS,
    DizzyRisk,
    PulseUse,
    highest_dizzy_risk,
    strictest_pulse_use,
)
from core.intensity.bands import (
    NEW_CLIENT_CAP_PERCENT,
    SESSION_EFFORT_OF_BAND,
    IntensityBand,
    PulseTarget,
    pulse_target,
)
from core.vocabulary import Condition, Medicine

HIGHEST_EFFORT: Final = SESSION_EFFORT_OF_BAND[IntensityBand.MODERATE][1]
"""The ceiling of effort that a client is told, on the session scale."""


class TalkAnswer(StrEnum):
    """Can you talk comfortably? (after saying two sentences)"""

    YES = "yes"
    NOT_SURE = "not_sure"
    NO = "no"


class IntensityCode(StrEnum):
    """What is said about effort; one sentence each in ``templates/en/reasons/intensity.yaml``."""

    TALK_FULL_SENTENCES = "talk_full_sentences"
    TALK_SHORTER_SENTENCES = "talk_shorter_sentences"
    TALK_FEW_WORDS = "talk_few_words"
    TALK_NOT_AT_ALL = "talk_not_at_all"
    TALK_KEEP = "talk_keep"
    TALK_SLOW_DOWN = "talk_slow_down"
    PULSE_SHOWN = "pulse_shown"
    PULSE_WITH_CARE = "pulse_with_care"
    PULSE_HIDDEN_MEDICINE = "pulse_hidden_medicine"
    PULSE_HIDDEN_UNKNOWN = "pulse_hidden_unknown"
    PULSE_HIDDEN_RHYTHM = "pulse_hidden_rhythm"
    PULSE_HIDDEN_PACEMAKER = "pulse_hidden_pacemaker"
    PULSE_HIDDEN_TRANSPLANT = "pulse_hidden_transplant"
    PULSE_NO_ROOM = "pulse_no_room"
    PULSE_READS_HIGH = "pulse_reads_high"
    PULSE_READS_HIGH_UNTIL = "pulse_reads_high_until"
    PULSE_AFTER_RELIEVER = "pulse_after_reliever"
    STAND_UP_SLOWLY = "stand_up_slowly"
    LONG_COOL_DOWN = "long_cool_down"
    LOW_SUGAR_MAY_COME = "low_sugar_may_come"
    LOW_SUGAR_MAY_HIDE = "low_sugar_may_hide"
    DOSE_CHANGED = "dose_changed"
    THYROID_DOSE_CHANGED = "thyroid_dose_changed"


DOSE_SETTLES = timedelta(days=14)
"""So long after a medicine or its dose has changed the days are eased."""

_THYROID_SETTLES = timedelta(days=42)
_HIDING_CONDITIONS = {
    Condition.PACEMAKER: IntensityCode.PULSE_HIDDEN_PACEMAKER,
    Condition.DEFIBRILLATOR: IntensityCode.PULSE_HIDDEN_PACEMAKER,
    Condition.RHYTHM: IntensityCode.PULSE_HIDDEN_RHYTHM,
    Condition.HEART_TRANSPLANT: IntensityCode.PULSE_HIDDEN_TRANSPLANT,
}


@dataclass(frozen=True, slots=True)
class PulseDisplay:
    """Whether a pulse target is shown, and why.

    Attributes:
        target: ``None`` whenever the pulse is hidden.
        until: with READS_HIGH, the time from which the reading is true again; None means all day.
    """

    use: PulseUse
    code: IntensityCode
    target: PulseTarget | None = None
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class EffortGuide:
    """Effort for today.

    Attributes:
        effort: lowest and highest on the session scale, 0 to 10.
        ease_off: a dose has just changed: easier today, and the coach is told.
    """

    talk: IntensityCode
    effort: tuple[float, float]
    pulse: PulseDisplay
    cautions: tuple[IntensityCode, ...]
    ease_off: bool


def answer_to_talk(answer: TalkAnswer) -> IntensityCode:
    """What to do after a talk test; "not sure" counts as no."""
    return IntensityCode.TALK_KEEP if answer is TalkAnswer.YES else IntensityCode.TALK_SLOW_DOWN


def pulse_display(
    client: Client,
    now: datetime,
    *,
    resting: float | None = None,
    reliever_at: datetime | None = None,
) -> PulseDisplay:
    """Whether and how the pulse target shows.

    Args:
        now: an aware moment in the client's zone.
        reliever_at: the last use of a quick reliever inhaler, if told.
    """
    for condition, code in _HIDING_CONDITIONS.items():
        if condition in client.conditions:
            return PulseDisplay(PulseUse.HIDDEN, code)
    if Medicine.UNKNOWN in client.medicines:
        return PulseDisplay(PulseUse.HIDDEN, IntensityCode.PULSE_HIDDEN_UNKNOWN)
    use = strictest_pulse_use(client.medicines)
    if use is PulseUse.HIDDEN:
        return PulseDisplay(use, IntensityCode.PULSE_HIDDEN_MEDICINE)
    target = pulse_target(client, now.year, resting)
    if target is None:
        return PulseDisplay(PulseUse.HIDDEN, IntensityCode.PULSE_NO_ROOM)
    if use is PulseUse.READS_HIGH:
        return _reads_high(client, target, now, reliever_at)
    if use is PulseUse.WITH_CARE:
        return PulseDisplay(use, IntensityCode.PULSE_WITH_CARE, target)
    return PulseDisplay(use, IntensityCode.PULSE_SHOWN, target)


def _reads_high(
    client: Client, target: PulseTarget, now: datetime, reliever_at: datetime | None
) -> PulseDisplay:
    """All day, or some hours after a dose for classes that wear off."""
    rows = [EFFECTS[medicine] for medicine in client.medicines]
    hours = [row.reads_high_hours for row in rows if row.pulse is PulseUse.READS_HIGH]
    longest = max((h for h in hours if h is not None), default=0.0)
    if None in hours:
        return PulseDisplay(PulseUse.READS_HIGH, IntensityCode.PULSE_READS_HIGH, target)
    if reliever_at is None:
        return PulseDisplay(PulseUse.READS_HIGH, IntensityCode.PULSE_AFTER_RELIEVER, target)
    until = reliever_at + timedelta(hours=longest)
    if now < until:
        return PulseDisplay(
            PulseUse.READS_HIGH, IntensityCode.PULSE_READS_HIGH_UNTIL, target, until
        )
    return PulseDisplay(PulseUse.WITH_CARE, IntensityCode.PULSE_WITH_CARE, target)


def effort_guide(
    client: Client,
    now: datetime,
    *,
    resting: float | None = None,
    reliever_at: datetime | None = None,
    medicine_changed_on: date | None = None,
) -> EffortGuide:
    """All that is said about effort today.

    Args:
        now: an aware moment in the client's zone.
        resting: resting pulse, if known.
        medicine_changed_on: when a medicine or dose last changed, if told.
    """
    raised = client.limits.pulse_cap_percent > NEW_CLIENT_CAP_PERCENT
    talk = IntensityCode.TALK_SHORTER_SENTENCES if raised else IntensityCode.TALK_FULL_SENTENCES
    lowest = SESSION_EFFORT_OF_BAND[IntensityBand.LIGHT][0]
    highest = HIGHEST_EFFORT
    since_change = None if medicine_changed_on is None else now.date() - medicine_changed_on
    changed = since_change is not None and since_change < DOSE_SETTLES
    return EffortGuide(
        talk=talk,
        effort=(lowest, highest),
        pulse=pulse_display(client, now, resting=resting, reliever_at=reliever_at),
        cautions=_cautions(client, since_change),
        ease_off=changed,
    )


def _cautions(client: Client, since_change: timedelta | None) -> tuple[IntensityCode, ...]:
    rows = [EFFECTS[medicine] for medicine in client.medicines]
    found: list[IntensityCode] = []
    dizzy = highest_dizzy_risk(client.medicines)
    if dizzy is not DizzyRisk.LOW:
        found.append(IntensityCode.STAND_UP_SLOWLY)
    if dizzy is DizzyRisk.HIGH:
        found.append(IntensityCode.LONG_COOL_DOWN)
    if any(row.can_lower_sugar for row in rows):
        found.append(IntensityCode.LOW_SUGAR_MAY_COME)
        if any(row.hides_low_sugar for row in rows):
            found.append(IntensityCode.LOW_SUGAR_MAY_HIDE)
    if since_change is not None and since_change < DOSE_SETTLES:
        found.append(IntensityCode.DOSE_CHANGED)
    elif (
        since_change is not None
        and since_change < _THYROID_SETTLES
        and Medicine.LEVOTHYROXINE in client.medicines
    ):
        found.append(IntensityCode.THYROID_DOSE_CHANGED)
    return tuple(found)
