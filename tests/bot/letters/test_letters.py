"""Letters about a client: what stands in them, what never does, and who may have them."""

import csv
from dataclasses import replace
from datetime import timedelta
from io import StringIO

import pytest

from bot.flows.changes import AddNote, LogPain
from bot.flows.client.buttons import LetterHandler
from bot.flows.coach.client import open_card
from bot.flows.coach.client.letters import KINDS
from bot.flows.facts import Checkin
from bot.letters.letters import Letters
from bot.letters.table import harmless
from bot.pictures.store import PictureStore
from core.dose.history import PainTold
from core.vocabulary import AlertLevel, DayPlan, Sign, Spare
from tests.bot.flows.coach.test_coach_walks import alert, practice
from tests.support.dose_cases import squat_set
from tests.support.facts import BOB, COACH, NOW, STRANGE_COACH, Record
from tests.support.talk import Talk, rendered, words

BOBS = str(BOB.id)


@pytest.fixture
def facts() -> Record:
    """Bob, who trained, told numbers and pains, and two alerts: one of them of violence."""
    found = practice(COACH)
    found.alerted(
        alert(7, AlertLevel.URGENT, Sign.DIZZINESS),
        alert(8, AlertLevel.URGENT, Sign.ABUSE),
    )
    today = BOB.local(NOW).date()
    sets = [replace(squat_set(2.5, amount=15), on=today - timedelta(days=n)) for n in (5, 3, 1)]
    found.trained(BOB, *sets)
    mornings = [
        Checkin(
            today - timedelta(days=back),
            {"trouble": "nothing", "sleep": 4, "pressure": "142/88"},
            finished=True,
            signs_asked_at=NOW,
            day_plan=DayPlan.EASE_OFF,
        )
        for back in (1, 3)
    ]
    found.checked_in(BOB, *mornings)
    found.become(BOB)
    found.apply([LogPain(BOB.id, PainTold(today, None, Spare.KNEE, 4))])
    found.apply([AddNote(BOB.id, "=1+1 <b>hello</b>")])
    found.become(COACH)
    return found


@pytest.fixture
def letters(facts: Record, tmp_path) -> Letters:
    store = PictureStore(tmp_path, facts.reference.catalogue, facts.unit.encryption)
    return Letters(words(), facts.reference, store)


def tapped(facts: Record, value: str) -> Talk:
    talk = Talk(open_card, facts)
    talk.begin(client=BOBS, page="letters")
    talk.tap(value)
    return talk


def made(facts: Record, letters: Letters, value: str) -> str:
    document = next(say.document for say, _ in reversed(tapped(facts, value).said) if say.document)
    return letters.load(facts.unit, document)[0].decode()


def agree(facts: Record, value: str = "yes") -> None:
    facts.become(BOB)
    turn = LetterHandler().tap(str(COACH.id), value, facts)
    assert all(rendered(say, facts).text for say in turn.says)
    facts.apply(turn.changes)
    facts.become(COACH)


def test_the_client_s_review_tells_of_doing_and_never_of_alarms(facts: Record, letters: Letters):
    page = made(facts, letters, "review28")
    assert "this is how far you have come" in page
    assert "You trained 3 times" in page
    assert "What comes next" in page
    assert "izz" not in page.replace("size", "")
    assert 'src="http' not in page
    assert "call 111" in page
    assert "%" not in page.partition("<body>")[2], "no percent in what a client reads"
    assert "@page { size: A4" in page


def test_a_doctor_s_letter_waits_for_the_client_s_own_yes(facts: Record, letters: Letters):
    # Beside an open alert no question about a letter goes to its client.
    facts.alerted()
    talk = tapped(facts, "doctor28")
    assert not any(say.document for say, _ in talk.said)
    (asked,) = [say for say, _ in talk.said if say.to == BOB.id]
    assert [button.value for button in asked.rows[0]] == ["yes", "no"]
    agree(facts, "no")
    assert not any(say.document for say, _ in tapped(facts, "doctor28").said)

    agree(facts)
    facts.alerted(alert(7, AlertLevel.URGENT, Sign.DIZZINESS))
    page = made(facts, letters, "doctor28")
    assert "142/88 mmHg" in page
    assert "4 of 10" in page
    assert words().word("names", "sign_coach", "dizziness") in page
    assert "with the consent of Bob" in page

    facts.now += timedelta(days=92)
    assert not any(say.document for say, _ in tapped(facts, "doctor28").said)


def test_a_yes_that_is_taken_back_closes_old_links_too(facts: Record, letters: Letters):
    agree(facts)
    document = tapped(facts, "doctor91").said[-1][0].document
    letters.load(facts.unit, document)
    agree(facts, "no")
    with pytest.raises(KeyError):
        letters.load(facts.unit, document)


@pytest.mark.parametrize("kind", ["review28", "doctor28", "table"])
def test_violence_stands_in_no_letter(facts: Record, letters: Letters, kind: str):
    told = "he throws things at me"
    said = replace(alert(8, AlertLevel.URGENT, Sign.ABUSE), words=(told,))
    other = replace(alert(9, AlertLevel.MENTION), words=("he took my keys",))
    facts.alerted(alert(7, AlertLevel.URGENT, Sign.DIZZINESS), said, other)
    facts.apply([AddNote(BOB.id, "my chest feels tight")])
    facts.apply([AddNote(BOB.id, "Bob says it goes on at home")])
    agree(facts)
    page = made(facts, letters, kind)
    for private in (told, "keys", "goes on at home"):
        assert private not in page
    assert words().word("names", "sign_coach", "abuse") not in page
    assert "abuse" not in page
    assert "my chest feels tight" not in page.partition("Message")[2]


def test_the_table_is_read_as_words_by_every_spreadsheet(facts: Record, letters: Letters):
    facts.alerted(alert(7, AlertLevel.URGENT, Sign.DIZZINESS))
    text = made(facts, letters, "table").removeprefix("\ufeff")
    rows = list(csv.reader(StringIO(text)))
    assert rows[0] == ["Day", "Time", "Kind", "What", "Value"]
    assert all(len(row) == 5 for row in rows)
    assert ["'=1+1 <b>hello</b>"] in [row[4:] for row in rows]
    assert not [cell for row in rows for cell in row if cell.startswith(("=", "+", "-", "@"))]
    for bad in ("=1", "+1", "-1", "@x", "\t=1", "\r=1"):
        assert harmless(bad).startswith("'")
    assert harmless("plain") == "plain"


@pytest.mark.parametrize("kind", KINDS)
def test_no_link_opens_another_coach_s_client(facts: Record, letters: Letters, kind: str):
    agree(facts)
    moment = int(facts.now.timestamp())
    assert letters.knows(f"{kind}-{BOBS}-{COACH.id}-{moment}")
    letters.load(facts.unit, f"{kind}-{BOBS}-{COACH.id}-{moment}")
    with pytest.raises(KeyError):
        letters.load(facts.unit, f"{kind}-{BOBS}-{STRANGE_COACH.id}-{moment}")


@pytest.mark.parametrize("number", ["999999999999", "253402300800"])
def test_a_moment_beyond_the_calendar_is_no_document(facts: Record, letters: Letters, number: str):
    document = tapped(facts, "table").said[-1][0].document
    with pytest.raises(KeyError):
        letters.load(facts.unit, f"{document.rpartition('-')[0]}-{number}")


def test_a_coach_whom_nobody_knows_has_no_document(facts: Record, letters: Letters):
    with pytest.raises(KeyError):
        letters.load(facts.unit, f"table-{BOBS}-99999-1772432100")
