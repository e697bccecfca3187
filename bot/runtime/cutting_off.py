"""A coach is cut off from the command line: what waited for her goes on to whoever stands in."""

import logging
from collections.abc import Callable, Sequence

from bot.alerts.escalation import AlertRounds
from bot.alerts.undelivered import Corrections
from bot.engine.speaking import Post
from bot.errors import where_it_failed
from bot.reference.reference import load_all
from bot.settings import Settings
from bot.storage.changes.applying import Applying
from bot.storage.outbox import Undelivered

log = logging.getLogger(__name__)

CutOff = Callable[[Applying], Sequence[Undelivered]]


def cut_off(applying: Applying, work: CutOff, corrections: Callable[[], Corrections]) -> None:
    """Do it; who stands in, or each author, reads what she does not. The caller commits.

    She is cut off even where that cannot be put into words: a lost phone does not wait.

    Args:
        work: takes her chats away and gives what waited for them.
        corrections: made only where something waited: words take a while to load.

    Raises:
        SettingsError: there is no such coach, or she cannot go.
    """
    undelivered = work(applying)
    if not undelivered:
        return
    try:
        corrections().pass_on(applying.unit, undelivered, applying.now)
    except Exception as error:  # noqa: BLE001 - whatever it is, the phone is cut off
        log.error("what waited for the coach was not passed on: %s", where_it_failed(error))
        applying.unit.undo()
        work(applying)


def corrections_of(settings: Settings) -> Corrections:
    """What takes back what people were told, in a process that runs no service."""
    loaded = load_all(str, settings.home)
    post = Post(loaded.words, loaded.reference)
    return Corrections(post, AlertRounds(post, len(settings.second_routes)))
