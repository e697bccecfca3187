"""Everything of a client as a table for those who want a spreadsheet (CSV, RFC 4180).

A spreadsheet takes a cell that begins with = + - @ (or a tab) for a formula: such a cell gets an
apostrophe in front, as OWASP advises against CSV injection. What was told of abuse is left out, and
what was said around it.
"""

import csv
from collections.abc import Iterator
from datetime import datetime
from io import StringIO

from bot.flows.facts import ClientRecord
from bot.flows.reasons import Reason
from bot.letters.period import NEVER_TOLD, period_of
from bot.reference.words import Words
from bot.storage.facts import StoreFacts
from bot.storage.questions.private import private_of
from core.vocabulary import PersonId

EVERYTHING_DAYS = 3660
FORMULA = ("=", "+", "-", "@", "\t", "\r")

Row = tuple[str, str, str, str, str]


def table_of(facts: StoreFacts, client_id: PersonId, words: Words) -> str:
    """Rows of day, time, kind, what and value, oldest first; the first row names the columns."""
    record = facts.client(client_id)
    rows = sorted(_rows(facts, record, words))
    made = StringIO()
    writer = csv.writer(made, lineterminator="\r\n")
    writer.writerow(words.word("letters/words", "columns"))
    for row in rows:
        writer.writerow([harmless(cell) for cell in row])
    return made.getvalue()


def harmless(cell: str) -> str:
    """The cell as a spreadsheet shows it and never works it out."""
    return f"'{cell}" if cell.startswith(FORMULA) else cell


def _rows(facts: StoreFacts, record: ClientRecord, words: Words) -> Iterator[Row]:
    period = period_of(facts, record, EVERYTHING_DAYS)
    private = private_of(facts.unit, record.id)
    kinds = words.word("letters/words", "kinds")

    def clock(moment: datetime) -> tuple[str, str]:
        local = record.person.local(moment)
        return local.date().isoformat(), local.strftime("%H:%M")

    for morning in period.checkins:
        for key, value in sorted(morning.answers.items()):
            if isinstance(value, str | int | float) and not private.tells(str(value)):
                yield morning.on.isoformat(), "", kinds["morning"], key, f"{value}"
        yield morning.on.isoformat(), "", kinds["day"], morning.day_plan, ""
    for session in period.sessions:
        minutes = "" if session.minutes is None else f"{session.minutes:g}"
        effort = "" if session.effort is None else f"{session.effort:g}"
        yield session.on.isoformat(), "", kinds["session"], kinds["minutes"], minutes
        yield session.on.isoformat(), "", kinds["session"], kinds["effort"], effort
    for done in facts.history(record.id).sets:
        value = f"{done.amount} {done.unit.value}"
        yield done.on.isoformat(), "", kinds["set"], done.step_key, value
    for walk in period.walks:
        yield walk.on.isoformat(), "", kinds["walk"], kinds["minutes"], f"{walk.minutes}"
    for pain in period.pains:
        where = pain.where.value if pain.where is not None else ""
        yield pain.on.isoformat(), "", kinds["pain"], where, f"{pain.how_much}"
    for alert in facts.alerts([record.id], EVERYTHING_DAYS):
        if NEVER_TOLD & set(alert.signs):
            continue
        told = [word for word in alert.words if not isinstance(word, Reason)]
        if private.at(alert.raised_at):
            told = []
        signs = ", ".join(sign.value for sign in alert.signs)
        for said in told or [""]:
            yield *clock(alert.raised_at), kinds["alert"], signs, said
    for note in facts.notes(record.id):
        if not private.since(note.at):
            kind = kinds["message"] if note.is_message(record.id) else kinds["note"]
            yield *clock(note.at), kind, note.by_name, note.text
