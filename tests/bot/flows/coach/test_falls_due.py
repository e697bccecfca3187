"""The morning list names what falls due, a line a kind: tests, ends, lighter weeks, reviews."""

from dataclasses import replace
from datetime import timedelta

from bot.flows.changes import PlaceHold
from bot.flows.coach.client import open_card
from bot.flows.coach.practice.digest import digest
from bot.flows.coach.practice.falls_due import MOST_NAMES, falls_due
from bot.flows.record.home_test_record import ASKED, DONE
from bot.flows.record.overrules import OVERRULES
from tests.support.dose_cases import squat_set
from tests.support.facts import ANN, BOB, COACH, NOW, Record
from tests.support.joined import with_bob
from tests.support.talk import Talk, rendered

TODAY = BOB.local(NOW).date()
"""A Thursday."""


def bob_trains(*, days_on: int = 0) -> Record:
    """Bob has joined and is cleared; the list is looked at so many days later."""
    facts = with_bob(Record(COACH))
    cleared = {"cleared_by": "Robin", "cleared_on": TODAY.isoformat()}
    facts.save(BOB, **cleared, cleared_until=(TODAY + timedelta(days=300)).isoformat())
    facts.cleared(BOB)
    facts.now += timedelta(days=days_on)
    facts.become(COACH)
    return facts


def listed(facts: Record) -> str:
    """The list of that morning."""
    say = digest(facts)
    assert say is not None
    return rendered(say, facts).text


def test_a_home_test_that_waits_is_named_with_its_days_and_not_on_hold():
    facts = bob_trains()
    facts.save(BOB, **{ASKED: {"test": "chair_stand", "at": facts.now.isoformat()}})
    assert falls_due(facts) == [], "not on the day on which it was asked for"
    facts.now += timedelta(days=3)
    facts.become(COACH)
    assert "• Home tests that wait: Bob (30-second chair stand, for 3 days)" in listed(facts)
    facts.apply([PlaceHold(BOB.id, "coach_ill")])
    facts.become(COACH)
    assert "Home tests" not in listed(facts)


def test_what_the_coach_has_set_is_named_two_days_before_it_ends():
    facts = bob_trains()
    ends = (TODAY + timedelta(days=4)).isoformat()
    facts.save(BOB, **{OVERRULES: {"skipped": {"push": ends}}})
    assert falls_due(facts) == []
    facts.now += timedelta(days=2)
    facts.become(COACH)
    assert "• What you set ends: Bob (push, last day 25 May)" in listed(facts)


def test_a_home_test_is_due_again_after_twelve_weeks_on_a_monday():
    facts = bob_trains(days_on=4)
    old = {"test": "one_leg_stand", "on": (TODAY - timedelta(weeks=12)).isoformat(), "result": 9.0}
    facts.save(BOB, **{DONE: [old]})
    facts.become(COACH)
    assert "• Home tests due again, after twelve weeks: Bob (one-leg stand)" in listed(facts)
    facts.now += timedelta(days=1)
    facts.become(COACH)
    assert "due again" not in listed(facts)


def test_a_lighter_week_and_a_review_are_due_after_their_weeks():
    facts = bob_trains(days_on=4)
    monday = TODAY + timedelta(days=4)
    weeks = 14
    days = [monday - timedelta(weeks=back) for back in range(1, weeks + 1)]
    facts.trained(BOB, *(replace(squat_set(1.0), on=day) for day in sorted(days)))
    facts.become(COACH)
    said = listed(facts)
    # Lighter ones are the 5th, 10th and 15th week of a run; this is the 15th.
    assert "• A lighter week, half the sets: Bob" in said
    assert "• A review is due, after a quarter: Bob" in said
    card = Talk(open_card, facts)
    card.begin(client=str(BOB.id), page="letters")
    card.tap("review91")
    facts.become(COACH)
    assert "A review is due" not in listed(facts), "it was just written"


def test_many_names_are_one_line_with_a_count():
    facts = bob_trains()
    facts.save(BOB, **{OVERRULES: {"skipped": dict.fromkeys(FAMILIES, TODAY.isoformat())}})
    facts.become(COACH)
    (line,) = falls_due(facts)
    assert (len(line["who"]), line["more"]) == (MOST_NAMES, len(FAMILIES) - MOST_NAMES)
    assert f"), and {line['more']} more" in listed(facts)
    assert not [one for one in line["who"] if one["name"] == ANN.name]


FAMILIES = (
    "squat",
    "lunge",
    "push",
    "pull",
    "bridge",
    "hinge",
    "heel_raise",
    "step",
    "brace",
    "carry",
)
