"""Sets that the coach stood beside, and what a logged set lets her know."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlmodel import select

from bot.flows.changes import Audit, LogSet, LogWatchedSet, RaiseAlert, StartSession, TouchSession
from bot.flows.client import today
from bot.flows.client.set_news import WATCH_ASKED_ON, news_of_effort, news_of_set
from bot.flows.coach.client import open_card as coach_client
from bot.flows.coach.client import watched as coach_watched
from bot.flows.coach.client.watched import UNDO_FOR
from bot.flows.facts import Checkin
from bot.flows.machine import Begin, State, Turn
from bot.flows.record.gains import climbs_in
from bot.flows.record.planning import Training, planned, training_status_of
from bot.flows.routing.registry import CALLBACK_HANDLERS
from bot.storage.tables import SessionRow
from bot.storage.told import SessionEffort, seal_effort
from core.dose.capacity import SETS_UNTIL_WATCHED, after_set
from core.dose.history import SetDone
from core.dose.prescription import DoseCode, SessionPlan
from core.movements.ladder import ladder
from core.vocabulary import DayPlan, Family
from tests.support.dose_cases import squat_set
from tests.support.facts import ANN, BOB, COACH, Record
from tests.support.joined import with_bob
from tests.support.talk import Talk

BOBS = str(BOB.id)
TODAY = date(2026, 5, 21)
"""Bob's date at the tests' moment: 21:00 UTC is the next morning in New Zealand."""


def trained_bob(sets: int = 4, left: int = 3, family: Family = Family.SQUAT) -> Record:
    """Bob has done the same step every other day, and nobody has watched him."""
    facts = with_bob(Record(COACH))
    step = ladder(facts.client(BOB.id).client, family, facts.reference.catalogue, TODAY)[3]
    first = TODAY - timedelta(days=2 * sets)
    done = squat_set(step.demand, step_key=step.key, left=left, lowest_good_left=3)
    done = replace(done, family=family)
    facts.trained(BOB, *(replace(done, on=first + timedelta(days=2 * n)) for n in range(sets)))
    return facts


def watched(facts: Record, amount: str = "10", left: str = "0") -> Talk:
    """The coach's two taps, and what the conversation says once the set is in the record."""
    talk = Talk(coach_watched, facts)
    talk.begin(client=BOBS)
    if talk.step == "family":
        talk.choose(PLANNED.value)
    talk.choose(amount)
    talk.choose(left)
    return goes_on(talk)


def goes_on(talk: Talk) -> Talk:
    """The conversation opens itself anew, with the change in the record."""
    (again,) = talk.turn.begin
    assert again.flow == coach_watched.NAME
    talk.begin(**again.args)
    return talk


def undone(talk: Talk, nth: int = -1) -> Turn:
    """The coach's tap on "Undo" below one of the kept sets, and what the engine makes of it."""
    kept = [say for say, _ in talk.said if say.template == "coach/watched_kept"]
    ((button,),) = kept[nth].rows
    turn = CALLBACK_HANDLERS[button.handler].tap(button.ref, button.value, talk.facts)
    talk.facts.apply(turn.changes)
    return turn


def test_two_taps_keep_what_the_coach_saw_and_the_belief_goes_by_it():
    facts = trained_bob()
    before, logged = facts.capacity(BOB.id), facts.history(BOB.id).sets
    talk = watched(facts)

    (kept,) = [one for one in facts.applied if isinstance(one, LogWatchedSet)]
    assert (kept.done.amount, kept.done.left, kept.done.on) == (10, 0, TODAY)
    assert kept.done.step_key == logged[-1].step_key
    assert Audit(BOB.id, "set_watched", "squat") in facts.applied
    assert talk.turn.begin == (Begin("coach_client", {"client": BOBS}),)
    assert "10, 0 left, as you saw it" in talk.text

    history, after = facts.history(BOB.id), facts.capacity(BOB.id)
    assert (history.sets, history.watched) == (logged, (kept.done,))
    assert after.baseline(Family.SQUAT).mean < before.baseline(Family.SQUAT).mean
    assert after.told_none_left.sd < before.told_none_left.sd
    assert after.sets_told == before.sets_told
    # The chart of the coach and the gain that the client reads go by the same belief.
    shown = climbs_in(facts.client(BOB.id), facts)[Family.SQUAT][-1]
    assert shown.baseline.mean == after.baseline(Family.SQUAT).mean


