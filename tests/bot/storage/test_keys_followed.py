"""A running service takes keys over from their file, but never those of somebody else."""

from pathlib import Path

import pytest
from cryptography.fernet import Fernet

from bot.errors import StoreError
from bot.settings import write_keys
from bot.storage.encryption import Encryption

OLD, NEW, FOREIGN = (Fernet.generate_key().decode() for _ in range(3))


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "key"
    write_keys(path, [OLD])
    return path


@pytest.fixture
def running(file: Path) -> Encryption:
    return Encryption(file.read_bytes(), file)


def test_what_a_change_of_the_key_has_sealed_meanwhile_is_opened(
    file: Path, running: Encryption
) -> None:
    """A piece of work begins with the old key alone; the command seals the row that it reads."""
    write_keys(file, [NEW, OLD])
    beside = Encryption(file.read_bytes())
    beside.seal_chats_with(beside.name)

    assert running.decrypt(beside.encrypt("my knee is sore")) == "my knee is sore"
    assert running.open_chat(beside.seal_chat("5001")) == "5001"
    assert running.name == beside.name
    assert running.newest_waits, "until the store has a proof of it"
    assert Encryption(OLD.encode()).decrypt(running.encrypt("until then")) == "until then"
    running.seal_with_newest()
    assert running.is_newest(running.encrypt("from now on"))


def test_the_key_of_another_practice_is_not_taken_over(
    file: Path, running: Encryption, caplog: pytest.LogCaptureFixture
) -> None:
    before = running.encrypt("of before")
    write_keys(file, [FOREIGN])

    running.refresh()

    assert Encryption(OLD.encode()).decrypt(running.encrypt("of now")) == "of now"
    assert running.decrypt(before, keep=False) == "of before"
    assert "lacks the key in use" in caplog.text
    with pytest.raises(StoreError):
        running.decrypt(Encryption(FOREIGN.encode()).encrypt("of theirs"))


def test_an_older_key_that_is_forgotten_too_early_is_known_until_the_end(
    file: Path, running: Encryption
) -> None:
    before = Encryption(OLD.encode()).encrypt("of before")
    for keys in ([NEW, OLD], [NEW]):
        write_keys(file, keys)
        running.refresh()

    assert running.decrypt(before) == "of before"
    assert Encryption(NEW.encode()).decrypt(running.encrypt("of now")) == "of now"
