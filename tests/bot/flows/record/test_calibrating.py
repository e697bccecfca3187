"""Calibration sets in the chat: when they come, how they are shown, and what they buy."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from bot.flows.changes import LogSet, TouchSession
from bot.flows.client import today as today_flow
from bot.flows.facts import Alert, Checkin
from bot.flows.record.planning import planned
from bot.flows.record.profile import RESTART_AT
from bot.storage.tables import PainRow
from bot.storage.told import seal_pain
from core.dose.calibration import MOST_REPS
from core.dose.history import Ended, PainTold, SetDone
from core.dose.prescription import DoseCode
from core.movements.ladder import ladder
from core.vocabulary import AlertLevel, DayPlan, Family, Sign
from tests.bot.flows.coach.test_coach_walks import alert
from tests.support.dose_cases import squat_set
from tests.support.facts import BOB, NOW, Record
from tests.support.joined import PLAIN
from tests.support.talk import Talk

MOST_TAPS = 12
TODAY = date(2026, 5, 21)
MORNING = {"sleep": 4, "tiredness": 4, "soreness": 4, "stress": 4, "mood": 4, "trouble": "nothing"}
STRONG = {
    **PLAIN,
    "conditions": [],
    "medicines": [],
    "spares": [],
    "falls": 0,
    "cleared_by": "Robin",
    "cleared_on": "2026-05-01",
}


def morning(on: date, **answers) -> Checkin:
    given = {**MORNING, **answers}
    return Checkin(
        on, given, finished=True, signs_asked_at=NOW, score=80.0, day_plan=DayPlan.AS_PLANNED
    )


def usual_sets(facts: Record) -> list[SetDone]:
    """One set of each movement; of the squat five or more were left."""
    client, found = facts.client(BOB.id).client, []
    for family in (Family.SQUAT, Family.PUSH, Family.PULL, Family.HEEL_RAISE):
        step = ladder(client, family, facts.reference.catalogue, TODAY)[:9][-1]
        told = {"left": 5 if family is Family.SQUAT else 3, "lowest_good_left": 3}
        done = squat_set(step.demand, step_key=step.key, planned_top=20, **told)
        found.append(replace(done, family=family))
    return found


def strong_bob(**answers) -> Record:
    """Bob told five or more in three sessions, and checked in well this morning."""
    facts = Record(BOB)
    facts.save(BOB, **{**STRONG, **answers})
    facts.joined(BOB)
    facts.cleared(BOB)
    days = [TODAY - timedelta(days=back) for back in (6, 4, 2)]
    sets = [replace(one, on=day) for day in days for one in usual_sets(facts)]
    facts.trained(BOB, *sets)
    facts.checked_in(BOB, *(morning(TODAY - timedelta(days=back)) for back in (3, 2, 1, 0)))
    return facts


def calibrations(facts: Record) -> list[Family]:
    record = facts.client(BOB.id)
    plan = planned(record, facts.checkin(BOB.id, TODAY), facts)
    return [item.family for item in plan.prescriptions if item.calibration]


def test_five_or_more_twice_leads_to_one_calibration_set():
    assert calibrations(strong_bob()) == [Family.SQUAT]


@pytest.mark.parametrize(
    "answers",
    [
        {"falls": None},
        {"falls": 1},
        {"conditions": ["valve"]},
        {"conditions": ["thin_bones"]},
        {"medicines": ["steroid"]},
        {"medicines": ["unknown"]},
        {RESTART_AT: "2026-01-10T08:00:00+00:00"},
        {"medicine_changed_on": "2026-05-15"},
    ],
)
def test_an_answer_that_speaks_against_it_or_was_not_given_rules_it_out(answers):
    assert calibrations(strong_bob(**answers)) == []


def test_neither_ill_lately_nor_in_pain_nor_after_a_sign_or_a_fall():
    facts = strong_bob()
    ill = morning(TODAY - timedelta(days=3), trouble="ill", ill_kind="above_neck")
    facts.checked_in(BOB, ill, morning(TODAY))
    assert calibrations(facts) == []

    facts = strong_bob()
    pain = seal_pain(facts.unit.encryption, PainTold(TODAY, None, None, 3))
    facts.unit.session.add(PainRow(client_id=BOB.id, on_date=TODAY, told_sealed=pain))
    facts.become(BOB)
    assert calibrations(facts) == []

    facts = strong_bob()
    facts.alerted(sign(Sign.PALPITATIONS, days=10))
    assert calibrations(facts) == []
    facts.alerted(sign(Sign.PALPITATIONS, days=20))
    assert calibrations(facts) == [Family.SQUAT]
    facts.alerted(sign(Sign.FALL, days=300))
    assert calibrations(facts) == []


def sign(which: Sign, days: int) -> Alert:
    then = NOW - timedelta(days=days)
    told = alert(7, AlertLevel.URGENT, which)
    return replace(told, raised_at=then, newest_sign_at=then, closed=True)


def in_session(facts: Record) -> Talk:
    talk = Talk(today_flow, facts)
    talk.begin()
    talk.tap("start")
    for _ in range(MOST_TAPS):
        if "as you can do well" in talk.text and talk.step == "move":
            return talk
        talk.tap({"ready": "ready", "warm_up": "done"}.get(talk.step, "leave_out"))
    raise AssertionError(talk.text)


def test_it_is_shown_as_an_open_end_with_every_count_and_buys_a_further_step():
    talk = in_session(strong_bob())
    assert "one set of as many as you can do well, 20 at most" in talk.text
    assert "Stop when you could do three more well" in talk.text
    counts = [one.value for one in talk.buttons() if one.value.startswith("did=")]
    assert counts == [f"did={amount}" for amount in range(8, MOST_REPS + 1)]

    talk.tap(f"did={MOST_REPS}")
    talk.tap("left=5")
    (logged,) = [one for one in talk.turn.changes if isinstance(one, LogSet)]
    assert (logged.done.calibration, logged.done.amount) == (True, MOST_REPS)
    (kept,) = [one for one in talk.turn.changes if isinstance(one, TouchSession) and one.plan]
    further = next(
        item for item in kept.plan.prescriptions if item.reasons[0].code is DoseCode.FURTHER_STEP
    )
    assert logged.done.demand < further.step.demand <= logged.done.demand * 1.15
    assert "Do: one set of 8" in talk.text
    talk.tap("more")
    assert "All of them went well, so try eight of the next one up." in talk.text


def test_one_that_stops_before_asks_why_without_naming_a_number_to_reach():
    talk = in_session(strong_bob())
    talk.tap("did=12")
    assert talk.text.startswith("12. Why did you stop there?")
    talk.tap("ended=told_to_stop")
    talk.tap("left=3")
    (logged,) = [one for one in talk.turn.changes if isinstance(one, LogSet)]
    assert logged.done.ended is Ended.TOLD_TO_STOP
    assert not any(isinstance(one, TouchSession) and one.plan for one in talk.turn.changes)
