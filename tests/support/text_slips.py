"""Typing slips, dictation and company: how a labelled text is varied while keeping its label."""

import random
from collections.abc import Sequence

NEIGHBOUR_KEYS = {
    "a": "sqz", "b": "vn", "c": "xv", "d": "sf", "e": "wr", "f": "dg", "g": "fh", "h": "gj",
    "i": "uo", "j": "hk", "k": "jl", "l": "k", "m": "n", "n": "bm", "o": "ip", "p": "o",
    "q": "wa", "r": "et", "s": "ad", "t": "ry", "u": "yi", "v": "cb", "w": "qe", "x": "zc",
    "y": "tu", "z": "x",
}  # fmt: skip
GREETINGS = ["hi ", "morning coach, ", "um ", "hello ", "hi coach "]


def with_slip(word: str, rng: random.Random) -> str:
    """``word`` with one letter lost, swapped, doubled or hit beside; short words stay."""
    if len(word) < 4:
        return word
    at, kind = rng.randrange(1, len(word) - 1), rng.random()
    if kind < 0.3:
        return word[:at] + word[at + 1 :]
    if kind < 0.6:
        return word[:at] + word[at + 1] + word[at] + word[at + 2 :]
    if kind < 0.8:
        return word[:at] + word[at] + word[at:]
    return word[:at] + rng.choice(NEIGHBOUR_KEYS.get(word[at], "e")) + word[at + 1 :]


def with_slips(text: str, rng: random.Random, share: float) -> str:
    """``text`` with a slip in about ``share`` of its words."""
    return " ".join(
        with_slip(word, rng) if word.isalpha() and rng.random() < share else word
        for word in text.split()
    )


def as_dictated(text: str) -> str:
    """``text`` in lower case without punctuation."""
    return "".join(c for c in text if c not in ".,!?;:'\"-").lower()


def varied(text: str, harmless: Sequence[str], rng: random.Random) -> str:
    """``text`` as somebody else might have sent it: slips, dictation, or beside harmless talk."""
    kind = rng.random()
    if kind < 0.12:
        text = with_slips(text, rng, 0.25)
    elif kind < 0.24:
        text = as_dictated(text)
    elif kind < 0.34 and len(text) < 120:
        talk = rng.choice(harmless)
        if len(talk) < 120:
            joint = rng.choice([". ", ", but ", " and ", ", "])
            after = f"{text.rstrip('.')}. {talk}"
            text = after if rng.random() < 0.5 else f"{talk.rstrip('.')}{joint}{text}"
    return rng.choice(GREETINGS) + text if rng.random() < 0.05 else text
