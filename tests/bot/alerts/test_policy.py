"""Who hears of an alert, when, and why."""

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.alerts.policy import AlertStatus, Chase, ChaseReason, backup_hears, next_chase
from core.vocabulary import AlertLevel

TWO, TEN = timedelta(minutes=2), timedelta(minutes=10)

FRESH = AlertStatus(
    level=AlertLevel.EMERGENCY,
    round=1,
    sent_count=0,
    seen=False,
    closed=False,
    cannot_call=False,
    coach_reachable=True,
    has_backup=True,
    has_second_route=True,
)
ALONE = replace(FRESH, has_backup=False)
UNREAD = replace(FRESH, level=AlertLevel.MENTION, passed_on=True)


def told(chase: Chase) -> str:
    """Who is sent_count, in short."""
    heard = (("coach", chase.coach), ("backup", chase.backup), ("route", chase.second_route))
    return " ".join(name for name, hears in heard if hears) or "nobody"


@pytest.mark.parametrize(
    ("alert", "reason", "who", "next_in"),
    [
        pytest.param(
            FRESH, "first", "coach", TWO, id="a new emergency goes to the coach, again in 2 minutes"
        ),
        pytest.param(
            replace(FRESH, level=AlertLevel.URGENT),
            "first",
            "coach",
            TEN,
            id="a new urgent alert goes to the coach, again in 10 minutes",
        ),
        pytest.param(
            replace(FRESH, sent_count=2),
            "unseen",
            "coach",
            TWO,
            id="two repeats are the coach's alone",
        ),
        pytest.param(
            replace(FRESH, sent_count=3),
            "unseen",
            "coach backup",
            TWO,
            id="the third is the back-up's",
        ),
        pytest.param(
            replace(FRESH, sent_count=5),
            "unseen",
            "coach backup route",
            TWO,
            id="the fifth goes by the second route as well",
        ),
        pytest.param(
            replace(ALONE, sent_count=2),
            "unseen",
            "coach",
            TWO,
            id="without a back-up, two are hers",
        ),
        pytest.param(
            replace(ALONE, sent_count=3),
            "unseen",
            "coach route",
            TWO,
            id="without a back-up the third goes by the second route",
        ),
        pytest.param(
            replace(ALONE, sent_count=99, has_second_route=False),
            "unseen",
            "coach",
            TWO,
            id="with nobody else the coach is chased on and on",
        ),
        pytest.param(
            replace(FRESH, cannot_call=True),
            "cannot_call",
            "coach backup route",
            TWO,
            id="for a client who cannot call everybody is told at once",
        ),
        pytest.param(
            replace(FRESH, coach_reachable=False),
            "coach_unreachable",
            "coach backup",
            TWO,
            id="when the coach cannot be reached the back-up is told at once",
        ),
        pytest.param(
            replace(ALONE, coach_reachable=False),
            "coach_unreachable",
            "coach route",
            TWO,
            id="when neither can be reached the second route is taken at once",
        ),
        pytest.param(
            replace(FRESH, round=2),
            "reopened",
            "coach",
            TWO,
            id="a new sign on a seen alert says that it is open again",
        ),
        pytest.param(
            replace(FRESH, seen=True), "seen", "nobody", None, id="what was seen is not repeated"
        ),
        pytest.param(replace(FRESH, closed=True), "seen", "nobody", None, id="nor what was closed"),
        pytest.param(
            replace(FRESH, level=AlertLevel.MENTION),
            "not_chased",
            "nobody",
            None,
            id="a mention stands on the coach's list only",
        ),
        pytest.param(
            UNREAD, "passed_on", "coach", TEN, id="what could not be read is told to the coach"
        ),
        pytest.param(
            replace(UNREAD, sent_count=1),
            "not_chased",
            "nobody",
            None,
            id="it is told once when that reached her",
        ),
        pytest.param(
            replace(UNREAD, sent_count=1, coach_reachable=False),
            "passed_on",
            "backup",
            None,
            id="when it did not, the back-up is told",
        ),
        pytest.param(
            replace(UNREAD, coach_reachable=False, has_backup=False),
            "passed_on",
            "route",
            TEN,
            id="with nobody to reach, the second route is taken",
        ),
    ],
)
def test_a_case(alert: AlertStatus, reason: str, who: str, next_in: timedelta | None):
    chase = next_chase(alert)

    assert (chase.reason, told(chase), chase.next_in) == (ChaseReason(reason), who, next_in)


@pytest.mark.parametrize(
    ("alert", "timeline"),
    [
        pytest.param(
            FRESH,
            {0: "coach", 2: "coach", 4: "coach", 6: "coach backup", 8: "coach backup"}
            | {10: "coach backup route", 12: "coach backup route"},
            id="an emergency with a back-up and a second route",
        ),
        pytest.param(
            replace(FRESH, level=AlertLevel.URGENT),
            {0: "coach", 10: "coach", 20: "coach", 30: "coach backup", 40: "coach backup"}
            | {50: "coach backup route"},
            id="an urgent alert with both",
        ),
        pytest.param(
            ALONE,
            {0: "coach", 2: "coach", 4: "coach", 6: "coach route", 8: "coach route"},
            id="an emergency with a second route only",
        ),
    ],
)
def test_nobody_answers_for_a_while(alert: AlertStatus, timeline: dict[int, str]):
    seen, minute = {}, 0
    while minute <= max(timeline):
        chase = next_chase(alert)
        seen[minute] = told(chase)
        alert = replace(alert, sent_count=alert.sent_count + 1)
        minute += int(chase.next_in.total_seconds() // 60)

    assert seen == timeline


@pytest.mark.parametrize("times", range(12))
@pytest.mark.parametrize("level", [AlertLevel.EMERGENCY, AlertLevel.URGENT])
def test_nobody_who_was_told_is_dropped_before_somebody_has_seen_it(level: AlertLevel, times: int):
    now = next_chase(replace(FRESH, level=level, sent_count=times))
    then = next_chase(replace(FRESH, level=level, sent_count=times + 1))

    assert set(told(now).split()) <= set(told(then).split())
    assert then.next_in is not None


@pytest.mark.parametrize(
    "alert", [FRESH, replace(FRESH, sent_count=3), replace(FRESH, cannot_call=True)]
)
def test_more_words_go_to_whoever_has_heard_of_it(alert: AlertStatus):
    assert backup_hears(alert) is next_chase(alert).backup
