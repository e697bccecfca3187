"""What a client asks in own words, of those questions that have an answer in the record."""

from core.answers.plain import BREAK, pieces
from core.answers.words import Phrases

MOST_WORDS = 16
"""A longer message is a letter to the coach rather than a question."""


def question_asked(text: str, questions: Phrases) -> str:
    """What is asked, a key of ``words/questions.yaml``; "" for other words."""
    said = [word for word in pieces(text) if word != BREAK]
    hits = questions.hits(said) if len(said) <= MOST_WORDS else []
    return hits[0].code if hits else ""
