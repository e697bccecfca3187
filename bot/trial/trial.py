"""``dayrung try``: the whole program on this machine, with an invented practice, on a page."""

import asyncio
import contextlib
import shutil
import signal
import threading
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

import uvicorn
from rich.console import Console
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeElapsedColumn

from bot.channels.page.channel import NAME, Bell, PageChannel
from bot.clock import Clock, ShiftedClock
from bot.delivery.channel import Accept, Channel
from bot.errors import StoreError
from bot.reference.reference import Loaded, load_all
from bot.runtime.app import App, build
from bot.runtime.contents import Contents
from bot.runtime.listening import listen
from bot.runtime.loading import loading
from bot.runtime.quiet_server import QuietServer
from bot.settings import Settings, load_key
from bot.storage.database import Database
from bot.storage.questions.due import handled_until, set_handled_until
from bot.storage.unit import UnitOfWork
from bot.trial.practice import is_made, make_practice
from bot.trial.server import Content, PageServices, page_app
from bot.trial.waiting import BrokenOff, ChangingPage, Making, waiting_page

TRIAL_CLOCK = "trial_clock"


async def try_out(
    settings: Settings, *, port: int, fresh: bool, weeks: int, console: Console
) -> None:
    """Run the trial until it is stopped; a later start goes on where this one stopped.

    The page is there at once, with a bar on it while the practice is made.

    Args:
        fresh: throw the last trial away.
        weeks: how many weeks of history to invent.

    Raises:
        SettingsError: the port is taken, or a setting is wrong.
        StoreError: the database cannot be opened.
        CatalogueError: a rung of the practice's own makes no sense.
    """
    stop = asyncio.Event()
    making = Making(threading.Event())

    def stop_all() -> None:
        stop.set()
        making.stop.set()

    for name in (signal.SIGTERM, signal.SIGINT):
        asyncio.get_running_loop().add_signal_handler(name, stop_all)
    page = ChangingPage(waiting_page(making))
    bell = Bell()
    listening = listen(settings.host, port)
    config = uvicorn.Config(
        page,
        log_level="warning",
        access_log=False,
        lifespan="off",
        timeout_graceful_shutdown=3,
    )
    server = QuietServer(config)
    serving = asyncio.create_task(server.serve(sockets=[listening]))
    serving.add_done_callback(lambda _served: stop_all())
    console.print(
        f"Open http://{settings.host}:{listening.getsockname()[1]}/ in your browser. "
        "Stop with Ctrl-C.",
        highlight=False,
    )
    try:
        with contextlib.suppress(BrokenOff):
            await _run(settings, page, making, bell, stop, fresh, weeks, console)
    finally:
        bell.close()
        server.should_exit = True
        await serving


async def _run(
    settings: Settings,
    page: ChangingPage,
    making: Making,
    bell: Bell,
    stop: asyncio.Event,
    fresh: bool,
    weeks: int,
    console: Console,
) -> None:
    """Bring the practice up, make it where there is none, and put its page in the waiting one's."""
    # The practice's own rungs stay where they are: the trial is for trying them too.
    with loading():
        loaded = await asyncio.to_thread(load_all, _no_link, settings.home)
    settings = _trial_settings(settings)
    if fresh:
        await asyncio.to_thread(shutil.rmtree, settings.home, ignore_errors=True)
    key, _ = load_key(settings)
    clock = ShiftedClock()

    def channels(
        _clock: Clock, _database: Database, _loaded: Loaded, _contents: Contents, _accept: Accept
    ) -> Mapping[str, Channel]:
        return {NAME: PageChannel(bell)}

    app = build(settings, key, clock, channels, _no_link, loaded)
    await asyncio.to_thread(app.database.migrate)
    if not await app.database.run(is_made):
        await _make(settings, key, loaded, making, weeks, console)
    clock.move_to(await app.database.run(_kept_clock, clock.now()))
    await app.start()
    try:
        await _show(app, clock, bell, page, stop)
    finally:
        bell.close()
        await app.stop()


async def _make(
    settings: Settings, key: bytes, loaded: Loaded, making: Making, weeks: int, console: Console
) -> None:
    """Make the practice on a thread and a loop of its own, for it does one thing after the other.

    Raises:
        BrokenOff: the program was told to stop.
    """
    with Progress(
        TextColumn("Inventing a practice"),
        BarColumn(),
        TaskProgressColumn(),
        TimeElapsedColumn(),
        console=console,
        # Each drawing takes time from what it shows.
        refresh_per_second=2,
    ) as progress:
        bar = progress.add_task("", total=None)

        def seen(done: int, of: int) -> None:
            making.seen(done, of)
            progress.update(bar, completed=done, total=of)

        def make() -> None:
            asyncio.run(make_practice(settings, key, loaded, weeks=weeks, seen=seen))

        await asyncio.to_thread(make)


def _no_link(_code: str) -> str:
    """On the page, codes are typed."""
    return ""


def _trial_settings(settings: Settings) -> Settings:
    """The trial keeps apart from real clients: a folder, a database and a key of its own."""
    return settings.model_copy(
        update={
            "home": settings.home / "trial",
            "database": "",
            "key": "",
            "key_command": "",
            "key_path": str(settings.home / "trial" / "key"),
            "telegram_token": "",
            "second_road": "",
            "seconds_between_sends": 0.0,
            "sends_per_second": 1000.0,
        }
    )


async def _show(
    app: App, clock: ShiftedClock, bell: Bell, page: ChangingPage, stop: asyncio.Event
) -> None:
    """Show the practice's page until the program is told to stop."""

    async def move_clock(to: datetime) -> None:
        await app.visit_until(to, clock.move_to, bell.ring)
        await app.database.run(_keep_clock, clock.now())

    async def load_content(content_id: str) -> Content | None:
        try:
            data, file = await asyncio.to_thread(app.contents.load, content_id)
        except (KeyError, StoreError):
            return None
        return Content(data, _media_type(file))

    services = PageServices(
        accept=app.lifeline.accept,
        database=app.database,
        clock=clock,
        move_clock=move_clock,
        load_content=load_content,
        healthy=app.healthy,
        bell=bell,
    )
    page.now = page_app(services)
    await stop.wait()


def _media_type(file: str) -> str:
    endings = {".png": "image/png", ".gif": "image/gif", ".json": "application/json"}
    return endings.get(Path(file).suffix, "application/octet-stream")


def _kept_clock(unit: UnitOfWork, now: datetime) -> datetime:
    """Where the trial's clock stood when it was stopped; it never goes back."""
    return max(now, handled_until(unit, TRIAL_CLOCK) or now)


def _keep_clock(unit: UnitOfWork, now: datetime) -> None:
    set_handled_until(unit, TRIAL_CLOCK, now)
    unit.commit()
