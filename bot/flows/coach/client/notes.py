"""The coach's notes about a client: found, changed, pinned to the card, deleted.

Opened with ``client``. A note is changed by who wrote it, and never one that was said to somebody.
"""

from bot.flows.changes import ChangeNote, DeleteNote
from bot.flows.coach.client.name_or_words import STEP as NAME_OR_WORDS
from bot.flows.coach.client.name_or_words import as_words, asked_which, names_in
from bot.flows.coach.client.note import turned_away
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.facts import ClientRecord, Facts, Note
from bot.flows.forms import ASKED
from bot.flows.machine import (
    Begin,
    Button,
    Event,
    EventKind,
    Rows,
    Say,
    State,
    Turn,
    not_understood,
    rows_of,
)
from bot.flows.parsing import plain_words
from bot.flows.record.thread import shortened

NAME = "coach_notes"
SLOT = "notes"
ON_A_PAGE = 8
LABEL = 40
"""Characters of a note on its button."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """The list, newest first; words typed there look for a note, at "change" they replace it."""
    opening = event.kind is EventKind.BEGIN
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if opening:
        return _list(State(NAME, "list", {"client": str(record.id), "find": ""}), record, facts)
    if event.kind in (EventKind.RESUME, EventKind.DUE):
        return _list(state.at("list"), record, facts)
    note = _chosen(state, record, facts)
    told = as_words(state, event)
    if told.kind is EventKind.TEXT:
        if state.step in ("change", NAME_OR_WORDS) and note is not None and told.value.strip():
            if turned_away(state, record, facts):
                return _change(state, note, record, facts)
            which = asked_which(state, event, record, facts)
            if which is not None:
                return which
            changed = ChangeNote(record.id, note.id, text=told.value.strip())
            return Turn(None, changes=(changed,), begin=(_again(record),))
        if state.step == "list":
            if not _found(event.value, record, facts) and names_in(event.value, facts):
                return not_understood(state)
            return _list(state.at("list", find=event.value.strip()), record, facts)
        return not_understood(state)
    return _tapped(state, event.value, note, record, facts)


def _tapped(
    state: State, value: str, note: Note | None, record: ClientRecord, facts: Facts
) -> Turn:
    asked, _, code = value.rpartition(ASKED)
    if code == "notes":
        begin = Begin("coach_client", {"client": str(record.id), "page": "notes"})
        return Turn(None, begin=(begin,))
    if code in ("all", "cancel"):
        return _list(state.at("list", find=""), record, facts)
    if asked == "note":
        opened = state.at("note", note=code)
        found = _chosen(opened, record, facts)
        return not_understood(state) if found is None else _one(opened, found, record, facts)
    if note is None or note.by_id != facts.me.id:
        return not_understood(state)
    if code == "change":
        return _change(state, note, record, facts)
    if code == "delete":
        values = {"text": shortened(note.text)}
        say = Say("coach/note_delete", values, rows=rows_of("sure", "all"), slot=SLOT)
        return Turn(state.at("delete"), says=(say,))
    if code == "sure" and state.step == "delete":
        return Turn(None, changes=(DeleteNote(record.id, note.id),), begin=(_again(record),))
    if code in ("pin", "unpin"):
        pinned = ChangeNote(record.id, note.id, pinned=code == "pin")
        return Turn(None, changes=(pinned,), begin=(_again(record),))
    return not_understood(state)


def _again(record: ClientRecord) -> Begin:
    return Begin(NAME, {"client": str(record.id)})


def _notes(record: ClientRecord, facts: Facts) -> list[Note]:
    """Pinned ones first, then the newest."""
    found = [one for one in facts.notes(record.id) if not one.is_message(record.id)]
    return sorted(found, key=lambda one: not one.pinned)


def _chosen(state: State, record: ClientRecord, facts: Facts) -> Note | None:
    wanted = str(state.answers.get("note", ""))
    return next((one for one in _notes(record, facts) if str(one.id) == wanted), None)


def _found(looked_for: str, record: ClientRecord, facts: Facts) -> list[Note]:
    words = plain_words(looked_for)
    return [one for one in _notes(record, facts) if not words or words in plain_words(one.text)]


def _list(state: State, record: ClientRecord, facts: Facts) -> Turn:
    looked_for = str(state.answers.get("find", ""))
    found = _found(looked_for, record, facts)
    shown = found[:ON_A_PAGE]
    rows: Rows = tuple((Button(f"note{ASKED}{one.id}", label=_label(one, facts)),) for one in shown)
    rows = (*rows, *(rows_of("all") if looked_for else ()), *rows_of("notes"))
    values = {
        "name": record.person.name,
        "find": looked_for,
        "count": len(found),
        "shown": len(shown),
    }
    return Turn(state, says=(Say("coach/notes_found", values, rows=rows, slot=SLOT),))


def _label(note: Note, facts: Facts) -> str:
    """A day and the first words: data, never a sentence."""
    line = " ".join(note.text.split())[:LABEL]
    return f"{facts.me.local(note.at):%d %b} {line}"


def _one(state: State, note: Note, record: ClientRecord, facts: Facts) -> Turn:
    mine = note.by_id == facts.me.id
    edited = facts.me.local(note.edited_at) if note.edited_at is not None else None
    values = {
        "name": record.person.name,
        "at": facts.me.local(note.at),
        "by": note.by_name,
        "text": note.text,
        "pinned": note.pinned,
        "edited": edited,
        "mine": mine,
    }
    own = rows_of("change delete", "unpin" if note.pinned else "pin") if mine else ()
    say = Say("coach/note_one", values, rows=(*own, *rows_of("all")), slot=SLOT)
    return Turn(state, says=(say,))


def _change(state: State, note: Note, record: ClientRecord, facts: Facts) -> Turn:
    values = {"name": record.person.name, "text": note.text}
    asked = state.at("change", asked_at=facts.now.isoformat())
    return Turn(asked, says=(Say("coach/note_change", values, rows=rows_of("all")),))
