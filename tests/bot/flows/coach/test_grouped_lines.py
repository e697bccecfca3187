"""The morning list says what is the same of several clients once, needs first, and loses nobody."""

import re
from datetime import date

import pytest

from bot.flows.coach.client.card import AlertLine
from bot.flows.coach.client_state import WORD, ClientLine, ClientState, StateReason
from bot.flows.coach.practice.falls_due import clearances_that_end
from bot.flows.coach.practice.grouped_lines import MOST_NAMES, OF_MANY, grouped, same_mentions
from bot.flows.reasons import Reason
from core.dose.prescription import DoseCode, DoseReason
from tests.bot.flows.coach.test_coach_walks import practice
from tests.support.facts import COACH, NOW
from tests.support.talk import words

NAMES = [f"Client{number}" for number in range(12)]


def line(number: int, because: StateReason, **numbers: int | list[str]) -> ClientLine:
    return {
        "id": str(number),
        "name": NAMES[number],
        "standing": WORD[because].value,
        "because": because.value,
        "numbers": numbers,
        "clearance_ends": None,
        "walked": 30,
        "left": False,
        "coach": "",
    }


def listed(*lines: ClientLine, mentions: tuple[AlertLine, ...] = ()) -> str:
    facts = practice(COACH)
    values = {
        "me": facts.me,
        "today": NOW,
        "lines": grouped(lines),
        "mentions": same_mentions(mentions),
        **{key: [] for key in ("fine", "due", "lifts", "waited", "cards", "needing")},
        "waited_more": 0,
        "lifts_more": 0,
        "writers": {},
        "more": 0,
    }
    return words().render("coach/digest", values).text


def test_one_missed_morning_is_one_line_with_names_and_a_count():
    missed = [line(number, StateReason.NO_CHECKIN_YESTERDAY) for number in range(12)]
    named = ", ".join(NAMES[:MOST_NAMES])
    assert f"(?) Silent, nothing yesterday: {named} and 4 more" in listed(*missed)


def test_long_silences_are_one_line_by_days_with_every_name():
    days = (5, 3, 30, 4, 6, 7, 8, 9, 10, 11, 12, 13)
    silent = [
        line(number, StateReason.NO_CHECKIN_FOR_DAYS, days=one) for number, one in enumerate(days)
    ]
    said = listed(*silent)
    assert "(?) Silent for days: Client1 3, Client3 4, Client0 5, " in said
    assert said.endswith("Client2 30")
    assert len(re.findall("Client", said)) == len(days)


def test_pauses_are_one_line_each_with_its_days_and_why():
    said = listed(
        line(0, StateReason.PAUSED, days=3, signs=["dizziness"], until=[]),
        line(1, StateReason.PAUSED, days=1, signs=[], until=["12 Mar"]),
    )
    assert (
        "(=) Paused: Client0 for 3 days: dizziness; Client1 since yesterday, until 12 Mar" in said
    )


def test_alerts_have_a_line_each_and_other_needs_name_everybody():
    alerts = [line(number, StateReason.ALERT_UNSEEN) for number in range(2)]
    waits = [line(number, StateReason.TO_CLEAR) for number in range(2, 12)]
    said = listed(*alerts, *waits)
    assert "(!) Client0: needs you, an alert nobody has seen\n(!) Client1: needs you" in said
    for name in NAMES[2:]:
        assert name in said


@pytest.mark.parametrize("because", [one for one in StateReason if one not in OF_MANY])
def test_only_what_asks_nothing_of_the_coach_is_cut_to_a_count(because: StateReason):
    if WORD[because] is ClientState.FINE:
        return
    numbers = {"days": 3, "signs": [], "until": ["12 Mar"]}
    said = listed(*(line(number, because, **numbers) for number in range(12)))
    assert "more" not in said
    for name in NAMES:
        assert name in said


def mention(number: int, *quotes: str | Reason) -> AlertLine:
    return {
        "id": f"9{number}",
        "client_id": str(number),
        "name": NAMES[number],
        "level": "mention",
        "signs": [],
        "quotes": list(quotes),
        "raised": NOW,
        "seen_by": "",
        "closed": False,
    }


def test_the_same_told_by_several_is_said_once_and_other_words_stay_apart():
    told = (mention(0, "My knee"), mention(1, "Sore"), mention(2, "My knee"), mention(2, "My knee"))
    found = same_mentions(told)
    assert [(one["ids"], one["names"]) for one in found] == [
        (["0", "2"], ["Client0", "Client2"]),
        (["1"], ["Client1"]),
    ]
    said = listed(mentions=told)
    assert said.count("My knee") == 1
    assert "• Client0 and Client2: " in said


def test_the_same_reason_about_movements_is_one_line_with_each_movement():
    def fails(family: str) -> Reason:
        why = DoseReason(DoseCode.FEWER_AFTER_NONE_LEFT)
        return Reason("coach", "movement", {"family": family, "why": why})

    told = (mention(0, fails("squat")), mention(1, fails("pull")), mention(0, fails("push")))
    said = listed(mentions=told)
    assert "• Client0 (squat), Client1 (pull), Client0 (push): none left in two sessions" in said
    assert said.count("none left") == 1
    assert "• Client0: Squat: none left" in listed(mentions=told[:1])


def test_who_is_away_is_named_with_the_last_day():
    said = listed(*(line(number, StateReason.AWAY, until=["12 Mar"]) for number in range(2)))
    assert "(>) Away: Client0 until 12 Mar; Client1 until 12 Mar" in said


def test_a_date_of_the_clearance_orders_its_line():
    lines = [line(number, StateReason.PAUSED) for number in range(3)]
    lines[0]["clearance_ends"] = date(2026, 6, 9)
    lines[2]["clearance_ends"] = date(2026, 6, 2)
    (due,) = clearances_that_end(lines)
    assert [one["name"] for one in due["who"]] == ["Client2", "Client0"]
    assert clearances_that_end(lines[1:2]) == []
