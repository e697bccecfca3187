"""What a sentence tells of the morning though nobody asked: "I slept badly and my knee aches"."""

from collections.abc import Iterator, Mapping

from core.answers.choices import GRADED, choose
from core.answers.said import Clause, clauses
from core.answers.words import SentenceWords

SUBJECT = 3
"""Words that may name of whom a part tells: "my husband slept badly"."""
MOST_WORDS = 40
"""A longer message is a letter rather than an answer."""


def morning_told(text: str, words: SentenceWords) -> Mapping[str, int]:
    """The morning's five-point answers that a text gives, by question (1 worst to 5 best).

    Only what names its question counts ("slept", "tired", "mood"), told of oneself and of now.
    """
    told: dict[str, int] = {}
    for part in told_parts(text, words):
        for question in sorted(GRADED):
            if words.lists[f"morning_{question}"].stands_in(part):
                found = choose(" ".join(part), question, words)
                if found is not None and found.sure:
                    told.setdefault(question, int(found.value))
    return told


def ill_told(text: str, words: SentenceWords) -> bool:
    """Whether a text says that one is ill now ("I have a cold"); which illness is to be asked."""
    for part in told_parts(text, words):
        hits = words.lists["ill_told"].hits(part)
        denied = words.lists["not_ill"].stands_in(part) or words.lists["felt_no_more"].stands_in(
            part
        )
        if hits and not denied:
            return True
    return False


def told_parts(text: str, words: SentenceWords) -> Iterator[Clause]:
    """The parts of a text that tell of oneself today, split at "and" and "but" too."""
    said = clauses(text, words)
    if text.rstrip().endswith("?") or sum(map(len, said)) > MOST_WORDS:
        return
    for clause in said:
        for part in _split(clause, words):
            others = words.lists["other_people"].stands_in(part[:SUBJECT])
            if not others and not words.lists["not_this_morning"].stands_in(part):
                yield part


def _split(clause: Clause, words: SentenceWords) -> list[Clause]:
    joins = words.lists["joining_parts"]
    parts: list[Clause] = [[]]
    for word in clause:
        if joins.are([word]):
            parts.append([])
        else:
            parts[-1].append(word)
    return [part for part in parts if part]
