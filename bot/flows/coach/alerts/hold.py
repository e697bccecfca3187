"""The coach pauses a client's training; opened with ``client``.

A session, walk or test on its way ends with it: the watch goes on until the client is heard.
"""

from bot.flows.changes import PlaceHold
from bot.flows.client.feeling import stopped_on_the_way
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.facts import Facts
from bot.flows.machine import Begin, Event, EventKind, Say, State, Turn, not_understood, rows_of
from bot.flows.parsing import Reask, read_choice
from bot.flows.record.on_the_way import ENDED
from bot.messages import Kind

NAME = "coach_hold"
REASONS = ("coach_ill", "coach_hospital", "coach_doctor", "coach_other")
"""Codes only: they are kept in plain; words about health belong into a note."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Ask why, pause, and tell the client."""
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    back = (Begin("coach_client", {"client": str(record.id)}),)
    code = event.value
    if event.kind is EventKind.TEXT:
        read = read_choice(code, REASONS, facts.reference.spoken.get("hold_reason", {}))
        code = "" if isinstance(read, Reask) else read
    if code in REASONS:
        told = Say(
            "join/on_hold_now",
            {"coach_name": facts.me.name, "because": code},
            to=record.id,
            kind=Kind.PROMPT,
        )
        changes = (PlaceHold(record.id, code),)
        doing = facts.watched(record.id)
        if doing not in ENDED:
            return Turn(None, says=(told,), changes=changes, begin=back)
        # Whoever lies in hospital is heard of by the coach, and not asked.
        asks = code != "coach_hospital" and facts.reaches(record.id)
        values = {
            "doing": doing,
            "asks": asks,
            "name": record.person.name,
            "stop": code != "coach_hospital",
        }
        says = (told, Say("coach/stopped_on_the_way", values))
        if not asks:
            ended = Say("feeling/watch_ends", values, to=record.id, kind=Kind.PROMPT)
            return Turn(None, says=(told, ended, says[1]), changes=changes, begin=back)
        asked = stopped_on_the_way(record.id, doing)
        return Turn(None, says=says, changes=changes, begin=(asked, *back))
    if event.kind is EventKind.TAP and code == "cancel":
        return Turn(None, begin=back)
    if event.kind in (EventKind.TAP, EventKind.TEXT):
        return not_understood(state)
    rows = rows_of(*REASONS, "cancel")
    say = Say("coach/hold", {"name": record.person.name, "codes": list(REASONS)}, rows=rows)
    return Turn(state.at("why", client=str(record.id)), says=(say,))
