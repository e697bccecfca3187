"""Whether an SQLite store still is the file that was opened.

A file that is moved, deleted or replaced under a running program goes on taking what is written,
and all of it is gone at the end. SQLite itself does not notice ("How To Corrupt An SQLite Database
File", unlinking or renaming a file in use; from memory): so its name is looked at before and after
each piece of work, which costs some microseconds.
"""

from enum import Enum
from pathlib import Path

Identity = tuple[int, int]
"""Device and number of a file."""

LOG = "-wal"
"""Ends the name of SQLite's log, which stands beside the file as long as it is open."""


class FileState(Enum):
    """What stands where the opened file stood: itself, nothing, or another (or its log is)."""

    SAME = "same"
    GONE = "gone"
    OTHER = "other"


class OpenedFile:
    """The file at a path, as it was when it was first opened. Used from any thread."""

    def __init__(self, name: str) -> None:
        """``name``: its path; nothing is looked at yet."""
        # Looked at around each work: made once.
        self._path, self._log_path = Path(name), Path(name + LOG)
        self._file: Identity | None = None
        self._log: Identity | None = None
        self._connections = 0

    def opened(self, *_connection: object) -> None:
        """A connection was opened; the file is that of the first one."""
        self._connections += 1
        if self._file is None:
            self._file = _identity(self._path)

    def closed(self, *_connection: object) -> None:
        """A connection was closed; the last one takes the log with it."""
        self._connections -= 1
        if self._connections == 0:
            self._log = None

    def look(self) -> FileState:
        """What stands there now."""
        if self._file is None:
            return FileState.SAME
        file, log = _identity(self._path), _identity(self._log_path)
        if file is None:
            return FileState.GONE
        if self._log is None and self._connections:
            self._log = log
        same = file == self._file and (self._log is None or log == self._log)
        return FileState.SAME if same else FileState.OTHER


def _identity(path: Path) -> Identity | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino
