"""A PostgreSQL database is one service's: by a lock that ends with it, its machine or its network.

The bounds (takeover within 1 s of a kill, within 10 s of a machine that is cut off) are this
project's own. That a server keeps the connection of a lost machine for two hours is Linux'
``tcp_keepalive_time`` (tcp(7)).
"""

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import text

from bot.errors import StoreError
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.server.connections import ON_THE_SERVER
from bot.storage.server.single_instance import SingleInstance, Whose
from tests.doubles.keys import KEY
from tests.doubles.postgres import NEEDED, Server, own_server, postgres, shared_server

pytestmark = NEEDED


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with postgres() as made:
        yield made


@contextmanager
def _holders(tmp_path: Path, *addresses: str) -> Iterator[list[SingleInstance]]:
    """One a machine: two hosts have two folders; only the database tells them of each other."""
    stores = [Database(one, Encryption(KEY)) for one in addresses]
    made = [SingleInstance(tmp_path / str(place), one) for place, one in enumerate(stores)]
    try:
        yield made
    finally:
        for one in made:
            one.release()
        for store in stores:
            store.close()


def _end_the_holder(address: str) -> None:
    """End the connection that holds the database, as when the network breaks."""
    store = Database(address, Encryption(KEY))
    ended = (
        "SELECT pg_terminate_backend(pid, 5000) FROM pg_locks WHERE locktype = 'advisory' "
        "AND granted AND database = (SELECT oid FROM pg_database "
        "WHERE datname = current_database())"
    )
    with store.engine.begin() as connection:
        assert connection.scalars(text(ended)).all() == [True]
    store.close()


def test_the_database_is_one_service_s_until_that_ends(address: str, tmp_path: Path):
    with _holders(tmp_path, address, address) as (first, second):
        first.lock_files()
        second.lock_files()

        assert first.lock_database()
        assert first.lock_database()
        assert not second.lock_database()
        assert first.look() is Whose.OURS

        first.release()
        assert second.lock_database()


def test_a_hold_that_is_lost_is_taken_anew_unless_another_service_was_faster(
    address: str, tmp_path: Path
):
    with _holders(tmp_path, address, address) as (first, second):
        assert first.lock_database()

        _end_the_holder(address)
        assert first.look() is Whose.OURS
        assert not second.lock_database()

        _end_the_holder(address)
        assert second.lock_database()
        assert first.look() is Whose.ANOTHERS


def test_who_waits_has_the_database_within_a_second_of_its_holder_s_end(
    address: str, tmp_path: Path
):
    # A machine that is busy with others is slow now and then: the quickest of three tells.
    assert min(_takeover(tmp_path / str(number), address) for number in range(3)) < 1.0


def _takeover(folder: Path, address: str) -> float:
    """Seconds from the end of a holder to the moment at which another has the database."""
    folder.mkdir()
    with _holders(folder, address, address) as (first, second):
        assert first.lock_database()
        had: list[tuple[bool, float]] = []
        waiting = threading.Thread(
            target=lambda: had.append((second.wait_for_database(), time.monotonic()))
        )
        waiting.start()
        _until_somebody_waits(first)

        ended = time.monotonic()
        _end_the_holder(address)
        waiting.join(60)

        assert had[0][0] is True
        assert first.look() is Whose.ANOTHERS
        return had[0][1] - ended


def test_a_wait_is_called_off(address: str, tmp_path: Path):
    with _holders(tmp_path, address, address) as (first, second):
        assert first.lock_database()
        had: list[bool] = []
        waiting = threading.Thread(target=lambda: had.append(second.wait_for_database()))
        waiting.start()
        _until_somebody_waits(first)

        second.call_off()
        waiting.join(60)

        assert had == [False]
        assert first.look() is Whose.OURS
        assert not first.standby_waits


def test_a_database_that_does_not_answer_is_not_counted_as_ours(tmp_path: Path):
    with own_server() as server, _holders(tmp_path, server.address()) as (holder,):
        assert holder.lock_database()
        server.stop()

        assert holder.look() is Whose.UNKNOWN


def test_a_store_in_doubt_takes_no_work(address: str):
    store = Database(address, Encryption(KEY))
    store.in_doubt = True

    with pytest.raises(StoreError, match="another service may have taken"):
        store.run_now(lambda unit: unit.commit())
    store.close()


def test_two_practices_in_two_schemas_are_two_services(address: str, tmp_path: Path):
    store = Database(address, Encryption(KEY))
    with store.engine.begin() as connection:
        connection.execute(text("CREATE SCHEMA north"))
        connection.execute(text("CREATE SCHEMA south"))
    store.close()
    north, south = (f"{address}&options=-csearch_path%3D{one}" for one in ("north", "south"))
    with _holders(tmp_path, north, south, north) as (one, other, again):
        assert one.lock_database()
        assert other.lock_database()
        assert not again.lock_database()


def test_the_server_is_asked_to_notice_a_machine_that_is_gone(address: str):
    """``tests.faults.cut_off`` cuts one off and measures; it needs a network of its own."""
    server: Server = shared_server()
    store = Database(server.over_network(), Encryption(KEY))
    with store.engine.connect() as connection:
        said = {
            name: connection.scalar(
                text("SELECT setting FROM pg_settings WHERE name = :name"), {"name": name}
            )
            for name in ON_THE_SERVER
        }
        ours = connection.connection.driver_connection.info.get_parameters()  # type: ignore[union-attr]
    store.close()

    assert said == ON_THE_SERVER
    # Within ten seconds of the last sign of life: the first probe, the others, and none answered.
    idle, between, probes = (
        int(said[f"tcp_keepalives_{one}"]) for one in ("idle", "interval", "count")
    )
    assert idle + between * probes < 10
    assert int(said["tcp_user_timeout"]) < 10_000
    assert ours["tcp_user_timeout"] == "7000"
    assert ours["keepalives_idle"] == "3"


def _until_somebody_waits(holder: SingleInstance) -> None:
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        assert holder.look() is Whose.OURS
        if holder.standby_waits:
            return
        time.sleep(0.01)
    raise AssertionError("nobody waits")
