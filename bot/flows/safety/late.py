"""What counts although the conversation about a warning sign is over, or something lies above it.

Alarming words and buttons ("Yes, now", "I can't call") always act; calming ones only where they
were asked for, so they are not here.
"""

from bot.flows.facts import Facts
from bot.flows.machine import Begin, State
from bot.flows.safety.answers import (
    call_answer,
    cannot_call,
    is_happening_after_all,
    is_wrong_button,
    says_go_on,
)
from bot.flows.safety.open_signs import last_question, open_question
from bot.flows.safety.opening import SAFETY, Late, SafetyOpening, begin_safety, opened_with
from core.vocabulary import AlertLevel, Role, TextLevel

ALARMING_TAPS = {"now": Late.NOW, "when=now": Late.NOW, "cannot": Late.CANNOT}


def alarming_words(text: str, facts: Facts) -> Begin | None:
    """The alarm that words raise which hold no sign by themselves: an answer, changed or late."""
    if facts.me.role is not Role.CLIENT:
        return None
    words = facts.reference.safety_answers
    asked = open_question(facts)
    if cannot_call(text, words):
        on = facts.open_alert(facts.me.id)
        if asked is not None or (on is not None and on.level is AlertLevel.EMERGENCY):
            return begin_safety(SafetyOpening(late=Late.CANNOT, words=text))
    if is_happening_after_all(text, words) and (asked or last_question(facts)) is not None:
        return begin_safety(SafetyOpening(late=Late.NOW, words=text))
    return None


def alarming_tap(flow: str, value: str, facts: Facts) -> Begin | None:
    """The alarm that an old button raises."""
    if flow != SAFETY or facts.me.role is not Role.CLIENT or value not in ALARMING_TAPS:
        return None
    return begin_safety(SafetyOpening(late=ALARMING_TAPS[value]))


def more_words(text: str, facts: Facts) -> Begin | None:
    """Words that nothing else has taken, while an alert is open: they belong to it."""
    if facts.me.role is not Role.CLIENT or facts.open_alert(facts.me.id) is None:
        return None
    return begin_safety(SafetyOpening(late=Late.MORE, words=text))


def may_be_passed_over(state: State, text: str, facts: Facts) -> bool:
    """Whether words typed after the advice may be the answer to what was asked before it."""
    if state.flow != SAFETY or state.step != "told":
        return False
    words = facts.reference.safety_answers
    emergency = opened_with(state.answers).level is TextLevel.EMERGENCY
    mine = says_go_on(text, words) or is_wrong_button(text, words)
    return not mine and not (emergency and call_answer(text, words))
