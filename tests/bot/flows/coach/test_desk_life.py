"""Finding a client, a client's life with the practice, and a coach's own days."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from bot.flows.changes import HandOver, SetAway, SuspendCoach
from bot.flows.client.buttons import HandOverHandler, hand_to_coach
from bot.flows.client_names import meant, told_apart
from bot.flows.coach import typed_days
from bot.flows.coach.alerts import hold
from bot.flows.coach.client import correct, leave, life, open_card
from bot.flows.coach.practice import client_list, invite, own_days, settings
from bot.flows.coach.practice.digest import digest
from bot.flows.commands import clients_found
from bot.flows.machine import Event, EventKind
from tests.bot.flows.coach.test_coach_walks import practice
from tests.support.facts import ANN, BACKUP, BOB, COACH, STRANGE_COACH, Record
from tests.support.joined import with_bob
from tests.support.talk import Talk, rendered

BOBS = str(BOB.id)
NAMES = {"1": "Mary Tane", "2": "Marie Thorne", "3": "Mary Tane", "4": "Tom O'Hara", "5": "Li"}


@pytest.mark.parametrize(
    ("typed", "ids"),
    [
        ("Mary Tane", ["1", "3"]),
        ("mar", ["1", "2", "3"]),
        ("thorne", ["2"]),
        ("tan mar", ["1", "3"]),
        ("MT", ["1", "2", "3"]),
        ("m.t.", ["1", "2", "3"]),
        ("o'h", ["4"]),
        ("li", ["5"]),
        ("x", []),
        ("m", []),
        ("Mary is doing well today", []),
        ("", []),
        ("🙂", []),
    ],
)
def test_part_of_a_name_or_initials_find_somebody(typed: str, ids: list[str]):
    assert meant(typed, NAMES) == ids


def test_two_people_of_one_name_are_told_apart():
    assert told_apart(NAMES) == {"1": 1, "3": 2}


def test_one_hit_opens_the_card_and_more_open_a_list_of_them():
    facts = practice(COACH)
    facts.become(COACH)
    assert clients_found("bo", facts).args == {"client": BOBS}
    facts.unit.session.connection()
    begin = clients_found("an", facts)
    assert begin.args == {"client": str(ANN.id)}
    talk = Talk(client_list, facts)
    talk.begin(only=[BOBS, str(ANN.id)])
    assert "These may be meant" in talk.text
    assert {button.ref for button in talk.buttons() if button.handler == "client"} == {
        BOBS,
        str(ANN.id),
    }


def test_nobody_finds_another_coach_s_clients():
    for me in (STRANGE_COACH,):
        facts = practice(me)
        assert clients_found("Bob", facts) is None
        assert clients_found("bo", facts) is None
        talk = Talk(client_list, facts)
        talk.begin(only=[BOBS])
        assert "Bob" not in talk.text


def test_open_invitations_are_listed_and_taken_back_by_who_made_them():
    facts = practice(COACH)
    talk = Talk(invite, facts)
    talk.begin()
    talk.type("Hemi")
    (made,) = facts.open_invitations()
    facts.become(STRANGE_COACH)
    other = Talk(invite, facts)
    other.begin()
    assert "Hemi" not in other.text

    facts.become(COACH)
    talk = Talk(invite, facts)
    talk.begin()
    assert "Hemi, made" in talk.text
    talk.tap(f"withdraw~{made.id}")
    assert "good no more" in talk.text
    assert not facts.open_invitations()


def test_a_name_that_is_there_is_asked_about():
    facts = practice(COACH)
    talk = Talk(invite, facts)
    talk.begin()
    talk.type("bob")
    assert "another bob" in talk.text
    assert not facts.open_invitations()
    talk.tap("sure")
    assert [one.name for one in facts.open_invitations()] == ["bob"]


def test_a_holiday_is_set_and_said():
    facts = practice(COACH)
    facts.alerted()
    talk = Talk(life, facts)
    talk.begin(client=BOBS, what="holiday")
    talk.tap("week")
    assert SetAway(BOB.id, date(2026, 5, 28)) in facts.applied
    assert any("until Thursday 28 May" in out.text for say, out in talk.said if say.to == BOB.id)
    talk = Talk(life, facts)
    talk.begin(client=BOBS, what="holiday")
    talk.tap("home")
    assert facts.client(BOB.id).away_until is None


def test_a_holiday_to_come_has_a_first_and_a_last_day():
    facts = practice(COACH)
    facts.alerted()
    talk = Talk(life, facts)
    talk.begin(client=BOBS, what="holiday")
    talk.tap("later")
    assert "On which day does it begin?" in talk.text
    talk.type("30 February")
    assert not facts.applied
    talk.type("10 June")
    assert "From Wednesday 10 June." in talk.text
    talk.tap("week")
    assert SetAway(BOB.id, date(2026, 6, 16), date(2026, 6, 10)) in facts.applied
    told = [out.text for say, out in talk.said if say.to == BOB.id]
    assert any("from Wednesday 10 June until Tuesday 16 June" in text for text in told)
    talk = Talk(life, facts)
    talk.begin(client=BOBS, what="holiday")
    talk.tap("later")
    talk.type("20 June")
    talk.type("19 June")
    assert "From Saturday 20 June." in talk.text, "no last day before the first"
    talk.type("22 June")
    assert SetAway(BOB.id, date(2026, 6, 22), date(2026, 6, 20)) in facts.applied


def test_a_client_goes_to_another_coach_only_with_their_own_yes():
    facts = practice(COACH)
    facts.alerted()
    talk = Talk(life, facts)
    talk.begin(client=BOBS, what="hand_over")
    talk.tap(f"to~{STRANGE_COACH.id}")
    (asked,) = [say for say, _ in talk.said if say.to == BOB.id]
    assert facts.client(BOB.id).coach_id == COACH.id

    facts.become(BOB)
    yes, no = asked.rows[0]
    turn = HandOverHandler().tap(no.ref, no.value, facts)
    assert not turn.changes
    turn = HandOverHandler().tap(yes.ref, yes.value, facts)
    assert turn.changes == (HandOver(BOB.id, STRANGE_COACH.id),)
    for say in turn.says:
        assert rendered(say, facts).text
    facts.apply(turn.changes)

    for me, sees in ((COACH, False), (STRANGE_COACH, True)):
        facts.become(me)
        card = Talk(open_card, facts)
        card.begin(client=BOBS)
        assert (card.state is not None) is sees
    facts.become(BOB)
    again = HandOverHandler().tap(yes.ref, yes.value, facts)
    assert not again.changes, "an old button moves nobody twice"


def test_who_left_is_found_and_brought_back_and_must_be_cleared_anew():
    facts = practice(COACH)
    facts.alerted()
    talk = Talk(leave, facts)
    talk.begin(client=BOBS)
    talk.tap("sure")
    gone = Talk(client_list, facts)
    gone.begin()
    gone.tap("gone")
    assert "Bob" in gone.text
    talk = Talk(life, facts)
    talk.begin(client=BOBS, what="bring_back")
    talk.tap("sure")

    record = facts.client(BOB.id)
    assert not record.person.left
    assert not record.cleared
    assert any(say.template == "join/brought_back" for say, _ in talk.said)


def test_any_answer_that_the_coach_corrects_is_said_to_the_client():
    facts = practice(COACH)
    facts.alerted()
    talk = Talk(correct, facts)
    talk.begin(client=BOBS, key="birth_year")
    talk.type("1949")
    assert any("has changed one of your answers" in out.text for _, out in talk.said)


def days(facts: Record, what: str, *taps: str) -> Talk:
    talk = Talk(own_days, facts)
    talk.begin(what=what)
    for one in taps:
        event = Event(EventKind.TAP if "~" in one or one == "sure" else EventKind.TEXT, one)
        talk.tap(one) if event.kind is EventKind.TAP else talk.type(one)
    return talk


@pytest.mark.parametrize("typed", ["9 to 5:30", "9-17:30", "hours~09:00-17:30"])
def test_office_hours_are_read_as_people_type_them(typed: str):
    facts = practice(COACH)
    days(facts, "hours", typed, "week_days~mon_sat")
    desk = facts.desk(COACH.id)
    assert (str(desk.office_from), str(desk.office_until)) == ("09:00:00", "17:30:00")
    assert desk.office_days == (1, 2, 3, 4, 5, 6)
    page = Talk(settings, facts)
    page.begin()
    assert "09:00 to 17:30" in page.text


def test_while_the_coach_is_away_her_stand_in_reads_the_clients():
    facts = with_bob(Record(COACH))
    talk = days(facts, "away", "away~from_today", "away_until~week")
    assert any(say.to == BACKUP.id for say, _ in talk.said)
    facts.become(BOB)
    assert facts.told_of(BOB.id).id == BACKUP.id
    turn = hand_to_coach("Hello", facts)
    assert "passed it on to Sam" in rendered(turn.says[0], facts).text

    facts.become(COACH)
    days(facts, "away", "away~home")
    assert facts.told_of(BOB.id).id == COACH.id


def test_both_are_warned_where_the_stand_in_is_away_too():
    facts = practice(BACKUP)
    days(facts, "away", "away~from_today", "away_until~fortnight")
    facts.become(COACH)
    talk = days(facts, "away", "away~from_tomorrow", "away_until~week")
    said = [out.text for _, out in talk.said]
    assert any("Sam is away then, too" in text for text in said)
    assert any("You have told me that you are away then, too" in text for text in said)
    assert facts.told_of(BOB.id).id == COACH.id, "whoever is nearest, never nobody"


def test_a_colleague_s_lost_phone_is_cut_off_and_her_stand_in_told():
    facts = practice(STRANGE_COACH)
    talk = days(facts, "suspend", f"suspend~{COACH.id}", "sure")
    assert SuspendCoach(COACH.id) in facts.applied
    assert not facts.reaches(COACH.id)
    assert any(say.to == BACKUP.id for say, _ in talk.said)
    assert facts.told_of(BOB.id).id == BACKUP.id


def test_a_pause_has_its_cause_and_a_day_and_ends_only_by_the_coach():
    facts = practice(COACH)
    facts.alerted()
    talk = Talk(hold, facts)
    talk.begin(client=BOBS)
    talk.tap("coach_ill")
    talk.tap("until~week")
    told = [out.text for say, out in talk.said if say.to == BOB.id][-1]
    assert "you are ill" in told
    assert "looks at it again on Thursday 28 May" in told
    digest_now = rendered(digest(facts), facts).text
    assert "Bob: paused, today, until 28 May" in digest_now
    card = Talk(open_card, facts)
    card.begin(client=BOBS)
    assert "to be looked at on Thu 28 May" in card.text

    facts.now += timedelta(days=7)
    facts.become(COACH)
    assert facts.hold(BOB.id) is not None, "it does not end by itself"
    said = rendered(digest(facts), facts).text
    assert "Bob: needs you, the day has come until which you paused the training" in said


@pytest.mark.parametrize("typed", ["1 June", "3 March", "29 May 2026", "yesterday"])
def test_the_day_of_a_pause_may_be_typed_and_nonsense_is_asked_about(typed: str):
    facts = practice(COACH)
    facts.alerted()
    talk = Talk(hold, facts)
    talk.begin(client=BOBS)
    talk.tap("coach_other")
    talk.type(typed)
    assert (facts.hold(BOB.id) is not None) is (typed != "yesterday")


DAYS_ASKED = {
    "holiday": (life, {"client": BOBS, "what": "holiday"}, ()),
    "a later holiday": (life, {"client": BOBS, "what": "holiday"}, ("later",)),
    "pause": (hold, {"client": BOBS}, ("coach_other",)),
    "own days": (own_days, {"what": "away"}, ()),
}


@pytest.mark.parametrize("asked", DAYS_ASKED)
def test_of_two_possible_days_the_coach_taps_the_one_she_means(
    asked: str, monkeypatch: pytest.MonkeyPatch
):
    flow, args, taps = DAYS_ASKED[asked]
    facts = practice(COACH)
    order = facts.reference.countries["CA"].dates
    monkeypatch.setattr(typed_days, "order_of", lambda _facts: order)
    talk = Talk(flow, facts)
    talk.begin(**args)
    for one in taps:
        talk.tap(one)
    talk.type("7/6")
    assert "Which day do you mean?" in talk.text
    labels = [button.label for button in talk.buttons()]
    assert labels[:2] == ["7 June 2026", "6 July 2026"]
    assert not facts.applied
    talk.tap(talk.buttons()[1].value)
    said = " ".join(out.text for _, out in talk.said)
    assert "I read that as Monday 6 July 2026." in said


@pytest.mark.parametrize("asked", DAYS_ASKED)
def test_where_all_write_the_day_first_it_is_taken_and_said_back(asked: str):
    flow, args, taps = DAYS_ASKED[asked]
    talk = Talk(flow, practice(COACH))
    talk.begin(**args)
    for one in taps:
        talk.tap(one)
    talk.type("7/6")
    said = " ".join(out.text for _, out in talk.said)
    assert "I read that as Sunday 7 June 2026." in said


def test_the_link_stands_in_one_message_and_is_copied_by_a_tap():
    facts = practice(COACH)
    facts.reference = replace(
        facts.reference, invitation_link=lambda code: f"https://x.test/{code}"
    )
    talk = Talk(invite, facts)
    talk.begin()
    talk.type("Hemi")
    (copy,) = [one for row in rendered(talk.said[-1][0], facts).choices for one in row]
    assert copy.copies in talk.text
    assert copy.copies.startswith("https://x.test/")
    talk = Talk(invite, facts)
    talk.begin()
    assert "Hemi, made" in talk.text
    assert "x.test" not in talk.text, "it is shown once"
