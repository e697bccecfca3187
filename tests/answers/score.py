"""Answers by writers who have not seen the reader, and how many of them it reads right.

A set is a file of lines ``{"question", "text", "meant"}``; ``meant`` is the value, or "ask" where
the text does not answer. Of closed sets only totals are ever printed.
"""

import json
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from bot.reference.sentences import load_sentences
from bot.reference.spoken import load_countries, load_spoken
from core.answers import body, choices, counts, health, moments, names, places
from core.answers.words import SentenceWords, Understood

SETS = Path(__file__).parent
TODAY = date(2026, 11, 30)
PLANNED = 10
ASK = "ask"
NEVER_WRONG = ("conditions", "medicines", "operations", "pain")

_COARSE = {
    "angina": "heart",
    "rhythm": "heart",
    "heart_failure": "heart",
    "pacemaker": "heart",
    "valve": "heart",
    "defibrillator": "heart",
    "rheumatoid_arthritis": "arthritis",
    "hip_knee_arthritis": "arthritis",
}
"""Conditions that the writers were asked about under one name."""
_NO_CLASS = frozenset({"statin"})
"""Medicines that the writers were asked about and that change nothing in training."""
_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True)
class Answer:
    """One line of a set."""

    question: str
    text: str
    meant: Any


@dataclass(frozen=True, slots=True)
class Verdict:
    """What became of one answer: ``read`` is what was understood, "ask" for nothing."""

    answer: Answer
    read: Any
    sure: bool

    @property
    def right(self) -> bool:
        """Whether it was understood as it was meant."""
        change = _KEPT_AS.get(self.answer.question)
        meant = self.answer.meant
        return bool(self.read == (change(meant) if change else meant))

    @property
    def wrong(self) -> bool:
        """Whether something else was taken for it without asking back."""
        return not self.right and self.read != ASK and self.sure


def answers_in(path: Path) -> Iterator[Answer]:
    """The lines of a set."""
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.strip():
            entry = json.loads(line)
            yield Answer(entry["question"], entry["text"], entry["meant"])


def verdict_on(answer: Answer, words: SentenceWords) -> Verdict:
    """Read one answer."""
    found = READERS[answer.question](answer.text, words)
    if found is None:
        return Verdict(answer, ASK, sure=True)
    return Verdict(answer, found.value, found.sure)


def _changed(found: Understood[Any] | None, change: Callable[[Any], Any]) -> Understood[Any] | None:
    return None if found is None else Understood(change(found.value), found.sure)


def _choice(question: str) -> Callable[[str, SentenceWords], Understood[Any] | None]:
    return lambda text, words: choices.choose(text, question, words)


def _five(question: str) -> Callable[[str, SentenceWords], Understood[Any] | None]:
    return lambda text, words: _changed(choices.choose(text, question, words), int)


def _contact(text: str, words: SentenceWords) -> Understood[Any] | None:
    found = names.read_contact(text, words)
    if found is None or not (found.value.name and found.value.phone):
        return None
    return _changed(found, lambda one: f"{one.name}|{one.phone}")


def _medicines(meant: Any) -> Any:
    """What was meant, in the classes that this service keeps."""
    if not isinstance(meant, list):
        return meant
    return [code for code in meant if code not in _NO_CLASS] or ["none"]


def _code(text: str, words: SentenceWords) -> Understood[Any] | None:
    code = names.read_code(text, words)
    return Understood(code) if code else None


def _operations(text: str, words: SentenceWords) -> Understood[Any] | None:
    found = health.read_operations(text, words)
    if found is None or not found.value:
        return _changed(found, lambda _none: "none")
    first = found.value[0]
    named = f"{first.joint} {first.side or 'unknown_side'}" if first.joint else "other"
    return Understood(named, found.sure)


def _conditions(text: str, words: SentenceWords) -> Understood[Any] | None:
    found = health.read_conditions(text, words)
    return _changed(
        found, lambda codes: sorted({_COARSE.get(code, code) for code in codes}) or ["none"]
    )


READERS: Mapping[str, Callable[[str, SentenceWords], Understood[Any] | None]] = {
    "code": _code,
    "agree": _choice("agree"),
    "country": lambda text, words: _changed(
        places.read_country(text, words), lambda code: code.partition("-")[0]
    ),
    "sex": _choice("sex"),
    "name": names.read_name,
    "birth": lambda text, words: body.read_birth_year(text, 1916, 2010, words),
    "height": lambda text, words: _changed(body.read_height(text, words), round),
    "weight": lambda text, words: _changed(body.read_weight(text, "stone", words), round),
    "contact": _contact,
    "conditions": _conditions,
    "medicines": lambda text, words: _changed(
        health.read_medicines(text, words), lambda codes: list(codes) or ["none"]
    ),
    "operations": _operations,
    "alone": lambda text, words: _changed(
        choices.lives_alone(text, words), lambda alone: "alone" if alone else "with_somebody"
    ),
    "falls": counts.read_falls,
    "sleep": _five("sleep"),
    "rested": _five("tiredness"),
    "muscles": _five("soreness"),
    "mood": _five("mood"),
    "pain": counts.read_pain,
    "pressure": lambda text, words: _changed(
        body.read_pressure(text, words), lambda pair: f"{pair[0]}/{pair[1]}"
    ),
    "reps": lambda text, words: counts.read_reps(text, PLANNED, words),
    "left": counts.read_left,
    "effort": counts.read_effort,
    "date": lambda text, words: moments.read_date(text, TODAY, words),
    "time": moments.read_time,
    "days": lambda text, words: _changed(
        moments.read_weekdays(text, words), lambda days: [_DAYS[day - 1] for day in days]
    ),
    "eased": _choice("eased"),
}
"""Question of the sets -> its reader."""


_KEPT_AS: Mapping[str, Callable[[Any], Any]] = {
    "medicines": _medicines,
    "falls": lambda meant: min(meant, counts.MOST_FALLS) if isinstance(meant, int) else meant,
}
"""Questions whose answers are kept more coarsely than the writers told them: three falls stand
for three or more, and a statin is no class of its own."""


def totals(verdicts: list[Verdict]) -> Mapping[str, Counter[str]]:
    """By question: how many lines, right, wrong without asking back."""
    found: dict[str, Counter[str]] = {}
    for one in verdicts:
        counted = found.setdefault(one.answer.question, Counter())
        counted.update(
            ["lines", *(["right"] if one.right else []), *(["wrong"] if one.wrong else [])]
        )
    return found


@cache
def words_of_sets() -> SentenceWords:
    """The words as the service loads them."""
    return load_sentences(load_countries(), load_spoken())
