"""Looking into a practice's store: the only file here that knows tables and columns.

It reads the database file itself, beside the program, so that nothing of the program's own reading
is taken on trust. Sealed columns are opened with the practice's key.
"""

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from tests.support.practice import Practice

FACTS = {
    "person": ("id", "country", "zone", "left_at"),
    "client": ("person_id", "coach_id", "profile_sealed", "joined_at", "cleared_at", "checkin_at"),
    "coach": ("person_id", "backup_id", "digest_at"),
    "invitation": ("id", "role", "coach_id", "rebinds_id", "used_by_id"),
    "checkin": ("client_id", "on_date", "answers_sealed", "finished_at", "result_sealed"),
    "session": ("client_id", "on_date", "plan_sealed", "status", "effort_sealed"),
    "set": ("session_id", "done_sealed"),
    "pain": ("client_id", "on_date", "told_sealed"),
    "walk": ("client_id", "on_date", "status", "told_sealed"),
    "alert": ("client_id", "level", "told_sealed", "words_sealed", "round"),
    "hold": ("client_id", "because_sealed", "lifted_by_id", "cleared_by_sealed"),
    "note": ("client_id", "author_id", "text_sealed"),
}
"""What a practice knows, by table: all that a double tap must not change twice."""


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody with a chat. ``coach_id`` and ``backup_id`` are 0 for nobody.

    Attributes:
        erasing: whether this client had their words erased; what help needs may stay for a while.
        week_word_day: ISO weekday on which this client wants the word of the week; 0 for none.
    """

    id: int
    role: str
    name: str
    country: str
    left: bool
    coach_id: int = 0
    backup_id: int = 0
    joined: bool = False
    cleared: bool = False
    erasing: bool = False
    week_word_day: int = 0
    profile: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Alert:
    """An alert as it stands. ``words`` are the client's own, in order, an address among them."""

    id: int
    client_id: int
    level: str
    signs: tuple[str, ...]
    words: tuple[str, ...]
    raised_at: datetime
    chases: int
    chase_due_at: datetime | None
    seen: bool
    closed: bool

    @property
    def chased(self) -> bool:
        """Whether it is more than a line on the coach's list."""
        return self.level != "mention"

    @property
    def open(self) -> bool:
        """Chased, and not closed."""
        return self.chased and not self.closed

    @property
    def asked(self) -> bool:
        """Whether it is a question, "Is this happening now?", that has no answer yet."""
        return not self.chased and "unsure" in self.signs and not self.closed


@dataclass(frozen=True, slots=True)
class Hold:
    """A pause of training; ``cleared_by`` is somebody's word at its end."""

    id: int
    client_id: int
    because: str
    alert_id: int
    placed_at: datetime
    lifted_at: datetime | None
    cleared_by: str


@dataclass(frozen=True, slots=True)
class Session:
    """A training session; ``plan`` as stored."""

    id: int
    client_id: int
    status: str
    started_at: datetime | None
    plan: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Pain:
    """A pain that a client told; ``where`` is a joint or "", ``how_much`` is 0 to 10."""

    client_id: int
    on: date
    where: str
    how_much: int


@dataclass(frozen=True, slots=True)
class Message:
    """A row of the outbox; ``kind`` counts up from digests (10) to safety replies (50).

    Attributes:
        erased: whether its words were taken again, once it was sent.
    """

    id: int
    person_id: int
    channel: str
    kind: int
    created_at: datetime
    status: str
    text: str
    buttons: tuple[str, ...]
    cause: str
    erased: bool


