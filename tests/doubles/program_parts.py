"""What every start of the program reads, read once: imported by the parent that starts are forked
from (see :mod:`tests.doubles.forked_program`).

Only what never changes is shared: the imports, the red-flag reader, the movements, and the
templates, compiled. Everything else that a start does, from the settings on, is its own.
"""

# First, as the program's entry does: threads of the arithmetic library do not outlive a fork.
import bot.cli.start  # noqa: I001
import bot.cli.commands
import bot.reference.reference as reading
from bot.reference.movement_words import Movements
from bot.reference.words import Words

_READER = reading.load_reader()
_MOVEMENTS = reading.load_movements(None)
_WORDS = Words(Movements(*_MOVEMENTS))

_templates = _WORDS._environment
for _name in _templates.list_templates(extensions=["j2"]):
    _templates.get_template(_name)


def main() -> None:
    """The program's entry, which reads all that no more."""
    reading.load_reader = lambda: _READER  # type: ignore[assignment]
    reading.load_movements = lambda _own: _MOVEMENTS  # type: ignore[assignment,misc]
    reading.Words = lambda _movements: _WORDS  # type: ignore[assignment,misc]
    bot.cli.start.main()
