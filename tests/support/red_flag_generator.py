"""Writes labelled texts from slot grammars: each sign denied, supposed, remembered, re-asserted.

The labels follow from the grammar and the table of signs, not from the reader. Used to train the
second opinion and to look for holes in the scope rules; never counted in a score.
"""

import json
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from bot.reference.red_flags import load_signs
from core.vocabulary import Sign, TextLevel

FOLDER = Path(__file__).parent.parent / "redflags"
SIGNS = load_signs()
EMERGENCIES = frozenset(s.value for s in Sign if SIGNS[s].text_level is TextLevel.EMERGENCY)

Grammar = Mapping[str, Any]


@dataclass(frozen=True)
class Labelled:
    """One text with its label (emergency, urgent, none), its signs, and how it was made."""

    text: str
    label: str
    flags: tuple[str, ...]
    kind: str

    def as_row(self) -> dict[str, object]:
        return {
            "text": self.text,
            "label": self.label,
            "flags": list(self.flags),
            "kind": self.kind,
        }


def generate(count: int, seed: int) -> Iterator[Labelled]:
    """``count`` labelled texts; the same seed gives the same texts."""
    rng = random.Random(seed)
    grammar = _grammar()
    slots = _slots()
    makers = [_reported] * 3 + [_slotted] * 3 + [_harmless] * 4 + [_ordinary] * 3
    makers += [_told] * 4 + [_near] * 3
    for _ in range(count):
        yield rng.choice(makers)(rng, grammar, slots)


def _grammar() -> Grammar:
    """The frames, and the signs of both files: the rarer ones have sentences of their own too."""
    grammar = yaml.safe_load((FOLDER / "grammar.yaml").read_text(encoding="utf-8"))
    rarer = yaml.safe_load((FOLDER / "grammar_rarer.yaml").read_text(encoding="utf-8"))
    return grammar | {"signs": grammar["signs"] | rarer, "rarer": rarer}


def _slots() -> dict[str, Mapping[str, list[str]]]:
    merged: dict[str, Mapping[str, list[str]]] = {}
    for name in ("slots_a.json", "slots_b.json"):
        merged |= json.loads((FOLDER / name).read_text(encoding="utf-8"))
    return merged


def _label(sign: str) -> str:
    return "emergency" if sign in EMERGENCIES else "urgent"


def _fill(rng: random.Random, template: str, grammar: Grammar, sign: str) -> str:
    other = rng.choice([s for s in grammar["signs"] if s != sign])
    happened = rng.choice(grammar["signs"][sign]["happened"])
    text = template.format(
        n=rng.choice(grammar["signs"][sign]["nouns"]),
        n2=rng.choice(grammar["signs"][other]["nouns"]),
        h=happened,
        h3=happened.replace("went", "gone").replace("got", "gotten"),
        t=rng.choice(grammar["recent"]),
        p=rng.choice(grammar["long_ago"]),
        r=rng.choice(grammar["relatives"]),
        o=rng.choice(grammar["neighbours"]),
        d=rng.choice(grammar["doings"]),
    )
    return text.replace("no a ", "no ").replace("any a ", "any ").replace("the a ", "the ")


def _reported(rng: random.Random, grammar: Grammar, slots: Mapping) -> Labelled:
    sign = rng.choice(list(grammar["signs"]))
    if rng.random() < 0.12 and sign in EMERGENCIES - {"self_harm"}:
        text = _fill(rng, rng.choice(grammar["in_danger"]), grammar, sign)
        return Labelled(text, "emergency", (sign,), "other_in_danger")
    text = _fill(rng, rng.choice(grammar["reported"]), grammar, sign)
    return Labelled(
        rng.choice(grammar["openers"]) + text + rng.choice(grammar["closers"]),
        _label(sign),
        (sign,),
        "reported",
    )


