"""Running the service: the channels that the settings name, until it is told to stop."""

import asyncio
import contextlib
import logging
import signal
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from datetime import timedelta
from functools import partial

import httpx
import uvicorn
from rich.console import Console
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from bot.channels.second_route import SecondRouteChannel
from bot.channels.telegram.channel import TelegramChannel
from bot.channels.telegram.polling import pause_or_stop
from bot.clock import Clock, SystemClock
from bot.delivery.channel import Accept, Channel
from bot.errors import ChannelDown, DeliveryError, SettingsError, StoreError
from bot.reference.reference import Loaded
from bot.runtime.app import App, build
from bot.runtime.bounded_connection import BoundedConnection
from bot.runtime.channel_factory import TELEGRAM, Links, telegram
from bot.runtime.contents import Contents
from bot.runtime.database_turn import keep_our_turn, our_turn
from bot.runtime.listening import listen
from bot.runtime.loading import loading
from bot.runtime.open_files import allow_open_files
from bot.runtime.place import StorePlace, look_at
from bot.runtime.quiet_server import QuietServer
from bot.runtime.watchdog import tell_systemd
from bot.settings import Settings, key_for_nothing
from bot.storage.database import Database
from bot.storage.server.single_instance import SingleInstance

log = logging.getLogger(__name__)

HEARTBEAT_SECONDS = 60

LISTEN_AGAIN = timedelta(seconds=5)
"""How often it is tried to listen on an address that cannot be listened on."""

LOOK_AGAIN = timedelta(seconds=1)
"""The pause before it is looked again whether a store and a key are there now and fit."""


async def serve(settings: Settings, console: Console) -> None:
    """Run until SIGTERM or SIGINT; what is in hand is finished, nothing is lost.

    Where the store or its key is missing, they do not fit, or the server does not answer, warning
    signs get advice until all is there.

    Raises:
        SettingsError: no channel is set, or a setting is wrong.
        ChannelDown: the platform refuses the token, or another process reads its messages.
        StoreError: the database cannot be opened.
    """
    allow_open_files()
    if not settings.telegram_token:
        raise SettingsError(
            "Set DAYRUNG_TELEGRAM_TOKEN to the token of your Telegram bot, then start again."
        )
    if settings.telegram_webhook and not settings.telegram_secret:
        raise SettingsError("A webhook needs DAYRUNG_TELEGRAM_SECRET, a secret of your choice.")
    stop = asyncio.Event()
    for name in (signal.SIGTERM, signal.SIGINT):
        asyncio.get_running_loop().add_signal_handler(name, stop.set)
    while not stop.is_set():
        place = await asyncio.to_thread(look_at, settings)
        await _serve_at(place, settings, stop, console)


async def _serve_at(
    place: StorePlace, settings: Settings, stop: asyncio.Event, console: Console
) -> None:
    """Serve until told to stop; where something is missing, only until it is there."""
    links = Links()
    with loading():
        app = build(
            settings,
            place.key or key_for_nothing(),
            SystemClock(),
            _channels(settings),
            links.to,
            missing=place.missing,
        )
    channel = app.channels[TELEGRAM]
    if not isinstance(channel, TelegramChannel):
        raise SettingsError("The Telegram channel is missing.")
    single_instance = SingleInstance(settings.home, app.database)
    try:
        single_instance.lock_files()
        if await _is_ours(place, single_instance, stop, console):
            async with _until_over(place, settings, stop) as over:
                await _run(app, channel, links, single_instance, over, console)
    finally:
        single_instance.release()
        await channel.close()


@contextlib.asynccontextmanager
async def _until_over(
    place: StorePlace, settings: Settings, stop: asyncio.Event
) -> AsyncIterator[asyncio.Event]:
    """What ends the serving at a place: ``stop``, or that it must be begun anew.

    That is when nothing is missing there any more, or when whoever serves sets it.
    """
    over = asyncio.Event()

    async def look() -> None:
        said = place.missing
        while not stop.is_set():
            await pause_or_stop(LOOK_AGAIN, stop)
            # Half a key may be read while it is being copied.
            missing = (await asyncio.to_thread(look_at, settings)).missing
            if not missing:
                break
            if missing != said:
                log.critical("%s", missing)
            said = missing
        over.set()

    async def stopped() -> None:
        await stop.wait()
        over.set()

    looking = asyncio.create_task(look() if place.missing else stopped())
    try:
        yield over
    finally:
        looking.cancel()
        await asyncio.gather(looking, return_exceptions=True)


async def _our_turn(single_instance: SingleInstance, stop: asyncio.Event, console: Console) -> bool:
    """Wait until no other service works on the database; False when told to stop before that."""
    alive: list[asyncio.Task[None]] = []

    def say_waiting() -> None:
        console.print(
            "Another service works on this database. This one waits, and takes over when it ends.",
            highlight=False,
        )
        alive.append(asyncio.create_task(tell_systemd(_waiting_is_healthy, stop)))

    try:
        return await our_turn(single_instance, stop, say_waiting)
    finally:
        for task in alive:
            task.cancel()