PLANNED = Family.PUSH
"""One of today's movements."""


SHORT = {"at": 0, "running": True, "amount": 2, "slip": False, "pain": 0}
"""A session's conversation that asks why the first set ended after two."""


def with_plan() -> Record:
    """Bob has trained, and has today's plan."""
    trained = (PLANNED, Family.SQUAT, Family.PULL, Family.HINGE, Family.HEEL_RAISE, Family.STEP)
    sets = [one for of in trained for one in trained_bob(8, family=of).history(BOB.id).sets]
    facts = with_bob(Record(COACH))
    facts.trained(BOB, *sets)
    return with_morning(facts)


def with_morning(facts: Record) -> Record:
    """Bob's morning as usual, and the plan that follows from his record."""
    usual = {
        "trouble": "nothing",
        "sleep": 4,
        "tiredness": 4,
        "soreness": 4,
        "stress": 4,
        "mood": 4,
    }
    morning = Checkin(
        TODAY, usual, finished=True, signs_asked_at=facts.now, day_plan=DayPlan.AS_PLANNED
    )
    facts.checked_in(BOB, morning)
    facts.planned(BOB, TODAY, planned(facts.client(BOB.id), morning, facts))
    return facts


def demand_in(plan: SessionPlan) -> float:
    return next(item.step.demand for item in plan.prescriptions if item.family is PLANNED)


def plan_of_today(facts: Record) -> SessionPlan:
    session = facts.session(BOB.id, TODAY)
    assert session is not None
    assert session.plan is not None
    return session.plan


def believed(facts: Record) -> tuple[list[float], list[float], int]:
    known = facts.capacity(BOB.id)
    return known.mean.tolist(), known.spread.tolist(), known.sets_told


def test_a_wrong_number_is_taken_back_and_belief_plan_and_words_follow():
    facts = with_plan()
    before, plan = believed(facts), plan_of_today(facts)

    talk = watched(facts)
    assert demand_in(plan_of_today(facts)) < demand_in(plan)
    assert [say.to for say, _ in talk.said if say.template == "today/coach_watched"] == [BOB.id]

    (again,) = undone(talk).begin
    talk.begin(**again.args)
    assert (believed(facts), plan_of_today(facts)) == (before, plan)
    assert facts.history(BOB.id).watched == ()
    assert Audit(BOB.id, "watched_set_undone", PLANNED.value) in facts.applied
    assert [say.template for say in talk.shown] == ["coach/watched_undone", "coach/watched_amount"]

    talk.choose("15")
    talk.choose("4")
    goes_on(talk)
    (right,) = facts.history(BOB.id).watched
    assert (right.amount, right.left) == (15, 4)
    assert demand_in(plan_of_today(facts)) >= demand_in(plan)
    texts = {say.template: message.text for say, message in talk.said}
    assert "15, 4 left, as you saw it" in texts["coach/watched_kept"]


def test_after_five_minutes_it_stays():
    facts = trained_bob()
    talk = watched(facts)
    facts.now += UNDO_FOR + timedelta(seconds=1)
    turn = undone(talk)
    assert [say.template for say in turn.says] == ["coach/watched_stays"]
    assert len(facts.history(BOB.id).watched) == 1


def test_each_of_two_watched_sets_has_its_own_way_back():
    facts = trained_bob()
    talk = watched(facts, amount="10", left="0")
    facts.now += timedelta(minutes=1)
    first = talk.said[:]
    talk = watched(facts, amount="12", left="3")
    talk.said[:0] = first
    undone(talk, 0)
    assert [(one.amount, one.left) for one in facts.history(BOB.id).watched] == [(12, 3)]
    undone(talk, 1)
    assert facts.history(BOB.id).watched == ()


