"""The coach overrules a plan for a time: told, undone, written down, never over a safety rule."""

from datetime import date, timedelta

import pytest

from bot.flows.changes import Audit, SaveCheckin, SaveProfile
from bot.flows.client.checkin_result import judge
from bot.flows.coach.client import overrule
from bot.flows.coach.client.rungs import tops
from bot.flows.facts import Checkin
from bot.flows.record.overrules import day_set, overrules_on
from bot.flows.record.planning import planned, readiness_of
from core.movements.ladder import ladder
from core.vocabulary import DayPlan, Family
from tests.bot.flows.coach.test_coach_walks import practice, trained
from tests.support.facts import BACKUP, BOB, COACH, NOW, STRANGE_COACH, Record
from tests.support.talk import Talk

TODAY = date(2026, 5, 21)
USUAL = {"trouble": "nothing", "sleep": 4, "tiredness": 4, "soreness": 4, "stress": 4, "mood": 4}


def opened(facts: Record) -> Talk:
    talk = Talk(overrule, facts)
    talk.begin(client=str(BOB.id))
    return talk


def told_bob(talk: Talk) -> str:
    return next(out.text for say, out in reversed(talk.said) if say.to == BOB.id)


def checked_in(facts: Record, plan: DayPlan, **answers) -> None:
    morning = Checkin(TODAY, answers, finished=True, signs_asked_at=NOW, day_plan=plan)
    facts.checked_in(BOB, morning)


def eased(facts: Record, **answers) -> None:
    """A day that the morning's score alone has eased, unless the answers say more."""
    checked_in(facts, DayPlan.EASE_OFF, **{**USUAL, **answers})


def test_a_day_that_only_the_score_eased_goes_as_planned_and_back():
    facts = practice(COACH)
    facts.alerted()
    eased(facts)
    talk = opened(facts)
    talk.tap("as_planned")

    assert facts.checkin(BOB.id, TODAY).day_plan == DayPlan.AS_PLANNED
    record = facts.client(BOB.id)
    judged = readiness_of(record, facts.checkin(BOB.id, TODAY), facts)
    assert judged.plan is DayPlan.AS_PLANNED
    assert "today you can train as planned" in told_bob(talk)
    assert any(isinstance(one, Audit) and one.what == "overruled" for one in facts.applied)

    talk = opened(facts)
    talk.tap("undo")
    assert facts.checkin(BOB.id, TODAY).day_plan == DayPlan.EASE_OFF
    assert "took back" in told_bob(talk)


@pytest.mark.parametrize(
    "answers",
    [
        {"trouble": "pain", "pain_place": "knee", "pain_level": 4},
        {"trouble": "ill", "ill_kind": "above_neck"},
        {"pressure": "165/95"},
    ],
    ids=["pain", "illness", "pressure"],
)
def test_a_day_that_a_rule_has_eased_stays_so(answers):
    facts = practice(COACH)
    facts.alerted()
    eased(facts, **answers)
    record = facts.client(BOB.id)
    judged = readiness_of(record, facts.checkin(BOB.id, TODAY), facts)
    talk = opened(facts)
    talk.tap("as_planned")

    assert judged.absolute_rules or judged.ill
    assert not [one for one in facts.applied if isinstance(one, SaveCheckin)]
    assert "a rule for safety made it so" in talk.text


def test_nothing_is_put_back_while_an_alert_is_open():
    facts = practice(COACH)
    eased(facts)
    talk = opened(facts)

    assert "No plan goes out now" in talk.text
    talk.tap("as_planned")
    assert facts.checkin(BOB.id, TODAY).day_plan == DayPlan.EASE_OFF


def test_a_day_eased_before_the_check_in_is_eased_by_it():
    facts = practice(COACH)
    facts.alerted()
    talk = opened(facts)
    talk.tap("ease_today")
    assert "has made today an easy day" in told_bob(talk)

    facts.become(BOB)
    judged = judge(TODAY, USUAL, facts)
    assert judged.plan is DayPlan.EASE_OFF
    assert judged.reasons[0].code == "coach_eased"


def test_easing_tomorrow_leaves_today_eased_and_is_taken_back_by_itself():
    facts = practice(COACH)
    facts.alerted()
    opened(facts).tap("ease_today")
    opened(facts).tap("ease_tomorrow")
    tomorrow = TODAY + timedelta(days=1)
    record = facts.client(BOB.id)
    assert day_set(record, TODAY) is day_set(record, tomorrow) is DayPlan.EASE_OFF

    opened(facts).tap("skip")
    talk = opened(facts)
    talk.tap("plain_tomorrow")

    record = facts.client(BOB.id)
    assert (day_set(record, TODAY), day_set(record, tomorrow)) == (DayPlan.EASE_OFF, None)
    assert "took back the easy day on" in told_bob(talk)


def test_a_movement_is_left_out_until_its_day_and_no_longer():
    facts = practice(COACH)
    trained(facts)
    facts.alerted()
    talk = opened(facts)
    for tapped in ("skip", "family~squat", "until~week"):
        talk.tap(tapped)
    assert "leaves out" in told_bob(talk)

    record = facts.client(BOB.id)
    assert record.client.limits.skipped == {Family.SQUAT}
    plan = planned(record, facts.checkin(BOB.id, TODAY), facts)
    assert Family.SQUAT not in {one.family for one in plan.prescriptions}
    kept = facts.session(BOB.id, TODAY).plan
    assert Family.SQUAT not in {one.family for one in kept.prescriptions}, "today's is made anew"

    assert list(overrules_on(record.answers, date(2026, 5, 27)))
    assert not list(overrules_on(record.answers, date(2026, 5, 28)))


