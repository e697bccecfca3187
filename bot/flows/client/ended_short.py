"""A set that ended below plan: the one tap that says why."""

from typing import Final

from bot.flows.client.cards import SLOT
from bot.flows.machine import Rows, Say, State, Turn, rows_of
from core.dose.history import Ended, Unit
from core.dose.prescription import Prescription
from core.vocabulary import Family

STEP: Final = "short"
_WHY: Final[Rows] = rows_of(
    "ended=told_to_stop", "ended=could_not", "it_hurt", "ended=other", "stop"
)


def ended_short(item: Prescription, amount: int) -> bool:
    """Whether to ask why. A balance hold ends by a touch, which is told as such."""
    return amount < item.amount and item.family is not Family.BALANCE


def ask_why(state: State, item: Prescription, amount: int) -> Turn:
    """The question with its buttons.

    Args:
        amount: repetitions, or seconds, that were done.
    """
    values = {
        "amount": amount,
        "planned": item.amount,
        "seconds": item.unit is Unit.SECONDS,
        "stop_at": item.stop_at_left,
    }
    say = Say("session/short", values, rows=_WHY, slot=SLOT)
    return Turn(state.at(STEP, amount=amount), says=(say,))


def why_of(value: str) -> Ended | None:
    """The answer; ``None`` for what is none."""
    return next((why for why in Ended if value == f"ended={why.value}"), None)
