"""The warning signs once more, right before somebody exerts themselves."""

from bot.flows.machine import Begin, Say, rows_of
from core.vocabulary import TextLevel


def ask_signs(slot: str) -> Say:
    """The question; its buttons are "none" and "sign"."""
    return Say("session/signs_again", rows=rows_of("none", "sign"), slot=slot)


def told_of_a_sign() -> Begin:
    """There is one: it starts the red-flag flow, which asks which."""
    args = {
        "level": TextLevel.EMERGENCY.value,
        "if_unanswered": TextLevel.EMERGENCY.value,
        "signs": [],
        "which": True,
    }
    return Begin("safety", args)
