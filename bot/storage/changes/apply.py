"""Carrying out what a conversation wants changed, in its own transaction."""

from collections.abc import Iterable

from bot.flows.changes import Change
from bot.storage.changes import alerts as apply_alerts  # noqa: F401 - register
from bot.storage.changes import people as apply_people  # noqa: F401 - register
from bot.storage.changes import training as apply_training  # noqa: F401 - register
from bot.storage.changes.applying import Applying, apply_one
from bot.storage.changes.erasing import finish_erasures


def apply_all(applying: Applying, changes: Iterable[Change]) -> None:
    """Carry out all changes, in order."""
    for change in changes:
        apply_one(change, applying)
        applying.unit.session.flush()
    finish_erasures(applying)
