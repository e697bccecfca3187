"""A whole practice in one process: the real engine and store, a manual clock, a recording channel.

Scenarios read as a diary: ``await practice.at("07:00")``, ``await practice.taps("mary", "Well")``.
"""

from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import ExitStack, asynccontextmanager
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from bot.channels.second_route import SecondRouteChannel
from bot.clock import ManualClock
from bot.delivery.channel import Channel
from bot.messages import Incoming, IncomingKind
from bot.private_files import private_folder
from bot.runtime.app import App, build
from bot.schedule.due import reschedule
from bot.settings import Settings, load_key, write_keys
from bot.storage import people
from bot.storage.people import Address
from bot.storage.tables import ClientRow, CoachRow, PersonRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role
from tests.doubles.postgres import postgres
from tests.doubles.record_channel import RecordChannel, Recorded
from tests.doubles.store import KEY, compiled_once, migrated, without_threads
from tests.doubles.turns import on_postgresql
from tests.support.loaded import loaded

CHANNEL = "record"
PATIENT = 60.0
"""Seconds: a scenario is about what is said, however slow the machine that runs it."""

NEW_ZEALAND = "Pacific/Auckland"

ANSWERS: Mapping[str, Any] = {
    "phone": "+64215550101",
    "home": "1 Kauri Street, Thames",
    "contact_name": "Tom",
    "contact_phone": "+64215550102",
    "birth_year": 1950,
    "sex": "f",
    "floor": True,
    "kit": {"chair": 43, "bench": 90, "table": 75, "band": "light", "bottle": 1.5},
    "cleared_by": "Rua",
    "cleared_on": "2026-02-20",
}
"""What an ordinary client has answered; scenarios change parts of it."""


@dataclass(slots=True)
class Practice:
    """A running practice and its phones (chat addresses: a person's name in small letters)."""

    app: App
    clock: ManualClock
    channel: RecordChannel
    home: Path
    second_route: str = ""
    database: str = ""
    ids: dict[str, PersonId] = field(default_factory=dict)
    _number: int = 0

    async def coach(self, name: str = "Rua", *, backup_of: str = "") -> PersonId:
        """Add a coach with a chat; with ``backup_of`` she stands in for another."""

        def add(unit: UnitOfWork) -> PersonId:
            person = people.add_person(unit, Role.COACH, name, self.clock.now())
            unit.session.add(CoachRow(person_id=person))
            unit.session.get_one(PersonRow, person).country = "NZ"
            unit.session.get_one(PersonRow, person).zone = NEW_ZEALAND
            if backup_of:
                unit.session.get_one(CoachRow, self.ids[backup_of]).backup_id = person
            people.bind(unit, person, Address(CHANNEL, name.lower()), self.clock.now())
            unit.commit()
            return person

        self.ids[name.lower()] = await self.app.database.run(add)
        return self.ids[name.lower()]

    async def client(
        self,
        name: str = "Mary",
        coach: str = "rua",
        *,
        zone: str = NEW_ZEALAND,
        country: str = "NZ",
        cleared: bool = True,
        **answers: Any,
    ) -> PersonId:
        """Add a client who has joined, asked at 07:00 every day, training every day."""

        def add(unit: UnitOfWork) -> PersonId:
            now = self.clock.now()
            person = people.add_person(unit, Role.CLIENT, name, now)
            row = unit.session.get_one(PersonRow, person)
            row.country, row.zone = country, zone
            unit.session.add(
                ClientRow(
                    person_id=person,
                    coach_id=self.ids[coach],
                    profile_sealed=unit.encryption.encrypt_json({**ANSWERS, **answers}),
                    joined_at=now,
                    cleared_at=now if cleared else None,
                    checkin_at="07:00",
                    training_days="1,2,3,4,5,6,7",
                    quiet_until="06:00",
                )
            )
            people.bind(unit, person, Address(CHANNEL, name.lower()), now)
            unit.session.flush()
            reschedule(unit, person, now)
            unit.commit()
            return person

        self.ids[name.lower()] = await self.app.database.run(add)
        return self.ids[name.lower()]

    async def at(self, local: str, zone: str = NEW_ZEALAND, *, days: int = 0) -> None:
        """Let time go on to the next moment at which the clock in ``zone`` shows ``local``."""
        await self._until(self.next_at(local, zone) + timedelta(days=days))

    def next_at(self, local: str, zone: str = NEW_ZEALAND) -> datetime:
        """The next moment at which the clock in ``zone`` shows ``local``."""
        here = self.clock.now().astimezone(ZoneInfo(zone))
        wanted = datetime.combine(here.date(), time.fromisoformat(local), ZoneInfo(zone))
        if wanted <= here:
            wanted += timedelta(days=1)
        return wanted

    async def wait(self, minutes: float) -> None:
        """Let time go on."""
        await self._until(self.clock.now() + timedelta(minutes=minutes))

    async def goes_on(self, minutes: float, seen: Callable[[], None]) -> None:
        """The same; ``seen`` is called after each moment at which something fell due."""
        moment = self.clock.now() + timedelta(minutes=minutes)
        await self.app.visit_until(moment, self.clock.move_to, seen)

    async def says(self, who: str, text: str) -> list[str]:
        """Somebody types words; gives the texts that went out anywhere, in order."""
        return await self._arrives(who, IncomingKind.TEXT, text=text)

    async def sends_voice(self, who: str) -> list[str]:
        """Somebody sends what cannot be read."""
        return await self._arrives(who, IncomingKind.UNREADABLE)

    async def taps(self, who: str, *labels: str) -> list[str]:
        """Somebody taps the newest buttons whose labels begin so, one after another.

        A bare digit means the answer that is kept as that number, whatever is on the button.
        """
        said: list[str] = []
        for label in labels:
            shown = self.newest_buttons(who)
            choices = [choice for row in shown.outgoing.choices for choice in row]
            kept = [one.value for one in choices if one.value.endswith(f"={label}")]
            values = kept if label.isdigit() else []
            values += [c.value for c in choices if c.label.lower().startswith(label.lower())]
            labels_there = [c.label for row in shown.outgoing.choices for c in row]
            assert values, f"no button {label!r} among {labels_there}"
            message_id = shown.edits or shown.platform_id
            said = await self._arrives(who, IncomingKind.TAP, tap=values[0], message_id=message_id)
        return said

    async def taps_value(self, who: str, value: str, message_id: str = "") -> list[str]:
        """Somebody taps a button with this very value (an old one, say)."""
        return await self._arrives(who, IncomingKind.TAP, tap=value, message_id=message_id)

    async def good_morning(self, who: str = "mary") -> list[str]:
        """The six taps of a good day; after a silence the check-in is asked for first."""
        shown = self.newest_buttons(who).outgoing.choices
        if not any(one.value.endswith("trouble=nothing") for row in shown for one in row):
            await self.says(who, "check-in")
            if any("more than a week" in one for one in self.heard(who)[-1:]):
                await self.taps(who, "I was well, or away")
        return await self.taps(who, "None of these", "4", "4", "4", "4", "4")

    def newest_buttons(self, who: str) -> Recorded:
        """The newest message of a chat that has buttons."""
        return next(
            one
            for one in reversed(self.channel.sent)
            if one.address == who and one.outgoing.choices
        )

    def last_to(self, who: str) -> str:
        """The newest text of a chat."""
        return self.channel.said_to(who)[-1]

    def heard(self, who: str, since: int = 0) -> list[str]:
        """The texts of a chat, from the ``since``-th on."""
        return self.channel.said_to(who)[since:]

    async def restart(self) -> None:
        """The process dies and starts again on the same store."""
        self.app.database.close()
        self.app = _built(self.home, self.clock, self.channel, self.second_route, self.database)
        self.app.database.migrate()
        await self.app.engine.start()
        await self.app.settle()

    async def _arrives(
        self, who: str, kind: IncomingKind, *, text: str = "", tap: str = "", message_id: str = ""
    ) -> list[str]:
        self._number += 1
        before = len(self.channel.sent)
        incoming = Incoming(
            CHANNEL, who, str(self._number), kind, text, tap, message_id, self.clock.now()
        )
        await self.app.engine.accept([incoming])
        await self.app.settle()
        return [one.outgoing.text for one in self.channel.sent[before:]]

    async def _until(self, moment: datetime) -> None:
        await self.app.visit_until(moment, self.clock.move_to, lambda: None)


