"""The program's entry: what must be set before anything else is imported, then the commands."""

import os
from contextlib import suppress


def no_core_dumps() -> None:
    """Let no core dump be written: it would hold the key, the token and people's words."""
    # Windows has no such limit.
    with suppress(ImportError, OSError, ValueError):
        import resource

        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def one_thread_for_arithmetic() -> None:
    """Let numpy's libraries use one thread; call it before numpy is imported.

    A text's second opinion is a few small products: more threads only wait for one another (on a
    busy machine its median rose ninefold). A value that the operator has set stays.
    """
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")


no_core_dumps()
one_thread_for_arithmetic()

from bot.cli.commands import main  # noqa: E402 - numpy, which it imports, reads the environment only once

__all__ = ["main"]
