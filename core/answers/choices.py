"""Which of a few answers a sentence gives: yes or no, a word of five, a woman or a man."""

from core.answers.said import Clause, clauses
from core.answers.words import SentenceWords, Understood

UNCLEAR = "ask"
"""Code of phrases that answer a question with "it depends"."""
YES, NO, ALONE = "yes", "no", "alone"
GRADED = frozenset({"sleep", "tiredness", "soreness", "stress", "mood"})
"""Questions with a word for each of five answers: one that is denied is none of them."""
LONG = 30
"""Words from which an answer is a letter, and is said back."""


def choose(text: str, question: str, words: SentenceWords) -> Understood[str] | None:
    """The code that a text chooses; ``None`` for what is unclear.

    The first clause that chooses counts; where another says something else, it is not sure.

    Args:
        question: one of ``SentenceWords.choices``.
    """
    phrases = words.choices[question]
    said = _without_openers(clauses(text, words, phrases), question, words)
    denying = words.lists["denying"] if question in GRADED else None
    found = []
    for clause in said:
        codes = [
            UNCLEAR
            if denying is not None and denying.stands_in(clause[max(0, hit.start - 2) : hit.start])
            else hit.code
            for hit in phrases.hits(clause)
        ]
        if codes:
            found.append(list(dict.fromkeys(codes)))
    if not found or UNCLEAR in found[0]:
        return None
    first, *more = found
    if len(first) > 1:
        return None
    others = {code for codes in more for code in codes} - {first[0]}
    length = sum(len(clause) for clause in said)
    return Understood(first[0], sure=not others and length < LONG)


def lives_alone(text: str, words: SentenceWords) -> Understood[bool] | None:
    """Whether somebody lives alone: told in words, or by yes or no."""
    told = choose(text, "alone", words)
    if told is not None:
        return Understood(told.value == ALONE, told.sure)
    plain = choose(text, "yes_no", words)
    return None if plain is None else Understood(plain.value == YES, plain.sure)


def _without_openers(said: list[Clause], question: str, words: SentenceWords) -> list[Clause]:
    """The clauses without a first "Well," that begins a sentence rather than answers."""
    openers, phrases = words.lists["openers"], words.choices[question]
    if len(said) > 1 and openers.are(said[0]) and any(map(phrases.stands_in, said[1:])):
        return said[1:]
    if said and len(said[0]) > 1 and openers.are(said[0][:1]) and phrases.stands_in(said[0][1:]):
        return [said[0][1:], *said[1:]]
    return said
