"""What clients told and did, as it is sealed in a row, and back.

The keys are those of the columns that held these values in the open until migration 0008.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from bot.json_values import from_json, to_json
from bot.storage.encryption import Encryption
from bot.storage.tables import AlertRow, CheckinRow, PainRow, SessionRow, SetRow, WalkRow
from core.dose.history import Ended, PainTold, SessionDone, SetDone, Unit
from core.programme.walking import Activity, Talk, WalkDone
from core.readiness.reasons import DayReason
from core.vocabulary import Family, Sign, Spare


@dataclass(frozen=True, slots=True)
class AlertTold:
    """What an alert tells beside its words.

    Attributes:
        for_other: the signs are somebody else's.
        called: the answer to whether help was called, or "".
    """

    signs: tuple[Sign, ...] = ()
    for_other: bool = False
    called: str = ""


@dataclass(frozen=True, slots=True)
class MorningResult:
    """What a finished morning came to; all is empty before."""

    score: float | None = None
    day_plan: str = ""
    certainty: float | None = None
    reasons: tuple[DayReason, ...] = ()


@dataclass(frozen=True, slots=True)
class SessionEffort:
    """How hard and how long a session was, where that was told."""

    effort: float | None = None
    effort_scale: str = ""
    minutes: float | None = None


UNKNOWN_ALERT = json.dumps({"signs": [Sign.UNSURE]})
"""What an alert tells of which nothing can be read."""


def seal_alert(encryption: Encryption, told: AlertTold) -> str:
    """For ``AlertRow.told_sealed``."""
    return encryption.encrypt_json(to_json(told))


def alert_told(encryption: Encryption, row: AlertRow) -> AlertTold:
    """What :func:`seal_alert` was given; nothing where it was erased.

    Of one that is damaged nobody knows which sign it was: it is chased all the same.
    """
    given = json.loads(encryption.opened(row.told_sealed, UNKNOWN_ALERT) or "{}")
    return AlertTold(
        signs=tuple(map(Sign, given.get("signs", ()))),
        for_other=given.get("for_other", False),
        called=given.get("called", ""),
    )


def change_alert(encryption: Encryption, row: AlertRow, **changes: Any) -> None:
    """Put other values of :class:`AlertTold` into a row."""
    row.told_sealed = seal_alert(encryption, replace(alert_told(encryption, row), **changes))


def seal_result(encryption: Encryption, result: MorningResult) -> str:
    """For ``CheckinRow.result_sealed``; how much each reason counted is not kept."""
    reasons = [
        {name: value for name, value in to_json(one).items() if name != "weight"}
        for one in result.reasons
    ]
    return encryption.encrypt_json(
        {
            "score": result.score,
            "day_plan": result.day_plan,
            "certainty": result.certainty,
            "reasons": reasons,
        }
    )


def result_of(encryption: Encryption, row: CheckinRow) -> MorningResult:
    """What :func:`seal_result` was given."""
    given = encryption.opened_json(row.result_sealed) or {}
    return MorningResult(
        score=given.get("score"),
        day_plan=given.get("day_plan", ""),
        certainty=given.get("certainty"),
        reasons=from_json(tuple[DayReason, ...], given.get("reasons", [])),
    )


def seal_effort(encryption: Encryption, effort: SessionEffort) -> str:
    """For ``SessionRow.effort_sealed``."""
    return encryption.encrypt_json(to_json(effort))


def effort_of(encryption: Encryption, row: SessionRow) -> SessionEffort:
    """What :func:`seal_effort` was given."""
    return SessionEffort(**encryption.decrypt_json(row.effort_sealed))


def session_done(encryption: Encryption, row: SessionRow) -> SessionDone:
    """A finished session as the rules see it."""
    told = effort_of(encryption, row)
    return SessionDone(
        row.on_date,
        None if told.effort is None else round(told.effort),
        None if told.minutes is None else round(told.minutes),
    )


def seal_set(encryption: Encryption, done: SetDone, *, sets: int = 1) -> str:
    """For ``SetRow.done_sealed``: a set, done ``sets`` times."""
    values = to_json(done)
    del values["on"]
    return encryption.encrypt_json({**values, "sets": sets}, keep=False)


def set_done(encryption: Encryption, row: SetRow) -> SetDone:
    """A logged set as the rules see it."""
    given: Mapping[str, Any] = json.loads(encryption.decrypt(row.done_sealed, keep=False))
    return SetDone(
        on=row.on_date,
        family=Family(given["family"]),
        step_key=given["step_key"],
        demand=given["demand"],
        unit=Unit(given["unit"]),
        amount=given["amount"],
        left=given["left"],
        slip=given["slip"],
        pain=given["pain"],
        planned=given["planned"],
        stop_at_left=given["stop_at_left"],
        lowest_good_left=given["lowest_good_left"],
        eased=given["eased"],
        day_shift=given["day_shift"],
        planned_top=given["planned_top"],
        # Sets logged before this was asked have no such key.
        ended=Ended(given["ended"]) if given.get("ended") else None,
        calibration=given.get("calibration", False),
        watched=given.get("watched", False),
        quick=given.get("quick", False),
        sets=given.get("sets", 1),
    )


def seal_pain(encryption: Encryption, pain: PainTold) -> str:
    """For ``PainRow.told_sealed``."""
    return encryption.encrypt_json(
        {
            "family": pain.family or "",
            "where": pain.where or "",
            "how_much": pain.how_much,
            "sharp": pain.sharp,
            "settled": pain.settled,
        }
    )


def pain_done(encryption: Encryption, row: PainRow) -> PainTold:
    """A told pain as the rules see it."""
    given = encryption.decrypt_json(row.told_sealed)
    return PainTold(
        on=row.on_date,
        family=Family(given["family"]) if given["family"] else None,
        where=Spare(given["where"]) if given["where"] else None,
        how_much=given["how_much"],
        sharp=given["sharp"],
        settled=given["settled"],
    )


def seal_walk(encryption: Encryption, walk: WalkDone) -> str:
    """For ``WalkRow.told_sealed``."""
    return encryption.encrypt_json(
        {
            "minutes": walk.minutes,
            "talk": walk.talk.value,
            "activity": walk.activity.value,
            "steers": walk.steers,
        }
    )


def walk_done(encryption: Encryption, row: WalkRow) -> WalkDone:
    """A walk as the rules see it."""
    given = encryption.decrypt_json(row.told_sealed)
    return WalkDone(
        on=row.on_date,
        minutes=given["minutes"],
        talk=Talk(given["talk"]),
        activity=Activity(given["activity"]),
        steers=given["steers"],
    )
