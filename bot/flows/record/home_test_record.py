"""Home tests on a client's record: what was asked for, what was done, and what it means in values.

Profile keys: ``home_test_asked`` (test, ISO moment) and ``home_tests``, a list of results.
"""

from datetime import date, datetime, timedelta
from typing import TypedDict

from bot.flows.changes import SaveProfile
from bot.flows.facts import Answers, ClientRecord, Facts
from bot.json_values import from_json, to_json
from core.client.home_tests import CHAIR_CM, CURL_KG, HomeTest, norm_range_of
from core.dose.home_test_word import HomeTestDone, reading_of

ASKED = "home_test_asked"
DONE = "home_tests"
ASKED_FOR = timedelta(days=14)
"""So long what a coach has asked for waits; after that she asks anew."""

SEAT_OFF_CM = 3.0
"""A seat further than this from the norm's own is worth a word to the coach (common practice)."""

SECONDS = (HomeTest.ONE_LEG_STAND, HomeTest.FIVE_CHAIR_STANDS)
STANDS = (HomeTest.CHAIR_STAND, HomeTest.FIVE_CHAIR_STANDS)


class ResultValues(TypedDict):
    """A result for templates; None where there is no norm, or nothing worth a word."""

    test: str
    on: date
    result: float
    seconds: bool
    arms_used: bool
    standing: str
    low: float | None
    high: float | None
    sex: str
    independent: bool | None
    falls_risk: bool | None
    family: str
    rung: str
    seat: float | None
    usual_seat: float
    kilos: float | None


def tests_of(answers: Answers) -> list[HomeTestDone]:
    """All results on a profile, oldest first."""
    return from_json(list[HomeTestDone], answers.get(DONE, []))


def asked_of(record: ClientRecord, facts: Facts) -> HomeTest | None:
    """The test that waits for this client.

    What was asked for before a pause does not come back with the end of the pause.
    """
    asked = record.answers.get(ASKED)
    if not asked:
        return None
    at = datetime.fromisoformat(asked["at"])
    lift = facts.last_lift(record.id)
    lifted = lift.lifted_at if lift is not None else None
    paused_since = lifted is not None and lifted >= at
    return None if paused_since or facts.now - at > ASKED_FOR else HomeTest(asked["test"])


def asks(record: ClientRecord, test: HomeTest, now: datetime) -> SaveProfile:
    """The coach asks for a test; an earlier one that waits is let go."""
    return SaveProfile(record.id, {ASKED: {"test": test.value, "at": now.isoformat()}})


def no_more_asked(record: ClientRecord) -> SaveProfile:
    """Nothing waits any more."""
    return SaveProfile(record.id, {ASKED: None})


def keeps(record: ClientRecord, done: HomeTestDone) -> SaveProfile:
    """A result, kept beside the earlier ones; nothing waits any more."""
    kept = [*record.answers.get(DONE, ()), to_json(done)]
    return SaveProfile(record.id, {DONE: kept, ASKED: None})


def result_values(record: ClientRecord, done: HomeTestDone) -> ResultValues:
    """A result for templates: against whom it stands, and what it proposes."""
    client, test = record.client, done.test
    reading = reading_of(done, client.birth_year, client.sex)
    normal = norm_range_of(test, done.on.year - client.birth_year, client.sex)
    family, rung = reading.start
    seat = client.kit.chair if test in STANDS else None
    return {
        "test": test.value,
        "on": done.on,
        "result": round(done.result, 1),
        "seconds": test in SECONDS,
        "arms_used": done.arms_used,
        "standing": reading.band.value,
        "low": normal.low if normal else None,
        "high": normal.high if normal else None,
        "sex": client.sex.value,
        "independent": reading.independent,
        "falls_risk": reading.falls_risk,
        "family": family.value,
        "rung": rung or "",
        "seat": seat if seat is not None and abs(seat - CHAIR_CM) > SEAT_OFF_CM else None,
        "usual_seat": CHAIR_CM,
        "kilos": CURL_KG[client.sex] if test is HomeTest.ARM_CURL else None,
    }
