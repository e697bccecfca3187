"""Notes about a client: found, changed by who wrote them, pinned to the card, deleted."""

from datetime import timedelta

from bot.flows.changes import AddNote
from bot.flows.coach.client import notes, open_card
from tests.bot.flows.coach.test_coach_walks import practice
from tests.support.facts import BACKUP, BOB, COACH, Record
from tests.support.talk import Talk

BOBS = str(BOB.id)


def with_notes() -> Record:
    facts = practice(COACH)
    facts.apply([AddNote(BOB.id, "Left knee clicks on stairs")])
    facts.now += timedelta(days=1)
    facts.apply([AddNote(BOB.id, "Likes the morning")])
    return facts


def opened(facts: Record, *taps: str) -> Talk:
    talk = Talk(notes, facts)
    talk.begin(client=BOBS)
    for one in taps:
        talk.tap(one)
    return talk


def of(facts: Record, text: str) -> str:
    return next(f"note~{one.id}" for one in facts.notes(BOB.id) if text in one.text)


def test_a_word_finds_its_notes():
    talk = opened(with_notes())
    assert "2 notes" in talk.text
    talk.type("KNEE")
    assert "notes with “KNEE”: 1" in talk.text
    assert [one.label[7:18] for one in talk.buttons() if "note~" in one.value] == ["Left knee c"]


def test_a_note_is_changed_and_says_so():
    facts = with_notes()
    talk = opened(facts, of(facts, "knee"), "change")
    talk.type("Right knee clicks")
    assert "Right knee clicks" in {one.text for one in facts.notes(BOB.id)}
    assert "(changed" in opened(facts, of(facts, "Right knee")).text


def test_a_pinned_note_stands_on_the_card():
    facts = with_notes()
    opened(facts, of(facts, "knee"), "pin")
    card = Talk(open_card, facts)
    card.begin(client=BOBS)
    assert "Left knee clicks on stairs" in card.text
    assert "Likes the morning" not in card.text
    opened(facts, of(facts, "knee"), "unpin")
    card.begin(client=BOBS)
    assert "Left knee" not in card.text


def test_a_note_is_deleted_only_after_a_second_tap():
    facts = with_notes()
    talk = opened(facts, of(facts, "knee"), "delete")
    assert len(facts.notes(BOB.id)) == 2
    talk.tap("sure")
    assert [one.text for one in facts.notes(BOB.id)] == ["Likes the morning"]


def test_another_s_note_is_read_and_not_changed():
    facts = with_notes()
    note = of(facts, "knee")
    facts.become(BACKUP)
    talk = opened(facts, note)
    assert "Only Robin can change it" in talk.text
    talk.tap("change")
    assert talk.step == "note"
    talk.tap("delete")
    assert len(facts.notes(BOB.id)) == 2


def test_what_was_said_to_the_client_is_no_note_to_change():
    facts = with_notes()
    facts.apply([AddNote(BOB.id, "Well done", to_client=True)])
    assert "Well done" not in "".join(one.label for one in opened(facts).buttons())
