"""Buttons that no message ever showed: a clear sentence, no row set aside, nothing changed."""

import random
from collections.abc import Sequence

import pytest
from sqlmodel import select

from bot.storage.tables import AlertRow, HoldRow, InboxRow
from bot.storage.told import alert_told
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice

SEED = 7
JUNK = (
    "",
    ".",
    "..",
    "....",
    "\u00b2.\u00b2.\u00b2",
    "who.\u00b3.1",
    "who.99999999999999999999999.1",
    "alert.99999999999999999999999.seen",
    "checkin.99999999999999999999999-1.4",
    "checkin.1-99999999999999999999999.4",
    "checkin.-1.4",
    "pass_on.99999999999999999999999.send",
    "open.\u0661.menu",
    "open.nothing.nothing",
    "\ud83d".encode("utf-8", "replace").decode(),
    "\x1b[31m.1.2",
    "x" * 64,
    "card.1.1.1.1.1",
    "'; DROP TABLE person; --",
)


def _values(village: Practice) -> list[str]:
    """Every button's value that anybody was shown so far."""
    return sorted(
        {
            choice.value
            for one in village.channel.sent
            for row in one.outgoing.choices
            for choice in row
        }
    )


def _spoilt(values: Sequence[str], chance: random.Random) -> list[str]:
    """Real values with one part of another, a number changed, or a part left out."""
    made = []
    for value in values:
        parts = value.split(".")
        place = chance.randrange(len(parts))
        parts[place] = chance.choice(
            ["", "999999999999999999999", "\u00b2", "-1", "none", chance.choice(values), "0"]
        )
        made.append(".".join(parts)[:64])
    return made


def _failed(unit: UnitOfWork) -> list[tuple[str, str]]:
    rows = unit.session.exec(select(InboxRow).where(InboxRow.status != "done")).all()
    return [(unit.encryption.decrypt(row.tap_sealed), row.last_error) for row in rows]


def _what_matters(unit: UnitOfWork) -> tuple[list[object], list[object]]:
    alerts = unit.session.exec(select(AlertRow).order_by(AlertRow.id)).all()
    holds = unit.session.exec(select(HoldRow).order_by(HoldRow.id)).all()
    return (
        [(row.id, row.seen_at, row.closed_at, alert_told(unit.encryption, row)) for row in alerts],
        [(row.id, row.lifted_at) for row in holds],
    )


@pytest.mark.parametrize("who", ["mary", "rua"])
async def test_malformed_references_are_old_buttons_and_set_nothing_aside(
    village: Practice, who: str, caplog: pytest.LogCaptureFixture
) -> None:
    await village.says("mary", "my chest hurts")
    await village.says("rua", "/menu")
    await village.says("mary", "/menu")
    before = village.app.database.run_now(_what_matters)
    chance = random.Random(SEED)
    known = _values(village)
    for value in (*JUNK, *_spoilt(known, chance), *_spoilt(known, chance)):
        if value in known:
            continue
        said = await village.taps_value(who, value, "never-shown")
        assert not any("went wrong" in text for text in said), value

    assert village.app.database.run_now(_failed) == []
    assert "failed" not in caplog.text
    # An alarm may be raised by an old button; none may be called off by one that never was.
    after = village.app.database.run_now(_what_matters)
    assert after[1][: len(before[1])] == before[1]
    assert [one[:3] for one in after[0]][: len(before[0])] == [one[:3] for one in before[0]]


async def test_words_that_would_turn_a_line_around_reach_nobody(village: Practice) -> None:
    from bot.messages import storable

    assert storable("Mary \u202egnp.exe\u202c \u2066x\u2069") == "Mary gnp.exe x"
    # A family, which is one picture, keeps what joins it.
    assert storable("\U0001f468\u200d\U0001f469") == "\U0001f468\u200d\U0001f469"


async def test_a_button_that_was_made_up_passes_nobody_elses_words_on(village: Practice) -> None:
    await village.says("somebody", "nobody knows that my heart is weak")
    rows = await village.app.database.run(
        lambda unit: list(unit.session.exec(select(InboxRow.id)).all())
    )
    before = len(village.heard("rua"))

    for row in rows:
        await village.taps_value("mary", f"pass_on.{row}.send", "1")

    assert village.heard("rua", before) == []
