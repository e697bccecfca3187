"""The warning signs once more, right before somebody exerts themselves."""

from dataclasses import replace

from bot.flows.machine import Begin, Say, rows_of
from bot.flows.safety.opening import SafetyOpening, begin_safety
from core.vocabulary import Sign, TextLevel

_TAPPED = SafetyOpening(level=TextLevel.EMERGENCY, if_unanswered=TextLevel.EMERGENCY)


def ask_signs(slot: str) -> Say:
    """The question; its buttons are "none" and "sign"."""
    return Say("session/signs_again", rows=rows_of("none", "sign"), slot=slot)


def told_of_a_sign(sign: Sign | None = None) -> Begin:
    """There is one: it starts the red-flag flow, which asks which where it is not known."""
    return begin_safety(replace(_TAPPED, signs=() if sign is None else (sign,), which=sign is None))


def was_tapped(opening: SafetyOpening) -> bool:
    """Whether it is one of these: a sign that was tapped, without a word or a number."""
    tapped = replace(_TAPPED, signs=opening.signs, which=not opening.signs)
    return opening == tapped
