"""What a client tells of a set or a session in a sentence: how many, how many more, how hard."""

from dataclasses import replace

from bot.flows.facts import Facts
from bot.flows.parsing import read_choice
from bot.flows.record.planning import Training
from core.answers.choices import choose
from core.answers.counts import MOST_LEFT, read_effort, read_left
from core.answers.said import clauses
from core.answers.sets import SetTold, read_set
from core.answers.words import Understood
from core.dose.dose_model import SECONDS_PER_LEFT
from core.dose.history import Unit
from core.dose.prescription import Prescription

FEW_WORDS = 8
"""A longer sentence says more than the words of a button."""
VALUE_MARK = "="
"""Stands in a button's value, and in no sentence."""


def set_told(text: str, item: Prescription, training: Training) -> SetTold | None:
    """How many (or how many seconds) were done of what was planned, and how many steps were left.

    What was understood stands in the next message, whose words correct it.
    """
    if VALUE_MARK in text:
        return None
    seconds = item.unit is Unit.SECONDS
    step = int(SECONDS_PER_LEFT) if seconds else 1
    told = read_set(text, item.amount, training.facts.reference.sentences, MOST_LEFT * step)
    if told is None or told.left is None or not seconds:
        return told
    # Seconds are typed as seconds; a button counts steps.
    return replace(told, left=round(told.left / step))


def left_told(
    text: str, heard: int | None, item: Prescription, training: Training
) -> Understood[int] | None:
    """How many steps were left in hand; not sure where it must be said back.

    Args:
        heard: what was said back before, to be said yes to.
    """
    if VALUE_MARK in text:
        return None
    spoken = training.facts.reference.spoken["yes_no"]
    if heard is not None and read_choice(text, ("yes", "no"), spoken) == "yes":
        return Understood(heard)
    seconds = item.unit is Unit.SECONDS
    step = int(SECONDS_PER_LEFT) if seconds else 1
    told = read_left(text, training.facts.reference.sentences, MOST_LEFT * step)
    if told is None or not seconds:
        return told
    return Understood(round(told.value / step), sure=told.value == 0)


def effort_told(text: str, facts: Facts) -> Understood[float] | None:
    """How hard a session was, out of ten; words without a number are never sure."""
    if VALUE_MARK in text:
        return None
    words = facts.reference.sentences
    told = read_effort(text, words)
    named = choose(text, "effort_words", words) if told is None else None
    return told if named is None else Understood(float(named.value), sure=False)


def hurt_told(text: str, facts: Facts) -> bool:
    """Whether words tell of a pain beside what was asked."""
    if VALUE_MARK in text:
        return False
    words = facts.reference.sentences
    pain, denied = words.lists["it_hurts"], words.lists["no_pain"]
    return any(
        pain.stands_in(clause) and not denied.stands_in(clause) for clause in clauses(text, words)
    )


def button_told(text: str, question: str, facts: Facts) -> str:
    """The button that a short sentence means ("That is done now, thank you"), or "".

    Args:
        question: one of the choices of ``words/sentences.yaml`` that stand for buttons.
    """
    if VALUE_MARK in text or len(text.split()) > FEW_WORDS:
        return ""
    told = choose(text, question, facts.reference.sentences)
    return told.value if told is not None and told.sure else ""


def stop_wished(text: str, facts: Facts) -> bool:
    """Whether words say that somebody stops here ("I will stop now and have my tea")."""
    words = facts.reference.sentences
    return any(words.lists["stop_now"].stands_in(clause) for clause in clauses(text, words))
