"""What people are told has happened."""

import re

from tests.lives.step import Step
from tests.lives.store import Person

TOLD = re.compile(
    r"\bI am (?:telling|asking) \w+|\bI have (?:told|passed (?:it|that) on to) (?:your coach )?\w+"
    r"|\b\w+ is told\b|\bI have sent your address"
)
NOTED = re.compile(r"\bleft a note for \w+|\bput it on \w+'s list")
REACHES_NOBODY = re.compile(
    r"\bcannot (?:reach|tell) (?:\w+ or )?any(?:one|body)|\bI can reach nobody", re.IGNORECASE
)
SEEN = re.compile(r"\bhas seen your message")
NOT_REACHED = re.compile(r"\bI (?:could not|cannot) reach (\w+) in a chat")
CLIENT_TOLD = re.compile(r"\bI have told (\w+)|\b(\w+) is told\b")


def told_is_true(step: Step) -> list[str] | None:
    """Where a client reads that the coach is told, a message to a coach that can be reached was put
    out in the same step, or the client reads as well that nobody is reached. What a closed chat has
    refused, nobody reads."""
    said = [
        (one, client)
        for one, client in step.to_clients()
        if TOLD.search(one.text) and one.status != "refused"
    ]
    return _none_if_idle(
        said,
        [
            f"{client.name} reads “{_part(TOLD, one.text)}”, and no coach was sent anything"
            for one, client in said
            if not step.told_coaches(client.id) and not _hears_of_nobody(step, client)
        ],
    )


def told_words_stand(step: Step) -> list[str] | None:
    """Words that a client is told were passed on stand on an alert, the list, or a note."""
    said = [
        (client, words)
        for client, words in step.sentences()
        if any(
            to.id == client.id and (TOLD.search(one.text) or NOTED.search(one.text))
            for one, to in step.to_clients()
        )
    ]
    return _none_if_idle(
        said,
        [
            f"“{words}” of {client.name} stands nowhere"
            for client, words in said
            if not stands_somewhere(step, client, words)
        ],
    )


def a_note_is_left(step: Step) -> list[str] | None:
    """Where a client reads that a note was left for the coach, something new stands on her list."""
    said = [(one, client) for one, client in step.to_clients() if NOTED.search(one.text)]
    return _none_if_idle(
        said,
        [
            f"{client.name} reads “{_part(NOTED, one.text)}”, and nothing new stands there"
            for one, client in said
            if _listed(step, client) == 0
        ],
    )


def seen_is_seen(step: Step) -> list[str] | None:
    """A client reads that the coach has seen it only when an alert of theirs is marked as seen."""
    said = [client for one, client in step.to_clients() if SEEN.search(one.text)]
    return _none_if_idle(
        said,
        [
            f"{client.name} reads that it was seen, and no alert is"
            for client in said
            if not any(
                alert.seen for alert in step.after.alerts.values() if alert.client_id == client.id
            )
        ],
    )


def the_client_is_told_too(step: Step) -> list[str] | None:
    """Where a coach reads that a client is told, a message to that client went to an open chat, or
    the coach reads as well that it did not arrive."""
    found, looked = [], False
    for one, coach in step.to_coaches():
        for first, second in CLIENT_TOLD.findall(one.text):
            name = first or second
            # Two clients may go by the same name.
            meant = {
                person.id
                for person in step.after.people.values()
                if person.name == name and person.role == "client"
            }
            if not meant:
                continue
            looked = True
            sent = any(told.person_id in meant and told.status != "refused" for told in step.new)
            taken_back = any(
                to.id == coach.id and name in NOT_REACHED.findall(told.text)
                for told, to in step.to_coaches()
            )
            if not sent and not taken_back:
                found.append(f"{coach.name} reads that {name} is told, and {name} was sent nothing")
    return found if looked else None


def stands_somewhere(step: Step, client: Person, words: str) -> bool:
    """Whether a client's words stand on an alert, the coach's list or a note."""
    after = step.after
    told = [
        word for one in after.alerts.values() if one.client_id == client.id for word in one.words
    ]
    notes = [text for client_id, text in after.notes if client_id == client.id]
    return any(words.strip() in text for text in (*told, *notes))


def _hears_of_nobody(step: Step, client: Person) -> bool:
    return any(
        to.id == client.id and REACHES_NOBODY.search(one.text) for one, to in step.to_clients()
    )


def _listed(step: Step, client: Person) -> int:
    """How much of this client is new or has changed on alerts, lists and notes."""
    before, after = step.before, step.after
    alerts = [
        one
        for one in after.alerts.values()
        if one.client_id == client.id and before.alerts.get(one.id) != one
    ]
    return len(alerts) + len(after.notes) - len(before.notes)


def _part(pattern: re.Pattern[str], text: str) -> str:
    found = pattern.search(text)
    return found.group() if found else ""


def _none_if_idle(looked_at: list, faults: list[str]) -> list[str] | None:
    return faults if looked_at else None
