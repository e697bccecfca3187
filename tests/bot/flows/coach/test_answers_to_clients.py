"""The coach answers a client, from wherever she reads of them; the client's reply comes back."""

from dataclasses import replace
from datetime import timedelta

from bot.flows.changes import AddNote, SetDesk
from bot.flows.client import message
from bot.flows.coach.alerts import buttons as alert_handler
from bot.flows.coach.client import answer as coach_answer
from bot.flows.coach.client import buttons as client_handler
from bot.flows.coach.client import note as coach_note
from bot.flows.coach.client import open_card
from bot.flows.machine import Event, EventKind
from bot.messages import Kind
from core.vocabulary import AlertLevel, Sign
from tests.bot.flows.coach.test_coach_walks import alert, practice
from tests.support.facts import BACKUP, BOB, COACH, STRANGE_COACH, Record
from tests.support.joined import with_bob
from tests.support.talk import Talk, rendered

BOBS = str(BOB.id)


def writes(facts: Record, text: str) -> Talk:
    facts.become(COACH)
    talk = Talk(coach_answer, facts)
    talk.begin(client=BOBS)
    talk.type(text)
    return talk


def replies(facts: Record, text: str) -> Talk:
    facts.become(BOB)
    talk = Talk(message, facts)
    talk.begin()
    talk.type(text)
    return talk


def to(talk: Talk, person) -> str:
    return next(out.text for say, out in reversed(talk.said) if say.to == person.id)


def test_the_words_go_to_the_client_and_into_the_thread():
    talk = writes(with_bob(Record(COACH)), "Well done. Shall we talk on Friday?")

    assert "Robin writes:\nWell done. Shall we talk on Friday?" in to(talk, BOB)
    assert talk.facts.applied == [
        AddNote(BOB.id, "Well done. Shall we talk on Friday?", to_client=True)
    ]
    assert all(say.kind < Kind.ALERT for say, _ in talk.said), "her words raise no alert"


def test_the_reply_comes_back_with_the_words_it_answers():
    facts = with_bob(Record(COACH))
    writes(facts, "Shall we talk on Friday?")
    talk = replies(facts, "Yes please")

    said = to(talk, COACH)
    assert "You wrote: “Shall we talk on Friday?”" in said
    assert "Bob writes:\nYes please" in said
    (asked,) = [say for say, _ in talk.said if say.to == COACH.id]
    facts.become(COACH)
    button = asked.rows[0][0]
    (begin,) = client_handler.tap(button.ref, button.value, facts).begin
    assert (begin.flow, begin.args["client"]) == ("coach_answer", BOBS)

    page = Talk(open_card, facts)
    page.begin(client=BOBS, page="messages")
    assert page.text.index("Shall we talk") < page.text.index("Yes please")


def test_a_message_of_long_ago_is_not_what_is_answered():
    facts = with_bob(Record(COACH))
    writes(facts, "Shall we talk on Friday?")
    facts.now += timedelta(days=15)

    assert "You wrote" not in to(replies(facts, "Hello"), COACH)


def test_a_note_is_never_quoted_to_anybody_and_stands_on_its_own_page():
    facts = with_bob(Record(COACH))
    note = Talk(coach_note, facts)
    note.begin(client=BOBS)
    note.type("Seems lonely")

    assert "Seems lonely" not in to(replies(facts, "Hello"), COACH)
    facts.become(COACH)
    page = Talk(open_card, facts)
    page.begin(client=BOBS, page="messages")
    assert "Seems lonely" not in page.text
    page.tap("notes")
    assert "Seems lonely" in page.text
    assert "Hello" not in page.text


def test_a_sign_in_the_coach_s_words_puts_the_client_s_number_below():
    facts = with_bob(Record(COACH))
    talk = Talk(coach_answer, facts)
    talk.begin(client=BOBS)
    event = Event(EventKind.TEXT, "Chest pain again? Stop at once.", holds_sign=True)
    turn = coach_answer.step(talk.state, event, facts)

    words = [rendered(say, facts).text for say in turn.says if say.to == BOB.id]
    assert "If you are in danger, call 111." in words[0]
    assert turn.changes == (AddNote(BOB.id, event.value, to_client=True),)


def test_it_is_answered_from_an_alert_and_from_a_line_of_the_list():
    facts = practice(COACH)
    for level in (AlertLevel.URGENT, AlertLevel.MENTION):
        facts.alerted(alert(5, level, Sign.DIZZINESS))
        (begin,) = alert_handler.tap("5", "answer", facts).begin
        assert (begin.flow, begin.args["client"]) == ("coach_answer", BOBS)
        shown = alert_handler.alert_rows(facts.alert(5))
        assert "answer" in {button.value for row in shown for button in row}


def test_whoever_is_not_safe_at_home_is_written_to_with_care():
    facts = practice(COACH)
    facts.alerted(alert(5, AlertLevel.URGENT, Sign.ABUSE))
    talk = Talk(coach_answer, facts)
    talk.begin(client=BOBS)

    assert "Somebody else may read this phone" in talk.text


def test_only_who_looks_after_the_client_may_write():
    for coach, allowed in ((COACH, True), (BACKUP, True), (STRANGE_COACH, False)):
        talk = Talk(coach_answer, with_bob(Record(coach)))
        talk.begin(client=BOBS)
        assert (talk.state is not None) is allowed


def test_nothing_is_said_to_have_gone_out_where_nobody_can_be_reached():
    facts = with_bob(Record(COACH))
    talk = Talk(coach_answer, facts)
    talk.begin(client=BOBS)
    facts.cut_off(BOB)
    talk.type("Hello")

    assert "cannot write to them" in talk.text
    assert not facts.applied


def test_a_text_that_is_too_long_is_not_cut_and_not_sent():
    talk = writes(with_bob(Record(COACH)), "word " * 500)

    assert "Nothing has gone out" in talk.text
    assert talk.state is not None
    assert not talk.facts.applied


def test_office_hours_are_said_to_the_client_and_the_number_outside_them():
    facts = with_bob(Record(COACH))
    hours = {"office_from": "09:00", "office_until": "17:30", "office_days": [1, 2, 3, 4, 5]}
    facts.apply([SetDesk(COACH.id, hours)])
    inside = replies(facts, "Can I swim?")
    # It is Thursday, nine in the morning, in New Zealand.
    said = [out.text for say, out in inside.said if say.template == "menu/message_sent"][-1]
    assert "Robin reads messages on Monday, Tuesday" in said
    assert "from 09:00 to 17:30" in said
    assert "outside these hours" not in said

    facts.now += timedelta(hours=9)
    said = [
        out.text
        for say, out in replies(facts, "Can I run?").said
        if say.template == "menu/message_sent"
    ][-1]
    assert "outside these hours" in said
    assert "call 111" in said


def test_words_meant_for_one_client_never_go_to_another():
    facts = practice(COACH)
    talk = Talk(coach_answer, facts)
    talk.begin(client="11")
    seen = replace(alert(5, AlertLevel.URGENT, Sign.DIZZINESS), seen_at=None)
    facts.alerted(seen)
    facts.now += timedelta(minutes=1)
    facts.apply(alert_handler.tap("5", "seen", facts).changes)
    asked_again = talk.type("Take it easy")

    assert not asked_again.changes
