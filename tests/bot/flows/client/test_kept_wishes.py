"""An easier movement asked for on a day that has none of it."""

from dataclasses import replace
from datetime import date, timedelta

from bot.flows.changes import SavePlan
from bot.flows.client import today
from bot.flows.facts import Checkin
from bot.flows.record.kept_wishes import EASIER_NEXT, KEPT_FOR
from bot.flows.record.planning import planned
from core.dose.prescription import DoseCode, SessionPlan
from core.movements.ladder import ladder
from core.vocabulary import DayPlan, Family
from tests.support.dose_cases import squat_set
from tests.support.facts import BOB, Record
from tests.support.joined import PLAIN
from tests.support.talk import Talk

USUAL = {"trouble": "nothing", "sleep": 4, "tiredness": 4, "soreness": 4, "stress": 4, "mood": 4}


def bob() -> Record:
    facts = Record(BOB)
    facts.save(BOB, **{**PLAIN, "cleared_by": "Robin", "cleared_on": "2026-05-01"})
    facts.joined(BOB)
    facts.cleared(BOB)
    today_is = date(2026, 5, 21)
    step = ladder(facts.client(BOB.id).client, Family.SQUAT, facts.reference.catalogue, today_is)[9]
    done = squat_set(step.demand, step_key=step.key, left=4, lowest_good_left=3)
    days = (today_is - timedelta(days=back) for back in (9, 7, 5, 3))
    facts.trained(BOB, *(replace(done, on=day) for day in days))
    return facts


def morning(facts: Record, *, without: Family | None = None) -> tuple[date, SessionPlan]:
    """Today's check-in, and the plan that follows from it; less one movement where asked."""
    on = facts.client(BOB.id).person.local(facts.now).date()
    told = Checkin(on, USUAL, finished=True, signs_asked_at=facts.now, day_plan=DayPlan.AS_PLANNED)
    facts.checked_in(BOB, told)
    plan = planned(facts.client(BOB.id), told, facts)
    items = tuple(item for item in plan.prescriptions if item.family is not without)
    plan = replace(plan, prescriptions=items)
    facts.planned(BOB, on, plan)
    return on, plan


def asked_for_an_easier_squat() -> tuple[Record, Talk]:
    facts = bob()
    morning(facts, without=Family.SQUAT)
    talk = Talk(today, facts)
    talk.begin(wish="easier", family="squat")
    return facts, talk


def test_it_is_said_first_that_today_has_none_and_the_wish_is_kept():
    _, talk = asked_for_an_easier_squat()
    assert " ".join(talk.text.split()).startswith(
        "There is no squat in your session today. I will make it easier next time. "
        "Which of today's shall I make easier?"
    )
    talk.tap("list")
    assert talk.text.startswith("Your session today")


def test_the_next_day_with_it_has_it_easier_says_so_and_forgets_the_wish():
    facts, _ = asked_for_an_easier_squat()
    facts.now += timedelta(days=2)
    on, usual = morning(facts)
    talk = Talk(today, facts)
    talk.begin()

    squats = [item for item in usual.prescriptions if item.family is Family.SQUAT]
    (kept,) = [one.plan for one in talk.turn.changes if isinstance(one, SavePlan)]
    (now,) = [item for item in kept.prescriptions if item.family is Family.SQUAT]
    assert now.step.demand < squats[0].step.demand
    assert now.reasons[0].code is DoseCode.MADE_EASIER
    said = [words.text for _, words in talk.said]
    assert said[-2].startswith("You asked for an easier squat.")
    assert facts.answers(BOB)[EASIER_NEXT] == {}

    again = Talk(today, facts)
    again.begin()
    assert len(again.said) == 1, "it is told once"
    session = facts.session(BOB.id, on)
    assert session is not None
    assert session.plan is not None
    assert [(one.step.key, one.amount) for one in session.plan.prescriptions] == [
        (one.step.key, one.amount) for one in kept.prescriptions
    ]


def test_a_wish_of_long_ago_changes_nothing():
    facts, _ = asked_for_an_easier_squat()
    facts.now += KEPT_FOR + timedelta(days=1)
    morning(facts)
    talk = Talk(today, facts)
    talk.begin()
    assert len(talk.said) == 1


def test_a_harder_one_is_not_kept():
    facts = bob()
    morning(facts, without=Family.SQUAT)
    talk = Talk(today, facts)
    talk.begin(wish="harder", family="squat")
    assert talk.text.startswith("There is no squat in your session today.")
    assert "next time" not in talk.text
    assert EASIER_NEXT not in facts.answers(BOB)


def test_of_a_movement_that_the_client_never_has_nothing_is_promised():
    facts = bob()
    morning(facts)
    talk = Talk(today, facts)
    talk.begin(wish="easier", family=Family.OVERHEAD.value)
    assert "next time" not in talk.text
    assert "Which of today's shall I make easier?" in talk.text
    assert EASIER_NEXT not in facts.answers(BOB)
