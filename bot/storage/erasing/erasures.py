"""The list of erasures beside the database: who was erased, and when.

A backup that is brought back knows nothing of what was erased after it was made. So each erasure
also stands in a file of its own, and a start erases again whoever stands there. What an alert kept
back and its end took has a line more: a restore keeps nothing back for the alert of then.
"""

import json
import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path

from sqlmodel import col, select

from bot.errors import StoreError
from bot.storage.changes.applying import Applying
from bot.storage.changes.erasing import close_until, erase_again, erase_person, whole_since
from bot.storage.tables import ClientRow, PersonRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId

OPERATOR = PersonId(0)
"""Who does what nobody in a chat has done."""

ERASURES = "erasures"
"""File in the data folder that lists who was erased; a restored store is erased again by it."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One erasure.

    Attributes:
        person: a client's id in this database.
        since: when the client was taken in, ISO: another database may give the id to somebody else.
        erased: when it was asked for, ISO.
        whole: when nothing was kept for an open alert any more, ISO; "" while that is so, and in
            lines of older versions.
    """

    person: int
    since: str
    erased: str
    whole: str = ""


class ErasureList:
    """A file to which lines are only added. No word of anybody stands in it."""

    def __init__(self, path: Path) -> None:
        """``path``: the file; nothing is opened yet."""
        self._path = path

    def entries(self) -> Sequence[Entry]:
        """All erasures, oldest first, each once. A line that a crash cut short is left out.

        Raises:
            StoreError: the file cannot be read.
        """
        found: dict[tuple[int, str], Entry] = {}
        for one in map(_entry, self._lines()):
            if one is not None:
                before = found.get((one.person, one.since), one)
                found[one.person, one.since] = replace(before, whole=max(before.whole, one.whole))
        return list(found.values())

    def damaged(self) -> int:
        """How many lines say nothing: one may be a crash's, more are somebody's mistake.

        Raises:
            StoreError: the file cannot be read.
        """
        return sum(_entry(line) is None for line in self._lines())

    def _lines(self) -> Sequence[bytes]:
        try:
            raw = self._path.read_bytes() if self._path.exists() else b""
        except OSError as error:
            raise StoreError(f"the list of erasures cannot be read: {error.strerror}") from None
        return [line for line in raw.splitlines() if line.strip()]

    def add(self, entries: Iterable[Entry]) -> None:
        """Add lines; they are on the disk when this returns.

        Raises:
            StoreError: the file cannot be written.
        """
        # The leading newline keeps a line that a full disk cut short apart from this one.
        lines = "".join(f"\n{line}\n" for one in entries for line in _lines_of(one)).encode()
        if not lines:
            return
        try:
            handle = os.open(self._path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
            with os.fdopen(handle, "ab") as file:
                file.write(lines)
                file.flush()
                os.fsync(file.fileno())
            # The name of a new file is on the disk only when its folder is.
            folder = os.open(self._path.parent, os.O_RDONLY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)
        except OSError as error:
            raise StoreError(f"the list of erasures cannot be written: {error.strerror}") from None


def _lines_of(entry: Entry) -> Iterator[str]:
    """A line that every version reads; where nothing is kept any more, one that says so, too."""
    told = asdict(entry)
    whole = told.pop("whole")
    yield json.dumps(told)
    if whole:
        yield json.dumps(asdict(entry))


def erase_listed(unit: UnitOfWork, entries: Sequence[Entry]) -> int:
    """Erase whoever stands in the list and is not erased, and commit; gives how many.

    Somebody erased who stands in no list was erased by an older version, which took less.
    """
    count = 0
    listed = {(one.person, one.since) for one in entries}
    for entry in not_listed(unit, entries):
        if (entry.person, entry.since) in listed:
            continue
        erase_again(PersonId(entry.person), Applying(unit, OPERATOR, _moment(entry), str))
        count += 1
    for entry in entries:
        person = unit.session.get(PersonRow, entry.person)
        client = unit.session.get(ClientRow, entry.person)
        if person is None or client is None or person.created_at.isoformat() != entry.since:
            continue
        applying = Applying(unit, OPERATOR, _moment(entry), str)
        closed = bool(entry.whole) and close_until(
            PersonId(entry.person), datetime.fromisoformat(entry.whole), applying
        )
        if client.erase_asked_at is not None:
            if closed:
                erase_person(PersonId(entry.person), applying)
                count += 1
            continue
        erased_at = _moment(entry)
        person.left_at = person.left_at or erased_at
        client.cleared_at = client.checkin_due_at = client.reminder_due_at = None
        erase_person(PersonId(entry.person), applying)
        count += 1
    unit.commit()
    return count


def _moment(entry: Entry) -> datetime:
    return datetime.fromisoformat(entry.erased)


def not_listed(unit: UnitOfWork, entries: Sequence[Entry]) -> list[Entry]:
    """Erasures in the database that the list lacks, or does not know to be whole by now."""
    listed: dict[tuple[int, str], str] = {}
    for one in entries:
        known = listed.get((one.person, one.since), "")
        listed[one.person, one.since] = max(known, one.whole)
    rows = unit.session.exec(
        select(PersonRow, ClientRow)
        .join(ClientRow, col(ClientRow.person_id) == PersonRow.id)
        .where(col(ClientRow.erase_asked_at).is_not(None))
        .order_by(col(ClientRow.erase_asked_at))
    ).all()
    found = []
    for person, client in rows:
        since = person.created_at.isoformat()
        if client.erase_asked_at is None:
            continue
        over = whole_since(PersonId(client.person_id), client.erase_asked_at, unit)
        whole = over.isoformat() if over is not None else ""
        before = listed.get((client.person_id, since))
        if before is None or whole > before:
            asked = client.erase_asked_at.isoformat()
            found.append(Entry(client.person_id, since, asked, whole))
    return found


def _entry(line: bytes) -> Entry | None:
    try:
        told = json.loads(line)
        if not isinstance(told["person"], int) or not isinstance(told["since"], str):
            return None
        entry = Entry(**told)
        datetime.fromisoformat(entry.erased)
        datetime.fromisoformat(entry.whole or entry.erased)
    except (ValueError, TypeError, KeyError):
        return None
    return entry
