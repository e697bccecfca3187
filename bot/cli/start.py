"""The program's entry: what must be set before anything else is imported, then the commands."""

from bot.settings import one_thread_for_arithmetic

one_thread_for_arithmetic()

from bot.cli.commands import main  # noqa: E402 - numpy, which it imports, reads the environment only once

__all__ = ["main"]