async def _is_ours(
    place: StorePlace, single_instance: SingleInstance, stop: asyncio.Event, console: Console
) -> bool:
    """Whether to serve at this place: our turn, or advice alone where the server does not answer.

    A server that has gone away since it was looked at is looked at again.
    """
    try:
        return await _our_turn(single_instance, stop, console)
    except StoreError:
        if not place.missing:
            await pause_or_stop(LOOK_AGAIN, stop)
        return bool(place.missing)


async def _waiting_is_healthy() -> bool:
    return True


async def _run(
    app: App,
    channel: TelegramChannel,
    links: Links,
    single_instance: SingleInstance,
    stop: asyncio.Event,
    console: Console,
) -> None:
    await app.start()
    if not app.missing:
        console.print("Dayrung is running. Stop it with Ctrl-C.", highlight=False)
    try:
        await _run_all(app, channel, links, single_instance, stop)
    finally:
        await app.stop()


def _doubt(app: App, channel: TelegramChannel, in_doubt: bool, standby_waits: bool) -> None:
    """Nobody knows whether the database is still ours: put nothing into it, but answer signs.

    Where another service waits for it, the platform is told of no message that it has arrived, so
    that the other one gets it.
    """
    app.database.in_doubt = in_doubt
    channel.gives_way = in_doubt
    app.lifeline.keep(not (in_doubt and standby_waits))


def _channels(
    settings: Settings,
) -> Callable[[Clock, Database, Loaded, Contents, Accept], Mapping[str, Channel]]:
    def make(
        clock: Clock, database: Database, loaded: Loaded, contents: Contents, accept: Accept
    ) -> Mapping[str, Channel]:
        made: dict[str, Channel] = {
            TELEGRAM: telegram(settings, clock, database, loaded.words, contents, accept)
        }
        if settings.second_road:
            second = SecondRouteChannel(settings.second_routes)
            made[second.name] = second
        return made

    return make


async def _run_all(
    app: App,
    channel: TelegramChannel,
    links: Links,
    single_instance: SingleInstance,
    stop: asyncio.Event,
) -> None:
    """Everything that runs beside the sender and the sweeps, until ``stop``."""
    settings = app.settings
    works: list[Awaitable[None]] = [
        channel.run(stop),
        _learn_name(channel, links, stop),
        _serve_web(lambda: _server(app, channel), settings.host, settings.port, stop),
        tell_systemd(app.alive, stop),
        _heartbeat(app, stop),
        keep_our_turn(single_instance, partial(_doubt, app, channel), stop),
    ]
    tasks = [asyncio.ensure_future(work) for work in works]
    stopping = asyncio.create_task(stop.wait())
    await asyncio.wait([*tasks, stopping], return_when=asyncio.FIRST_EXCEPTION)
    stop.set()
    stopping.cancel()
    results = await asyncio.gather(*tasks, return_exceptions=True)
    for result in results:
        if isinstance(result, Exception):
            raise result


def _server(app: App, channel: TelegramChannel) -> uvicorn.Server:
    """The web server: health for a monitor, and the webhook where there is one."""

    async def health(_request: Request) -> Response:
        healthy = await app.healthy()
        return JSONResponse({"healthy": healthy}, 200 if healthy else 503)

    routes: list[BaseRoute] = [Route("/health", health)]
    if app.settings.metrics_token:
        # Not loaded where nobody asks: it takes memory.
        from bot.runtime.metrics import metrics_route

        routes.append(metrics_route(app, app.settings.metrics_token))
    webhook = channel.route()
    if webhook is not None:
        routes.append(webhook)
    config = uvicorn.Config(
        Starlette(routes=routes),
        log_level="warning",
        access_log=False,
        lifespan="off",
        timeout_graceful_shutdown=1,
        http=BoundedConnection,
    )
    return QuietServer(config)


async def _serve_web(
    make: Callable[[], uvicorn.Server], host: str, port: int, stop: asyncio.Event
) -> None:
    """Serve the web until ``stop``; where nobody can listen, say so once and try again.

    Messages are fetched and alerts chased without it.
    """
    said = False
    while not stop.is_set():
        try:
            listening = await asyncio.to_thread(listen, host, port)
        except SettingsError as error:
            if not said:
                log.critical("%s", error)
            said = True
            await pause_or_stop(LISTEN_AGAIN, stop)
            continue
        server = make()
        serving = asyncio.create_task(server.serve(sockets=[listening]))
        stopping = asyncio.create_task(stop.wait())
        await asyncio.wait([serving, stopping], return_when=asyncio.FIRST_COMPLETED)
        stopping.cancel()
        server.should_exit = True
        await serving
        return


async def _learn_name(channel: TelegramChannel, links: Links, stop: asyncio.Event) -> None:
    """Ask for the bot's name until it is known: invitations need it for their links."""
    pause = 1.0
    while not stop.is_set():
        try:
            links.username = (await channel.who()).username
        except ChannelDown:
            raise
        except DeliveryError:
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(stop.wait(), pause)
            pause = min(2 * pause, 60.0)
        else:
            return


async def _heartbeat(app: App, stop: asyncio.Event) -> None:
    """Call the outside monitor every minute while all is well; silence is its alarm."""
    address = app.settings.heartbeat
    if not address:
        return
    async with httpx.AsyncClient(timeout=10) as client:
        while not stop.is_set():
            if await app.healthy():
                with contextlib.suppress(httpx.HTTPError):
                    await client.get(address)
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(stop.wait(), HEARTBEAT_SECONDS)
