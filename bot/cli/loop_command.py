"""``dayrung loop``: the closed loop over standard input and output, each answer flushed at once."""

from collections.abc import Iterable
from typing import TextIO

from bot.cli.closed_loop import Loop
from bot.reference.catalogue import load_catalogue


def run_loop(lines: Iterable[str], out: TextIO) -> None:
    """Answer every line in turn until the lines end. Empty lines are passed over.

    Args:
        lines: such as ``sys.stdin``.
        out: such as ``sys.stdout``.
    """
    loop = Loop(load_catalogue())
    for line in lines:
        if line.strip():
            out.write(loop.answer(line) + "\n")
            out.flush()
