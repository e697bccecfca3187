"""The warning signs once more, right before somebody exerts themselves."""

from bot.flows.machine import Begin, Say, rows_of
from bot.flows.safety.opening import SafetyOpening, begin_safety
from core.vocabulary import Sign, TextLevel


def ask_signs(slot: str) -> Say:
    """The question; its buttons are "none" and "sign"."""
    return Say("session/signs_again", rows=rows_of("none", "sign"), slot=slot)


def told_of_a_sign(sign: Sign | None = None) -> Begin:
    """There is one: it starts the red-flag flow, which asks which where it is not known."""
    return begin_safety(
        SafetyOpening(
            level=TextLevel.EMERGENCY,
            if_unanswered=TextLevel.EMERGENCY,
            signs=() if sign is None else (sign,),
            which=sign is None,
        )
    )
