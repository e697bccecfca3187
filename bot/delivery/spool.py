"""Arrivals in a file of their own, for when the store cannot take them."""

import os
from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from pathlib import Path

from bot.errors import StoreError
from bot.messages import Incoming, IncomingKind
from bot.storage.vault import Vault


class Spool:
    """A file of sealed lines, one an arrival, each on the disk before :meth:`add` returns."""

    def __init__(self, path: Path, vault: Vault) -> None:
        """``path``: the file; nothing is opened yet."""
        self._path = path
        self._taken = path.with_suffix(".taken")
        self._vault = vault

    def add(self, batch: Sequence[Incoming]) -> None:
        """Keep these.

        Raises:
            StoreError: the file cannot be written either.
        """
        lines = [self._vault.seal_json(_as_json(incoming)) + "\n" for incoming in batch]
        try:
            handle = os.open(self._path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
            with os.fdopen(handle, "w", encoding="ascii") as file:
                file.writelines(lines)
                file.flush()
                os.fsync(file.fileno())
            _keep_name(self._path.parent)
        except OSError as error:
            raise StoreError(f"the spool cannot be written: {error.strerror}") from None

    def take(self) -> list[Incoming]:
        """What is kept, in order; it stays on the disk until :meth:`done`.

        A line that a crash cut short was never confirmed to a platform, so it is left out.
        """
        try:
            if not self._taken.exists() and self._path.exists():
                self._path.rename(self._taken)
            raw = self._taken.read_text(encoding="ascii") if self._taken.exists() else ""
        except OSError as error:
            raise StoreError(f"the spool cannot be read: {error.strerror}") from None
        whole = [line for line in raw.splitlines(keepends=True) if line.endswith("\n")]
        return [_from_json(self._vault.open_json(line.strip())) for line in whole]

    def done(self) -> None:
        """What :meth:`take` gave is in the store."""
        self._taken.unlink(missing_ok=True)

    @property
    def empty(self) -> bool:
        """Whether nothing is kept."""
        return not self._path.exists() and not self._taken.exists()


def _as_json(incoming: Incoming) -> dict[str, str]:
    return {**asdict(incoming), "received_at": incoming.received_at.isoformat()}


def _from_json(value: dict[str, str]) -> Incoming:
    return Incoming(
        channel=value["channel"],
        address=value["address"],
        update_id=value["update_id"],
        kind=IncomingKind(value["kind"]),
        text=value["text"],
        tap=value["tap"],
        message_id=value["message_id"],
        received_at=datetime.fromisoformat(value["received_at"]),
    )


def _keep_name(folder: Path) -> None:
    """A new file's name is on the disk only when its folder is."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
