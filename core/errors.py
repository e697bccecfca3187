"""The errors that ``core`` raises.

::

    CoreError
    ├── CatalogueError        a movement file is wrong: names file, rung and field
    ├── LexiconError          a red-flag data file is wrong: names file and entry
    └── OutOfRangeError       a number that no caller may pass (a bug, or unchecked input)

An unusable answer from a person is not an error: parsers return ``UnusableAnswer`` (see
:mod:`core.readiness.scales`). A body that cannot take a pose is not an error either: it is a result
(see :mod:`core.mechanics.pose`).
"""


class CoreError(Exception):
    """Base of all errors of the rules and computations."""


class CatalogueError(CoreError):
    """A movement file cannot be used; the message names file, rung and field."""


class LexiconError(CoreError):
    """A red-flag data file cannot be used; the message names file and entry."""


class OutOfRangeError(CoreError):
    """A number outside the range that the function states."""
