"""What a coach does: clearing, lifting, alerts, correcting, limits, inviting, her own settings."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, time, timedelta
from typing import Any

import pytest

from bot.flows.changes import (
    Audit,
    ClearToStart,
    CoachDid,
    MakeInvitation,
    MarkSeen,
    PlaceHold,
    SaveProfile,
    SetBackup,
    SetDigest,
    SetPerson,
)
from bot.flows.coach.alerts import buttons as alert_handler
from bot.flows.coach.alerts import hold as coach_hold
from bot.flows.coach.client import clearing as coach_start
from bot.flows.coach.client import correct as coach_correct
from bot.flows.coach.client import open_card as coach_client
from bot.flows.coach.client import rungs as coach_rungs
from bot.flows.coach.client_state import ClientState, StateReason, client_states, state_of
from bot.flows.coach.practice import invite as coach_invite
from bot.flows.coach.practice import join as coach_join
from bot.flows.coach.practice import rebind as coach_rebind
from bot.flows.facts import Checkin
from core.dose.prior import starting_point
from core.vocabulary import AlertId, AlertLevel, DayPlan, Family, Role, Sign
from tests.bot.flows.coach.test_coach_walks import alert, practice
from tests.support.dose_cases import squat_set
from tests.support.facts import ANN, BACKUP, BOB, COACH, NOW, Record
from tests.support.joined import with_bob
from tests.support.talk import Talk

BOBS = str(BOB.id)
TODAY = date(2026, 5, 21)
"""Bob's date at the tests' moment: 21:00 UTC is the next morning in New Zealand."""


def of(changes, kind):
    return [change for change in changes if isinstance(change, kind)]


def cleared_bob(facts: Record) -> Record:
    facts.save(BOB, cleared_by="Robin", cleared_on="2026-05-01")
    facts.cleared(BOB)
    return facts


def checkin(on: date, plan: DayPlan = DayPlan.AS_PLANNED) -> Checkin:
    return Checkin(on, {}, finished=True, signs_asked_at=NOW, score=80.0, day_plan=plan)


def test_clearing_asks_for_name_and_number_then_whose_word_then_until_when():
    talk = Talk(coach_start, with_bob(Record(COACH)))
    talk.begin(client=BOBS)

    assert "Emergency number: 111 (New Zealand)" in talk.text

    talk.choose("right")

    assert "A doctor's word is needed first" in talk.text

    talk.type("Dr Singh, by letter")

    assert "Of which day is that word?" in talk.text

    talk.type("3 March 2024")

    assert talk.step == "word_on"

    talk.type("3 March 2026")

    assert "Strength of Bob: as usual for the age." in talk.text

    talk.choose("less_fit")

    assert "Strength of Bob: less fit than usual for the age." in talk.text

    talk.choose("6")

    assert of(talk.turn.changes, ClearToStart) == [
        ClearToStart(BOB.id, TODAY + timedelta(days=182))
    ]
    given = {
        "doctor_word": "Dr Singh, by letter",
        "doctor_word_on": "2026-03-03",
        "fitness": "less_fit",
    }
    assert SaveProfile(BOB.id, given) in talk.turn.changes
    assert BOB.id in {say.to for say in talk.turn.says}


def test_without_a_doctors_word_where_the_rules_ask_for_one_a_second_tap_is_needed():
    talk = Talk(coach_start, with_bob(Record(COACH)))
    talk.begin(client=BOBS)
    talk.choose("right")
    talk.choose("own")

    assert talk.step == "sure"
    assert not talk.facts.is_cleared(BOB)

    talk.choose("sure")
    talk.type("fit")
    talk.choose("12")

    assert of(talk.turn.changes, ClearToStart)
    assert Audit(BOB.id, "own_decision") in talk.turn.changes


@pytest.mark.parametrize(
    ("typed", "word", "on"),
    [
        ("Dr Singh, by letter, today", "Dr Singh, by letter", TODAY),
        ("Dr Singh, by phone, 3 March 2026", "Dr Singh, by phone", date(2026, 3, 3)),
        ("Dr Singh yesterday", "Dr Singh", TODAY - timedelta(days=1)),
        ("Dr Singh, by letter", "Dr Singh, by letter", None),
        ("Dr Singh, by letter, 3 March 2024", "Dr Singh, by letter", None),
        ("Dr Singh, by letter, 3 March 2031", "Dr Singh, by letter", None),
        ("Dr Singh, ward 3", "Dr Singh, ward 3", None),
    ],
)
def test_word_and_day_may_be_typed_in_one_line(typed: str, word: str, on: date | None):
    talk = Talk(coach_start, with_bob(Record(COACH)))
    talk.begin(client=BOBS)
    talk.choose("right")
    talk.type(typed)
    if on is None:
        assert talk.step == "word_on", "the day is asked for"
        on = TODAY
        talk.choose("today")
    assert talk.step == "until"
    talk.choose("12")
    given = facts_of(talk)
    assert (given["doctor_word"], given["doctor_word_on"]) == (word, on.isoformat())
    assert given["fitness"] == "usual"


def facts_of(talk: Talk) -> Mapping[str, Any]:
    return talk.facts.answers(BOB)


def test_a_clearing_kept_at_the_step_that_strength_once_had_goes_on():
    talk = Talk(coach_start, with_bob(Record(COACH)))
    talk.begin(client=BOBS)
    talk.choose("right")
    talk.type("Dr Singh, by letter, today")
    assert talk.state is not None
    talk.state = replace(talk.state, step="fitness")
    talk.tap("fitness~fitter")
    talk.type("fitter")
    talk.choose("6")
    assert facts_of(talk)["fitness"] == "fitter"


def test_a_double_tap_while_clearing_skips_no_step():
    talk = Talk(coach_start, with_bob(Record(COACH)))
    talk.begin(client=BOBS)
    talk.tap("identity~right")
    talk.tap("word~own")
    talk.tap("word~own")

    assert talk.step == "sure"


def test_strength_is_asked_once_and_not_of_somebody_who_has_trained():
    facts = with_bob(Record(COACH))
    facts.trained(BOB, squat_set(0.3))
    trained = Talk(coach_start, facts)
    trained.begin(client=BOBS)
    trained.choose("right")
    trained.type("Dr Singh, by letter")
    trained.choose("today")

    assert trained.step == "until"

    facts.trained(BOB)
    facts.save(BOB, fitness="fitter")
    trained.choose("12")
    again = Talk(coach_start, facts)
    again.begin(client=BOBS)
    again.type("Dr Singh, by letter")
    again.choose("today")

    assert again.step == "until"
    assert facts.answers(BOB)["fitness"] == "fitter"


def test_nobody_is_cleared_for_more_than_a_year():
    talk = Talk(coach_start, with_bob(Record(COACH)))
    talk.begin(client=BOBS)
    talk.choose("right")
    talk.type("Dr Singh, by letter")
    talk.choose("today")
    talk.type("3 March 2029")

    assert talk.step == "until"
    assert not talk.turn.changes


def test_nobody_is_cleared_before_all_questions_are_answered():
    talk = Talk(coach_start, practice(COACH))
    talk.begin(client=str(ANN.id))

    assert talk.state is None
    assert not talk.turn.changes


def test_a_tap_on_seen_ends_the_chase_and_the_client_hears_that_it_brings_no_help():
    facts = practice(COACH)
    turn = alert_handler.tap("1", "seen", facts)

    assert turn.changes == (MarkSeen(AlertId(1)),)
    assert [(say.template, say.to) for say in turn.says] == [
        ("coach/alert_seen", None),
        ("coach/seen_by_other", BACKUP.id),
        ("safety/coach_seen", BOB.id),
    ]


def test_the_client_is_told_once_whoever_sees_it_next():
    facts = practice(COACH)
    facts.apply(alert_handler.tap("1", "seen", facts).changes)
    facts.become(BACKUP)
    turn = alert_handler.tap("1", "seen", facts)

    assert not turn.changes
    assert len(turn.says) == 1


def test_nothing_is_said_on_the_phone_of_somebody_who_is_not_safe_at_home():
    facts = practice(COACH)
    facts.alerted(alert(5, AlertLevel.URGENT, Sign.ABUSE))
    turn = alert_handler.tap("5", "called", facts)

    assert of(turn.changes, MarkSeen)
    assert all(say.to != BOB.id for say in turn.says)


def test_calling_the_client_counts_as_having_seen_it():
    turn = alert_handler.tap("1", "doctor", practice(COACH))

    assert of(turn.changes, MarkSeen)
    assert of(turn.changes, CoachDid)[0].what == "sent_to_doctor"


def test_lift_and_card_open_their_conversations_about_the_right_client():
    for value, flow in (("lift", "coach_lift"), ("card", "coach_client")):
        (begin,) = alert_handler.tap("1", value, practice(COACH)).begin

        assert (begin.flow, begin.args["client"]) == (flow, BOBS)


def test_every_look_at_a_card_is_written_down():
    talk = Talk(coach_client, practice(COACH))
    talk.begin(client=BOBS)
    pages = ["card"]
    for page in ("answers", "section~health", "limits", "record", "notes", "load", "tests", "more"):
        talk.tap(page)
        pages.append(page)
        assert talk.turn.changes == (Audit(BOB.id, "card_read", page),)

    assert len(of(talk.facts.applied, Audit)) == len(pages)


def test_the_card_says_what_matters():
    talk = Talk(coach_client, with_bob(Record(COACH)))
    talk.begin(client=BOBS)

    for part in (
        "needs you",
        "Emergency: 111 (New Zealand), not checked by you yet",
        "021 555 123",
        "coronary heart disease; high blood pressure",
        "NOT cleared to start",
    ):
        assert part in talk.text

    talk.tap("about")

    for part in (
        "Man born 1948",
        "Tom, my son 021 555 999",
        "Beta blocker",
        "Pulse: hidden because of beta blocker",
    ):
        assert part in talk.text


def test_the_coach_corrects_an_answer_and_it_is_written_down_as_hers():
    facts = cleared_bob(with_bob(Record(COACH)))
    talk = Talk(coach_correct, facts)
    talk.begin(client=BOBS, key="phone")

    assert "Bob: Phone" in talk.text
    assert "Now: 021 555 123" in talk.text

    talk.type("021 000 111")

    assert facts.answers(BOB)["phone"] == "+6421000111"
    assert Audit(BOB.id, "answer_corrected", "phone") in talk.turn.changes
    assert talk.turn.begin[0].args["page"] == "section~you"


def test_a_corrected_condition_asks_what_it_opens():
    facts = with_bob(Record(COACH))
    talk = Talk(coach_correct, facts)
    talk.begin(client=BOBS, key="conditions_heart")
    talk.choose("pacemaker")
    talk.choose("done")

    assert talk.step == "pacemaker_on"

    talk.choose("longer")

    assert facts.answers(BOB)["conditions"] == ["heart", "pacemaker", "pressure"]
    assert facts.answers(BOB)["pacemaker_on"] == "2026-04-09"


def test_the_coach_corrects_a_replaced_joint_and_reads_it_in_words():
    facts = with_bob(Record(COACH))
    facts.save(BOB, conditions=["joint_replacement"], replaced_joints=["other joint"])
    talk = Talk(coach_correct, facts)
    talk.begin(client=BOBS, key="replaced_joints")
    assert "Now: another joint" in talk.text.replace("Another", "another")

    talk.type("left ankle, March 2019")
    talk.choose("other joint")
    talk.choose("done")

    (kept,) = facts.answers(BOB)["replaced_joints"]
    assert (kept["joint"], kept["side"], kept["on"]) == ("ankle", "left", "2019-03")

    # Word for word what the surgeon allows, where the profile holds it.
    kept["limits"] = {"bend_degrees": 20.0, "kneeling": False, "until": "2026-06-01"}
    facts.save(BOB, replaced_joints=[kept])
    talk = Talk(coach_client, facts)
    talk.begin(client=BOBS)
    assert "Operations: left ankle, March 2019, bends to 20°" in talk.text
    talk.tap("about")
    assert (
        "Operations: left ankle, March 2019, bends to 20°, no kneeling, until 1 June 2026"
        " (“left ankle, March 2019”)" in talk.text
    )


def test_the_coach_never_writes_her_own_name_into_the_clients_answers():
    facts = with_bob(Record(COACH))
    talk = Talk(coach_correct, facts)
    talk.begin(client=BOBS, key="called")
    talk.choose("keep")

    assert SetPerson(BOB.id, name="Bob") in talk.turn.changes


def test_limits_reach_the_rules_of_core():
    facts = with_bob(Record(COACH))
    for key, codes in (
        ("aim", ["strength"]),
        ("fitness", ["less_fit"]),
        ("overhead", ["yes"]),
        ("numbers", ["pressure", "glucose", "done"]),
        ("glucose_unit", ["mg/dL"]),
        ("pulse_cap", ["70"]),
    ):
        talk = Talk(coach_correct, facts)
        talk.begin(client=BOBS, key=key)
        for code in codes:
            talk.choose(code)
        assert Audit(BOB.id, "limit_changed", key) in talk.turn.changes
    client = facts.client(BOB.id).client
    plain = starting_point(client, facts.reference.catalogue, year=facts.now.year)

    assert client.aim == "strength"
    assert facts.capacity(BOB.id).baseline(Family.PUSH).mean < plain.baseline(Family.PUSH).mean
    assert client.limits.overhead_allowed
    assert client.limits.numbers_asked == {"pressure", "glucose"}
    assert client.limits.glucose_unit == "mg/dL"
    assert client.limits.pulse_cap_percent == 70


def test_a_ceiling_is_the_demand_of_the_chosen_rung_and_can_be_taken_off():
    facts = with_bob(Record(COACH))
    talk = Talk(coach_rungs, facts)
    talk.begin(client=BOBS, what="ceiling")
    talk.tap("family~push")
    rung = talk.buttons()[1].value.removeprefix("rung~")
    talk.choose(rung)
    ceiling = facts.client(BOB.id).client.limits.ceilings[Family.PUSH]

    assert ceiling == pytest.approx(
        coach_rungs.tops(facts.client(BOB.id), Family.PUSH, facts)[rung]
    )
    assert coach_rungs.ceiling_rung(facts.client(BOB.id), Family.PUSH, facts) == rung

    talk = Talk(coach_rungs, facts)
    talk.begin(client=BOBS, what="ceiling", family="push")
    talk.choose("no_ceiling")

    assert Family.PUSH not in facts.client(BOB.id).client.limits.ceilings


def test_a_rung_is_forbidden_and_allowed_again():
    facts = with_bob(Record(COACH))
    for expected in (True, False):
        talk = Talk(coach_rungs, facts)
        talk.begin(client=BOBS, what="forbid", family="squat")
        talk.choose("squat_to_chair")
        assert ("squat_to_chair" in facts.client(BOB.id).client.limits.forbidden) is expected
        assert of(talk.turn.changes, Audit)


def test_a_pause_is_placed_with_a_code_and_the_client_hears_it():
    talk = Talk(coach_hold, with_bob(Record(COACH)))
    talk.begin(client=BOBS)
    talk.type("hospital")
    talk.tap("until~open")

    assert talk.turn.changes[0] == PlaceHold(BOB.id, "coach_hospital")
    assert talk.turn.says[0].to == BOB.id


def test_an_invitation_shows_code_link_and_its_last_day():
    talk = Talk(coach_invite, practice(COACH))
    talk.begin()
    talk.type("Aroha")

    assert talk.turn.changes == (
        MakeInvitation("ABCD-EFGH", Role.CLIENT, "Aroha", coach_id=COACH.id),
    )
    for part in ("ABCD-EFGH", "start=ABCD-EFGH", "Thursday 28 May", "once"):
        assert part in talk.text


def test_a_new_phone_gets_a_code_for_the_same_client_of_the_same_coach():
    facts = with_bob(Record(BACKUP))
    talk = Talk(coach_rebind, facts)
    talk.begin(client=BOBS)
    talk.tap("sure")

    (made,) = of(talk.turn.changes, MakeInvitation)
    assert (made.rebinds_id, made.coach_id) == (BOB.id, COACH.id)


def test_a_coachs_first_steps_end_with_country_clock_list_and_stand_in():
    facts = Record(COACH)
    facts.write(COACH, country="", zone="UTC")
    facts.without_stand_in(COACH)
    talk = Talk(coach_join, facts)
    talk.begin()
    for code in ("keep", "NZ", "yes", "Pacific/Auckland", "0630", "2"):
        talk.choose(code)

    assert facts.me.country == "NZ"
    assert facts.me.zone == "Pacific/Auckland"
    assert SetDigest(COACH.id, "06:30") in facts.applied
    assert facts.digest_at() == time(6, 30)
    assert SetBackup(COACH.id, BACKUP.id) in talk.turn.changes
    assert BACKUP.id in {say.to for say in talk.turn.says}


def test_a_coach_cannot_stand_in_for_herself():
    facts = practice(COACH)
    talk = Talk(coach_join, facts)
    talk.begin(key="backup")
    talk.type("Robin")

    assert not talk.turn.changes


def never_yet(facts: Record) -> None:
    cleared_bob(facts)


def answered_last(facts: Record, days: int, asked_at: str = "08:30") -> None:
    cleared_bob(facts).checked_in(BOB, checkin(TODAY - timedelta(days=days)))
    facts.asked_at(BOB, asked_at)


def silent(facts: Record) -> None:
    answered_last(facts, 4)


def missed_one(facts: Record) -> None:
    answered_last(facts, 2)


def missed_two(facts: Record) -> None:
    answered_last(facts, 2, "06:00")


def back_from_a_holiday(facts: Record) -> None:
    answered_last(facts, 9)
    facts.away(BOB, TODAY - timedelta(days=1))


def silent_since_a_holiday(facts: Record) -> None:
    answered_last(facts, 9)
    facts.away(BOB, TODAY - timedelta(days=2))


def late(facts: Record) -> None:
    cleared_bob(facts).checked_in(BOB, checkin(TODAY - timedelta(days=1)))
    facts.asked_at(BOB, "06:00")


def not_yet(facts: Record) -> None:
    cleared_bob(facts).checked_in(BOB, checkin(TODAY - timedelta(days=1)))
    facts.asked_at(BOB, "08:30")


def answered(facts: Record) -> None:
    cleared_bob(facts).checked_in(BOB, checkin(TODAY))


def easing(facts: Record) -> None:
    cleared_bob(facts).checked_in(BOB, checkin(TODAY, DayPlan.EASE_OFF))


def paused(facts: Record) -> None:
    answered(facts)
    facts.held(BOB, "coach_ill")


def alarmed(facts: Record) -> None:
    paused(facts)
    facts.alerted(alert(1, AlertLevel.URGENT, Sign.DIZZINESS))


def mentioned(facts: Record) -> None:
    answered(facts)
    facts.alerted(alert(1, AlertLevel.MENTION, Sign.NEW_PAIN))


def run_out(facts: Record) -> None:
    answered(facts)
    facts.save(BOB, cleared_until="2026-05-10")


def away(facts: Record) -> None:
    cleared_bob(facts).away(BOB, TODAY + timedelta(days=3))


@pytest.mark.parametrize(
    ("make", "state", "because"),
    [
        (lambda facts: None, ClientState.NEEDS_YOU, StateReason.TO_CLEAR),
        (alarmed, ClientState.NEEDS_YOU, StateReason.ALERT_UNSEEN),
        (mentioned, ClientState.NEEDS_YOU, StateReason.MENTION),
        (run_out, ClientState.NEEDS_YOU, StateReason.CLEARANCE_OVER),
        (paused, ClientState.ON_HOLD, StateReason.PAUSED),
        (easing, ClientState.EASED_OFF, StateReason.EASE_OFF),
        (answered, ClientState.FINE, StateReason.CHECKED_IN),
        (not_yet, ClientState.FINE, StateReason.NOT_YET),
        (late, ClientState.SILENT, StateReason.NO_CHECKIN),
        (silent, ClientState.SILENT, StateReason.NO_CHECKIN_FOR_DAYS),
        (missed_two, ClientState.SILENT, StateReason.NO_CHECKIN_FOR_DAYS),
        (missed_one, ClientState.SILENT, StateReason.NO_CHECKIN_YESTERDAY),
        (never_yet, ClientState.SILENT, StateReason.NO_CHECKIN_YET),
        (back_from_a_holiday, ClientState.FINE, StateReason.NOT_YET),
        (silent_since_a_holiday, ClientState.SILENT, StateReason.NO_CHECKIN_YESTERDAY),
        (away, ClientState.AWAY, StateReason.AWAY),
    ],
)
def test_each_client_has_one_clear_word(make, state: ClientState, because: StateReason):
    facts = with_bob(Record(COACH))
    make(facts)
    found = state_of(facts.client(BOB.id), facts)

    assert (found.state, found.because) == (state, because)


def test_whoever_needs_the_coach_comes_first():
    facts = practice(COACH)
    facts.joined(ANN, yes=False)

    assert [one.record.person.name for one in client_states(facts)] == ["Bob", "Ann"]


def test_the_coach_sets_how_hard_a_client_wants_to_train_and_the_proposal_follows():
    """Riebe 2015: active with known disease; hard work wants a word of the last twelve months."""
    facts = with_bob(Record(COACH))
    facts.save(BOB, active=True)
    card = Talk(coach_client, facts)
    card.begin(client=BOBS)
    assert "Go on at moderate effort; nothing hard." in card.text
    card.tap("about")
    assert "For now moderate at most" in card.text

    talk = Talk(coach_correct, facts)
    talk.begin(client=BOBS, key="wish")
    talk.choose("vigorous")
    assert Audit(BOB.id, "answer_corrected", "wish") in talk.turn.changes

    card.begin(client=BOBS)
    card.tap("about")
    assert "Wants to train hard." in card.text
    assert "Hard work needs a doctor's word from the last year." in card.text


def read_pressure(on: date, top: int, low: int) -> Checkin:
    """A finished morning with a pressure."""
    return replace(checkin(on), answers={"pressure": f"{top}/{low}"})


@pytest.mark.parametrize(("top", "offered"), [(132, True), (141, False)])
def test_calm_pressure_is_offered_after_twelve_weeks_and_three_readings(top: int, offered: bool):
    facts = with_bob(Record(COACH))
    facts.save(BOB, conditions=["pressure"])
    begun = TODAY - timedelta(weeks=13)
    facts.trained(BOB, replace(squat_set(0.3), on=begun))
    days = [TODAY - timedelta(days=ago) for ago in (9, 6, 3)]
    facts.checked_in(BOB, *(read_pressure(day, top, 80) for day in days))
    talk = Talk(coach_client, facts)
    talk.begin(client=BOBS, page="limits")
    values = [button.value for button in talk.buttons()]
    assert ("edit~pressure_calm" in values) is offered
    assert "edit~pulse_line" not in values

    correct = Talk(coach_correct, facts)
    correct.begin(client=BOBS, key="pressure_calm")
    correct.choose("yes")
    assert facts.client(BOB.id).client.pressure_is_calm is offered
