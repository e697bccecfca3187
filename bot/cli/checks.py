"""``dayrung check``: one sentence for each thing that is right, doubtful or wrong."""

import asyncio
from datetime import datetime
from urllib.parse import urlsplit

from bot.channels.second_route import SecondRouteChannel
from bot.cli.finding import Finding
from bot.cli.setting_checks import check_settings
from bot.clock import SystemClock
from bot.errors import ChannelDown, DeliveryError, SettingsError, StoreError
from bot.runtime.channel_factory import telegram_to_ask
from bot.runtime.place import look_at
from bot.settings import Settings
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.key_change import older_key_needed
from bot.storage.key_proof import check_key
from bot.storage.questions.counts import coach_standings, count_clients, count_stuck
from bot.storage.unit import UnitOfWork


async def check_everything(settings: Settings) -> list[Finding]:
    """Look at the key, the database, the people and the channels to them."""
    try:
        place = await asyncio.to_thread(look_at, settings)
    except SettingsError as error:
        return [Finding("bad", str(error))]
    found = [Finding("ok", f"The data folder is {settings.home}.")]
    if settings.key_command:
        found.append(Finding("ok", "The key comes from the command DAYRUNG_KEY_COMMAND."))
    elif place.key is not None and not settings.key:
        where = f"The key is in {settings.key_file}. Back it up apart from the database."
        found.append(Finding("ok", where))
    if place.missing:
        found.append(Finding("bad", place.missing))
    if place.key is not None and not place.missing:
        database = Database(settings.database_address, Encryption(place.key))
        now = SystemClock().now()
        try:
            found += await asyncio.to_thread(_database, database, now)
        finally:
            database.close()
    found += await asyncio.to_thread(check_settings, settings)
    found += _second_route(settings)
    found += await _telegram(settings)
    return found


def _database(database: Database, now: datetime) -> list[Finding]:
    try:
        if not database.is_current():
            return [Finding("warn", "The database is older; the next start brings it up.")]
        database.run_now(check_key)
        return [
            Finding("ok", "The database answers."),
            *_key(database, now),
            *database.run_now(_people),
        ]
    except SettingsError as error:
        return [Finding("bad", str(error))]
    except StoreError as error:
        return [Finding("bad", f"The database cannot be used: {error}.")]


def _key(database: Database, now: datetime) -> list[Finding]:
    """The key has been proved on the store; what it is called tells nothing of it."""
    name, *older = database.encryption.names
    found = [Finding("ok", f"The key {name} fits the store.")]
    if older:
        needed = database.run_now(older_key_needed, now)
        text = f"An older key is kept: {needed}." if needed else "Run dayrung key forget."
        found.append(Finding("warn", text))
    return found


def _people(unit: UnitOfWork) -> list[Finding]:
    clients, coaches = count_clients(unit), coach_standings(unit)
    found = [Finding("ok", f"There are {len(coaches)} coaches and {clients} clients.")]
    for coach in coaches:
        name = coach.name or f"number {coach.id}"
        if not coach.has_backup:
            found.append(Finding("warn", f"Coach {name} has no stand-in for alerts."))
        if not coach.reachable:
            found.append(Finding("bad", f"Coach {name} cannot be reached: no open chat."))
    found += _stuck(unit)
    return found


def _stuck(unit: UnitOfWork) -> list[Finding]:
    """What waits or failed and should not."""
    stuck = count_stuck(unit)
    counted = {
        "alerts have not been seen by anybody": stuck.unseen_alerts,
        "messages from people could not be worked off": stuck.failed_arrivals,
        "messages to people could not be delivered": stuck.refused_messages,
        "wrong invitation codes were tried in the last 7 days": stuck.wrong_codes,
    }
    return [Finding("warn", f"{number} {what}.") for what, number in counted.items() if number]


def _second_route(settings: Settings) -> list[Finding]:
    if not settings.second_road:
        text = "No second route (DAYRUNG_SECOND_ROAD) is set for alerts that nobody sees."
        return [Finding("warn", text)]
    try:
        SecondRouteChannel(settings.second_routes)
    except SettingsError as error:
        return [Finding("bad", str(error))]
    return [Finding("ok", "The second route for alerts is set.")]


async def _telegram(settings: Settings) -> list[Finding]:
    if not settings.telegram_token:
        text = "No Telegram token is set (DAYRUNG_TELEGRAM_TOKEN); only dayrung try can be used."
        return [Finding("warn", text)]

    channel = telegram_to_ask(settings)
    try:
        who = await channel.who()
        in_the_way = await channel.webhook_in_the_way()
    except ChannelDown:
        return [Finding("bad", "Telegram refuses the token (DAYRUNG_TELEGRAM_TOKEN).")]
    except DeliveryError:
        return [Finding("bad", f"Telegram cannot be reached at {settings.telegram_api}.")]
    finally:
        await channel.close()
    found = [Finding("ok", f"The token works: the bot is @{who.username} ({who.name}).")]
    if in_the_way:
        # Only its host: people put tokens into such addresses.
        at = urlsplit(in_the_way).hostname or "an address that cannot be read"
        text = f"A webhook ({at}) stands in the way; the next start of dayrung serve takes it away."
        found.append(Finding("warn", text))
    return found
