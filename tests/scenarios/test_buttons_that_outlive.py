"""Buttons that outlive their screen: two taps are one, and an old one never acts on today.

Each is brought to its screen as people come to it. Then it is tapped twice, at once and after a
while; and by itself, a day later, from the message in which it stood.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import select
from sqlmodel import SQLModel

from bot.storage.unit import UnitOfWork
from tests.support.practice import NEW_ZEALAND, Practice
from tests.support.sessions import begin, tap, values

NOT_ACTS = frozenset(
    {"inbox", "outbox", "conversation", "audit", "address", "picture", "key_proof"}
)
"""Tables that say what was said and read, not what it brought about."""

OF_THE_WATCH = ("_due_at", "touched_at", "silence_stage", "used_at", "signs_asked_at")


@dataclass(frozen=True)
class Old:
    """A button that outlives its screen.

    Attributes:
        way: how one gets there: ``/words`` are typed, ``!begin`` starts the session, other
            steps are values of buttons; a leading ``rua:`` makes it the coach's.
        value: what the button sends back.
    """

    name: str
    way: Sequence[str]
    value: str
    who: str = "mary"


PAIN = ("/unwell", "pain", "where=knee")
CARD = ("rua:/Mary",)
LIMITS = (*CARD, "rua:limits")
CLEARING = ("rua:identity~right", "rua:word~own")
MORNING = ("!morning",)
IN_SESSION = (*MORNING, "!begin")
OLD = (
    Old("check-in: nothing is wrong", MORNING, "trouble=nothing"),
    Old("check-in: the last answer", (*MORNING, "!all but mood"), "mood=4"),
    Old("session: ready", (*MORNING, "!good", "/today", "start"), "ready"),
    Old("list: a movement", (*MORNING, "!good", "/today"), "see=0"),
    Old("card: easier", (*MORNING, "!good", "/today", "see=0"), "easier"),
    Old("session: a set was done", IN_SESSION, "did=?"),
    Old("session: why it ended short", (*IN_SESSION, "did=?"), "ended=other"),
    Old("session: how many were left", (*IN_SESSION, "did=?", "ended=other"), "left=3"),
    Old("session: leave it out", (*IN_SESSION, "more"), "leave_out"),
    Old("session: just stop", (*IN_SESSION, "stop"), "just_stop"),
    Old("wrong: ill", ("/unwell",), "ill"),
    Old("wrong: a pain", PAIN, "pain=6"),
    Old("settings: away for a week", ("/settings", "away"), "week"),
    Old("settings: a day more", ("/settings", "days"), "day=6"),
    Old("settings: the time", ("/settings", "time"), "at=09:00"),
    Old("words for the coach", ("/the postman was late again",), "send"),
    Old("my data: leave", ("/mydata", "leave"), "leave~sure"),
    Old("coach: pause", (*CARD, "rua:hold", "rua:coach_ill"), "until~week", "rua"),
    Old("coach: clear until", (*CARD, "rua:clear", *CLEARING), "until~6", "rua"),
    Old("coach: forbid a movement", (*LIMITS, "rua:forbid", "rua:family~squat"), "rung~?", "rua"),
    Old("coach: numbers asked", (*LIMITS, "rua:edit~numbers"), "numbers~pulse", "rua"),
    Old("coach: ask for a test", (*CARD, "rua:tests", "rua:test~?"), "ask", "rua"),
    Old("coach: end the work", (*CARD, "rua:more", "rua:leave"), "sure", "rua"),
    Old("coach: called them", ("/my chest feels tight",), "called", "rua"),
)  # fmt: skip

OF_THEIR_MATTER = ("words for the coach", "coach: called them")
"""These say what they are about, whenever they are tapped: the words, the alert."""
OF_A_DAY = tuple(one for one in OLD if one.name not in OF_THEIR_MATTER)


async def go(village: Practice, button: Old) -> tuple[str, str]:
    """The way to the screen; the button's whole value and its message."""
    for step in button.way:
        who = "rua" if step.startswith("rua:") else "mary"
        what = step.removeprefix("rua:")
        if step == "!morning":
            await village.at("07:00")
        elif step == "!good":
            await village.good_morning()
        elif step == "!all but mood":
            await village.taps("mary", "None of these", "4", "4", "4", "4")
        elif step == "!begin":
            await begin(village)
        elif what.startswith("/"):
            await village.says(who, what if what in COMMANDS else what[1:])
        else:
            await tap(village, whole(village, what, who), who)
    shown = village.newest_buttons(button.who)
    wanted = f".{whole(village, button.value, button.who)}"
    value = next(
        choice.value
        for row in shown.outgoing.choices
        for choice in row
        if choice.value.endswith(wanted)
    )
    return value, shown.edits or shown.platform_id


COMMANDS = ("/unwell", "/today", "/settings", "/mydata")


def whole(village: Practice, value: str, who: str) -> str:
    """The value itself; for one that ends with "?" the first of its kind."""
    if not value.endswith("?"):
        return value
    return next(one for one in values(village, who) if one.startswith(value[:-1]))


async def record(village: Practice) -> Mapping[str, Any]:
    """All that has been brought about, but for the times at which something is looked at."""

    def ask(unit: UnitOfWork) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for name, table in SQLModel.metadata.tables.items():
            if name in NOT_ACTS:
                continue
            rows = unit.session.execute(select(table)).mappings().all()
            found[name] = [
                {
                    column: unit.encryption.decrypt(told) if column.endswith("_sealed") else told
                    for column, told in row.items()
                    if not column.endswith(OF_THE_WATCH)
                }
                for row in rows
            ]
        return found

    return await village.app.database.run(ask)


@pytest.mark.parametrize("button", OLD, ids=lambda one: one.name)
async def test_two_taps_are_one(village: Practice, button: Old):
    value, message = await go(village, button)
    assert await village.taps_value(button.who, value, message), "the button does nothing"
    after = await record(village)

    await village.taps_value(button.who, value, message)
    assert await record(village) == after
    # Neither does a third, once the thumb has had time to shake.
    await village.wait(1)
    await village.taps_value(button.who, value, message)
    assert await record(village) == after


@pytest.mark.parametrize("button", OF_A_DAY, ids=lambda one: one.name)
async def test_a_day_later_it_says_its_date_and_acts_on_nothing(village: Practice, button: Old):
    value, message = await go(village, button)
    on = village.clock.now().astimezone(ZoneInfo(NEW_ZEALAND))
    await village.wait(60 * 24)
    before = await record(village)

    said = await village.taps_value(button.who, value, message)

    assert await record(village) == before
    assert said[0].startswith(f"That button is from {on:%A} {on.day} {on:%B}."), said
    assert village.newest_buttons(button.who).outgoing.text in said, "today's screen is offered"
