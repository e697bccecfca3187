"""Who hears of an alert, when, and why."""

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.alerts.policy import Chase, ChaseReason, Standing, backup_hears, next_chase
from core.vocabulary import AlertLevel

TWO, TEN = timedelta(minutes=2), timedelta(minutes=10)

FRESH = Standing(
    level=AlertLevel.EMERGENCY,
    round=1,
    told=0,
    seen=False,
    closed=False,
    cannot_call=False,
    coach_reachable=True,
    has_backup=True,
    has_second_road=True,
)
ALONE = replace(FRESH, has_backup=False)
UNREAD = replace(FRESH, level=AlertLevel.MENTION, passed_on=True)


def told(chase: Chase) -> str:
    """Who is told, in short."""
    heard = (("coach", chase.coach), ("backup", chase.backup), ("road", chase.second_road))
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
            replace(FRESH, told=2), "unseen", "coach", TWO, id="two repeats are the coach's alone"
        ),
        pytest.param(
            replace(FRESH, told=3), "unseen", "coach backup", TWO, id="the third is the back-up's"
        ),
        pytest.param(
            replace(FRESH, told=5),
            "unseen",
            "coach backup road",
            TWO,
            id="the fifth goes the second road as well",
        ),
        pytest.param(
            replace(ALONE, told=2), "unseen", "coach", TWO, id="without a back-up, two are hers"
        ),
        pytest.param(
            replace(ALONE, told=3),
            "unseen",
            "coach road",
            TWO,
            id="without a back-up the third goes the second road",
        ),
        pytest.param(
            replace(ALONE, told=99, has_second_road=False),
            "unseen",
            "coach",
            TWO,
            id="with nobody else the coach is chased on and on",
        ),
        pytest.param(
            replace(FRESH, cannot_call=True),
            "cannot_call",
            "coach backup road",
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
            "coach road",
            TWO,
            id="when neither can be reached the second road is taken at once",
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
            replace(UNREAD, told=1),
            "not_chased",
            "nobody",
            None,
            id="it is told once when that reached her",
        ),
        pytest.param(
            replace(UNREAD, told=1, coach_reachable=False),
            "passed_on",
            "backup",
            None,
            id="when it did not, the back-up is told",
        ),
        pytest.param(
            replace(UNREAD, coach_reachable=False, has_backup=False),
            "passed_on",
            "road",
            TEN,
            id="with nobody to reach, the second road is taken",
        ),
    ],
)
def test_a_case(alert: Standing, reason: str, who: str, next_in: timedelta | None):
    chase = next_chase(alert)

    assert (chase.reason, told(chase), chase.next_in) == (ChaseReason(reason), who, next_in)


@pytest.mark.parametrize(
    ("alert", "timeline"),
    [
        pytest.param(
            FRESH,
            {0: "coach", 2: "coach", 4: "coach", 6: "coach backup", 8: "coach backup"}
            | {10: "coach backup road", 12: "coach backup road"},
            id="an emergency with a back-up and a second road",
        ),
        pytest.param(
            replace(FRESH, level=AlertLevel.URGENT),
            {0: "coach", 10: "coach", 20: "coach", 30: "coach backup", 40: "coach backup"}
            | {50: "coach backup road"},
            id="an urgent alert with both",
        ),
        pytest.param(
            ALONE,
            {0: "coach", 2: "coach", 4: "coach", 6: "coach road", 8: "coach road"},
            id="an emergency with a second road only",
        ),
    ],
)
def test_nobody_answers_for_a_while(alert: Standing, timeline: dict[int, str]):
    seen, minute = {}, 0
    while minute <= max(timeline):
        chase = next_chase(alert)
        seen[minute] = told(chase)
        alert = replace(alert, told=alert.told + 1)
        minute += int(chase.next_in.total_seconds() // 60)

    assert seen == timeline


@pytest.mark.parametrize("times", range(12))
@pytest.mark.parametrize("level", [AlertLevel.EMERGENCY, AlertLevel.URGENT])
def test_nobody_who_was_told_is_dropped_before_somebody_has_seen_it(level: AlertLevel, times: int):
    now = next_chase(replace(FRESH, level=level, told=times))
    then = next_chase(replace(FRESH, level=level, told=times + 1))

    assert set(told(now).split()) <= set(told(then).split())
    assert then.next_in is not None


@pytest.mark.parametrize("alert", [FRESH, replace(FRESH, told=3), replace(FRESH, cannot_call=True)])
def test_more_words_go_to_whoever_has_heard_of_it(alert: Standing):
    assert backup_hears(alert) is next_chase(alert).backup
