"""Who hears of an alert, when, and why."""

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.alerts.policy import (
    AlertStatus,
    Chase,
    ChaseReason,
    UnseenText,
    backup_hears,
    client_hears_after,
    next_chase,
    unseen_text,
)
from core.vocabulary import AlertLevel, Sign


def minutes(number: int) -> timedelta:
    return timedelta(minutes=number)


TWO, TEN = minutes(2), minutes(10)

FRESH = AlertStatus(
    level=AlertLevel.EMERGENCY,
    round=1,
    sent_count=0,
    waited=minutes(0),
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
            replace(FRESH, sent_count=2, waited=minutes(4)),
            "unseen",
            "coach",
            TWO,
            id="in the first six minutes the coach is told alone",
        ),
        pytest.param(
            replace(FRESH, sent_count=3, waited=minutes(6)),
            "unseen",
            "coach backup",
            TWO,
            id="after six the back-up is told too",
        ),
        pytest.param(
            replace(FRESH, sent_count=5, waited=minutes(10)),
            "unseen",
            "coach backup route",
            minutes(5),
            id="after ten it goes by the second route as well",
        ),
        pytest.param(
            replace(ALONE, sent_count=2, waited=minutes(4)),
            "unseen",
            "coach",
            TWO,
            id="without a back-up the first six minutes are hers too",
        ),
        pytest.param(
            replace(ALONE, sent_count=3, waited=minutes(6)),
            "unseen",
            "coach route",
            TWO,
            id="without a back-up the second route is taken after six",
        ),
        pytest.param(
            replace(ALONE, level=AlertLevel.URGENT, sent_count=3, waited=minutes(30)),
            "unseen",
            "coach route",
            minutes(20),
            id="without a back-up an urgent alert takes it after thirty",
        ),
        pytest.param(
            replace(ALONE, sent_count=99, waited=minutes(5000), has_second_route=False),
            "unseen",
            "coach",
            minutes(60),
            id="with nobody else the coach is chased on and on, hourly",
        ),
        pytest.param(
            replace(FRESH, round=2, waited=minutes(5)),
            "reopened",
            "coach",
            minutes(1),
            id="a new sign after five minutes makes nobody wait longer",
        ),
        pytest.param(
            replace(FRESH, round=2, waited=minutes(5), backup_told=True),
            "reopened",
            "coach backup",
            minutes(1),
            id="a new sign drops nobody who was told",
        ),
        pytest.param(
            replace(FRESH, level=AlertLevel.URGENT, cannot_call=True, sent_count=30),
            "cannot_call",
            "coach backup route",
            TWO,
            id="somebody who cannot call is chased every two minutes for good",
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
            | dict.fromkeys((10, 15, 25, 55, 115, 175), "coach backup route"),
            id="an emergency with a back-up and a second route",
        ),
        pytest.param(
            replace(FRESH, level=AlertLevel.URGENT),
            {0: "coach", 10: "coach", 20: "coach", 30: "coach backup"}
            | dict.fromkeys((50, 80, 140, 200), "coach backup route"),
            id="an urgent alert with both",
        ),
        pytest.param(
            ALONE,
            {0: "coach", 2: "coach", 4: "coach"}
            | dict.fromkeys((6, 8, 10, 15, 25, 55, 115), "coach route"),
            id="an emergency with a second route only",
        ),
        pytest.param(
            replace(FRESH, waited=minutes(5), round=2),
            {0: "coach", 1: "coach backup", 3: "coach backup", 5: "coach backup route"},
            id="a new sign five minutes after the first",
        ),
    ],
)
def test_nobody_answers_for_a_while(alert: AlertStatus, timeline: dict[int, str]):
    seen, minute, began = {}, 0, alert.waited
    while minute <= max(timeline):
        chase = next_chase(replace(alert, waited=began + minutes(minute)))
        seen[minute] = told(chase)
        alert = replace(alert, sent_count=alert.sent_count + 1)
        minute += int(chase.next_in.total_seconds() // 60)

    assert seen == timeline


@pytest.mark.parametrize("waited", range(0, 90, 5))
@pytest.mark.parametrize("level", [AlertLevel.EMERGENCY, AlertLevel.URGENT])
def test_nobody_who_was_told_is_dropped_before_somebody_has_seen_it(level: AlertLevel, waited: int):
    now = next_chase(replace(FRESH, level=level, waited=minutes(waited)))
    then = next_chase(replace(FRESH, level=level, waited=minutes(waited + 5)))

    assert set(told(now).split()) <= set(told(then).split())
    assert then.next_in is not None


@pytest.mark.parametrize(
    "alert",
    [
        FRESH,
        replace(FRESH, waited=minutes(6)),
        replace(FRESH, cannot_call=True),
        replace(FRESH, backup_told=True),
    ],
)
def test_more_words_go_to_whoever_has_heard_of_it(alert: AlertStatus):
    assert backup_hears(alert) is next_chase(alert).backup


@pytest.mark.parametrize(
    ("level", "pauses"),
    [
        (AlertLevel.EMERGENCY, [10, 20, 60, 180, 180]),
        (AlertLevel.URGENT, [30, 90, 360, 360]),
    ],
)
def test_the_client_hears_that_nobody_has_seen_it_and_then_less_often(
    level: AlertLevel, pauses: list[int]
):
    assert [client_hears_after(level, told) for told in range(len(pauses))] == [
        minutes(pause) for pause in pauses
    ]


@pytest.mark.parametrize(
    ("level", "signs", "for_other", "text"),
    [
        ("emergency", (Sign.CHEST_PAIN,), False, UnseenText.EMERGENCY),
        ("urgent", (Sign.DIZZINESS,), False, UnseenText.URGENT),
        ("urgent", (), False, UnseenText.URGENT),
        ("emergency", (Sign.STROKE,), True, UnseenText.FOR_OTHER),
        ("emergency", (Sign.SELF_HARM,), False, UnseenText.CARE),
        ("emergency", (Sign.CHEST_PAIN, Sign.SELF_HARM), False, UnseenText.CARE),
        ("emergency", (Sign.SELF_HARM,), True, UnseenText.FOR_OTHER),
        ("emergency", (Sign.ABUSE,), False, None),
        ("emergency", (Sign.CHEST_PAIN, Sign.ABUSE), False, None),
        ("emergency", (Sign.SELF_HARM, Sign.ABUSE), False, None),
        ("mention", (Sign.UNREAD,), False, None),
    ],
)
def test_which_words_the_client_gets_while_nobody_has_seen_it(
    level: str, signs: tuple[Sign, ...], for_other: bool, text: UnseenText | None
):
    assert unseen_text(AlertLevel(level), signs, for_other=for_other) is text
