"""Cuts the machine of a service off from its PostgreSQL database, and measures who notices when.

    python -m tests.faults.cut_off

A holder and a standby are real services' locks, the holder in a network namespace of its own whose
link is taken down: no packet says goodbye, as when power or network are lost. It needs Linux, root
and the program ``ip``; nothing of the machine's own network is touched.
"""

import json
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import ExitStack, suppress
from pathlib import Path

from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError

from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.server.single_instance import ADVISORY_LOCK, SingleInstance, Whose
from tests.doubles.keys import KEY
from tests.doubles.postgres import own_server

SPACE = "dayrung-cut-off"
OUTSIDE, INSIDE = "10.213.87.1", "10.213.87.2"

BOUND = 10.0
"""Seconds in which the standby must have the database."""


def _ip(*arguments: str) -> None:
    subprocess.run(("ip", *arguments), check=True)


def _network(stack: ExitStack) -> None:
    _ip("netns", "add", SPACE)
    stack.callback(_ip, "netns", "del", SPACE)
    _ip("link", "add", "dr-out", "type", "veth", "peer", "name", "dr-in", "netns", SPACE)
    stack.callback(_ip, "link", "del", "dr-out")
    _ip("addr", "add", f"{OUTSIDE}/30", "dev", "dr-out")
    _ip("link", "set", "dr-out", "up")
    _ip("-n", SPACE, "addr", "add", f"{INSIDE}/30", "dev", "dr-in")
    _ip("-n", SPACE, "link", "set", "dr-in", "up")


def _hold(address: str, home: str) -> None:
    """What runs in the namespace: hold the database, and say when that is in doubt.

    Without a home: hold it in a statement whose answer is on its way when the line is cut.
    """
    store = Database(address, Encryption(KEY))
    if not home:
        with store.engine.connect() as connection:
            connection.execute(text("SELECT pg_advisory_lock(:lock)"), {"lock": ADVISORY_LOCK})
            print("holds", flush=True)  # noqa: T201 - another process reads it
            with suppress(SQLAlchemyError):
                while True:
                    connection.execute(text("SELECT pg_sleep(1.5)"))
            print("in doubt", flush=True)  # noqa: T201
            return
    holder = SingleInstance(Path(home), store)
    assert holder.lock_database()
    print("holds", flush=True)  # noqa: T201 - another process reads it
    while holder.look() is Whose.OURS:
        time.sleep(1)
    print("in doubt", flush=True)  # noqa: T201


def measure(*, cut_in_statement: bool) -> dict[str, float]:
    """Seconds after the cut: until the standby has the database, until the holder doubts.

    ``cut_in_statement``: the server has an answer on the way that nobody acknowledges.
    """
    with ExitStack() as stack:
        home = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        _network(stack)
        # A namespace is trusted like this machine: nobody else is on that link.
        server = stack.enter_context(own_server(f"127.0.0.1,{OUTSIDE}"))
        server.trust(f"{INSIDE}/32")
        inside = f"postgresql+psycopg://dayrung@{OUTSIDE}:{server.port}/postgres"
        held_at = "" if cut_in_statement else str(home / "holder")
        command = (sys.executable, "-m", __spec__.name, "hold", inside, held_at)
        holder = subprocess.Popen(
            ("ip", "netns", "exec", SPACE, *command), stdout=subprocess.PIPE, text=True
        )
        stack.callback(holder.kill)
        assert holder.stdout is not None
        assert holder.stdout.readline().strip() == "holds"
        store = Database(server.address(), Encryption(KEY))
        standby = SingleInstance(home / "standby", store)
        had: list[float] = []

        def wait() -> None:
            if standby.wait_for_database():
                had.append(time.monotonic())

        waiting = threading.Thread(target=wait, daemon=True)
        waiting.start()
        time.sleep(3)
        cut = time.monotonic()
        # The other end: here the way still seems to be there.
        _ip("-n", SPACE, "link", "set", "dr-in", "down")
        doubts: list[float] = []

        def listen() -> None:
            assert holder.stdout is not None
            if holder.stdout.readline().strip() == "in doubt":
                doubts.append(time.monotonic())

        listening = threading.Thread(target=listen, daemon=True)
        listening.start()
        waiting.join(60)
        listening.join(20)
        standby.release()
        store.close()
        return {
            "standby_has_it_s": round(had[0] - cut, 1) if had else float("inf"),
            "holder_doubts_s": round(doubts[0] - cut, 1) if doubts else float("inf"),
        }


def main() -> None:
    """Measure twice, and print it."""
    if sys.argv[1:2] == ["hold"]:
        _hold(*sys.argv[2:4])
        return
    measured = [measure(cut_in_statement=one) for one in (False, True)]
    print(json.dumps(measured, indent=2))  # noqa: T201 - a command's output
    raise SystemExit(0 if all(one["standby_has_it_s"] < BOUND for one in measured) else 1)


if __name__ == "__main__":
    main()
