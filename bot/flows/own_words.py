"""What a client asks in own words, of questions that the record answers; and news of the health."""

from core.answers.plain import BREAK, pieces
from core.answers.words import Phrases

MOST_WORDS = 16
"""A longer message is a letter to the coach rather than a question."""


def question_asked(text: str, questions: Phrases) -> str:
    """What is asked, a key of ``words/questions.yaml``; "" for other words."""
    said = [word for word in pieces(text) if word != BREAK]
    hits = questions.hits(said) if len(said) <= MOST_WORDS else []
    return hits[0].code if hits else ""


def health_news_told(text: str, news: Phrases) -> str:
    """What has changed in the health by these words, a key of ``words/health_news.yaml``, or ""."""
    said = [word for word in pieces(text) if word != BREAK]
    hits = news.hits(said)
    return hits[0].code if hits else ""
