"""One application of changes: by whom, when, and what must follow."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import bindparam, insert

from bot.storage.outbox import Undelivered
from bot.storage.prepared import Prepared
from bot.storage.tables import AuditRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertId, PersonId

# Written in most turns, so put into SQL once.
_AUDIT: Prepared[AuditRow] = Prepared(
    # Inline: PostgreSQL would be asked for the row's number, which nobody wants.
    insert(AuditRow.metadata.tables["audit"])
    .inline()
    .values(
        **{
            name: bindparam(name)
            for name in ("at", "actor_id", "subject_id", "what", "detail_sealed")
        }
    )
)


@dataclass(slots=True)
class Applying:
    """One application of changes: by whom, when, and what must follow.

    Attributes:
        alerts_to_tell: alerts that must be looked at before the transaction ends.
        rescheduled: clients whose due moments must be worked out again.
        clients_closed: clients an alert or question of whom was closed.
        undelivered: what waited for somebody who never gets it now.
    """

    unit: UnitOfWork
    actor: PersonId
    now: datetime
    code_hash: Callable[[str], str]
    alerts_to_tell: list[AlertId] = field(default_factory=list)
    rescheduled: list[PersonId] = field(default_factory=list)
    clients_closed: list[PersonId] = field(default_factory=list)
    undelivered: list[Undelivered] = field(default_factory=list)

    def audit(self, subject: PersonId | None, what: str, detail: str = "") -> None:
        """Write down who did what to whom."""
        _AUDIT.run(
            self.unit,
            at=self.now,
            actor_id=self.actor,
            subject_id=subject,
            what=what,
            detail_sealed=self.unit.encryption.encrypt(detail),
        )


def merged(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    """``old`` with the keys of ``new`` replaced; a ``None`` removes the key."""
    both = {**old, **new}
    return {key: value for key, value in both.items() if value is not None}