def test_a_picked_move_is_taken_where_the_rules_allow_and_only_there():
    facts = practice(COACH)
    trained(facts)
    facts.alerted()
    before = planned(facts.client(BOB.id), facts.checkin(BOB.id, TODAY), facts)
    squat = next(one for one in before.prescriptions if one.family is Family.SQUAT)
    client, catalogue = facts.client(BOB.id).client, facts.reference.catalogue
    easiest: dict[str, float] = {}
    for one in ladder(client, Family.SQUAT, catalogue, TODAY):
        easiest.setdefault(one.rung, one.demand)
    hardest = max(easiest, key=easiest.__getitem__)
    assert easiest[hardest] > squat.step.demand * 1.15
    talk = opened(facts)
    talk.tap("fix")
    talk.tap("family~squat")
    talk.tap(f"rung~{hardest}")
    talk.tap("until~fortnight")
    assert "has picked a move for you" in told_bob(talk)

    plan = planned(facts.client(BOB.id), facts.checkin(BOB.id, TODAY), facts)
    now = next(one for one in plan.prescriptions if one.family is Family.SQUAT)
    assert now.step.demand <= squat.step.demand * 1.15, "never beyond the largest rise"
    assert now.step.rung != hardest
    assert "Today the rules keep it out" in anew_note(facts, talk)

    hinge = next(one for one in before.prescriptions if one.family is Family.HINGE)
    within = [
        one.step_key.partition("@")[0]
        for one in hinge.considered
        if one.predicted_left is not None and one.predicted_left >= hinge.left_target[0]
    ]
    other = next(one for one in reversed(within) if one != hinge.step.rung)
    talk = opened(facts)
    for tapped in ("fix", "family~hinge", f"rung~{other}", "until~day"):
        talk.tap(tapped)
    plan = planned(facts.client(BOB.id), facts.checkin(BOB.id, TODAY), facts)
    now = next(one for one in plan.prescriptions if one.family is Family.HINGE)
    assert now.step.rung == other
    assert now.reasons[0].code == "fixed_by_coach"


def squat_of(facts: Record):
    plan = planned(facts.client(BOB.id), facts.checkin(BOB.id, TODAY), facts)
    return next(one for one in plan.prescriptions if one.family is Family.SQUAT)


def test_a_ceiling_holds_until_its_day_is_told_and_undone_by_one_tap():
    facts = practice(COACH)
    trained(facts)
    facts.alerted()
    before = squat_of(facts)
    talk = opened(facts)
    talk.tap("ceiling")
    talk.tap("family~squat")
    easier = next(iter(tops(facts.client(BOB.id), Family.SQUAT, facts)))
    talk.tap(f"rung~{easier}")
    talk.tap("until~week")

    assert "Nothing harder than this comes" in told_bob(talk)
    most = tops(facts.client(BOB.id), Family.SQUAT, facts)[easier]
    assert facts.client(BOB.id).client.limits.ceilings == {Family.SQUAT: most}
    assert squat_of(facts).step.demand <= most
    assert Audit(BOB.id, "overruled", f"ceiling:squat:{easier}:2026-05-27") in facts.applied
    later = list(overrules_on(facts.client(BOB.id).answers, date(2026, 5, 28)))
    assert not later
    talk = opened(facts)
    assert "no harder than" in talk.text
    talk.tap("undo")
    assert not facts.client(BOB.id).client.limits.ceilings
    assert squat_of(facts).step == before.step


def test_a_floor_never_takes_what_must_stay_in_hand_and_gives_way_on_an_eased_day():
    facts = practice(COACH)
    trained(facts)
    facts.alerted()
    before = squat_of(facts)
    rungs: dict[str, float] = {}
    client, catalogue = facts.client(BOB.id).client, facts.reference.catalogue
    for one in ladder(client, Family.SQUAT, catalogue, TODAY):
        rungs[one.rung] = min(one.demand, rungs.get(one.rung, one.demand))
    hardest = max(rungs, key=rungs.__getitem__)
    talk = opened(facts)
    for tapped in ("floor", "family~squat", f"rung~{hardest}", "until~week"):
        talk.tap(tapped)
    assert "a bit more" in told_bob(talk)
    now = squat_of(facts)
    assert now.step.demand <= before.step.demand * 1.15
    assert now.predicted_left >= min(now.left_target[0], before.predicted_left)
    checked_in(facts, DayPlan.EASE_OFF, **USUAL)
    assert squat_of(facts).step.demand <= before.step.demand


def anew_note(facts: Record, talk: Talk) -> str:
    (begin,) = talk.turn.begin
    page = Talk(overrule, facts)
    page.begin(**begin.args)
    return page.text


@pytest.mark.parametrize(("coach", "allowed"), [(BACKUP, True), (STRANGE_COACH, False)])
def test_only_who_looks_after_the_client_overrules(coach, allowed):
    talk = opened(practice(coach))
    assert (talk.state is not None) is allowed


def test_what_is_set_while_an_alert_is_open_is_kept_and_the_client_hears_nothing_of_it():
    facts = practice(COACH)
    talk = opened(facts)
    easier = ladder(facts.client(BOB.id).client, Family.SQUAT, facts.reference.catalogue, TODAY)[0]
    for value in ("ceiling", "family~squat", f"rung~{easier.rung}", "until~week"):
        talk.tap(value)
    assert [one for one in facts.applied if isinstance(one, SaveProfile)]
    assert not [say for say, _ in talk.said if say.to == BOB.id]
    assert talk.turn.begin[0].args["note"] == "untold"
