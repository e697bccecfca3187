"""Lifting a hold; opened with ``client``.

After any emergency sign, signs of a clot or palpitations it needs "cleared by whom, when", and
training restarts at the easiest rungs. Other signs need a second tap. What is needed is worked out
anew at each step: a new sign may have come while the coach was typing.
"""

from bot.flows.changes import Change, LiftHold, MarkSeen
from bot.flows.coach_rights import client_for_me, not_yours
from bot.flows.facts import ClientRecord, Facts, Hold
from bot.flows.machine import (
    Begin,
    Event,
    EventKind,
    Rows,
    Say,
    State,
    Turn,
    not_understood,
    rows_of,
)
from bot.flows.typed import Reask, Why, read_words
from bot.messages import Kind
from core.vocabulary import AlertLevel, Sign

NAME = "coach_lift"
LONGEST_WORD, SHORTEST_WORD = 200, 8
FEWEST_WORDS = 3
"""Somebody's name and a day take at least three words ("Dr Singh yesterday")."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Ask for what the signs behind the hold need, then lift it."""
    opening = event.kind is EventKind.BEGIN
    record = client_for_me((event.args if opening else state.answers).get("client"), facts)
    if record is None:
        return not_yours()
    hold = _pause(record, facts)
    back = (Begin("coach_client", {"client": str(record.id)}),)
    if hold is None:
        return Turn(None, says=(Say("coach/no_hold", {"name": record.person.name}),), begin=back)
    if event.kind is EventKind.TAP and event.value == "cancel":
        return Turn(None, begin=back)
    state = state.at(
        "word" if needs_word(record, hold, facts) else "sure",
        client=str(record.id),
        asked=state.answers.get("asked", ""),
    )
    if event.kind is EventKind.TEXT and state.step == "word":
        return _word(state, event.value, record, hold, facts)
    if event.kind is EventKind.TAP and event.value == "sure" and state.answers["asked"] == "sure":
        if state.step == "word":
            return _ask(state, record, hold, facts)
        return _lifted(record, "", facts, restart=False)
    if event.kind in (EventKind.TAP, EventKind.TEXT):
        return not_understood(state)
    return _ask(state, record, hold, facts)


def _pause(record: ClientRecord, facts: Facts) -> Hold | None:
    """What is lifted: the hold, or an alert that stands open without one (a silent session)."""
    hold, alert = facts.hold(record.id), facts.open_alert(record.id)
    if hold is None and alert is not None:
        because = alert.signs[0].value if alert.signs else ""
        return Hold(because, alert.raised_at, alert.signs)
    return hold


def needs_word(record: ClientRecord, hold: Hold, facts: Facts) -> bool:
    """Whether somebody's word is needed: any emergency, a clot, palpitations behind this hold."""
    alert = facts.open_alert(record.id)
    if alert is not None and alert.level is AlertLevel.EMERGENCY:
        return True
    found = {Sign(sign) for sign in hold.signs} | set(alert.signs if alert else ())
    if hold.because in set(Sign):
        found.add(Sign(hold.because))
    rules = facts.reference.signs
    return any(
        rules[sign].needs_clearance or rules[sign].level is AlertLevel.EMERGENCY for sign in found
    )


def _ask(
    state: State, record: ClientRecord, hold: Hold, facts: Facts, again: Reask | None = None
) -> Turn:
    alert = facts.open_alert(record.id)
    signs = [str(sign) for sign in (alert.signs if alert else hold.signs)]
    values = {
        "name": record.person.name,
        "signs": signs,
        "because": hold.because,
        "since": facts.me.local(hold.placed_at),
        "again": again.why.value if again else "",
        "again_about": again.about if again else "",
    }
    rows: Rows = rows_of("cancel") if state.step == "word" else rows_of("sure", "cancel")
    say = Say(f"coach/lift_{state.step}", values, rows=rows, slot="lift")
    return Turn(state.at(state.step, asked=state.step), says=(say,))


def _word(state: State, text: str, record: ClientRecord, hold: Hold, facts: Facts) -> Turn:
    word = read_words(text, LONGEST_WORD, SHORTEST_WORD)
    if not isinstance(word, Reask) and len(word.split()) < FEWEST_WORDS:
        word = Reask(Why.TOO_SHORT, text)
    if isinstance(word, Reask):
        return _ask(state, record, hold, facts, word)
    return _lifted(record, word, facts, restart=True)


def _lifted(record: ClientRecord, word: str, facts: Facts, *, restart: bool) -> Turn:
    alert = facts.open_alert(record.id)
    changes: list[Change] = []
    if alert is not None and alert.seen_at is None:
        changes.append(MarkSeen(alert.id))
    changes.append(LiftHold(record.id, word, restart))
    values = {
        "name": record.person.name,
        "restart": restart,
        "coach_name": facts.me.name,
        "reached": facts.reaches(record.id),
    }
    told = Say("join/hold_lifted", values, to=record.id, kind=Kind.PROMPT)
    return Turn(
        None,
        says=(Say("coach/lifted", values, slot="lift"), told),
        changes=tuple(changes),
        begin=(Begin("coach_client", {"client": str(record.id)}),),
    )
