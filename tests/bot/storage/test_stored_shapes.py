"""What is stored as JSON: rows of earlier versions are read, and keep their keys when written anew.

The stored values below are written out as version 0.1 wrote them.
"""

import json
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from sqlmodel import select

from bot.flows.changes import RaiseAlert, SaveCheckin, SavePlan
from bot.flows.reasons import Reason
from bot.flows.record.home_test_record import tests_of as results_of
from bot.json_values import from_json, to_json
from bot.messages import Incoming, IncomingKind, Outgoing, ReplyButton
from bot.storage import people
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.facts import StoreFacts
from bot.storage.stored_plan import plan_of, stored_plan
from bot.storage.tables import AlertRow, CheckinRow, ClientRow, CoachRow, SessionRow
from core.client.home_tests import HomeTest
from core.dose.history import Unit
from core.dose.home_test_word import HomeTestDone
from core.dose.prescription import (
    Considered,
    DoseCode,
    DoseReason,
    EffortWords,
    LeftOut,
    Prescription,
    SessionPlan,
    TalkTest,
)
from core.movements.ladder import LadderStep
from core.readiness.reasons import DayReason, DayReasonCode
from core.vocabulary import AlertLevel, DayPlan, Family, Kit, PersonId, Role, Sign, Spare
from tests.doubles.store import store_at
from tests.support.facts import reference
from tests.support.joined import PLAIN

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
TODAY = date(2026, 3, 2)

STORED_PUSH = {
    "family": "push",
    "rung": "push_wall",
    "setting": [["distance", 2.0], ["tempo", "slow"]],
    "key": "push_wall@distance=2,tempo=slow",
    "demand": 11.053023713890953,
    "step_unit": "reps",
    "needs": ["wall"],
    "stresses": ["elbow", "shoulder", "wrist"],
    "hole_above": 1.4,
    "sets": 2,
    "low": 15,
    "high": 20,
    "amount": 19,
    "unit": "reps",
    "stop_at_left": 3,
    "left_target": [3, 4],
    "predicted_left": 3.7120120353235357,
    "effort": "somewhat_tiring",
    "talk_test": "full_sentences",
    "reasons": [
        {"code": "step_up", "numbers": {"percent": 8}},
        {"code": "careful_condition", "numbers": {}},
    ],
    "day_shift": -0.02,
    "eased": False,
    "tell_coach": True,
}
STORED_PLAN = {
    "day": "ease_off",
    "items": [STORED_PUSH],
    "left_out": [{"family": "squat", "reason": {"code": "no_kit", "numbers": {}}}],
    "reasons": [{"code": "short_of_time", "numbers": {"minutes": 15}}],
    "minutes": 38,
    "warm_up_minutes": 10,
    "cool_down_minutes": 10,
    "slow_stand_ups": True,
}

PUSH = Prescription(
    family=Family.PUSH,
    step=LadderStep(
        family=Family.PUSH,
        rung="push_wall",
        setting=(("distance", 2.0), ("tempo", "slow")),
        demand=11.053023713890953,
        unit="reps",
        needs=(Kit.WALL,),
        stresses=frozenset({Spare.ELBOW, Spare.SHOULDER, Spare.WRIST}),
        hole_above=1.4,
    ),
    sets=2,
    low=15,
    high=20,
    amount=19,
    unit=Unit.REPS,
    stop_at_left=3,
    left_target=(3, 4),
    predicted_left=3.7120120353235357,
    effort=EffortWords.SOMEWHAT_TIRING,
    talk_test=TalkTest.FULL_SENTENCES,
    reasons=(
        DoseReason(DoseCode.STEP_UP, {"percent": 8}),
        DoseReason(DoseCode.CAREFUL_CONDITION),
    ),
    day_shift=-0.02,
    tell_coach=True,
)
PLAN = SessionPlan(
    day=DayPlan.EASE_OFF,
    prescriptions=(PUSH,),
    left_out=(LeftOut(Family.SQUAT, DoseReason(DoseCode.NO_KIT)),),
    reasons=(DoseReason(DoseCode.SHORT_OF_TIME, {"minutes": 15}),),
    minutes=38,
    warm_up_minutes=10,
    cool_down_minutes=10,
    slow_stand_ups=True,
)
ASKED = ({**STORED_PLAN, "asked": {"push": STORED_PUSH}}, replace(PLAN, asked={Family.PUSH: PUSH}))


