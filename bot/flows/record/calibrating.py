"""Whether a calibration set may be done on a day, from all that the record knows of a client.

The rules are :mod:`core.dose.calibration`; what only the record knows is brought to them here.
"""

from datetime import date, datetime, timedelta

from bot.flows.facts import Checkin, ClientRecord, Facts
from bot.flows.record.profile import RESTART_AT, RESTART_DUE
from core.client.client import Client
from core.dose.calibration import MOST_SORE, calibration_day
from core.dose.dose_model import GAP_DAYS
from core.dose.family_record import MOST_PAIN_OF_A_GOOD_SET, PAIN_KEEPS_LOW_DAYS
from core.readiness.morning_questions import Morning
from core.vocabulary import AlertLevel, Sign

YEAR_DAYS = 365
FALLEN = frozenset({Sign.FALL, Sign.FALL_STUCK, Sign.HEAD_INJURY, Sign.HEAD_THINNER})


def may_calibrate(record: ClientRecord, checkin: Checkin, morning: Morning, facts: Facts) -> bool:
    """Whether nothing of health, days or record speaks against it; in doubt not.

    Args:
        morning: today's answers.
    """
    on, client = checkin.on, record.client
    mornings = [*facts.mornings(record.id), morning]
    history = facts.history(record.id)
    hurt = any(
        pain.how_much > MOST_PAIN_OF_A_GOOD_SET and (on - pain.on).days <= PAIN_KEEPS_LOW_DAYS
        for pain in history.pains
    )
    return (
        not hurt
        and not _medicine_is_new(client, on)
        and calibration_day(
            client,
            history.sets,
            [one.on for one in mornings if one.is_ill],
            on,
            [one.on for one in mornings if one.soreness is not None and one.soreness <= MOST_SORE],
        )
        and not _was_in_hospital(record, on)
        and not _signs_speak_against(record, on, facts)
    )


def _medicine_is_new(client: Client, on: date) -> bool:
    changed = client.medicine_changed_on
    return changed is not None and (on - changed).days <= GAP_DAYS


def _was_in_hospital(record: ClientRecord, on: date) -> bool:
    """Within a year, as far as the record tells: an operation or a stay that ended a clearance."""
    cleared = record.answers.get(RESTART_AT)
    if record.answers.get(RESTART_DUE):
        return True
    return bool(cleared) and on - datetime.fromisoformat(str(cleared)).date() <= timedelta(
        days=YEAR_DAYS
    )


def _signs_speak_against(record: ClientRecord, on: date, facts: Facts) -> bool:
    """A warning sign or pause within two weeks; a fall or a blow to the head within a year."""
    today = record.person.local(facts.now).date()
    lately = today - timedelta(days=GAP_DAYS)
    lift = facts.last_lift(record.id)
    if lift is not None and lift.lifted_at and record.person.local(lift.lifted_at).date() >= lately:
        return True
    return any(
        FALLEN & set(alert.signs)
        or (
            alert.level is not AlertLevel.MENTION
            and record.person.local(alert.newest_sign_at).date() >= lately
        )
        for alert in facts.alerts([record.id], YEAR_DAYS)
    )
