"""The real program with the trial page, in a thread of its own, with one coach and one client."""

import asyncio
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import uvicorn
from cryptography.fernet import Fernet

from bot.channels.page.channel import NAME, Bell, PageChannel
from bot.clock import ShiftedClock
from bot.runtime.app import App, build
from bot.schedule.due import reschedule
from bot.settings import Settings
from bot.storage import people
from bot.storage.people import Address
from bot.storage.tables import ClientRow, CoachRow, PersonRow
from bot.storage.unit import UnitOfWork
from bot.trial.server import Content, PageServices, page_app
from core.vocabulary import PersonId, Role

COACH = "Huia Marsden"
CLIENT = "Mere Tolhurst"
PROFILE = {
    "called": "Mere",
    "phone": "+64 9 555 0142",
    "home": "4 Karaka Rise, Tolaga",
    "contact_name": "Ned Tolhurst",
    "contact_phone": "+64 9 555 0143",
    "birth_year": 1953,
    "sex": "f",
    "stature_cm": 163,
    "mass_kg": 68,
    "conditions": ["pressure"],
    "floor": True,
    "kit": {"chair": 45, "bench": 90, "table": 75, "bottle": 1.0, "band": "light"},
    "cleared_by": COACH,
    "cleared_on": "2026-01-05",
}
"""An invented client of 73 with high blood pressure and a usual home."""


@dataclass
class Live:
    """A running program: where its page is, and whose phones are on it."""

    url: str
    app: App
    coach: PersonId
    client: PersonId


def settings_in(home: Path) -> Settings:
    """Everything in one folder; no pauses between messages, as on the trial page."""
    return Settings(
        home=home,
        key=Fernet.generate_key().decode("ascii"),
        seconds_between_sends=0,
        sends_per_second=1000,
        _env_file=None,  # type: ignore[call-arg]  # pydantic takes it beside the fields
    )


@contextmanager
def live_page(home: Path) -> Iterator[Live]:
    """Run the program until the block is left."""
    settings, clock, bell = settings_in(home), ShiftedClock(), Bell()
    app = build(
        settings,
        settings.key.encode("ascii"),
        clock,
        lambda *_parts: {NAME: PageChannel(bell)},
        lambda _code: "",
    )
    app.database.migrate()
    coach, client = app.database.run_now(_open_practice, clock.now())
    listening = socket.create_server(("127.0.0.1", 0))
    url = f"http://127.0.0.1:{listening.getsockname()[1]}/"
    ready, stop = threading.Event(), threading.Event()
    failures: list[BaseException] = []

    async def serve() -> None:
        async def move_clock(to: datetime) -> None:
            await app.visit_until(to, clock.move_to, bell.ring)

        async def load_content(content_id: str) -> Content | None:
            try:
                data, _file = await asyncio.to_thread(app.contents.load, content_id)
            except KeyError:
                return None
            return Content(data, "image/png")

        services = PageServices(
            accept=app.engine.accept,
            database=app.database,
            clock=clock,
            move_clock=move_clock,
            load_content=load_content,
            healthy=app.healthy,
            bell=bell,
        )
        await app.start()
        server = uvicorn.Server(
            uvicorn.Config(page_app(services), log_level="warning", lifespan="off")
        )
        serving = asyncio.create_task(server.serve(sockets=[listening]))
        # The socket listens already: a browser that is early waits in its queue.
        ready.set()
        await asyncio.to_thread(stop.wait)
        bell.close()
        server.should_exit = True
        await serving
        await app.stop()

    def run() -> None:
        try:
            asyncio.run(serve())
        except BaseException as error:  # noqa: BLE001 - shown to the test below
            failures.append(error)
        finally:
            ready.set()

    thread = threading.Thread(target=run, name="live page")
    thread.start()
    ready.wait(60)
    try:
        if not failures:
            yield Live(url, app, coach, client)
    finally:
        stop.set()
        thread.join(60)
        listening.close()
    if failures:
        raise failures[0]


def _open_practice(unit: UnitOfWork, now: datetime) -> tuple[PersonId, PersonId]:
    """One coach and one client who is cleared to start and trains every day."""
    coach = people.add_person(unit, Role.COACH, COACH, now)
    unit.session.add(CoachRow(person_id=coach))
    client = people.add_person(unit, Role.CLIENT, CLIENT, now)
    row = ClientRow(
        person_id=client,
        coach_id=coach,
        profile_sealed=unit.encryption.encrypt_json(
            {**PROFILE, "cleared_on": now.date().isoformat()}
        ),
        joined_at=now,
        cleared_at=now,
        training_days="1,2,3,4,5,6,7",
    )
    unit.session.add(row)
    for person in (coach, client):
        stored = unit.session.get_one(PersonRow, person)
        stored.zone, stored.country = "Pacific/Auckland", "NZ"
        people.bind(unit, person, Address(NAME, f"phone-{person}"), now)
    unit.session.flush()
    for person in (coach, client):
        reschedule(unit, person, now)
    unit.commit()
    return coach, client
