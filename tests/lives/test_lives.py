"""Ten lives of two weeks; the command ``python -m tests.lives`` lives many more."""

import asyncio
import re

import pytest

from tests.lives.acts import Act, Joins, Morning, Restart, Says, Tap, Together, Wait, diary_line
from tests.lives.laws.all_laws import LAWS
from tests.lives.life import Lived, Setting, live, live_again
from tests.lives.shrink import shrunk

LIVES, DAYS = 10, 14
SETTING = Setting(("mary",), with_stand_in=True)


@pytest.fixture(scope="module")
def lives() -> list[Lived]:
    """The same ten lives for all tests."""

    async def all_of_them() -> list[Lived]:
        return [await live(f"test:{number}", DAYS) for number in range(LIVES)]

    return asyncio.run(all_of_them())


def test_laws_hold_in_ten_lives(lives: list[Lived]):
    broken = [
        f"{fault.law}: {fault.what}, after “{diary_line(one.acts[fault.act])}”"
        for one in lives
        for fault in one.faults
    ]

    assert broken == []


def test_every_law_has_something_to_look_at(lives: list[Lived]):
    """A law that is never asked would hold whatever the product does."""
    looked = {law for one in lives for law in one.looked}
    told = asyncio.run(live_again(SETTING, A_DOUBT, tuple(LAWS)))
    lifted = asyncio.run(live_again(SETTING, A_LIFT, tuple(LAWS)))
    looked |= set(told.looked) | set(lifted.looked)

    assert [*told.faults, *lifted.faults] == []
    assert set(LAWS) - looked == set()


def test_people_do_every_kind_of_thing(lives: list[Lived]):
    done = {type(act) for one in lives for act in one.acts}

    assert {Tap, Says, Together, Joins, Wait, Morning, Restart} <= done


def test_the_same_seed_gives_the_same_life(lives: list[Lived]):
    again = asyncio.run(live("test:0", 2)).acts

    assert lives[0].acts[: len(again)] == again


def test_each_law_says_what_it_is_about():
    assert [name for name, law in LAWS.items() if not re.search(r"\w{3}", law.__doc__ or "")] == []


A_DOUBT: tuple[Act, ...] = (
    Says("rua", "Mary"),
    *(Tap("rua", word) for word in ("Limits", "Forbid a rung", "Squat", "Squat with pulses")),
    Says("mary", "my chest felt odd for a moment"),
    Tap("mary", "No, I am fine"),
    Says("mary", "felt a bit odd in my heart perhaps"),
    Says("mary", "just when I carried the washing in"),
    Tap("mary", "Yes, now"),
)

"""A rung is forbidden; then a doubt, answered with no, and one with words and a yes."""

A_LIFT: tuple[Act, ...] = (
    Says("mary", "my chest feels tight"),
    Tap("mary", "I can't"),
    Tap("rua", "I have seen"),
    Tap("rua", "End the pause"),
    Tap("rua", "A doctor"),
    Says("rua", "Dr Singh"),
    Tap("rua", "Today"),
    Morning("07:00"),
    Tap("mary", "None of these"),
    *(Tap("mary", word) for word in ("Well", "Rested", "A little sore", "Calm", "Good")),
    Says("mary", "/today"),
    Tap("mary", "Start the session"),
    Tap("mary", "I am ready"),
)
"""A sign, a proper lift, and the first session after it."""

AN_EVENING: tuple[Act, ...] = (
    Says("mary", "the roses are nice this year"),
    Says("mary", "my chest feels tight"),
    Tap("rua", "I have seen"),
    Wait(5),
)


A_FAREWELL: tuple[Act, ...] = (
    Says("mary", "/menu"),
    Tap("mary", "My data"),
    Tap("mary", "Leave and erase my words"),
    Tap("mary", "Yes, I am sure"),
)
AN_ANSWERED_QUESTION: tuple[Act, ...] = (
    Says("mary", "had a funny turn i think"),
    Tap("mary", "Yes, now"),
)


@pytest.mark.parametrize("before", [(), AN_ANSWERED_QUESTION], ids=["quiet", "an alert is open"])
async def test_words_that_somebody_has_erased_break_no_law(before: tuple[Act, ...]):
    lived = await live_again(SETTING, (*before, *A_FAREWELL), tuple(LAWS))

    assert lived.faults == []
    assert lived.steps == len(before) + len(A_FAREWELL)


async def test_a_law_sees_what_breaks_it_and_the_diary_is_made_short(monkeypatch):
    """A law that nobody may tell of a sign is broken by one act of four."""

    def nobody_is_told(step):
        """No coach is sent anything."""
        return ["a coach was sent something"] if step.to_coaches() else []

    monkeypatch.setitem(LAWS, "nobody_is_told", nobody_is_told)
    lived = await live_again(SETTING, AN_EVENING, ("nobody_is_told",))

    found = await shrunk(lived, lived.faults[0])

    assert found.acts == (Says("mary", "my chest feels tight"),)
    assert found.diary()[1] == "mary types “my chest feels tight”"


async def test_a_button_that_is_not_there_is_left_out():
    lived = await live_again(SETTING, (Tap("rua", "End the pause"),), tuple(LAWS))

    assert (lived.steps, lived.faults) == (0, [])
