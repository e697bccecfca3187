"""Days that a coach types: read as her country writes them, asked about where two are possible."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from bot.flows.facts import Country, Facts
from bot.flows.forms import ASKED
from bot.flows.machine import Button, Event, EventKind, Rows, Say, State, Turn, rows_of
from bot.flows.parsing import Reask, Why, plain_words, read_day_ahead, read_exact_day, read_told_day
from bot.flows.typed_words import DateOrder

A_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


def order_of(facts: Facts) -> DateOrder:
    """How the one who types writes a date in figures."""
    return facts.reference.countries.get(facts.me.country, Country("", "")).dates


def day_ahead(text: str, first: date, last: date, facts: Facts) -> date | Reask:
    """A day from ``first`` to ``last``."""
    told = read_day_ahead(text, first, facts.reference.words, order_of(facts), last)
    return told if isinstance(told, Reask) else date.fromisoformat(told)


def day_past(text: str, today: date, facts: Facts) -> date | Reask:
    """A day up to ``today``."""
    told = read_told_day(text, today, facts.reference.words, order_of(facts))
    return told if isinstance(told, Reask) else date.fromisoformat(told)


def with_a_day(text: str, today: date, facts: Facts) -> tuple[str, str]:
    """Words and the day at their end, typed in one line: "Dr Singh, 3 March", "Dr Singh today".

    The day is "" where there is none: a last word alone is one only where it can be nothing else.
    A day that is not possible is given too, so that its own question can say why.
    """
    name, comma, tail = text.rpartition(",")
    if not comma:
        name, _, tail = text.rstrip().rpartition(" ")
    tail = tail.strip().rstrip(".")
    if not name.strip():
        return text, ""
    ago = {"today": 0, "yesterday": 1}.get(
        facts.reference.spoken["lift_day"].get(plain_words(tail), "")
    )
    if ago is not None:
        return name.strip(), (today - timedelta(days=ago)).isoformat()
    if not comma or not any(letter.isdigit() for letter in tail):
        return text, ""
    day = read_exact_day(tail, today, facts.reference.words, order_of(facts))
    is_one = not isinstance(day, Reask) or day.why in (Why.NOT_YET, Why.WHICH_DAY)
    return (name.strip(), tail) if is_one else (text, "")


def as_typed(event: Event) -> Event:
    """A tapped day stands for that day typed; anything else stays what it is."""
    code = event.value.rpartition(ASKED)[2]
    if event.kind is EventKind.TAP and A_DAY.fullmatch(code):
        return replace(event, kind=EventKind.TEXT, value=code)
    return event


def day_buttons(step: str, days: Sequence[date]) -> Rows:
    """The days among which an answer leaves a choice, a row each."""
    return tuple(
        (Button(f"{step}{ASKED}{day.isoformat()}", label=f"{day.day} {day:%B %Y}"),) for day in days
    )


def asked_which(state: State, told: Reask) -> Turn:
    """Which of two days is meant; the step stays open. Not understood where it is no such doubt."""
    if not told.days:
        return Turn(state, understood=False)
    rows = (*day_buttons(state.step, told.days), *rows_of("cancel"))
    return Turn(state, says=(Say("coach/which_day", {"days": told.days}, rows=rows),))


def said_back(event: Event, day: date) -> tuple[Say, ...]:
    """A typed day in words, with its year; nothing after a button."""
    if event.kind is not EventKind.TEXT:
        return ()
    return (Say("coach/day_read", {"day": day}),)
