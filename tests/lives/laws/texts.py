"""What every text must be, and that nothing breaks."""

import re
from functools import cache
from typing import Any

import yaml

from tests.lives.laws.alerts import ROOT
from tests.lives.step import Step
from tests.support.one_question import asks_two

SAFETY_KIND = 50
UNKNOWN_NUMBER = "your local emergency number, or 112"
URGES = re.compile(
    r"(?:^|\. )(?:Stop\. )?Call \S+ now|does not reach emergency services", re.MULTILINE
)
CALLS = re.compile(r"\b[Cc]all (\d{3,5})(?!\s?\d)")
BROKEN = re.compile(
    r"\bNone\b(?! (?:of|done)\b)|\{\{|\{%|\bundefined\b|\bnan\b|“”|\(\s*\)"
    r"| [.,;!?](?:\s|$)|,,|(?<!\.)\.\.(?!\.)"
    r"|^\s*[.,;:?]",
    re.MULTILINE,
)
APOLOGY = re.compile(r"something went wrong|I have a fault", re.IGNORECASE)


def emergency_texts_name_the_own_number(step: Step) -> list[str] | None:
    """A safety text that sends a client to call names the number of their own country, and that
    of no other country."""
    said = [
        (one, client)
        for one, client in step.to_clients()
        if one.kind == SAFETY_KIND and (URGES.search(one.text) or CALLS.search(one.text))
    ]
    if not said:
        return None
    found = []
    for one, client in said:
        own = number_of(client.country)
        if own not in one.text:
            found.append(
                f"{client.name} in {client.country} does not read “{own}”: {one.text[:60]}"
            )
        others = {number for number in CALLS.findall(one.text) if number in all_numbers()}
        others -= {own, "112", *lines_of(client.country)}
        if others:
            found.append(f"{client.name} in {client.country} is told to call {sorted(others)}")
    return found


def coaches_read_the_client_s_number(step: Step) -> list[str] | None:
    """Where a client cannot call, the coach is told to call the number of the client's country."""
    found, looked = [], False
    for one, coach in step.to_coaches():
        for number in re.findall(r"CANNOT CALL FOR HELP\. Call (.+) for them now", one.text):
            looked = True
            named = one.text.splitlines()[0].rpartition(": ")[2]
            client = next((p for p in step.after.people.values() if p.name == named), None)
            if client is not None and number not in (
                number_of(client.country),
                "their local emergency number",
            ):
                found.append(f"{coach.name} is told to call {number} for {named}")
    return found if looked else None


def the_safety_reply_comes_first(step: Step) -> list[str] | None:
    """The first message to a client after a sign is the safety reply."""
    client = step.actor
    if client is None or client.role != "client" or step.by_clock:
        return None
    raised = [
        one
        for one in step.after.alerts.values()
        if one.client_id == client.id
        and one.chased
        and one.raised_at == step.after.now
        and one.id not in step.before.alerts
    ]
    if not raised:
        return None
    who = getattr(step.act, "who", "")
    texts = [one.outgoing.text for one in step.sent if one.address == who]
    safety = [
        one.text for one, to in step.to_clients() if to.id == client.id and one.kind == SAFETY_KIND
    ]
    if not texts or texts[0] in safety:
        return [] if texts or who not in step.after.chats.get(client.id, ()) else ["nothing came"]
    return [f"{client.name} told of a sign and first read “{texts[0][:60]}”"]


def nothing_fails(step: Step) -> list[str] | None:
    """No arrival is set aside, nothing is logged as an error, nobody reads an apology."""
    return [
        *(
            f"an arrival was set aside: {one}"
            for one in step.after.failed[len(step.before.failed) :]
        ),
        *(f"logged: {one}" for one in step.errors),
        *(f"somebody reads “{one.text[:60]}”" for one in step.new if APOLOGY.search(one.text)),
    ]


def texts_are_whole(step: Step) -> list[str] | None:
    """No text shows a gap: no "None", no unfilled place, no empty sentence; none is empty.

    What is said of somebody who has their words erased stands only in the chat, once it is sent.
    """
    said = [
        *((one.text, one.cause) for one in step.new if not (one.erased and _erases(step))),
        *((one.outgoing.text, f"sent to {one.address}") for one in step.sent),
    ]
    if not said:
        return None
    found = []
    for whole, cause in dict(said).items():
        text = whole
        for typed in sorted(step.memory.typed, key=len, reverse=True):
            if typed in text:
                text = text.replace(typed, "words")
        gap = BROKEN.search(text)
        if gap:
            around = text[max(0, gap.start() - 30) : gap.end() + 20]
            found.append(f"a text has a gap at “{around}”")
        if not text.strip():
            found.append(f"a text is empty ({cause})")
    return found


def a_client_is_asked_one_thing(step: Step) -> list[str] | None:
    """No message to a client asks two things, however it was put together."""
    said = {one.text for one, _ in step.to_clients()}
    return [f"two questions: {t[:120]}" for t in said if asks_two(t, step.memory.typed)] or (
        [] if said else None
    )


def _erases(step: Step) -> bool:
    """Whether there is anybody whose words are erased."""
    return any(one.erasing for one in step.after.people.values())


def number_of(country: str) -> str:
    """The emergency number of a country, or what is said instead."""
    return (countries().get(country) or {}).get("emergency") or UNKNOWN_NUMBER


def lines_of(country: str) -> list[str]:
    """The health line and crisis lines of a country."""
    found = countries().get(country) or {}
    return [found.get("health_line", ""), *found.get("crisis_lines", ())]


@cache
def all_numbers() -> frozenset[str]:
    """Emergency numbers anywhere."""
    return frozenset(one["emergency"] for one in countries().values() if one.get("emergency"))


@cache
def countries() -> dict[str, dict[str, Any]]:
    """The list of countries, as the data file has it."""
    return yaml.safe_load((ROOT / "templates/en/countries.yaml").read_text(encoding="utf-8"))
