"""The trial's invented practice: weeks of its life lived through the real engine in one go."""

import random
from collections.abc import Awaitable, Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from bot.clock import ManualClock, SystemClock
from bot.reference.reference import Loaded
from bot.runtime.app import App, build
from bot.runtime.inviting import invite_coach
from bot.settings import Settings
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.questions.due import handled_until, set_handled_until
from bot.storage.unit import UnitOfWork
from bot.trial.acts import Acts
from bot.trial.hands import Hands
from bot.trial.people import InventedClient, InventedPractice, load_practice
from core.slots import moment_on

MADE = "trial_practice"
"""Name of the round row that says that the practice was made to the end."""

OPENS_AT = time(9, 0)
COACH_ZONE = ZoneInfo("Pacific/Auckland")
ONE_ZONE = {"GB": "Europe/London", "IE": "Europe/Dublin"}
JOINING_APART = timedelta(minutes=25)
CLEARED_AFTER = timedelta(minutes=15)
ANSWERED_WITHIN = (2, 35)
TRAINED_AFTER = (45, 150)
TESTED_AFTER = timedelta(minutes=15)
SEEN_AFTER = timedelta(minutes=5)
NOTHING_DIFFERENT: Mapping[str, Any] = {}


@dataclass(frozen=True, slots=True)
class Planned:
    """Something that somebody does at a moment."""

    at: datetime
    act: Callable[[], Awaitable[None]]


def is_made(unit: UnitOfWork) -> bool:
    """Whether the practice is there, whole."""
    return handled_until(unit, MADE) is not None


async def make_practice(
    settings: Settings,
    key: bytes,
    loaded: Loaded | None = None,
    *,
    weeks: int,
    seen: Callable[[int, int], None],
) -> None:
    """Live through ``weeks`` weeks up to this moment, in the database of ``settings``.

    It holds the thread that it runs on. What an earlier, broken-off try left there is thrown away
    first.

    Args:
        loaded: the data files, where they were read before.
        seen: told after each thing that somebody does how many are done, and of how many; what it
            raises breaks the try off.
    """
    until = SystemClock().now()
    practice = load_practice()
    opened = _opening(until, weeks)
    clock = ManualClock(opened)
    app = build(settings, key, clock, lambda *_parts: {}, lambda _code: "", loaded, at_once=True)
    try:
        app.database.migrate()
        app.database.empty()
        await _live(settings, app, clock, practice, opened, until, seen)
        app.database.end_whole()
    finally:
        app.database.close()
    lasting = Database(settings.database_address, Encryption(key))
    try:
        lasting.make_lasting()
        lasting.run_now(_finish, until)
    finally:
        lasting.close()


async def _live(
    settings: Settings,
    app: App,
    clock: ManualClock,
    practice: InventedPractice,
    opened: datetime,
    until: datetime,
    seen: Callable[[int, int], None],
) -> None:
    """All that happens, in its order."""
    acts = Acts(app, clock, Hands(app.database, app.due.conversations, clock))
    await _open(settings, app, acts, practice)
    planned = sorted(_plan(practice, acts, opened, until), key=lambda one: one.at)
    for done, one in enumerate(planned):
        seen(done, len(planned))
        await acts.until(one.at)
        await one.act()
    await acts.until(until)
    seen(len(planned), len(planned))


def _opening(until: datetime, weeks: int) -> datetime:
    """The morning on which the practice opens."""
    day = (until - timedelta(days=max(1, 7 * weeks))).astimezone(COACH_ZONE).date()
    opened = moment_on(COACH_ZONE, day, OPENS_AT)
    return min(opened or until, until - timedelta(days=1))


async def _open(settings: Settings, app: App, acts: Acts, practice: InventedPractice) -> None:
    """Both coaches join; the first one here stands in for the other."""
    for coach in (practice.backup, practice.coach):
        invitation = await invite_coach(settings, app.database, coach.name, acts.clock.now())
        await acts.coach_joins(coach, invitation.code)


