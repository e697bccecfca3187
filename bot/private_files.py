"""Folders and files that only the service's own user may read, whatever the umask."""

import os
from contextlib import suppress
from pathlib import Path

FOLDER, FILE = 0o700, 0o600

NO_WAIT = getattr(os, "O_NONBLOCK", 0)
"""Opening a pipe that nobody writes into must not wait; some systems have none."""


def private_folder(path: Path) -> None:
    """Make a folder, and those above it that are missing, for this user alone.

    Raises:
        OSError: it cannot be made.
    """
    missing = [one for one in (path, *path.parents) if not one.exists()]
    for folder in reversed(missing):
        # Somebody else may have made it meanwhile.
        with suppress(FileExistsError):
            folder.mkdir(FOLDER)
    if not path.is_dir():
        raise NotADirectoryError(f"{path} is not a folder")


def private_file(path: Path) -> None:
    """Close a file to others, and make an empty one where there is none; what fails is left.

    A file that is there is never opened: whoever closes a file lets go of all locks that this
    program holds on it (POSIX, fcntl), and SQLite's are among them. Another program would then take
    itself for the last one, and delete the log into which this one goes on writing.
    """
    with suppress(OSError):
        try:
            os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, FILE))
        except FileExistsError:
            if path.stat().st_mode & 0o077:
                path.chmod(FILE)


def read_small(path: Path, most: int) -> bytes:
    """What stands in a file of at most so many bytes; waits for nobody who would write into it.

    Raises:
        OSError: it cannot be read.
        ValueError: it is longer, perhaps without end.
    """
    with os.fdopen(os.open(path, os.O_RDONLY | NO_WAIT), "rb") as file:
        content = file.read(most + 1) or b""
    if len(content) > most:
        raise ValueError("it is too long")
    return content