@asynccontextmanager
async def practice(
    home: Path, start: datetime, *, second_route: str = "", database: str | None = None
) -> AsyncIterator[Practice]:
    """A practice that begins at ``start`` (aware) with nobody in it.

    Args:
        second_route: addresses for alerts that nobody has seen, as in the settings.
        database: an empty database, or "" for a file in ``home``; left out, a file or a database
            on a server, as the test that runs now wants it.
    """
    with ExitStack() as stack:
        if database is None:
            server = on_postgresql()
            database = stack.enter_context(postgres(migrated=True)) if server else ""
        async with _practice(home, start, second_route, database) as running:
            yield running


@asynccontextmanager
async def _practice(
    home: Path, start: datetime, second_route: str, database: str
) -> AsyncIterator[Practice]:
    clock, channel = ManualClock(start), RecordChannel(CHANNEL)
    quick = not database and _put_store(home)
    app = _built(home, clock, channel, second_route, database)
    if not quick:
        app.database.migrate()
    await app.engine.start()
    running = Practice(app, clock, channel, home, second_route, database)
    try:
        yield running
    finally:
        running.app.database.close()


def _put_store(home: Path) -> bool:
    """Put a store that was made before into a folder that has none; False: there is no folder."""
    store = home / "dayrung.sqlite3"
    if not home.exists():
        return False
    if not store.exists():
        store.write_bytes(migrated())
    return True


def _built(
    home: Path, clock: ManualClock, channel: RecordChannel, second_route: str, database: str
) -> App:
    settings = Settings(
        home=home, database=database, key="", telegram_token="", second_road=second_route
    )
    if not settings.key_file.exists():
        private_folder(home)
        write_keys(settings.key_file, [KEY.decode()])
    key, _ = load_key(settings)
    channels: dict[str, Channel] = {CHANNEL: channel}
    if second_route:
        second = SecondRouteChannel(settings.second_routes)
        channels[second.name] = second
    app = build(settings, key, clock, lambda *_: channels, _link, loaded(_link), PATIENT)
    compiled_once(app.database)
    without_threads(app.database)
    return app


def _link(code: str) -> str:
    return f"https://chat.example/{code}"
