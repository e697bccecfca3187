"""A small pain of a joint, told in words: what only the second opinion took for a sign.

The lexicon has heard no sign in such a sentence; the opinion doubts it as it doubts any pain. Where
no reason for the doubt is known the joint is asked about like any pain of a set.
"""

from dataclasses import replace

from bot.flows.client.today import family_at_work
from bot.flows.facts import Facts
from bot.flows.machine import State
from core.answers.small_pain import lone_joint_pain, small_joint_pain
from core.client.client import Client
from core.client.screening import TABLE_CONDITIONS
from core.readiness.morning_questions import PainReport, read_pain_place
from core.red_flags.reading import Reading, TextReason, TextReasonCode
from core.vocabulary import Family, Spare, TextLevel

ARM_WORK = frozenset({Family.PUSH, Family.PULL, Family.OVERHEAD, Family.CARRY})
"""Movements that load the arms: a small pain of the shoulder comes of them (ours)."""
ARM_JOINTS = frozenset({Spare.SHOULDER, Spare.ELBOW, Spare.WRIST})
"""Where a pain of the heart may be felt, too (from memory): asked about without such a movement."""
_BY_OPINION = (TextReasonCode.SECOND_OPINION, TextReasonCode.OPINION_SURE)


def heard_as_small_pain(text: str, reading: Reading, asking: State | None, facts: Facts) -> Reading:
    """``reading`` of a client's words, quieter where they tell of a small pain of one joint only.

    An arm's joint is a question where the heart, the vessels, the kidneys or sugar are known, and
    outside of work with the arms; an operated joint keeps what was heard. A pain of such a joint
    of which nothing is told, not even that it is small, is a question and never less; a left arm
    keeps what was heard (the split is ours, from memory).

    Args:
        asking: what is open on this phone.
    """
    if reading.because.code not in _BY_OPINION or reading.mentions:
        return reading
    joint = small_joint_pain(text, facts.reference.sentences)
    if joint is None:
        return _asked_first(text, reading, facts)
    client = facts.client(facts.me.id).client
    told = read_pain_place(joint)
    if told is None or client.is_careful_at(PainReport(told[0]).place):
        return reading
    if joint in ARM_JOINTS and _may_be_the_heart(client, asking, facts):
        return replace(reading, level=TextLevel.ASK)
    because = TextReason(TextReasonCode.NOTHING_FOUND, 0, reading.because.opinion)
    return replace(
        reading, level=TextLevel.NONE, signs=(), because=because, if_unanswered=TextLevel.NONE
    )


def _asked_first(text: str, reading: Reading, facts: Facts) -> Reading:
    """An emergency that the opinion alone took from a pain of an arm's joint, as a question."""
    joint = lone_joint_pain(text, facts.reference.sentences)
    told = read_pain_place(joint) if joint else None
    if told is None or joint not in ARM_JOINTS or reading.level is not TextLevel.EMERGENCY:
        return reading
    if facts.client(facts.me.id).client.is_careful_at(PainReport(told[0]).place):
        return reading
    return replace(reading, level=TextLevel.ASK, if_unanswered=TextLevel.EMERGENCY)


def _may_be_the_heart(client: Client, asking: State | None, facts: Facts) -> bool:
    if client.conditions & TABLE_CONDITIONS:
        return True
    return asking is None or family_at_work(asking, facts) not in ARM_WORK
