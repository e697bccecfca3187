"""Arrivals in a file of their own: sealed, whole, in order, and still there after a restart."""

import os
import stat
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from cryptography.fernet import Fernet

from bot.delivery.spool import Spool
from bot.errors import StoreError
from bot.messages import Incoming, IncomingKind
from bot.storage.encryption import Encryption
from tests.doubles.store import KEY

ARRIVAL = Incoming(
    channel="telegram",
    address="501",
    update_id="7001",
    kind=IncomingKind.TEXT,
    text="my chest hurts, é 😀\nand my arm",
    tap="",
    message_id="11",
    received_at=datetime(2026, 3, 2, 8, 0, tzinfo=UTC),
)


def arrival(number: int) -> Incoming:
    return replace(ARRIVAL, update_id=str(number))


@pytest.fixture
def spool(tmp_path: Path) -> Spool:
    return spool_at(tmp_path)


def spool_at(folder: Path) -> Spool:
    return Spool(folder / "spool", Encryption(KEY))


def test_a_spool_begins_empty(spool: Spool) -> None:
    assert spool.empty
    assert spool.claim() == []


@pytest.mark.parametrize(
    "given",
    [
        pytest.param(ARRIVAL, id="words"),
        pytest.param(replace(ARRIVAL, kind=IncomingKind.TAP, text="", tap="a.1.yes"), id="a tap"),
        pytest.param(replace(ARRIVAL, kind=IncomingKind.UNREADABLE, text=""), id="a voice note"),
        pytest.param(replace(ARRIVAL, kind=IncomingKind.CONTACT, text="+64215550101"), id="number"),
    ],
)
def test_an_arrival_comes_back_as_it_was(spool: Spool, given: Incoming) -> None:
    spool.add([given])

    assert spool.claim() == [given]


def test_arrivals_keep_their_order_over_several_batches_and_a_restart(tmp_path: Path) -> None:
    spool_at(tmp_path).add([arrival(1), arrival(2)])
    spool_at(tmp_path).add([arrival(3)])

    restarted = spool_at(tmp_path)

    assert not restarted.empty
    assert [one.update_id for one in restarted.claim()] == ["1", "2", "3"]


def test_what_was_taken_stays_until_it_is_done_with_even_over_a_restart(tmp_path: Path) -> None:
    spool = spool_at(tmp_path)
    spool.add([arrival(1)])
    spool.claim()

    restarted = spool_at(tmp_path)
    assert [one.update_id for one in restarted.claim()] == ["1"]
    restarted.done()

    assert restarted.empty
    assert spool_at(tmp_path).claim() == []


def test_what_comes_while_the_first_is_put_into_the_store_waits_for_the_next_time(
    spool: Spool,
) -> None:
    spool.add([arrival(1)])
    spool.claim()
    spool.add([arrival(2)])

    assert [one.update_id for one in spool.claim()] == ["1"]
    spool.done()
    assert not spool.empty
    assert [one.update_id for one in spool.claim()] == ["2"]


def test_nothing_can_be_read_from_the_file_and_only_its_owner_may(
    spool: Spool, tmp_path: Path
) -> None:
    spool.add([ARRIVAL])

    content = (tmp_path / "spool").read_bytes()
    assert b"chest" not in content
    assert b"501" not in content
    assert stat.S_IMODE((tmp_path / "spool").stat().st_mode) == 0o600


def test_a_line_that_a_crash_cut_short_is_left_out_and_the_next_is_not_lost_with_it(
    spool: Spool, tmp_path: Path
) -> None:
    spool.add([arrival(1), arrival(2)])
    whole = (tmp_path / "spool").read_bytes()
    (tmp_path / "spool").write_bytes(whole[:-30])

    spool.add([arrival(3)])

    assert [one.update_id for one in spool.claim()] == ["1", "3"]


def test_garbage_in_the_file_keeps_nothing_else_out(spool: Spool, tmp_path: Path) -> None:
    spool.add([arrival(1)])
    with (tmp_path / "spool").open("ab") as file:
        file.write(b"\xff\xfe\x00 not ours\n{}\n\n")
    spool.add([arrival(2)])

    assert [one.update_id for one in spool.claim()] == ["1", "2"]


def test_a_disk_that_takes_half_a_batch_leaves_nothing_of_it(
    spool: Spool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    spool.add([arrival(1)])
    before = (tmp_path / "spool").read_bytes()
    real, calls = os.write, []

    def half(handle: int, content: bytes) -> int:
        calls.append(None)
        if len(calls) > 1:
            raise OSError(28, "No space left on device")
        return real(handle, content[: len(content) // 2])

    with monkeypatch.context() as patch:
        patch.setattr(os, "write", half)
        with pytest.raises(StoreError, match="cannot be written: No space left on device"):
            spool.add([arrival(2)])

    assert (tmp_path / "spool").read_bytes() == before
    spool.add([arrival(3)])
    assert [one.update_id for one in spool.claim()] == ["1", "3"]


def test_it_is_on_the_disk_before_add_returns(
    spool: Spool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[str] = []
    real = os.fsync

    def fsync(handle: int) -> None:
        synced.append(str(Path(f"/proc/self/fd/{handle}").readlink()))
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    spool.add([ARRIVAL])

    # The file, and then the folder that holds its name.
    assert synced == [str(tmp_path / "spool"), str(tmp_path)]


def test_a_folder_that_is_gone_is_said_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="the spool cannot be written: No such file"):
        Spool(tmp_path / "gone" / "spool", Encryption(KEY)).add([ARRIVAL])


def test_an_arrival_that_the_store_never_takes_is_kept_beside(spool: Spool, tmp_path: Path) -> None:
    spool.set_aside(ARRIVAL)

    assert spool.empty
    [line] = (tmp_path / "spool.aside").read_text("ascii").split()
    assert Encryption(KEY).decrypt_json(line)["text"] == ARRIVAL.text


def test_what_another_key_sealed_is_not_thrown_away(spool: Spool, tmp_path: Path) -> None:
    spool.add([ARRIVAL])
    other = Spool(tmp_path / "spool", Encryption(Fernet.generate_key()))

    assert other.claim() == []
    other.done()

    assert other.empty
    [line] = (tmp_path / "spool.aside").read_text("ascii").split()
    assert Encryption(KEY).decrypt_json(line)["text"] == ARRIVAL.text


def test_what_was_set_aside_from_a_chat_is_forgotten_and_nothing_else(
    spool: Spool, tmp_path: Path
) -> None:
    spool.set_aside(ARRIVAL)
    spool.set_aside(replace(ARRIVAL, address="502"))
    with (tmp_path / "spool.aside").open("ab") as file:
        file.write(b"\nnot ours\n")

    spool.forget([("telegram", "501")])

    kept = (tmp_path / "spool.aside").read_text("ascii").split("\n")
    assert "not ours" in kept
    [line] = [one for one in kept if one.startswith("gAAAA")]
    assert Encryption(KEY).decrypt_json(line)["address"] == "502"

    (tmp_path / "spool.aside").unlink()
    spool.set_aside(ARRIVAL)
    spool.forget([("telegram", "501")])
    assert list(tmp_path.iterdir()) == []


def test_what_was_set_aside_is_sealed_anew_with_another_key(spool: Spool, tmp_path: Path) -> None:
    spool.set_aside(ARRIVAL)
    new = Fernet.generate_key()

    Spool(tmp_path / "spool", Encryption(new + b"\n" + KEY)).seal_anew()

    [line] = (tmp_path / "spool.aside").read_text("ascii").split()
    assert Encryption(new).decrypt_json(line)["text"] == ARRIVAL.text
