"""The coach's morning list: who needs her, who is paused, what else she should know."""

from collections.abc import Sequence
from datetime import datetime
from typing import TypedDict

from bot.flows.coach.client.buttons import WRITE
from bot.flows.coach.client.card import LIFTS_SHOWN_DAYS, alert_line, lift_lines
from bot.flows.coach.client_state import (
    ClientLine,
    ClientState,
    StateReason,
    client_states,
    line_of,
)
from bot.flows.coach.practice.falls_due import clearances_that_end, falls_due
from bot.flows.coach.practice.grouped_lines import Mentioned, grouped, same_mentions
from bot.flows.desk import NOTICE_OF, OF_THE_OLD_COACH, Notice, Waits
from bot.flows.facts import Facts
from bot.flows.forms import ASKED
from bot.flows.machine import Button, Say
from bot.flows.record.thread import shortened
from bot.messages import Kind
from core.vocabulary import AlertLevel, PersonId

MOST_MENTIONS = 10
MOST_CARDS, ON_A_ROW = 8, 2
MOST_WRITERS = 6
MOST_WAITED = 15
MOST_LIFTS = 4

LONG_SILENT = (StateReason.NO_CHECKIN_FOR_DAYS.value, StateReason.NO_CHECKIN_YET.value)

SAID_AS_DUE = ("clearance_ends",)
"""What waits for the list and has a line of its own there, as long as it is true."""


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
        if (not mine and what not in OF_THE_OLD_COACH) or what in SAID_AS_DUE:
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


def _cards(lines: Sequence[ClientLine], told: Sequence[Mentioned]) -> list[ClientLine]:
    """Whose cards the list opens by a tap: who needs her, who told something, who is silent."""
    told_by = {one for mentioned in told for one in mentioned["ids"]}
    first = [line for line in lines if line["standing"] == ClientState.NEEDS_YOU.value]
    then = [line for line in lines if line["id"] in told_by]
    last = [line for line in lines if line["because"] in LONG_SILENT]
    return list({line["id"]: line for line in (*first, *then, *last)}.values())[:MOST_CARDS]


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
    needing = [one["id"] for one in lines if one["because"] == StateReason.MENTION.value]
    told = same_mentions(
        alert_line(alert, facts)
        for alert in facts.alerts([one.record.id for one in found], 1)
        if alert.level is AlertLevel.MENTION and not alert.closed
    )
    told.sort(key=lambda one: not set(one["ids"]) & set(needing))
    said = {who for one in told[:MOST_MENTIONS] for who in one["ids"]}
    cards = _cards(lines, told)
    buttons = [Button(f"open{ASKED}{one['id']}", handler="client", ref=one["id"]) for one in cards]
    rows = [tuple(buttons[at : at + ON_A_ROW]) for at in range(0, len(buttons), ON_A_ROW)]
    writers = {one["id"]: one["name"] for one in after if one["quote"]}
    write = [Button(f"{WRITE}{who}", handler="client", ref=who) for who in writers]
    lifts = sorted(
        (line for one in found for line in lift_lines(one.record, facts, LIFTS_SHOWN_DAYS)),
        key=lambda line: line["at"],
        reverse=True,
    )
    values = {
        "today": facts.me.local(facts.now),
        "cards": cards,
        "needing": needing,
        # What somebody told says why she needs the coach: no line of its own beside it.
        "lines": grouped(
            line for line in lines if line["id"] not in said or line["id"] not in needing
        ),
        "fine": [line["name"] for line in lines if line["standing"] == ClientState.FINE.value],
        "mentions": told[:MOST_MENTIONS],
        "lifts": lifts[:MOST_LIFTS],
        "lifts_more": max(0, len(lifts) - MOST_LIFTS),
        "due": [*clearances_that_end(lines), *falls_due(facts)],
        "waited": after[:MOST_WAITED],
        "waited_more": max(0, len(after) - MOST_WAITED),
        "writers": writers,
        "more": max(0, len(told) - MOST_MENTIONS),
    }
    return Say(
        "coach/digest",
        values,
        rows=(
            *rows,
            *((one,) for one in write[:MOST_WRITERS]),
            (Button("clients", handler="open", ref="clients"),),
        ),
        kind=Kind.DIGEST,
    )
