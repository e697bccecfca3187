"""A PostgreSQL server for tests, from the programs that this machine has."""

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path

PLACES = "/usr/lib/postgresql"
"""Where Debian keeps each version's programs."""


def programs() -> Path | None:
    """The folder with ``initdb`` and ``pg_ctl`` of the newest version, or ``None``."""
    found = shutil.which("initdb")
    if found is not None:
        return Path(found).parent
    return next(iter(sorted(Path(PLACES).glob("*/bin"), reverse=True)), None)


def why_not() -> str:
    """Why no server can be started here; "" when one can."""
    if programs() is None:
        return "no PostgreSQL server is installed"
    if find_spec("psycopg") is None:
        return "the driver psycopg is not installed (pip install .[postgres])"
    if os.geteuid() == 0 and _unprivileged() is None:
        return "PostgreSQL does not run as root, and there is no user postgres"
    return ""


@contextmanager
def postgres() -> Iterator[str]:
    """A new server on a socket of its own; gives the address of an empty database."""
    bin_ = programs()
    assert bin_ is not None
    user = _unprivileged()
    folder = Path(tempfile.mkdtemp(prefix="dayrung-pg-"))
    if user is not None:
        os.chown(folder, user.pw_uid, user.pw_gid)
    data = folder / "data"

    def run(*command: str | Path) -> None:
        subprocess.run(
            command,
            check=True,
            stdout=subprocess.DEVNULL,
            user=None if user is None else user.pw_uid,
            group=None if user is None else user.pw_gid,
            cwd=folder,
        )

    run(bin_ / "initdb", "-D", data, "-U", "dayrung", "-A", "trust", "--no-sync", "-E", "UTF8")
    options = f"-k {folder} -c listen_addresses='' -c fsync=off"
    run(bin_ / "pg_ctl", "-D", data, "-w", "-l", folder / "log", "-o", options, "start")
    try:
        yield f"postgresql+psycopg://dayrung@/postgres?host={folder}"
    finally:
        run(bin_ / "pg_ctl", "-D", data, "-w", "-m", "immediate", "stop")
        shutil.rmtree(folder)


def _unprivileged() -> pwd.struct_passwd | None:
    """The user to run as, where we are root; else ``None``."""
    if os.geteuid() != 0:
        return None
    try:
        return pwd.getpwnam("postgres")
    except KeyError:
        return None
