"""Very many texts at once: the sign among them goes first, all are kept, few are answered.

``python -m tests.bench.burst`` does it with a thousand, through the channel, and says how long.
"""

from collections.abc import Sequence

import pytest
from sqlmodel import select

from bot.engine import burst
from bot.engine.burst import MOST_TOGETHER
from bot.messages import Incoming, IncomingKind
from bot.storage.inbox import Waiting
from bot.storage.people import addresses_of
from bot.storage.tables import AlertRow, InboxRow
from bot.storage.told import AlertTold, alert_told
from bot.storage.unit import UnitOfWork
from tests.faults.kills import words_of_alerts
from tests.scenarios.conftest import MONDAY_EVENING
from tests.support.practice import CHANNEL, Practice

MOST_REPLIES = 20
"""To one burst, however long."""

SIGN = "my chest hurts and it goes to my arm"
QUIET = "the cat sat on the mat"


class Handled:
    """Watches in which order the texts of the store are dealt with."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, village: Practice) -> None:
        self.texts: list[str] = []
        conversations = type(village.app.engine._conversations)
        real = conversations._act_on_red_flags

        def watched(own, context, row, reading, perhaps=()):
            self.texts.append(row.incoming.text)
            return real(own, context, row, reading, perhaps)

        monkeypatch.setattr(conversations, "_act_on_red_flags", watched)


@pytest.fixture
def handled(monkeypatch: pytest.MonkeyPatch, village: Practice) -> Handled:
    return Handled(monkeypatch, village)


def _texts(number: int) -> list[str]:
    return [f"the cat sat on the mat {place}" for place in range(number)]


async def _arrive(village: Practice, who: str, texts: Sequence[str], first: int = 1000) -> None:
    """All at once, in batches as the platform gives them; nothing is worked off meanwhile."""
    batch = [
        Incoming(CHANNEL, who, str(first + place), IncomingKind.TEXT, text, "", "", MONDAY_EVENING)
        for place, text in enumerate(texts)
    ]
    await village.app.engine.accept(batch)


def _kept(unit: UnitOfWork) -> list[tuple[str, str]]:
    rows = unit.session.exec(select(InboxRow).order_by(InboxRow.id)).all()
    return [(unit.encryption.decrypt(row.text_sealed), row.status) for row in rows]


def _alerts(unit: UnitOfWork) -> list[AlertTold]:
    return [alert_told(unit.encryption, row) for row in unit.session.exec(select(AlertRow))]


async def test_a_sign_among_many_texts_goes_first_and_few_replies_come(
    village: Practice, handled: Handled
) -> None:
    texts = _texts(120)
    texts[90] = SIGN
    await _arrive(village, "mary", texts)
    await village.app.settle()

    # All of them were read by the lexicon before the second opinion looked at the first of them.
    assert handled.texts[0] == SIGN
    replies = village.heard("mary")
    assert "Call 111 now" in replies[0]
    assert len(replies) <= MOST_REPLIES
    assert SIGN in village.heard("rua")[0]
    kept = village.app.database.run_now(_kept)
    assert kept == [(text, "done") for text in texts]
    assert len(village.app.database.run_now(_alerts)) == 1


async def test_a_sign_elsewhere_does_not_wait_for_a_burst(
    village: Practice, handled: Handled
) -> None:
    await village.client("Hemi")
    await _arrive(village, "mary", _texts(150))
    await _arrive(village, "hemi", [SIGN], first=9000)
    await village.app.settle()

    # At most what was in hand when it came, not the hundreds before it.
    assert handled.texts.index(SIGN) < 60
    assert "Call 111 now" in village.heard("hemi")[0]


async def test_the_same_sign_again_and_again_is_answered_once_and_told_once(
    village: Practice,
) -> None:
    await _arrive(village, "mary", [f"{SIGN} {place}" for place in range(40)])
    await village.app.settle()

    assert len(village.heard("mary")) <= MOST_REPLIES
    told = village.heard("rua")
    assert len(told) <= 3
    assert len(village.app.database.run_now(_alerts)) == 1


async def test_another_sign_in_the_burst_is_answered_too(village: Practice) -> None:
    texts = [
        *_texts(40),
        "I can't breathe",
        *_texts(40),
        SIGN,
        *_texts(40),
        "I want to die",
        *_texts(9),
    ]
    await _arrive(village, "mary", texts)
    await village.app.settle()

    signs = " ".join(sign for one in village.app.database.run_now(_alerts) for sign in one.signs)
    assert "chest_pain" in signs
    assert "self_harm" in signs
    assert "breath" in signs
    assert len(village.heard("mary")) <= MOST_REPLIES


async def test_numbers_and_alarming_words_of_a_burst_count(village: Practice) -> None:
    await village.says("mary", SIGN)
    before = len(village.heard("mary"))
    texts = _texts(30)
    texts[15] = "I can't call"
    await _arrive(village, "mary", texts)
    await village.app.settle()

    [told] = village.app.database.run_now(_alerts)
    assert told.called == "cannot"
    assert len(village.heard("mary", before)) <= MOST_REPLIES


async def test_words_of_a_burst_answer_no_question(village: Practice) -> None:
    """ "No" was written before the sign, about something else: it must not call the alarm off."""
    await _arrive(village, "mary", [*["no"] * 30, "my chest feels a bit odd"])
    await village.app.settle()
    await village.wait(5)

    # Silence counts as yes: the coach has heard of it.
    assert any("chest feels a bit odd" in text for text in village.heard("rua"))


async def test_words_after_an_open_alert_reach_the_coach_together_and_after_a_new_alert(
    village: Practice,
) -> None:
    await village.client("Hemi")
    await village.says("mary", SIGN)
    before = len(village.heard("rua"))
    await _arrive(village, "mary", _texts(60))
    await _arrive(village, "hemi", ["I can't breathe"], first=9000)
    await village.app.settle()

    told = village.heard("rua", before)
    assert "Hemi" in told[0]
    assert len(told) == 2
    assert "cat sat on the mat 59" in told[1]


async def test_no_word_of_a_very_long_burst_is_missing_in_the_alert(village: Practice) -> None:
    """More than is looked at as one text: the oldest were cut off, though "passed on" was said."""
    long = [f"{SIGN} {'and on and on ' * 200}(time {place})" for place in range(60)]
    assert sum(map(len, long)) > 3 * MOST_TOGETHER
    await _arrive(village, "mary", long)
    await village.app.settle()

    words = village.app.database.run_now(words_of_alerts)
    assert [place for place in range(60) if f"(time {place})" not in words] == []
    assert len(village.heard("mary")) <= MOST_REPLIES


async def test_a_burst_that_goes_on_is_answered_in_parts(
    village: Practice, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What comes while it is read joins it: without an end its words would reach nobody."""
    monkeypatch.setattr(burst, "MOST_TEXTS", 30)
    await _arrive(village, "mary", [f"{SIGN} {place}" for place in range(100)])
    await village.app.settle()

    told = [text for text in village.heard("mary") if "sent that to Rua" in text]
    assert len(told) > 1
    words = village.app.database.run_now(words_of_alerts)
    assert [place for place in range(100) if f"{SIGN} {place}" not in words] == []


async def test_twenty_texts_are_answered_one_by_one(village: Practice) -> None:
    await _arrive(village, "mary", _texts(20))
    await village.app.settle()

    assert len(village.heard("mary")) >= 20


async def test_whoever_sends_a_burst_can_be_reached_again_before_its_alarms_are_answered(
    village: Practice,
) -> None:
    village.channel.close_chat("mary")
    await village.says("mary", "/menu")
    engine, now = village.app.engine, village.clock.now()

    def looks(unit: UnitOfWork) -> tuple[int, int]:
        before = len(addresses_of(unit, village.ids["mary"]))
        reading = engine._conversations.reader.read(QUIET)
        engine._conversations.look_for_alarms(
            unit, [(Waiting(0, said, read=False, attempts=0), reading)], now
        )
        return before, len(addresses_of(unit, village.ids["mary"]))

    said = Incoming(CHANNEL, "mary", "1", IncomingKind.TEXT, QUIET, "", "", now)

    assert village.app.database.run_now(looks) == (0, 1)