@dataclass(frozen=True, slots=True)
class Record:
    """What stands in the store at one moment.

    Attributes:
        chats: the open chats of each person.
        cut_off: chats that spoke for somebody once, and speak for nobody now.
        failed: last errors of arrivals that were set aside.
        messages: rows of the outbox that are new since the record before.
    """

    now: datetime
    people: Mapping[int, Person]
    chats: Mapping[int, tuple[str, ...]]
    cut_off: frozenset[str]
    alerts: Mapping[int, Alert]
    holds: Mapping[int, Hold]
    sessions: Mapping[int, Session]
    pains: tuple[Pain, ...]
    notes: tuple[tuple[int, str], ...]
    failed: tuple[str, ...]
    messages: tuple[Message, ...]

    def called(self, name: str) -> Person | None:
        """The person whose chat has this name."""
        found = (one for one in self.people.values() if name in self.chats_ever(one))
        return next(found, None)

    def chats_ever(self, person: Person) -> tuple[str, ...]:
        """Chats of a person: open ones, and the one that goes by the name."""
        return (*self.chats.get(person.id, ()), person.name.lower())

    def open_alerts(self, client_id: int) -> list[Alert]:
        """Chased alerts of a client that nobody has closed."""
        return [one for one in self.alerts.values() if one.client_id == client_id and one.open]

    def question(self, client_id: int) -> Alert | None:
        """The open question of a client."""
        asked = (one for one in self.alerts.values() if one.client_id == client_id and one.asked)
        return next(asked, None)

    def hold(self, client_id: int) -> Hold | None:
        """The hold that is on."""
        on = (
            one
            for one in self.holds.values()
            if one.client_id == client_id and one.lifted_at is None
        )
        return next(on, None)

    def paused(self, client_id: int) -> bool:
        """Whether a client is paused or has an alert open."""
        return self.hold(client_id) is not None or bool(self.open_alerts(client_id))

    def coaches_of(self, client_id: int) -> list[int]:
        """The coach of a client, and who stands in for her."""
        coach = self.people[client_id].coach_id
        backup = self.people[coach].backup_id if coach in self.people else 0
        return [one for one in (coach, backup) if one]

    def reachable_coaches(self, client_id: int) -> list[int]:
        """Those of them with an open chat."""
        return [one for one in self.coaches_of(client_id) if self.chats.get(one)]


