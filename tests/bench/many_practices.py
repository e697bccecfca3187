"""Practices beside each other on one PostgreSQL under load: connections, memory and turns a second.

    python -m tests.bench.many_practices --services 10 --seconds 30

Each practice is a service of its own, in a schema and with a user of its own, against a double of
the platform; its clients answer check-ins and write of warning signs as fast as they are answered.
"""

import argparse
import asyncio
import json
import random
import re
import tempfile
import time
from contextlib import AsyncExitStack
from dataclasses import dataclass
from pathlib import Path

from sqlmodel import func, select

from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.server.practices import add_schema
from bot.storage.tables import InboxRow
from tests.doubles.bot_api import BotApi
from tests.doubles.keys import KEY
from tests.doubles.postgres import Server, own_server
from tests.doubles.serve_process import Service
from tests.doubles.telegram_practice import Chats, make_practice, open_store
from tests.faults.simulated_people import People

CLIENTS = 8
SETTINGS = {"DAYRUNG_SENDS_PER_SECOND": "500", "DAYRUNG_SECONDS_BETWEEN_SENDS": "0"}


@dataclass
class Measured:
    """What was measured under load; memory in MB.

    Attributes:
        memory_of_a_service: resident, on average.
        memory_of_all_services: of all together, what they share counted once; these services are
            forked from one process, so those of a machine that starts each by itself share less.
    """

    services: int
    turns_per_second: float
    connections: int
    connections_most_of_one: int
    memory_of_a_service: float
    memory_of_all_services: float
    memory_of_the_server: float
    waiting_at_the_end: int


async def _measured(server: Server, home: Path, services: int, seconds: float) -> Measured:
    async with AsyncExitStack() as stack:
        practices: list[tuple[str, Service]] = []
        works = []
        people_of: list[People] = []
        for number in range(services):
            address = add_schema(server.address(), f"practice{number}")
            made = Database(address, Encryption(KEY))
            made.migrate()
            made.close()
            folder = home / str(number)
            chats: Chats = make_practice(folder, clients=CLIENTS, address=address)
            api = await stack.enter_async_context(BotApi())
            service = Service(folder, api.address, DAYRUNG_DATABASE=address, **SETTINGS)
            await stack.enter_async_context(service)
            await service.until_it_says("Dayrung is running")
            people = People(api, random.Random(number))
            people_of.append(people)
            works += [people.checks_in(chat) for chat in chats.clients[1:]]
            works.append(people.reports_signs(chats.clients[0]))
            practices.append((address, service))
        busy = [asyncio.create_task(work) for work in works]
        await asyncio.sleep(3)
        before, began = _turns(practices), time.monotonic()
        await asyncio.sleep(seconds)
        turns, took = _turns(practices) - before, time.monotonic() - began
        each = _connections(server)
        resident = [_resident(service.process_id) for _, service in practices]
        together = [_proportional(service.process_id) for _, service in practices]
        of_server = _server_memory(server)
        for people in people_of:
            people.going = False
        await asyncio.gather(*busy)
        await asyncio.sleep(1)
        return Measured(
            services=services,
            turns_per_second=round(turns / took, 1),
            connections=sum(each),
            connections_most_of_one=max(each),
            memory_of_a_service=round(sum(resident) / len(resident), 1),
            memory_of_all_services=round(sum(together), 1),
            memory_of_the_server=round(of_server, 1),
            waiting_at_the_end=_turns(practices, "waiting"),
        )


def _turns(practices: list[tuple[str, Service]], status: str = "done") -> int:
    total = 0
    for address, service in practices:
        store = open_store(Path(service.environment["DAYRUNG_HOME"]), address)
        total += store.read_now(
            lambda unit: int(
                unit.session.exec(
                    select(func.count()).select_from(InboxRow).where(InboxRow.status == status)
                ).one()
            )
        )
        store.close()
    return total


def _connections(server: Server) -> list[int]:
    """How many each practice's user has."""
    with server.connection() as connection:
        rows = connection.execute(
            "SELECT count(*) FROM pg_stat_activity WHERE usename LIKE 'dayrung_%' GROUP BY usename"
        ).fetchall()
    return [int(row[0]) for row in rows]


def _server_memory(server: Server) -> float:
    """Of all its processes, what they share counted once (proportional set size)."""
    head = (server.folder / "data" / "postmaster.pid").read_text().split()[0]
    children = Path(f"/proc/{head}/task/{head}/children").read_text().split()
    return sum(_proportional(int(one)) for one in (head, *children))


def _resident(process: int) -> float:
    return _figure(process, "status", "VmRSS")


def _proportional(process: int) -> float:
    return _figure(process, "smaps_rollup", "Pss")


def _figure(process: int, file: str, name: str) -> float:
    try:
        said = Path(f"/proc/{process}/{file}").read_text()
    except OSError:
        return 0.0
    found = re.search(rf"^{name}:\s+(\d+) kB", said, re.MULTILINE)
    return int(found[1]) / 1024 if found else 0.0


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--services", type=int, default=10)
    parser.add_argument("--seconds", type=float, default=30)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, own_server(options="") as server:
        measured = asyncio.run(_measured(server, Path(folder), given.services, given.seconds))
    print(json.dumps(vars(measured), indent=2))  # noqa: T201 - a command's output


if __name__ == "__main__":
    main()
