"""Making a way in from the command line."""

from dataclasses import dataclass
from datetime import datetime

from bot.errors import DeliveryError
from bot.flows.changes import MakeInvitation
from bot.invitation_codes import code_hash, new_code
from bot.settings import Settings
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
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
        applying = Applying(unit, OPERATOR, now, code_hash)
        apply_all(applying, [MakeInvitation(code, Role.COACH, name)])
        unit.commit()

    await database.run(keep)
    return Invitation(code, await _link(settings, code))


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