@pytest.fixture
def store(tmp_path):
    database = store_at(tmp_path / "store.sqlite3")
    yield database
    database.close()


@pytest.fixture
def client(store) -> PersonId:
    def add(unit):
        coach = people.add_person(unit, Role.COACH, "Rua", NOW)
        unit.session.add(CoachRow(person_id=coach))
        client = people.add_person(unit, Role.CLIENT, "Bob", NOW)
        unit.session.flush()
        sealed = unit.encryption.encrypt_json(PLAIN)
        unit.session.add(ClientRow(person_id=client, coach_id=coach, profile_sealed=sealed))
        unit.commit()
        return client

    return store.run_now(add)


def asked(store, client, question):
    """An answer of the store's facts."""
    return store.run_now(
        lambda unit: question(StoreFacts(unit, people.get_person(unit, client), NOW, reference()))
    )


def written(store, client, change, table, column):
    """The column that a change wrote, decrypted where it is sealed."""

    def apply(unit):
        apply_all(Applying(unit, client, NOW, str), [change])
        unit.commit()
        row = unit.session.exec(select(table)).one()
        text = getattr(row, column)
        return json.loads(unit.encryption.decrypt(text) if column.endswith("_sealed") else text)

    return store.run_now(apply)


@pytest.mark.parametrize(("stored", "plan"), [(STORED_PLAN, PLAN), ASKED])
def test_a_plan_of_before_is_read_and_keeps_its_shape(stored, plan):
    assert plan_of(stored) == plan
    assert json.loads(json.dumps(stored_plan(plan))) == stored


def test_whole_numbers_and_parts_stay_what_they_were():
    """A sentence must not say "8.0 percent"; 8 == 8.0, so the texts are compared."""
    assert json.dumps(stored_plan(plan_of(STORED_PLAN)), sort_keys=True) == json.dumps(
        STORED_PLAN, sort_keys=True
    )


def test_what_was_looked_at_is_not_stored():
    looked = replace(PUSH, considered=(Considered("push_wall", 9.0, None, 4.0),))
    plan = replace(PLAN, prescriptions=(looked,), asked={Family.PUSH: looked})

    assert json.loads(json.dumps(stored_plan(plan))) == ASKED[0]


def test_a_row_without_a_plan_has_none():
    assert plan_of({}) is None


def test_a_plan_with_an_unknown_movement_is_refused():
    with pytest.raises(ValueError, match="family"):
        plan_of({**STORED_PLAN, "items": [{**STORED_PUSH, "family": "juggling"}]})


def test_a_kept_plan_comes_back_from_the_store(store, client):
    assert written(store, client, SavePlan(client, TODAY, PLAN), SessionRow, "plan_sealed") == (
        STORED_PLAN
    )
    session = asked(store, client, lambda facts: facts.session(client, TODAY))
    assert session.plan == PLAN
    (listed,) = asked(store, client, lambda facts: facts.sessions(client, 7))
    assert listed == replace(session, plan=None)


