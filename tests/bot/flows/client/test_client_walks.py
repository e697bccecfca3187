"""Random walks through the client's home test, "How hard to work" and monthly question.

All words render, all buttons answer, and nothing is measured of somebody who may not train.
"""

import random
from collections.abc import Mapping
from typing import Any

import pytest

from bot.flows.changes import RaiseAlert, SaveProfile, WithdrawClearance
from bot.flows.client import health_change, home_test, how_hard
from bot.flows.facts import Checkin
from bot.flows.machine import Event, EventKind, Turn
from bot.flows.record.home_test_record import DONE
from core.client.home_test_care import can_be
from core.client.home_tests import HomeTest
from core.vocabulary import DayPlan
from tests.support.facts import BOB, NOW, Record
from tests.support.joined import with_bob
from tests.support.talk import Talk

TODAY = BOB.local(NOW).date()
TYPED = ("12", "6.5", "999", "-3", "hm", "yes", "no", "stop", "later", "?!", "x" * 900, "0")

LEAVING = ("later", "rather_not", "stop", "unwell", "alone")


def bob(
    *, plan: DayPlan = DayPlan.AS_PLANNED, asked: HomeTest | None = None, **profile: Any
) -> Record:
    """Bob is cleared and has checked in just now; a test may wait for him."""
    facts = with_bob(Record(BOB))
    facts.save(BOB, cleared_by="Robin", cleared_on="2026-05-01", **profile)
    facts.cleared(BOB)
    if asked is not None:
        facts.save(BOB, home_test_asked={"test": asked, "at": NOW.isoformat()})
    facts.checked_in(BOB, Checkin(TODAY, {"trouble": "nothing"}, True, NOW, 75.0, plan.value))
    return facts


def wander(talk: Talk, chance: random.Random, steps: int) -> list[Turn]:
    """Taps, typed words and being woken, until the conversation ends."""
    turns = []
    for _ in range(steps):
        if talk.state is None:
            break
        buttons = [one for one in talk.buttons() if not one.handler]
        throw = chance.random()
        onward = [one for one in buttons if one.value not in LEAVING]
        if buttons and throw < 0.7:
            among = onward if onward and chance.random() < 0.9 else buttons
            turns.append(talk.tap(chance.choice(among).value))
        elif throw < 0.9:
            turns.append(talk.type(chance.choice(TYPED)))
        elif throw < 0.95:
            turns.append(talk.resume())
        else:
            turns.append(woken(talk))
    return turns


def woken(talk: Talk) -> Turn:
    """The moment that the conversation asked to be woken at has come."""
    assert talk.state is not None
    turn = talk.flow.step(talk.state, Event(EventKind.DUE, cause="test"), talk.facts)
    talk.facts.apply(turn.changes)
    talk.state = turn.state
    return turn


def results(turns: list[Turn]) -> list[Mapping[str, Any]]:
    """The results that were kept on the way."""
    return [
        change.answers[DONE][-1]
        for turn in turns
        for change in turn.changes
        if isinstance(change, SaveProfile) and DONE in change.answers
    ]


@pytest.mark.parametrize("test", HomeTest)
def test_whatever_is_tapped_or_typed_a_kept_result_can_be_true(test: HomeTest):
    kept = []
    for seed in range(25):
        talk = Talk(home_test, bob(asked=test))
        talk.begin()
        kept += results(wander(talk, random.Random(seed), 60))
    assert kept
    assert all(can_be(test, one["result"]) and one["test"] == test for one in kept)


@pytest.mark.parametrize("test", HomeTest)
@pytest.mark.parametrize("why", ["hold", "rest", "ease_off", "not_cleared", "no_checkin"])
def test_nothing_is_measured_of_somebody_who_may_not_train_now(test: HomeTest, why: str):
    for seed in range(10):
        plan = DayPlan(why) if why in ("rest", "ease_off") else DayPlan.AS_PLANNED
        facts = bob(asked=test, plan=plan)
        if why == "hold":
            facts.held(BOB, "dizziness")
        if why == "not_cleared":
            facts.cleared(BOB, yes=False)
        if why == "no_checkin":
            facts.checked_in(BOB)
        talk = Talk(home_test, facts)
        talk.begin()
        assert not results(wander(talk, random.Random(seed), 50))


def test_a_hold_in_the_middle_of_a_test_ends_it_without_a_result():
    for seed in range(40):
        talk = Talk(home_test, bob(asked=HomeTest.CHAIR_STAND))
        talk.begin()
        for value in ("go_on", "both", "ready"):
            talk.tap(value)
        assert talk.step == "count"
        talk.facts.held(BOB, "dizziness")
        assert not results(wander(talk, random.Random(seed), 30))


def test_a_test_that_nobody_asked_for_cannot_be_begun():
    talk = Talk(home_test, bob())
    talk.begin(test="chair_stand")
    assert talk.state is None


@pytest.mark.parametrize(
    "profile",
    [
        {"medicines": ["beta_blocker"]},
        {"medicines": ["reliever_inhaler"]},
        {"medicines": ["theophylline", "insulin"]},
        {"medicines": [], "conditions": ["pacemaker"]},
        {"medicines": [], "medicine_changed_on": "2026-05-10"},
        {"medicines": ["levothyroxine"], "medicine_changed_on": "2026-04-25"},
    ],
)
def test_how_hard_renders_for_every_pulse_and_never_ends_what_is_open(profile: dict[str, Any]):
    facts = bob(**profile)
    for seed in range(10):
        talk = Talk(how_hard, facts)
        talk.begin()
        for turn in wander(talk, random.Random(seed), 20):
            assert turn.quiet
            assert not turn.changes


def test_the_monthly_question_ends_the_clearance_only_for_what_asks_for_it():
    """A new dose eases; all other changes are the coach's to judge."""
    for change in health_change.CHANGED:
        talk = Talk(health_change, bob())
        talk.begin()
        turn = talk.tap(change)
        ended = [one for one in turn.changes if isinstance(one, WithdrawClearance)]
        assert bool(ended) is (change != "new_dose")
        assert [one for one in turn.changes if isinstance(one, RaiseAlert)]


def test_the_monthly_question_may_be_answered_in_any_way():
    for seed in range(40):
        talk = Talk(health_change, bob())
        talk.begin()
        wander(talk, random.Random(seed), 12)
