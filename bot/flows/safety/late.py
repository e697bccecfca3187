"""What counts although the conversation about a warning sign is over, or something lies above it.

Alarming words and buttons ("Yes, now", "I can't call") always act; calming ones only where they
were asked for, so they are not here.
"""

from collections.abc import Mapping

from bot.flows.changes import AddWords
from bot.flows.commands import command_of
from bot.flows.facts import Alert, Facts
from bot.flows.machine import Begin, State, Turn
from bot.flows.reasons import Reason
from bot.flows.safety.answers import (
    Answer,
    answer_to_question,
    asks_for_training,
    call_answer,
    cannot_call,
    is_happening_after_all,
    is_wrong_button,
    says_go_on,
)
from bot.flows.safety.open_signs import last_question, open_question
from bot.flows.safety.opening import SAFETY, Late, SafetyOpening, begin_safety, opened_with
from bot.flows.safety.signs_first import told_of_a_sign
from core.vocabulary import AlertLevel, Role, Sign, TextLevel

A_SENTENCE = 3
"""Words from which on a text is no mere answer."""

FEELING = "feeling"
"""Conversation that a client begins who is unwell."""

ALARMING_TAPS = {"now": Late.NOW, "when=now": Late.NOW, "cannot": Late.CANNOT}

SIGN_TAPS: Mapping[tuple[str, str], Sign | None] = {
    ("checkin", "trouble=warning_sign"): None,
    ("checkin", "pain_place=chest"): Sign.CHEST_PAIN,
    **{(flow, "sign"): None for flow in ("feeling", "today", "walk", "balance", "home_test")},
    **{(flow, "where=chest"): Sign.CHEST_PAIN for flow in ("feeling", "today")},
}
"""Buttons of other conversations that tell of a sign: flow, value; None where it asks which."""


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


def answers_the_question(text: str, facts: Facts) -> bool:
    """Whether words are a plain answer to the open question about a sign."""
    if facts.me.role is not Role.CLIENT or open_question(facts) is None:
        return False
    return answer_to_question(text, facts.reference.safety_answers) is not Answer.UNCLEAR


def alarming_tap(flow: str, value: str, facts: Facts) -> Begin | None:
    """The alarm that a button raises, however old its screen is."""
    if facts.me.role is not Role.CLIENT:
        return None
    if (flow, value) in SIGN_TAPS:
        return told_of_a_sign(SIGN_TAPS[flow, value])
    if flow != SAFETY or value not in ALARMING_TAPS:
        return None
    return begin_safety(SafetyOpening(late=ALARMING_TAPS[value]))


def passes_over(alarm: Begin | None, name: str, turn: Turn) -> bool:
    """Whether a conversation would show something else for a button that tells of a sign."""
    told = alarm is not None and name != SAFETY
    return told and all(begin.flow != SAFETY for begin in turn.begin)


def more_words(text: str, facts: Facts) -> Begin | None:
    """Words that nothing else has taken, while an alert is open: they belong to it."""
    if not text.strip() or alert_on(facts) is None:
        return None
    return begin_safety(SafetyOpening(late=Late.MORE, words=text))


def alert_on(facts: Facts) -> Alert | None:
    """The open alert of the client who speaks; None where there is none."""
    return facts.open_alert(facts.me.id) if facts.me.role is Role.CLIENT else None


def left_out(text: str, on: Alert | None, facts: Facts) -> AddWords | None:
    """Words that something else has taken although an alert is open: they belong to it, too.

    A short answer and what asks for a screen do not; that somebody is unwell does. So do those
    whose number, the answer to a question, has raised it.

    Args:
        on: the alert as it stood before them; None where there was none.
    """
    now = alert_on(facts)
    if len(text.split()) < A_SENTENCE or _asks_for_a_screen(text, facts):
        return None
    said = text.strip()
    if now is None:
        return _beside_a_question(said, facts) if on is None else None
    if on is not None and now.id != on.id:
        return None
    added = now.words if on is None else now.words[len(on.words) :]
    return None if any(said in _line(word) for word in added) else AddWords(now.client_id, said)


def _asks_for_a_screen(text: str, facts: Facts) -> bool:
    command = command_of(text, facts.me.role, facts.reference.commands)
    screen = command is not None and command.flow != FEELING
    return screen or text.startswith("/") or asks_for_training(text, facts.reference.safety_answers)


def _beside_a_question(said: str, facts: Facts) -> AddWords | None:
    """What another screen takes while a question about a sign waits stands with the question."""
    asked = open_question(facts) if facts.me.role is Role.CLIENT else None
    if asked is None or any(said in _line(word) for word in asked.words):
        return None
    return AddWords(asked.client_id, said, alert_id=asked.id)


def _line(word: str | Reason) -> str:
    """What a line of an alert holds of the client's own words, an address too."""
    return word if isinstance(word, str) else str(word.numbers.get("address", ""))


def may_be_passed_over(state: State, text: str, facts: Facts) -> bool:
    """Whether words typed after the advice may be the answer to what was asked before it."""
    if state.flow != SAFETY or state.step != "told":
        return False
    words = facts.reference.safety_answers
    emergency = opened_with(state.answers).level is TextLevel.EMERGENCY
    mine = says_go_on(text, words) or is_wrong_button(text, words)
    return not mine and not (emergency and call_answer(text, words))
