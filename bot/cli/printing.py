"""Printing what people and settings say: as it is written, never as commands to a terminal."""

from rich.console import Console


def printable(text: str) -> str:
    """``text`` in one line, without signs that a terminal obeys or that turn its direction."""
    return "".join(one if one.isprintable() else " " for one in text)


def say(console: Console, text: str, style: str | None = None) -> None:
    """Print one line, in which nothing is markup."""
    console.print(printable(text), style=style, markup=False, highlight=False, soft_wrap=True)
