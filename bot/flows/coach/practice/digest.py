"""The coach's morning list: who needs her, who is paused, what else she should know."""

from collections.abc import Sequence
from datetime import datetime
from typing import TypedDict

from bot.flows.coach.client.buttons import WRITE
from bot.flows.coach.client.card import LIFTS_SHOWN_DAYS, alert_line, lift_lines
from bot.flows.coach.client_state import ClientLine, ClientState, client_states, line_of
from bot.flows.desk import NOTICE_OF, OF_THE_OLD_COACH, Notice, Waits
from bot.flows.facts import Facts
from bot.flows.forms import ASKED
from bot.flows.machine import Button, Say
from bot.flows.record.thread import shortened
from bot.messages import Kind
from core.vocabulary import AlertLevel, PersonId

MOST_MENTIONS = 10
MOST_BUTTONS = 6
MOST_WAITED = 15


def _tells(line: ClientLine) -> bool:
    """Whether a client who is fine has a line all the same."""
    return line["clearance_ends"] is not None


class Waited(TypedDict):
    """Something that has waited for the list: who, ``what`` (see ``reasons/waited.yaml``), when."""

    id: str
    name: str
    what: str
    quote: str
    at: datetime


def waited(facts: Facts) -> Sequence[Waited]:
    """What has waited for my list, oldest first; of nobody who is another coach's by now."""
    names = {one.id: one.person.name for one in (*facts.clients(), *facts.left_clients())}
    found: list[Waited] = []
    for one in facts.desk(facts.me.id).waiting:
        what, client_id = one.what.rpartition("/")[2], PersonId(one.client_id)
        mine = client_id in names
        if not mine and what not in OF_THE_OLD_COACH:
            continue
        shown: Waited = {
            "id": str(client_id) if mine else "",
            "name": names.get(client_id, "") or facts.reference.who_left,
            "what": what,
            "quote": shortened(words_waiting(one, facts)) if mine else "",
            "at": facts.me.local(one.at),
        }
        found.append(shown)
    return found


def words_waiting(one: Waits, facts: Facts) -> str:
    """What a client wrote that waits; "" where it is something else, or erased by now."""
    client_id = PersonId(one.client_id)
    if NOTICE_OF.get(one.what) is not Notice.WORDS or not facts.is_coach_of(client_id):
        return ""
    wrote = (note for note in facts.notes(client_id) if note.by_id == client_id)
    return next((note.text for note in wrote if note.at == one.at), "")


def digest(facts: Facts) -> Say | None:
    """One message with everybody's word, and what has waited for it; ``None`` without any."""
    found, after = client_states(facts), waited(facts)
    if not found and not after:
        return None
    lines = [line_of(one, facts) for one in found]
    mentions = [
        alert
        for alert in facts.alerts([one.record.id for one in found], 1)
        if alert.level is AlertLevel.MENTION and not alert.closed
    ]
    pressing = [line for line in lines if line["standing"] == ClientState.NEEDS_YOU.value]
    rows = tuple(
        (Button(f"open{ASKED}{line['id']}", handler="client", ref=line["id"]),)
        for line in pressing[:MOST_BUTTONS]
    )
    writers = {one["id"]: one["name"] for one in after if one["quote"]}
    write = [Button(f"{WRITE}{who}", handler="client", ref=who) for who in writers]
    values = {
        "today": facts.me.local(facts.now),
        "lines": [
            line for line in lines if line["standing"] != ClientState.FINE.value or _tells(line)
        ],
        "fine": [
            line["name"]
            for line in lines
            if line["standing"] == ClientState.FINE.value and not _tells(line)
        ],
        "mentions": [alert_line(alert, facts) for alert in mentions[:MOST_MENTIONS]],
        "lifts": [
            line for one in found for line in lift_lines(one.record, facts, LIFTS_SHOWN_DAYS)
        ],
        "waited": after[:MOST_WAITED],
        "waited_more": max(0, len(after) - MOST_WAITED),
        "writers": writers,
        "more": max(0, len(mentions) - MOST_MENTIONS),
    }
    return Say(
        "coach/digest",
        values,
        rows=(
            *rows,
            *((one,) for one in write[:MOST_BUTTONS]),
            (Button("clients", handler="open", ref="clients"),),
        ),
        kind=Kind.DIGEST,
    )
