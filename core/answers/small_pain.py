"""A small pain of one joint and no more: "It hurts a little in my shoulder"."""

from core.answers.said import clauses, is_figure, value_of
from core.answers.words import SentenceWords

SMALL = 2
"""Out of ten: up to this much is safe by the pain rule (Ageberg 2010)."""
OF_TEN = 10
_PARTS = ("small_pain_little", "small_pain_hurts", "small_pain_filler")


def small_joint_pain(text: str, words: SentenceWords) -> str | None:
    """The joint, a code of ``choices.small_pain_joint``; ``None`` where anything else is told.

    Every word must be known, one must say that it is little, and one that it hurts (a number does,
    too): a word too many may be a sign. A left arm is no such joint, nor are two joints.
    """
    joint, told = _joint_and_rest(text, words)
    return joint if {"small_pain_little", "small_pain_hurts"} <= told else None


def lone_joint_pain(text: str, words: SentenceWords) -> str | None:
    """The joint of a pain of which nothing else is told, not even how bad: "pain in my shoulder".

    As :func:`small_joint_pain`, but no word has to say that it is little.
    """
    joint, told = _joint_and_rest(text, words)
    return joint if "small_pain_hurts" in told else None


def _joint_and_rest(text: str, words: SentenceWords) -> tuple[str | None, set[str]]:
    """The one joint told of, never a left arm, and which kinds of words stand beside it."""
    joints, told = set(), set()
    for clause in clauses(text, words):
        rest = [False] * len(clause)
        for hit in words.choices["small_pain_joint"].hits(clause):
            joints.add(hit.code)
            rest[hit.start : hit.end] = [True] * (hit.end - hit.start)
        for name in _PARTS:
            for hit in words.lists[name].hits(clause):
                told.add(name)
                rest[hit.start : hit.end] = [True] * (hit.end - hit.start)
        for at, word in enumerate(clause):
            if is_figure(word) and 0 <= value_of(word) <= SMALL:
                told |= {"small_pain_little", "small_pain_hurts"}
            elif not rest[at] and not (is_figure(word) and value_of(word) == OF_TEN):
                return None, set()
    one = len(joints) == 1 and "left_arm" not in joints
    return (joints.pop(), told) if one else (None, set())