def test_nobody_but_the_coach_takes_a_watched_set_back():
    facts = trained_bob()
    talk = watched(facts)
    facts.become(ANN)
    turn = undone(talk)
    assert (turn.begin, len(facts.history(BOB.id).watched)) == ((), 1)


def test_a_running_session_keeps_its_plan():
    facts = with_plan()
    session, plan = facts.session(BOB.id, TODAY), plan_of_today(facts)
    assert session is not None
    facts.apply((StartSession(session.id),))
    talk = watched(facts)
    assert plan_of_today(facts) == plan
    assert [say.to for say, _ in talk.said if say.to is not None] == []


def test_a_number_is_typed_too_and_nonsense_keeps_the_question():
    talk = Talk(coach_watched, trained_bob())
    talk.begin(client=BOBS)
    talk.type("no idea")
    assert talk.step == "amount"
    talk.type("nineteen")
    assert talk.step == "left"
    talk.type("12")
    (kept,) = [one for one in talk.turn.changes if isinstance(one, LogWatchedSet)]
    assert (kept.done.amount, kept.done.left) == (19, 5)


def test_the_card_leads_there_and_without_any_set_it_says_so():
    facts = trained_bob()
    card = Talk(coach_client, facts)
    card.begin(client=BOBS)
    card.tap("watched")
    assert [one.flow for one in card.turn.begin] == ["coach_watched"]

    facts.trained(BOB)
    talk = Talk(coach_watched, facts)
    talk.begin(client=BOBS)
    assert "has no plan today and has logged no set yet" in talk.text


def test_nobody_but_the_coach_may():
    facts = trained_bob()
    facts.become(ANN)
    talk = Talk(coach_watched, facts)
    talk.begin(client=BOBS)
    assert not talk.turn.changes
    assert "Bob" not in talk.text


def news(facts: Record, done: SetDone | None = None) -> list[str]:
    """Codes of the lines for the coach after one more set, like the last where none is given."""
    facts.become(BOB)
    training = Training(facts, training_status_of(facts.client(BOB.id), facts), None, None)
    done = done or replace(facts.history(BOB.id).sets[-1], on=TODAY)
    changes = news_of_set(training, done)
    facts.apply(changes)
    return [one.why.code for one in changes if isinstance(one, RaiseAlert)]


def test_after_twenty_sets_that_nobody_saw_the_coach_is_asked_once_to_watch_one():
    assert news(trained_bob(sets=SETS_UNTIL_WATCHED - 2)) == []
    facts = trained_bob(sets=SETS_UNTIL_WATCHED - 1)
    assert news(facts) == ["watch_a_set"]
    assert facts.answers(BOB)[WATCH_ASKED_ON] == TODAY.isoformat()
    assert news(facts) == []


def test_a_coach_who_has_watched_is_not_asked():
    facts = trained_bob(sets=SETS_UNTIL_WATCHED - 1)
    watched(facts, left="3")
    assert news(facts) == []


def test_a_set_that_the_coach_has_read_of_is_taken_back_and_she_reads_that_too():
    facts = with_plan()
    sets = facts.history(BOB.id).sets
    facts.trained(BOB, *(replace(one, left=0 if one.on == sets[-1].on else 3) for one in sets))
    with_morning(facts)
    session = facts.session(BOB.id, TODAY)
    assert session is not None
    facts.apply((StartSession(session.id),))
    facts.save(BOB, cleared_by="Robin", cleared_on="2026-05-01", **{WATCH_ASKED_ON: "2026-05-01"})
    facts.cleared(BOB)
    facts.become(BOB)
    before = believed(facts)
    talk = Talk(today, facts, State(today.NAME, "short", {**SHORT, "on": TODAY.isoformat()}))

    def lines() -> list[str]:
        return [one.why.code for one in facts.applied if isinstance(one, RaiseAlert)]

    talk.tap("ended=could_not")
    assert lines() == ["movement"]
    assert believed(facts) != before
    talk.tap("undo")
    assert lines() == ["movement", "set_taken_back"]
    assert believed(facts) == before


