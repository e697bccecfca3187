"""Folders and files that only the service's own user may read, whatever the umask."""

import os
from contextlib import suppress
from pathlib import Path

FOLDER, FILE = 0o700, 0o600


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
