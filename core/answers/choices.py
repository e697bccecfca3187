"""Which of a few answers a sentence gives: yes or no, a word of five, a woman or a man."""

from collections.abc import Mapping, Sequence

from core.answers.said import Clause, clauses, without_questions
from core.answers.words import SentenceWords, Understood

UNCLEAR = "ask"
"""Code of phrases that answer a question with "it depends"."""
YES, NO, ALONE = "yes", "no", "alone"
GRADED = frozenset({"sleep", "tiredness", "soreness", "stress", "mood"})
"""Questions with a word for each of five answers: one that is denied is none of them."""
SHORT_ANSWERS: Mapping[str, Mapping[str, str]] = {
    "sleep": {YES: "4", NO: "2"},
    "tiredness": {YES: "4", NO: "2"},
    "soreness": {NO: "5"},
}
"""What a bare "yes" or "no" to such a question most likely means; it is said back."""
BETTER_IS_MORE = frozenset({"sleep", "tiredness", "stress", "mood"})
"""Questions whose five answers somebody may give as a figure of five; it is said back."""
FIVE, FEW_WORDS = frozenset("12345"), 4
LONG = 30
"""Words from which an answer is a letter, and is said back."""


def choose(text: str, question: str, words: SentenceWords) -> Understood[str] | None:
    """The code that a text chooses; ``None`` for what is unclear.

    The first clause that chooses counts; where another says something else, it is not sure.

    Args:
        question: one of ``SentenceWords.choices``.
    """
    phrases = words.choices[question]
    answer = without_questions(text, words)
    said = _without_openers(clauses(answer, words, phrases), question, words)
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
    if not found and question in SHORT_ANSWERS and len(said) == 1:
        plain = words.choices["yes_no"].hits(said[0])
        whole = bool(plain) and plain[0].end - plain[0].start == len(said[0])
        code = SHORT_ANSWERS[question].get(plain[0].code) if whole else None
        return Understood(code, sure=False) if code else None
    if not found and question in BETTER_IS_MORE:
        figures = [word for clause in said for word in clause if word.isdigit()]
        short = sum(len(clause) for clause in said) <= FEW_WORDS
        five = short and len(figures) == 1 and figures[0] in FIVE
        return Understood(figures[0], sure=False) if five else None
    if not found or UNCLEAR in found[0]:
        return None
    verdict = _own_verdict(said, question, words)
    if verdict:
        return Understood(verdict, sure=False)
    first, *more = found
    if len(first) > 1:
        return _worse_of(first) if question in GRADED else None
    others = {code for codes in more for code in codes} - {first[0]}
    length = sum(len(clause) for clause in said)
    return Understood(first[0], sure=not others and length < LONG)


def _own_verdict(said: Sequence[Clause], question: str, words: SentenceWords) -> str:
    """The one answer of five that stands beside "I would say"."""
    if question not in GRADED or len(said) == 1:
        return ""
    phrases = words.choices[question]
    codes = [
        {hit.code for hit in phrases.hits(clause)}
        for clause in said
        if words.lists["own_verdict"].stands_in(clause)
    ]
    return (
        next(iter(codes[-1])) if codes and len(codes[-1]) == 1 and UNCLEAR not in codes[-1] else ""
    )


def _worse_of(codes: Sequence[str]) -> Understood[str] | None:
    """The worse of two neighbouring answers ("stiff and sore"), to be said back."""
    low, high = min(codes), max(codes)
    near = UNCLEAR not in codes and int(high) - int(low) == 1
    return Understood(low, sure=False) if near else None


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
