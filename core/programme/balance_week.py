"""How much balance the last week held, against what trials of falls asked for."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from core.client.client import Client
from core.dose.history import History
from core.dose.pace import set_seconds
from core.load.training_load import DAYS_IN_WEEK
from core.movements.catalogue import Catalogue
from core.programme.balance import REST_SECONDS, needs_much_balance
from core.vocabulary import Family

WANTED_MINUTES: Final = 120
"""A week, in the end: two hours or more prevented most falls (Sherrington 2011)."""


@dataclass(frozen=True, slots=True)
class BalanceWeek:
    """Balance of the seven days up to a day, in sessions and beside the sink.

    Attributes:
        minutes: holds with their rests.
        days: on which there was any.
        wanted: minutes a week in the end; ``None`` for somebody who is steady.
    """

    minutes: int
    days: int
    wanted: int | None


def balance_week(client: Client, history: History, catalogue: Catalogue, on: date) -> BalanceWeek:
    """What was held in the seven days up to ``on``."""
    held = [
        one for one in history.of_family(Family.BALANCE) if 0 <= (on - one.on).days < DAYS_IN_WEEK
    ]
    seconds = sum(
        one.sets
        * (
            set_seconds(one.step_key.partition("@")[0], one.amount, one.unit, catalogue)
            + REST_SECONDS
        )
        for one in held
    )
    wanted = WANTED_MINUTES if needs_much_balance(client, on) else None
    return BalanceWeek(round(seconds / 60.0), len({one.on for one in held}), wanted)
