"""Putting messages into the outbox and looking at how they ended."""

from dataclasses import dataclass
from itertools import count

from sqlmodel import select

from bot.clock import Clock
from bot.messages import Kind, Outgoing
from bot.storage import outbox
from bot.storage.database import Database
from bot.storage.people import Address
from bot.storage.tables import OutboxRow
from bot.storage.unit import UnitOfWork


@dataclass(frozen=True)
class Kept:
    """A row of the outbox, in short."""

    text: str
    status: str
    attempts: int
    platform_id: str
    last_error: str


class Mailbox:
    """The outbox of one store."""

    def __init__(self, database: Database, clock: Clock, channel: str = "record") -> None:
        self._database = database
        self._clock = clock
        self._channel = channel
        self._numbers = count(1)

    def put(
        self,
        text: str,
        *,
        to: str = "1",
        kind: Kind = Kind.REPLY,
        edits: int | None = None,
    ) -> int:
        """Put one message in; gives the row's id."""

        def work(unit: UnitOfWork) -> int:
            row_id = outbox.enqueue(
                unit,
                dedupe_key=f"test:{next(self._numbers)}",
                at=Address(self._channel, to),
                person_id=None,
                kind=kind,
                outgoing=Outgoing(text),
                now=self._clock.now(),
                edits_id=edits,
            )
            unit.commit()
            return row_id

        return self._database.run_now(work)

    def kept(self) -> list[Kept]:
        """All rows, in the order they were put in."""

        def work(unit: UnitOfWork) -> list[Kept]:
            rows = unit.session.exec(select(OutboxRow).order_by(OutboxRow.id)).all()
            return [
                Kept(
                    unit.encryption.decrypt_json(row.payload_sealed)["text"],
                    row.status,
                    row.attempts,
                    row.platform_id,
                    row.last_error,
                )
                for row in rows
            ]

        return self._database.run_now(work)

    def statuses(self) -> list[str]:
        """The status of each row, in the order they were put in."""
        return [one.status for one in self.kept()]