def _plan(
    practice: InventedPractice, acts: Acts, opened: datetime, until: datetime
) -> Iterator[Planned]:
    """All that happens, in no order."""
    for number, client in enumerate(practice.clients):
        joins = opened + JOINING_APART * (number + 1)
        if client.since is not None:
            joins = max(joins, until - timedelta(days=client.since))
        yield from _first_day(practice, client, acts, joins)
        if client.cleared:
            yield from _days(practice, client, acts, joins, until)


def _first_day(
    practice: InventedPractice, client: InventedClient, acts: Acts, joins: datetime
) -> Iterator[Planned]:
    today = joins.astimezone(client.zone(ONE_ZONE)).date()
    yield Planned(joins, lambda: acts.client_joins(client, practice.coach, today))
    if client.cleared:
        yield Planned(joins + CLEARED_AFTER, lambda: acts.coach_clears(client, practice.coach))


def _days(
    practice: InventedPractice,
    client: InventedClient,
    acts: Acts,
    joins: datetime,
    until: datetime,
) -> Iterator[Planned]:
    """Every day after the one of joining."""
    zone, chance = client.zone(ONE_ZONE), random.Random(client.name)
    today = until.astimezone(zone).date()
    mornings = list(_mornings(client, zone, joins, until))
    for day, asked_at in mornings:
        different = dict(client.days.get((today - day).days, NOTHING_DIFFERENT))
        if day == mornings[-1][0]:
            different |= client.days.get("last", NOTHING_DIFFERENT)
        yield from _day(practice, client, acts, day, asked_at, different, chance)


def _mornings(
    client: InventedClient, zone: ZoneInfo, joins: datetime, until: datetime
) -> Iterator[tuple[date, datetime]]:
    """Days on which the client was asked and has had time to answer."""
    day = joins.astimezone(zone).date() + timedelta(days=1)
    while day <= until.astimezone(zone).date():
        asked_at = moment_on(zone, day, client.checkin_at)
        if asked_at is not None and asked_at + timedelta(minutes=ANSWERED_WITHIN[1]) < until:
            yield day, asked_at
        day += timedelta(days=1)


def _day(
    practice: InventedPractice,
    client: InventedClient,
    acts: Acts,
    day: date,
    asked_at: datetime,
    different: Mapping[str, Any],
    chance: random.Random,
) -> Iterator[Planned]:
    """One day of one client: the check-in, perhaps a session, perhaps a warning sign."""
    answered_at = asked_at + timedelta(minutes=chance.randint(*ANSWERED_WITHIN))
    trained_at = answered_at + timedelta(minutes=chance.randint(*TRAINED_AFTER))
    answers = bool(different) or chance.random() >= client.skips
    if answers:
        morning = different.get("morning", NOTHING_DIFFERENT)
        yield Planned(answered_at, lambda: acts.checks_in(client, chance, morning))
        if "test" in different:
            test, counts = str(different["test"]), [str(one) for one in different["counts"]]
            coach = practice.coach
            tested_at = answered_at + TESTED_AFTER
            yield Planned(tested_at, lambda: acts.tests(client, coach, test, counts))
        if client.trains_on(day) and different.get("train", True):
            wish = str(different.get("wish", ""))
            yield Planned(trained_at, lambda: acts.trains(client, chance, wish))
    if "says" in different:
        zone = client.zone(ONE_ZONE)
        said_at = moment_on(zone, day, time.fromisoformat(different["at"])) or trained_at
        words = str(different["says"])
        yield Planned(said_at, lambda: acts.says(client, words))
        yield Planned(said_at + SEEN_AFTER, lambda: acts.coach_sees(practice.coach))


def _finish(unit: UnitOfWork, now: datetime) -> None:
    set_handled_until(unit, MADE, now)
    unit.commit()
