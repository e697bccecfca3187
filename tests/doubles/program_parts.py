"""What every start of the program reads, read once: imported by the parent that starts are forked
from (see :mod:`tests.doubles.forked_program`).

Only what never changes is shared: the imports and the data files, with the templates compiled.
Everything else that a start does, from the settings on, is its own.
"""

# First, as the program's entry does: threads of the arithmetic library do not outlive a fork.
import bot.cli.start  # noqa: I001
from collections.abc import Callable
from pathlib import Path

import bot.runtime.app
import bot.trial.trial
from bot.reference.reference import Loaded
from tests.support.loaded import loaded

_templates = loaded().words._environment
for _name in _templates.list_templates(extensions=["j2"]):
    _templates.get_template(_name)


def main() -> None:
    """The program's entry, which reads all that no more."""

    def load_all(invitation_link: Callable[[str], str], _own: Path | None = None) -> Loaded:
        return loaded(invitation_link)

    for user in (bot.runtime.app, bot.trial.trial):
        vars(user)["load_all"] = load_all
    bot.cli.start.main()
