"""Reading what a client types to a question about a warning sign.

Whole answers first, then a few rules. A frightened "no no it's worse" must never count as no, so
each rule for "no" and "earlier" gives way to any word that says that it goes on; what stays in
doubt is no answer, and silence counts as yes.
"""

import re
from collections.abc import Iterable, Mapping
from enum import StrEnum

from bot.flows.parsing import plain_words

AnswerWords = Mapping[str, frozenset[str]]
"""Group -> its words, plain and small (``templates/<language>/words/safety_answers.yaml``)."""

MOST_WORDS_PAST = 8
"""A longer text with a day in it tells more than when it was."""
LONGEST_STREET = 5
"""Words of a street's name, with the word for street."""
THUMBS = ("👍", "🆘")
"""Signs without words that mean yes (a thumb up in any colour of skin)."""


class Answer(StrEnum):
    """What words mean as an answer to "Is this happening now?"."""

    NOW = "now"
    EARLIER = "earlier"
    NO = "no"
    FINE = "fine"  # "I am fine" alone: no only where no emergency was asked about
    OTHER = "other"  # it is somebody else who is in danger
    CANNOT = "cannot"  # cannot call for help, hence it is happening
    ADDRESS = "address"  # where help is to go, hence it is happening
    UNCLEAR = "unclear"


def answer_to_question(text: str, words: AnswerWords) -> Answer:
    """What a text answers to "Is this happening now?"."""
    said = plain_words(text)
    if not said:
        return Answer.NOW if any(thumb in text for thumb in THUMBS) else Answer.UNCLEAR
    if cannot_call(text, words):
        return Answer.CANNOT
    if is_address(text, words):
        return Answer.ADDRESS
    found = _whole(said, words) or _by_rule(said, words)
    # Who asks "earlier?" back has not answered.
    return Answer.UNCLEAR if "?" in text and found is not Answer.NOW else found


def call_answer(text: str, words: AnswerWords) -> str:
    """ "called" or "cannot" to "Have you called?", or ""."""
    said = plain_words(text)
    if cannot_call(text, words) or said in words["cannot"]:
        return "cannot"
    return "called" if said in words["called"] else ""


def cannot_call(text: str, words: AnswerWords) -> bool:
    """Whether a text says, on its own, that the client cannot call for help."""
    said = plain_words(text)
    few = len(said.split()) <= MOST_WORDS_PAST
    return few and _has(said, words["cannot_words"]) and _has(said, words["call_words"])


def is_happening_after_all(text: str, words: AnswerWords) -> bool:
    """Whether a text says on its own that it is happening, whatever was answered before."""
    return plain_words(text) in words["now_again"]


def is_wrong_button(text: str, words: AnswerWords) -> bool:
    """Whether a text says that a button was tapped by mistake."""
    return plain_words(text) in words["wrong_button"]


def says_go_on(text: str, words: AnswerWords) -> bool:
    """Whether a text asks for the question that was open before."""
    return plain_words(text) in words["go_on"]


def asks_for_training(text: str, words: AnswerWords) -> bool:
    """Whether a text asks for the day's movements."""
    said = plain_words(text)
    return (
        _has(said, words["training"])
        and _has(said, words["training_asked"])
        and not _has(said, words["body"])
        and not _has(said, words["goes_on"] - {"please"})
    )


def speaks_of_the_body(text: str, words: AnswerWords) -> bool:
    """Whether a text has a word of body, feeling or medicine."""
    return _has(plain_words(text), words["body"])


def gets_worse(text: str, words: AnswerWords) -> bool:
    """Whether a text says that it gets worse, or asks for help."""
    said = plain_words(text)
    return _has(said, words["gets_worse"]) and not _has(said, words["no_worse"])


def relief_failed(text: str, words: AnswerWords) -> bool:
    """Whether a text says that what usually helps did not."""
    return _has(plain_words(text), words["did_not_help"])


def is_address(text: str, words: AnswerWords) -> bool:
    """Whether a text is a house number with a street: "1 Kauri Street, Thames"."""
    tokens = plain_words(text).split()
    for at, token in enumerate(tokens):
        if not re.fullmatch(r"\d{1,5}[a-z]?(/\d{1,5}[a-z]?)?", token):
            continue
        after = tokens[at + 1 : at + 1 + LONGEST_STREET]
        ends = [where for where, word in enumerate(after) if where and word in words["streets"]]
        if ends and not words["no_street"] & set(after[: ends[0]]):
            return True
    return False


def has_any(text: str, phrases: Iterable[str]) -> bool:
    """Whether one of the phrases stands in a text, as whole words."""
    return _has(plain_words(text), phrases)


def _whole(said: str, words: AnswerWords) -> Answer | None:
    """The answer that the whole text is."""
    if said in words["now"] or said in words["now_again"]:
        return Answer.NOW
    for answer in (Answer.EARLIER, Answer.NO, Answer.FINE):
        if said in words[answer.value]:
            return answer
    return None


def _by_rule(said: str, words: AnswerWords) -> Answer:
    goes_on = _has(said, words["goes_on"])
    if _is_other(said, words) and not goes_on:
        return Answer.OTHER
    if goes_on:
        return Answer.NOW
    first = said.split()[0]
    if first in words["yes_words"]:
        return Answer.NOW
    if _is_harmless(said, words):
        return Answer.NO
    if _is_past(said, words):
        return Answer.EARLIER
    if _has(said, words["present"]) and not _has(said, words["negation"]):
        # "Now it hurts": neither harmless nor over.
        return Answer.NOW if _has(said, words["body"]) else Answer.UNCLEAR
    return Answer.UNCLEAR


def _is_other(said: str, words: AnswerWords) -> bool:
    """ "Not me, the neighbour", "it's my husband"; a person who is merely named is not meant."""
    if _has(said, words["past"] | words["recent"]) or said.split()[-1] in words["fine"]:
        return False
    if _has(said, words["not_me"]):
        return _has(said, words["persons"])
    return any(
        said == f"{lead} {person}" for lead in words["person_leads"] for person in words["persons"]
    )


def _is_harmless(said: str, words: AnswerWords) -> bool:
    """A laugh or a "just", a thing of every day, and not one word beside that could be a worry."""
    light = _has(said, words["laughs"]) or any(
        said.startswith(f"{lead} ") for lead in words["harmless_leads"]
    )
    leads = " ".join([*words["laughs"], *words["harmless_leads"]]).split()
    known = {*leads, *words["harmless"], *words["harmless_fill"]}
    return light and _has(said, words["harmless"]) and set(said.split()) <= known


def _is_past(said: str, words: AnswerWords) -> bool:
    """A day or an hour that is over, in few words, and nothing that compares or denies."""
    tokens = said.split()
    rest = " ".join(tokens[1:]) if tokens[0] in words["no_words"] else said
    if len(tokens) > MOST_WORDS_PAST or _has(rest, words["negation"] | words["present"]):
        return False
    over = _has(said, words["recent"]) and _has(said, words["is_over"])
    return over or _has(said, words["past"])


def _has(said: str, phrases: Iterable[str]) -> bool:
    """Whether one of the phrases stands in the text, as whole words."""
    padded = f" {said} "
    return any(f" {phrase} " in padded for phrase in phrases)