def with_bought_step() -> tuple[Record, SessionPlan, Talk]:
    """The card of the step that a set bought; the plan is that from before the set."""
    facts = with_plan()
    facts.save(BOB, cleared_by="Robin", cleared_on="2026-05-01")
    facts.cleared(BOB)
    plan, session = plan_of_today(facts), facts.session(BOB.id, TODAY)
    assert session is not None
    first, *others = plan.prescriptions
    more = replace(plan, prescriptions=(first, first, *others))
    done = first.done(TODAY, first.amount, 5, slip=False, pain=0, ended=None)
    bought = (TouchSession(session.id, more), LogSet(session.id, BOB.id, done))
    facts.apply((StartSession(session.id), *bought))
    facts.become(BOB)
    until = (facts.now + UNDO_FOR).isoformat()
    undo = {"at": 0, "until": until, "family": first.family.value, "bought": True}
    state = {**SHORT, "at": 1, "undo": undo, "on": TODAY.isoformat()}
    talk = Talk(today, facts, State(today.NAME, "move", state))
    return facts, plan, talk


def test_the_step_that_a_set_bought_goes_with_it():
    facts, plan, talk = with_bought_step()
    talk.tap("undo")
    assert [item.step for item in plan_of_today(facts).prescriptions] == [
        item.step for item in plan.prescriptions
    ]
    assert facts.history(BOB.id).sets_on(TODAY) == ()


def test_a_pain_in_the_step_that_a_set_bought_is_not_unsaid_with_the_set():
    facts, _, talk = with_bought_step()
    for value in ("hurts", "where=knee", "pain=5", "dull"):
        talk.tap(value)
    spared = plan_of_today(facts)
    talk.tap("undo")
    assert plan_of_today(facts) == spared
    assert len(facts.history(BOB.id).sets_on(TODAY)) == 1


def test_none_left_in_a_fourth_session_is_a_line_for_the_coach():
    facts = trained_bob(sets=3, left=0)
    facts.save(BOB, **{WATCH_ASKED_ON: "2026-05-01"})
    assert news(facts) == ["movement"]
    (line,) = (one for one in facts.applied if isinstance(one, RaiseAlert))
    assert line.why.numbers["why"].code is DoseCode.KEEPS_FAILING


@pytest.mark.parametrize(("before", "now", "told"), [(7, 7, True), (4, 7, False), (7, 4, False)])
def test_two_efforts_over_the_ceiling_are_a_line_for_the_coach(before, now, told):
    facts = trained_bob(sets=1)
    row = facts.unit.session.exec(select(SessionRow)).one()
    effort = SessionEffort(float(before), "session_effort", 30.0)
    row.effort_sealed = seal_effort(facts.unit.encryption, effort)
    facts.become(BOB)
    training = Training(facts, training_status_of(facts.client(BOB.id), facts), None, None)
    changes = news_of_effort(training, float(now))
    assert [one.why.code for one in changes] == ["effort_over_ceiling"] * told


def test_words_and_work_that_do_not_fit_are_a_line_for_the_coach():
    """Told the same at ever more work, which the belief of a slow gain cannot follow."""
    facts = trained_bob()
    last = facts.history(BOB.id).sets[-1]
    first = TODAY - timedelta(days=100)
    sets = [
        replace(
            last,
            on=first + timedelta(days=2 * n),
            demand=last.demand * 1.05 ** max(0, n - 10),
            left=3 + n % 2,
        )
        for n in range(50)
    ]
    facts.trained(BOB)
    capacity, known = facts.capacity(BOB.id), 0
    while capacity.doubted_on is None:
        capacity, known = after_set(capacity, sets[known]), known + 1
    facts.trained(BOB, *sets[: known - 1])
    facts.save(BOB, **{WATCH_ASKED_ON: "2026-05-01"})
    assert news(facts, sets[known - 1]) == ["words_do_not_fit"]
    facts.trained(BOB, *sets[:known])
    assert news(facts, sets[known]) == []
