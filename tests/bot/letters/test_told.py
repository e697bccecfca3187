"""What a client was told, word for word: all of it, escaped, and for nobody but who may see it."""

from datetime import timedelta
from typing import cast

import pytest

from bot.flows.coach.client import open_card
from bot.letters.letters import Letters
from bot.messages import Kind, Outgoing, ReplyButton
from bot.pictures.store import PictureStore
from bot.storage.outbox import enqueue, mark_refused
from bot.storage.people import Address
from core.vocabulary import AlertLevel, Sign
from tests.bot.flows.coach.test_coach_walks import alert
from tests.support.facts import ANN, BACKUP, BOB, COACH, NOW, STRANGE_COACH, Record
from tests.support.joined import with_bob
from tests.support.talk import Talk, words

BOBS = str(BOB.id)


def said(facts: Record, text: str, ago: timedelta, to=BOB, *labels: str) -> int:
    choices = (tuple(ReplyButton(label, "x") for label in labels),) if labels else ()
    return enqueue(
        facts.unit,
        dedupe_key=f"{text}{ago}",
        at=Address("test", to.name.lower()),
        person_id=to.id,
        kind=Kind.REPLY,
        outgoing=Outgoing(text, choices),
        now=facts.now - ago,
    )


def asked_for(facts: Record) -> str:
    talk = Talk(open_card, facts)
    talk.begin(client=BOBS, page="messages")
    talk.tap("told")
    return talk.said[-1][0].document


def no_pictures() -> PictureStore:
    return cast("PictureStore", None)


def letters(facts: Record) -> Letters:
    return Letters(words(), facts.reference, no_pictures())


def test_two_weeks_word_for_word():
    facts = with_bob(Record(COACH))
    said(facts, "How did you sleep?\n1 to 7", timedelta(days=3), BOB, "4", "Skip")
    said(facts, "Too old", timedelta(days=15))
    said(facts, "For Ann alone", timedelta(days=2), ANN)
    lost = said(facts, "Never came & <b>went</b>", timedelta(days=1))
    mark_refused(facts.unit, lost, "blocked")

    page, name = letters(facts).load(facts.unit, asked_for(facts))
    text = page.decode()

    assert name == "told.html"
    assert "How did you sleep?\n1 to 7" in text
    assert "[4] [Skip]" in text
    assert "This did not arrive." in text
    assert "&amp; &lt;b&gt;went" in text
    assert "Too old" not in text
    assert "For Ann alone" not in text
    assert "http" not in text.replace("http-equiv", ""), "nothing is loaded from elsewhere"


def test_what_was_said_around_a_word_of_abuse_is_left_out():
    facts = with_bob(Record(COACH))
    said(facts, "You did nothing wrong", timedelta(minutes=4))
    said(facts, "How did you sleep?", timedelta(days=3))
    facts.alerted(alert(8, AlertLevel.URGENT, Sign.ABUSE))

    page, _ = letters(facts).load(facts.unit, asked_for(facts))

    assert b"nothing wrong" not in page
    assert b"How did you sleep?" in page


@pytest.mark.parametrize("coach", [STRANGE_COACH, BACKUP])
def test_a_link_is_good_only_for_who_may_see_the_client(coach):
    facts = with_bob(Record(COACH))
    mine = asked_for(facts)
    theirs = mine.replace(f"-{BOBS}-{COACH.id}-", f"-{BOBS}-{coach.id}-")
    if coach is BACKUP:
        letters(facts).load(facts.unit, theirs)
        return
    with pytest.raises(KeyError):
        letters(facts).load(facts.unit, theirs)
    facts.handed_over(BOB, STRANGE_COACH)
    with pytest.raises(KeyError):
        letters(facts).load(facts.unit, mine)


@pytest.mark.parametrize(
    "other", ["told-12-1", "told-x-1-2", "export-12", "told-12-1-²", "load-1-2-3"]
)
def test_other_ids_are_no_letters(other: str):
    assert not letters(with_bob(Record(COACH, NOW))).knows(other)
