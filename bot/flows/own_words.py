"""What a client asks in own words, of questions that the record answers; and news of the health."""

from core.answers.plain import BREAK, bare, pieces
from core.answers.words import Phrases, SentenceWords

MOST_WORDS = 20
"""A longer message is a letter to the coach rather than a question."""


def is_small_talk(text: str, words: SentenceWords) -> bool:
    """Whether a text is nothing but thanks, a greeting or "ok"."""
    said = [word for word in pieces(text) if word != BREAK]
    told = sum(hit.end - hit.start for hit in words.lists["small_talk"].hits(said))
    return bool(said) and told == len(said)


def is_question(text: str, words: SentenceWords) -> bool:
    """Whether a text asks something, with or without its mark."""
    begin = bare(text)[:3]
    starts = (*words.lists["asks_back_plainly"].hits(begin), *words.lists["asks_leave"].hits(begin))
    return text.rstrip().endswith("?") or any(hit.start == 0 for hit in starts)


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
