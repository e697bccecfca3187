"""Making a way in from the command line."""

from dataclasses import dataclass
from datetime import datetime
from functools import partial

from bot.errors import DeliveryError, SettingsError
from bot.flows.changes import MakeInvitation
from bot.invitation_codes import code_hash, new_code
from bot.settings import Settings
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.changes.staff import coaches_listed
from bot.storage.database import Database
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role

OPERATOR = PersonId(0)
"""Who does what is done on the command line."""


@dataclass(frozen=True, slots=True)
class Invitation:
    """A code, and an address to tap where there is one."""

    code: str
    link: str


async def invite_coach(
    settings: Settings, database: Database, name: str, now: datetime
) -> Invitation:
    """Make a coach's invitation."""
    code = new_code()

    def keep(unit: UnitOfWork) -> None:
        apply_all(by_operator(unit, now), [MakeInvitation(code, Role.COACH, name)])
        unit.commit()

    await database.run(keep)
    return Invitation(code, await _link(settings, code))


async def invite_again(
    settings: Settings, database: Database, coach_id: PersonId, now: datetime
) -> Invitation:
    """Make a known coach's way back in, on a new phone.

    Raises:
        SettingsError: there is no such coach.
    """
    code = new_code()

    def keep(unit: UnitOfWork) -> None:
        known = [one for one in coaches_listed(unit) if one.id == coach_id and not one.left]
        if not known:
            raise SettingsError(f"There is no coach {coach_id}: dayrung coach list names them.")
        wanted = MakeInvitation(code, Role.COACH, known[0].name, rebinds_id=coach_id)
        apply_all(by_operator(unit, now), [wanted])
        unit.commit()

    await database.run(keep)
    return Invitation(code, await _link(settings, code))


def by_operator(unit: UnitOfWork, now: datetime) -> Applying:
    """What changes the record from the command line."""
    return Applying(unit, OPERATOR, now, partial(code_hash, keyed=unit.encryption.hashed))


async def _link(settings: Settings, code: str) -> str:
    """The address that brings the code along; "" where Telegram is not set or not reached."""
    if not settings.telegram_token:
        return ""
    # Here, for the trial invites too, and has no Telegram.
    from bot.runtime.channel_factory import Links, telegram_to_ask

    channel = telegram_to_ask(settings)
    try:
        return Links((await channel.who()).username).to(code)
    except DeliveryError:
        return ""
    finally:
        await channel.close()
