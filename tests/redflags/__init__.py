"""Labelled texts for the red-flag reader, and the words its generator is fed with.

``public`` are the agreed examples. ``breadth_a``, ``breadth_b`` and ``harmless_b`` were written
without sight of the lexicon and then used to widen it and to train the second opinion; so were
``own_positive`` and ``own_harmless``, and ``talk_harmless`` and ``talk_positive``: what clients say
on ordinary days, and signs said in that voice. So were the six sets ``breadth_c`` to ``breadth_h``:
New Zealand and Australia; Britain and Ireland; North America; typing slips, dictation and other
languages; mixed and understated; rare signs and what comes near them. Four more, ``breadth_i`` to
``breadth_l``, were written to be missed: signs told by their effects, by slips in the telling word,
roundabout, and in passing. ``own_chat`` chose
thresholds and figures of speech; so did the misses on the held-out eighth. ``breadth_m`` to
``breadth_o``, with ``chat_m`` to ``chat_o``, are three writers on the rarer signs, told by effects,
by relatives, in dictation, dialect and broken English; they widened the lexicon.

``breadth_p``, ``breadth_q``, ``chat_p`` and ``chat_q`` are two later writers on the same signs:
they chose when an emergency goes out without a question.

``apart`` and ``ordinary_chat``, later ``apart_second`` and ``ordinary_chat_second``, then
``apart_third``, ``apart_fourth``, ``ordinary_chat_third`` and ``numbers_apart``, last
``apart_fifth``, ``apart_sixth`` and their writers' ``ordinary_chat_fourth`` and
``ordinary_chat_fifth`` were written apart and are read by nothing but the report (``HELD_BACK``).
``numbers_open`` and ``numbers_apart`` hold numbers of the body in free words: kind, value, unit,
who, when.
"""

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path

FOLDER = Path(__file__).parent
TALK = ["talk_harmless", "talk_positive"]
SIX_VOICES = [f"breadth_{letter}" for letter in "cdefgh"]
FOUR_ANGLES = [f"breadth_{letter}" for letter in "ijkl"]
FIVE_WRITERS = [f"breadth_{letter}" for letter in "mnopq"]
HELD_BACK = [
    "apart",
    *(f"apart_{which}" for which in ("second", "third", "fourth", "fifth", "sixth")),
]
"""Nobody opens these; only totals are printed, a few times at most."""

TRAINED_ON = [
    "public",
    "breadth_a",
    "breadth_b",
    "harmless_b",
    "own_positive",
    "own_harmless",
    *TALK,
    *SIX_VOICES,
    *FOUR_ANGLES,
    *FIVE_WRITERS,
]
CHATS_TRAINED_ON = [f"chat_{letter}" for letter in "mnopq"]
"""Ordinary talk of the five writers, a message a line: none of them is a sign."""


@dataclass(frozen=True)
class LabelledText:
    """One line of a set: ``label`` is emergency, urgent or none."""

    text: str
    label: str
    flags: tuple[str, ...]
    kind: str


def is_held_out(text: str) -> bool:
    """Whether ``text`` is one of the eighth that training never sees, kept to choose thresholds."""
    return int(hashlib.sha256(text.encode()).hexdigest(), 16) % 8 == 3


def load(name: str) -> list[LabelledText]:
    """The set ``name``.jsonl, in file order."""
    lines = (FOLDER / f"{name}.jsonl").read_text(encoding="utf-8").splitlines()
    rows = [json.loads(line) for line in lines if line.strip()]
    return [
        LabelledText(row["text"], row["label"], tuple(row["flags"]), row.get("kind", "none named"))
        for row in rows
    ]


@dataclass(frozen=True)
class LabelledNumber:
    """One line of a set of numbers: ``values`` as told, ``who`` and ``when`` as in the reader's.

    ``kind`` is "none" where no number of the body is told.
    """

    text: str
    kind: str
    values: tuple[float | str, ...]
    who: str
    when: str


def load_numbers(name: str) -> list[LabelledNumber]:
    """The numbers of the set ``name``.jsonl, in file order."""
    lines = (FOLDER / f"{name}.jsonl").read_text(encoding="utf-8").splitlines()
    rows = [json.loads(line) for line in lines if line.strip()]
    return [
        LabelledNumber(row["text"], row["kind"], tuple(row["value"]), row["who"], row["when"])
        for row in rows
    ]
