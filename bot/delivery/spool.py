"""Arrivals in a file of their own, for when the store cannot take them."""

import logging
import os
from collections.abc import Callable, Collection, Sequence
from datetime import datetime
from pathlib import Path

from bot.errors import StoreError
from bot.json_values import from_json, to_json
from bot.messages import Incoming
from bot.storage.encryption import Encryption

logger = logging.getLogger(__name__)


class Spool:
    """A file of encrypted lines, one an arrival, each on the disk before :meth:`add` returns."""

    def __init__(self, path: Path, encryption: Encryption) -> None:
        """``path``: the file; nothing is opened yet."""
        self._path = path
        self._claimed = path.with_suffix(".taken")
        self._aside = path.with_suffix(".aside")
        self._encryption = encryption
        self._damaged = False

    def add(self, batch: Sequence[Incoming]) -> None:
        """Append a batch.

        Raises:
            StoreError: the file cannot be written either; nothing of the batch is kept.
        """
        _append(self._path, b"".join(map(self._line, batch)))

    def claim(self) -> list[Incoming]:
        """All spooled arrivals, in order; they stay on the disk until :meth:`done`.

        A line that a crash cut short was never confirmed to a platform, so it is left out.

        Raises:
            StoreError: the file cannot be read.
        """
        try:
            if not self._claimed.exists() and self._path.exists():
                self._path.rename(self._claimed)
            raw = self._claimed.read_bytes() if self._claimed.exists() else b""
        except OSError as error:
            raise StoreError(f"the spool cannot be read: {error.strerror}") from None
        whole = [line for line in raw.splitlines(keepends=True) if line.endswith(b"\n")]
        lines = [line.decode("ascii", "replace").strip() for line in whole]
        return [one for one in map(self._decrypted, lines) if one is not None]

    def done(self) -> None:
        """Remove what :meth:`claim` gave: it is in the store. Unreadable lines are set aside.

        Raises:
            StoreError: it cannot be kept.
        """
        if self._damaged:
            _append(self._aside, self._claimed.read_bytes())
            self._damaged = False
        self._claimed.unlink(missing_ok=True)

    def set_aside(self, incoming: Incoming) -> None:
        """Set aside an arrival that the store always refuses, in a second file for the operator.

        Raises:
            StoreError: the file cannot be written.
        """
        _append(self._aside, self._line(incoming))

    def forget(self, chats: Collection[tuple[str, str]]) -> None:
        """Take what was set aside from these chats (channel, address) off the disk.

        Raises:
            OSError: the file cannot be read or written anew.
            StoreError: the same.
        """
        _rewrite(self._aside, lambda line: b"" if self._is_from(line, chats) else line)

    def forget_waiting(self, chats: Collection[tuple[str, str]], until: datetime) -> None:
        """Take what came from these chats up to a moment out of what waits for the store.

        Only for a spool that no service uses: what is added meanwhile would be lost.

        Raises:
            OSError: a file cannot be read or written anew.
            StoreError: the same.
        """

        def kept(line: bytes) -> bytes:
            return b"" if self._is_from(line, chats, until) else line

        for path in (self._path, self._claimed):
            _rewrite(path, kept)

    def seal_anew(self) -> None:
        """Seal what was set aside with the newest key.

        Raises:
            OSError: the file cannot be read or written anew.
            StoreError: the same.
        """

        def anew(line: bytes) -> bytes:
            token = line.decode("ascii", "replace")
            try:
                return self._encryption.encrypt(self._encryption.decrypt(token)).encode("ascii")
            except StoreError:
                return line

        _rewrite(self._aside, anew)

    def _is_from(
        self, line: bytes, chats: Collection[tuple[str, str]], until: datetime | None = None
    ) -> bool:
        try:
            given = self._encryption.decrypt_json(line.decode("ascii", "replace"))
            at = datetime.fromisoformat(given["received_at"])
            return (given["channel"], given["address"]) in chats and (until is None or at <= until)
        except (StoreError, ValueError, KeyError, TypeError):
            return False

    def _decrypted(self, line: str) -> Incoming | None:
        """One line as an arrival; None for a partial line, as a full disk leaves behind."""
        if not line:
            return None
        try:
            return from_json(Incoming, self._encryption.decrypt_json(line))
        except (StoreError, ValueError):
            logger.error("a line of the spool cannot be read; it is kept in %s", self._aside.name)
            self._damaged = True
            return None

    def _line(self, incoming: Incoming) -> bytes:
        # The leading newline keeps a line that a full disk cut short apart from this one.
        return f"\n{self._encryption.encrypt_json(to_json(incoming))}\n".encode("ascii")

    @property
    def empty(self) -> bool:
        """Whether nothing is spooled."""
        return not self._path.exists() and not self._claimed.exists()


def _rewrite(path: Path, change: Callable[[bytes], bytes]) -> None:
    """Put each line of a file in another form; one that becomes empty goes, and so does the file
    that has no line left."""
    if not path.exists():
        return
    lines = list(filter(None, map(bytes.strip, path.read_bytes().splitlines())))
    kept = list(filter(None, map(change, lines)))
    if kept == lines:
        return
    new = path.with_suffix(".new")
    new.unlink(missing_ok=True)
    _append(new, b"".join(b"\n" + line + b"\n" for line in kept))
    new.replace(path)
    if not kept:
        path.unlink()


def _append(path: Path, content: bytes) -> None:
    """Add to a file; it is on the disk when this returns.

    Raises:
        StoreError: it cannot be written.
    """
    try:
        handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
        try:
            _write_whole(handle, content)
            os.fsync(handle)
        finally:
            os.close(handle)
        _keep_name(path.parent)
    except OSError as error:
        raise StoreError(f"the spool cannot be written: {error.strerror}") from None


def _write_whole(handle: int, content: bytes) -> None:
    """Write all of it or, as far as the disk lets us, nothing.

    Raises:
        OSError: it could not be written.
    """
    before = os.fstat(handle).st_size
    written = 0
    try:
        while written < len(content):
            written += os.write(handle, content[written:])
    except OSError:
        os.ftruncate(handle, before)
        raise


def _keep_name(folder: Path) -> None:
    """A new file's name is on the disk only when its folder is."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