def test_an_alert_of_before_is_read_with_words_and_reasons(store, client):
    stored = [
        "it went off",
        {"group": "coach", "code": "pain", "numbers": {"where": "knee", "level": 6}},
        {
            "group": "coach",
            "code": "movement",
            "numbers": {
                "family": "push",
                "why": {"code": "pain_stop_movement", "numbers": {"pain": 6}},
            },
        },
    ]
    why = DoseReason(DoseCode.PAIN_STOP_MOVEMENT, {"pain": 6})
    words = (
        "it went off",
        Reason("coach", "pain", {"where": "knee", "level": 6}),
        Reason("coach", "movement", {"family": "push", "why": why}),
    )

    def add(unit):
        sealed = unit.encryption.encrypt_json(stored)
        row = AlertRow(
            client_id=client,
            level="mention",
            told_sealed=unit.encryption.encrypt_json({"signs": ["new_pain"]}),
            words_sealed=sealed,
            raised_at=NOW,
            newest_sign_at=NOW,
        )
        unit.session.add(row)
        unit.commit()

    store.run_now(add)
    (alert,) = asked(store, client, lambda facts: facts.alerts((client,), 7))

    assert alert.words == words
    assert [type(one.numbers["level"]) for one in alert.words[1:2]] == [int]


def test_a_raised_alert_is_written_with_its_words_and_its_reason(store, client):
    why = DoseReason(DoseCode.STEP_UP_HOLE)
    told = Reason("coach", "movement", {"family": "push", "why": why})
    raised = RaiseAlert(client, AlertLevel.MENTION, (Sign.NEW_PAIN,), "ouch", why=told, holds=False)

    assert written(store, client, raised, AlertRow, "words_sealed") == [
        "ouch",
        {
            "group": "coach",
            "code": "movement",
            "numbers": {"family": "push", "why": {"code": "step_up_hole", "numbers": {}}},
        },
    ]


def test_the_reasons_of_a_morning_are_kept_without_their_weight(store, client):
    reasons = (
        DayReason(DayReasonCode.SLEEP_LOW, {"answer": 2, "usual": 4.1}, 3.0),
        DayReason(DayReasonCode.DOSE_CHANGED),
    )
    morning = SaveCheckin(client, TODAY, {}, finished=True, reasons=reasons)

    assert written(store, client, morning, CheckinRow, "result_sealed")["reasons"] == [
        {"code": "sleep_low", "numbers": {"answer": 2, "usual": 4.1}},
        {"code": "dose_changed", "numbers": {}},
    ]
    kept = asked(store, client, lambda facts: facts.checkin(client, TODAY))
    assert kept.reasons == (replace(reasons[0], weight=0.0), reasons[1])


def test_a_message_of_before_is_read_and_keeps_its_shape():
    stored = {
        "text": "How did you sleep?",
        "choices": [[{"label": "Well", "value": "c:1:4"}], []],
        "picture": "",
        "picture_text": "",
        "document": "",
        "asks_contact": False,
    }
    message = Outgoing("How did you sleep?", choices=((ReplyButton("Well", "c:1:4"),), ()))

    assert from_json(Outgoing, stored) == message
    # What is new stands beside it: a program of before leaves out what it does not know.
    now = {**stored, "choices": [[{"label": "Well", "value": "c:1:4", "copies": ""}], []]}
    assert to_json(message) == now
    copies = {**now, "choices": [[{"label": "Copy", "value": "copy", "copies": "https://x.test"}]]}
    assert to_json(from_json(Outgoing, copies)) == copies


def test_a_home_test_of_before_is_read_and_keeps_its_shape():
    stored = {"test": "chair_stand", "on": "2026-03-02", "result": 11.0, "arms_used": True}
    done = HomeTestDone(HomeTest.CHAIR_STAND, TODAY, 11.0, arms_used=True)

    assert results_of({"home_tests": [stored]}) == [done]
    assert to_json(done) == stored
    assert results_of({}) == []


def test_an_arrival_of_before_is_read():
    stored = {
        "channel": "telegram",
        "address": "501",
        "update_id": "7001",
        "kind": "tap",
        "text": "",
        "tap": "c:1:4",
        "message_id": "11",
        "received_at": "2026-03-02T08:00:00+00:00",
    }
    arrival = Incoming("telegram", "501", "7001", IncomingKind.TAP, "", "c:1:4", "11", NOW)

    assert from_json(Incoming, stored) == arrival
    assert to_json(arrival).keys() == stored.keys()
    assert from_json(Incoming, to_json(arrival)) == arrival
