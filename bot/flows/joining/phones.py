"""Phone numbers as answers: the client's own and the contact's.

A number that cannot be in use is asked for once more, and kept when it is insisted upon: by the
button, by saying so, or by giving the same number again.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from bot.flows.changes import SaveProfile
from bot.flows.facts import ClientRecord, Facts
from bot.flows.form_question import Setting
from bot.flows.forms import ASKED
from bot.flows.machine import Button, Event, EventKind, Say, State
from bot.flows.parsing import Reask, Why, read_choice, read_phone
from bot.phone_numbers import ReadNumber, read_number, shown_to

INSISTED = "really"
"""Stands before the digits of a number that is kept though it does not look right."""

PHONES = ("phone", "contact_phone")
DOUBTED = "doubted"
"""Where the state keeps the question and the number that was doubted last."""


def read_own_phone(text: str, setting: Setting) -> str | Reask:
    """The client's phone number, as E.164 writes it where its country is known."""
    return _read(text, setting)


def read_contact_phone(text: str, setting: Setting) -> str | Reask:
    """A phone number that is not the client's own."""
    phone = _read(text, setting)
    mine = str(setting.given.get("phone") or "")
    if isinstance(phone, str) and mine and phone == _of(mine, setting).number:
        return Reask(Why.OWN_PHONE, text)
    return phone


def _read(text: str, setting: Setting) -> str | Reask:
    insisted = text.startswith(INSISTED)
    digits = read_phone(text.removeprefix(INSISTED))
    if isinstance(digits, Reask):
        return digits
    found = _of(digits, setting)
    if found.plausible or insisted:
        return found.number
    return Reask(Why.UNLIKELY_PHONE, digits)


def _of(digits: str, setting: Setting) -> ReadNumber:
    return read_number(digits, str(setting.given.get("country") or ""))


def with_insisting(state: State, say: Say, again: Reask | None) -> tuple[State, Say]:
    """The question with a button to insist, where a number is doubted."""
    if again is None or again.why is not Why.UNLIKELY_PHONE:
        return state, say
    button = Button(f"{state.step}{ASKED}{INSISTED}{again.about}")
    doubted = state.at(state.step, **{DOUBTED: f"{state.step}{ASKED}{again.about}"})
    return doubted, replace(say, rows=((button,), *say.rows))


def insisting(state: State, event: Event, facts: Facts) -> Event:
    """Words that insist on the doubted number, as a tap on the button for it."""
    key, _, number = str(state.answers.get(DOUBTED, "")).partition(ASKED)
    if not number or key != state.step or event.kind not in (EventKind.TEXT, EventKind.CONTACT):
        return event
    said = read_choice(event.value, (INSISTED,), facts.reference.spoken.get("doubted_phone", {}))
    if said != INSISTED and read_phone(event.value) != number:
        return event
    return replace(event, kind=EventKind.TAP, value=f"{key}{ASKED}{INSISTED}{number}")


def kept_meanwhile(key: str, again: Reask | None, record: ClientRecord) -> tuple[SaveProfile, ...]:
    """A doubted number is better than none, until it is insisted upon or corrected."""
    if again is None or again.why is not Why.UNLIKELY_PHONE or record.answers.get(key):
        return ()
    return (SaveProfile(record.id, {key: again.about}),)


def shown_phones(given: Mapping[str, Any], reader: str) -> dict[str, str]:
    """The phone numbers among the answers, as somebody in the country ``reader`` dials them."""
    home = str(given.get("country") or "")
    return {key: shown_to(str(given[key]), home, reader) for key in PHONES if given.get(key)}
