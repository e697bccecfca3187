"""The program in a process of its own, forked from a parent that has imported it: a start takes a
fraction of the seconds that a cold one does.

The process dies like any other: a SIGKILL ends it and nothing is tidied up.
"""

import os
import sys
from collections.abc import Mapping, Sequence
from multiprocessing import get_context
from multiprocessing.process import BaseProcess
from pathlib import Path

_FORKED = get_context("forkserver")
_FORKED.set_forkserver_preload(["tests.doubles.program_parts"])


def start(
    arguments: Sequence[str],
    environment: Mapping[str, str],
    log: Path,
    folder: Path,
    first: str = "",
) -> BaseProcess:
    """Start ``dayrung`` with ``arguments`` in ``folder``; the first start of all takes seconds.

    Args:
        environment: all variables that it has.
        log: the file to whose end it writes what it says.
        first: Python code that is run in it before the program.
    """
    # It may not outlive the tests.
    process = _FORKED.Process(
        target=_program,
        args=(tuple(arguments), dict(environment), log, folder, first),
        daemon=True,
    )
    process.start()
    return process


def _program(
    arguments: Sequence[str], environment: Mapping[str, str], log: Path, folder: Path, first: str
) -> None:
    os.environ.clear()
    os.environ.update(environment)
    os.chdir(folder)
    said = os.open(log, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    for stream in (1, 2):
        os.dup2(said, stream)
    os.close(said)
    sys.argv = ["dayrung", *arguments]

    from tests.doubles.program_parts import main

    exec(first, {})  # noqa: S102 - a test's own code
    main()