class Store:
    """Reads the store of a practice, again and again."""

    def __init__(self, practice: Practice) -> None:
        """``practice``: a running one; it may restart meanwhile."""
        self._practice = practice
        self._file = _open(practice.home)
        self._last_message = 0
        self._opened: dict[str, Any] = {}

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()

    def read(self) -> Record:
        """What stands there now, and the messages since the last reading."""
        people, chats = self._people()
        return Record(
            now=self._practice.clock.now(),
            people=people,
            chats=chats,
            cut_off=self._cut_off(),
            alerts=self._alerts(),
            holds=self._holds(),
            sessions=self._sessions(),
            pains=self._pains(),
            notes=tuple(
                (row["client_id"], self._text(row["text_sealed"]))
                for row in self._rows("select client_id, text_sealed from note order by id")
            ),
            failed=tuple(
                row["last_error"]
                for row in self._rows("select last_error from inbox where status = 'failed'")
            ),
            messages=self._messages(),
        )

    def facts(self, *tables: str) -> dict[str, list[str]]:
        """What the practice knows, table by table, without times and row numbers.

        Args:
            tables: only these; all of them, and where conversations stand, when left out.
        """
        found = {}
        for table in tables or FACTS:
            columns = ", ".join(f'"{column}"' for column in FACTS[table])
            rows = self._rows(f'select {columns} from "{table}"')  # noqa: S608 - names from above
            found[table] = sorted(str(self._plain(row)) for row in rows)
        if not tables:
            rows = self._rows(
                "select person_id, flow, standing_sealed, answers_sealed from conversation"
                " where closed_at is null"
            )
            found["conversation"] = sorted(
                str(
                    [
                        *(row["person_id"], row["flow"]),
                        self._json(row["standing_sealed"])["#step"],
                        self._text(row["answers_sealed"]),
                    ]
                )
                for row in rows
            )
        return found

    def _plain(self, row: sqlite3.Row) -> list[Any]:
        """The values of a row: sealed ones opened, of times only whether there is one."""
        return [
            self._text(row[name])
            if name.endswith("_sealed")
            else bool(row[name])
            if name.endswith("_at") and name != "checkin_at"
            else row[name]
            for name in row.keys()  # noqa: SIM118 - a row is no mapping
        ]

    def _people(self) -> tuple[dict[int, Person], dict[int, tuple[str, ...]]]:
        backups = {
            row["person_id"]: row["backup_id"] or 0
            for row in self._rows("select person_id, backup_id from coach")
        }
        clients = {row["person_id"]: row for row in self._rows("select * from client")}
        people = {}
        for row in self._rows("select * from person"):
            client = clients.get(row["id"])
            people[row["id"]] = Person(
                id=row["id"],
                role=row["role"],
                name=self._text(row["name_sealed"]),
                country=row["country"],
                left=row["left_at"] is not None,
                coach_id=client["coach_id"] if client else 0,
                backup_id=backups.get(row["id"], 0),
                joined=bool(client and client["joined_at"]),
                cleared=bool(client and client["cleared_at"]),
                erasing=bool(client and client["erase_asked_at"]),
                week_word_day=client["week_word_day"] if client else 0,
                profile=self._json(client["profile_sealed"]) if client else {},
            )
        chats: dict[int, tuple[str, ...]] = {}
        for row in self._rows(
            "select person_id, address from address"
            " where blocked_at is null and unbound_at is null order by id"
        ):
            chats[row["person_id"]] = (*chats.get(row["person_id"], ()), self._chat(row["address"]))
        return people, chats

    def _cut_off(self) -> frozenset[str]:
        rows = self._rows(
            "select address from address group by channel, address"
            " having sum(unbound_at is null) = 0"
        )
        return frozenset(self._chat(row["address"]) for row in rows)

    def _alerts(self) -> dict[int, Alert]:
        return {
            row["id"]: Alert(
                id=row["id"],
                client_id=row["client_id"],
                level=row["level"],
                signs=tuple(self._json(row["told_sealed"]).get("signs", ())),
                words=tuple(filter(None, map(_line, self._json(row["words_sealed"])))),
                raised_at=_moment(row["raised_at"]),
                chases=row["chases"],
                chase_due_at=_moment_or_none(row["chase_due_at"]),
                seen=row["seen_at"] is not None,
                closed=row["closed_at"] is not None,
            )
            for row in self._rows("select * from alert order by id")
        }

    def _holds(self) -> dict[int, Hold]:
        return {
            row["id"]: Hold(
                id=row["id"],
                client_id=row["client_id"],
                because=self._text(row["because_sealed"]),
                alert_id=row["alert_id"] or 0,
                placed_at=_moment(row["placed_at"]),
                lifted_at=_moment_or_none(row["lifted_at"]),
                cleared_by=self._cleared_by(row),
            )
            for row in self._rows("select * from hold order by id")
        }

    def _cleared_by(self, row: Any) -> str:
        name = self._text(row["cleared_by_sealed"])
        return " ".join(
            filter(None, (self._text(row["cleared_kind_sealed"]), name, row["cleared_on"]))
        )

    def _sessions(self) -> dict[int, Session]:
        return {
            row["id"]: Session(
                id=row["id"],
                client_id=row["client_id"],
                status=row["status"],
                started_at=_moment_or_none(row["started_at"]),
                plan=self._json(row["plan_sealed"]),
            )
            for row in self._rows("select * from session order by id")
        }

    def _pains(self) -> tuple[Pain, ...]:
        found = []
        for row in self._rows("select * from pain order by id"):
            told = self._json(row["told_sealed"])
            on = date.fromisoformat(row["on_date"])
            found.append(Pain(row["client_id"], on, told.get("where", ""), told["how_much"]))
        return tuple(found)

    def _messages(self) -> tuple[Message, ...]:
        rows = self._rows("select * from outbox where id > ? order by id", self._last_message)
        if rows:
            self._last_message = rows[-1]["id"]
        found = []
        for row in rows:
            payload = self._json(row["payload_sealed"])
            found.append(
                Message(
                    id=row["id"],
                    person_id=row["person_id"] or 0,
                    channel=row["channel"],
                    kind=row["kind"],
                    created_at=_moment(row["created_at"]),
                    status=row["status"],
                    text=payload.get("text", ""),
                    buttons=tuple(
                        choice["label"] for line in payload.get("choices", ()) for choice in line
                    ),
                    cause=row["dedupe_key"],
                    erased=row["payload_sealed"] == "",
                )
            )
        return tuple(found)

    def _rows(self, query: str, *values: Any) -> list[sqlite3.Row]:
        return self._file.execute(query, values).fetchall()

    def _chat(self, sealed: str) -> str:
        key = f"chat:{sealed}"
        found = self._opened.get(key)
        if found is None:
            found = self._practice.app.database.encryption.open_chat(sealed)
            self._opened[key] = found
        return str(found)

    def _text(self, sealed: str) -> str:
        found = self._opened.get(sealed)
        if found is None:
            found = self._opened[sealed] = self._practice.app.database.encryption.decrypt(sealed)
        return found

    def _json(self, sealed: str) -> Any:
        key = f"json:{sealed}"
        found = self._opened.get(key)
        if found is None:
            text = self._practice.app.database.encryption.decrypt(sealed)
            found = self._opened[key] = json.loads(text) if text else {}
        return found


def _open(home: Path) -> sqlite3.Connection:
    """The database file, for reading."""
    file = sqlite3.connect(f"file:{home / 'dayrung.sqlite3'}?mode=ro", uri=True)
    file.row_factory = sqlite3.Row
    return file


def _line(word: str | Mapping[str, Any]) -> str:
    """A client's own words on a line of an alert; "" where it is a reason of the record."""
    return word if isinstance(word, str) else str(word["numbers"].get("address", ""))


def _moment(stored: str) -> datetime:
    return datetime.fromisoformat(stored).replace(tzinfo=UTC)


def _moment_or_none(stored: str | None) -> datetime | None:
    return None if stored is None else _moment(stored)
