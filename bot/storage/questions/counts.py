"""How many people there are and what has got stuck: what an operator asks."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import col, func, select

from bot.storage.guesses import count_wrong
from bot.storage.people import addresses_of
from bot.storage.tables import AlertRow, ClientRow, CoachRow, InboxRow, OutboxRow, PersonRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel, PersonId


@dataclass(frozen=True, slots=True)
class CoachStanding:
    """A coach as an operator looks at her.

    Attributes:
        name: "" where none is known.
        reachable: whether she has a chat that can be written to.
    """

    id: PersonId
    name: str
    has_backup: bool
    reachable: bool


@dataclass(frozen=True, slots=True)
class Stuck:
    """How many rows wait or failed and should not.

    Attributes:
        unseen_alerts: open alerts that nobody has seen, without mentions.
        failed_arrivals: messages from people that could not be worked off.
        refused_messages: messages to people that could not be delivered.
        wrong_codes: invitation codes of the last 7 days that were none.
    """

    unseen_alerts: int
    failed_arrivals: int
    refused_messages: int
    wrong_codes: int


def count_clients(unit: UnitOfWork) -> int:
    """How many clients there are, those who left included."""
    return unit.session.exec(select(func.count()).select_from(ClientRow)).one()


def coach_standings(unit: UnitOfWork) -> Sequence[CoachStanding]:
    """Every coach."""
    found = []
    for coach in unit.session.exec(select(CoachRow)).all():
        person = unit.session.get_one(PersonRow, coach.person_id)
        person_id = PersonId(coach.person_id)
        found.append(
            CoachStanding(
                id=person_id,
                name=unit.encryption.decrypt(person.name_sealed),
                has_backup=coach.backup_id is not None,
                reachable=bool(addresses_of(unit, person_id)),
            )
        )
    return found


def count_stuck(unit: UnitOfWork) -> Stuck:
    """What waits or failed and should not."""
    unseen = select(func.count()).where(
        AlertRow.level != AlertLevel.MENTION,
        col(AlertRow.closed_at).is_(None),
        col(AlertRow.seen_at).is_(None),
    )
    failed = select(func.count()).where(InboxRow.status == "failed")
    refused = select(func.count()).where(OutboxRow.status == "refused")
    return Stuck(
        unseen_alerts=unit.session.exec(unseen.select_from(AlertRow)).one(),
        failed_arrivals=unit.session.exec(failed.select_from(InboxRow)).one(),
        refused_messages=unit.session.exec(refused.select_from(OutboxRow)).one(),
        wrong_codes=count_wrong(unit),
    )