def _slotted(rng: random.Random, grammar: Grammar, slots: Mapping) -> Labelled:
    """Body part, feeling and verb in free order, or an idiom, of one sign."""
    sign = rng.choice([s for s in slots if s != "fever"])
    roles = slots[sign]
    part, feeling, verb, idiom = (
        rng.choice(roles[k]) for k in ("parts", "feelings", "verbs", "idioms")
    )
    recent = rng.choice(grammar["recent"])
    shapes = [
        f"{idiom}",
        f"{idiom} {recent}",
        f"my {part} {feeling} and {verb}",
        f"{feeling} {part}, {verb} {recent}",
        f"{part} {verb}, {idiom}",
        f"{verb}, {part}, {feeling}",
        f"it's my {part}, {idiom}",
        f"{feeling}, {idiom}",
        f"{part} {feeling}. {idiom}",
        f"{idiom}, {feeling} {recent}",
    ]
    text = rng.choice(shapes).replace("my my ", "my ").replace("my me ", "me ")
    return Labelled(
        rng.choice(grammar["openers"]) + text + rng.choice(grammar["closers"]),
        _label(sign),
        (sign,),
        "slots",
    )


def _told(rng: random.Random, grammar: Grammar, slots: Mapping) -> Labelled:
    """A rarer sign told by its effects."""
    sign = rng.choice(list(grammar["rarer"]))
    text = rng.choice(grammar["rarer"][sign]["told"])
    text = rng.choice(grammar["openers"]) + text + rng.choice(grammar["closers"])
    return Labelled(text, _label(sign), (sign,), "told")


def _near(rng: random.Random, grammar: Grammar, slots: Mapping) -> Labelled:
    """What comes near a rarer sign and means nothing."""
    sign = rng.choice(list(grammar["rarer"]))
    text = rng.choice(grammar["rarer"][sign]["near"])
    text = rng.choice(grammar["openers"]) + text + rng.choice(grammar["harmless_closers"])
    return Labelled(text, "none", (), "near")


def _harmless(rng: random.Random, grammar: Grammar, slots: Mapping) -> Labelled:
    sign = rng.choice(list(grammar["signs"]))
    kind, templates = rng.choice(
        [
            ("negated", grammar["denied"]),
            ("hypothetical", grammar["supposed"]),
            ("historical", grammar["remembered"]),
            ("other_person", grammar["of_others"]),
        ]
    )
    if sign == "self_harm" and kind == "hypothetical":
        sign = "chest_pain"
    text = _fill(rng, rng.choice(templates), grammar, sign)
    return Labelled(
        rng.choice(grammar["openers"]) + text + rng.choice(grammar["harmless_closers"]),
        "none",
        (),
        kind,
    )


def _news(rng: random.Random, grammar: Grammar) -> str:
    if rng.random() < 0.35:
        return " ".join(rng.choice(grammar[role]) for role in ("parts", "aches", "causes"))
    return rng.choice(grammar["news"]).format(
        b=rng.choice(["badly", "well", "six hours", "all right", "poorly", "like a log"]),
        h=rng.choice(
            ["nine", "3", "ten thirty", "Tuesday", "four", "noon", "Monday", "half past two"]
        ),
        w=rng.randint(55, 95),
        s=rng.randint(108, 148),
        d=rng.randint(60, 88),
        q=rng.randint(54, 88),
        e=rng.randint(95, 120),
        g=f"{rng.randint(50, 95) / 10}",
        c=rng.randint(2, 33),
        n=rng.randint(2, 9),
        m=rng.randint(6, 30),
        k=rng.choice(grammar["moves"]),
        x=rng.choice(grammar["things"]),
        r=rng.choice(grammar["relatives"]),
    )


def _ordinary(rng: random.Random, grammar: Grammar, slots: Mapping) -> Labelled:
    """Training talk, minor complaints, weather, family: one to three pieces of news."""
    count = rng.choice([1, 1, 2, 3])
    text = rng.choice([", ", ". ", " and ", " but "]).join(
        _news(rng, grammar) for _ in range(count)
    )
    text = rng.choice(grammar["openers"]) + text + rng.choice(grammar["harmless_closers"])
    return Labelled(text, "none", (), "ordinary")
