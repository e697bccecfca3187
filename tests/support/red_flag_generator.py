"""Writes labelled texts from slot grammars: each sign denied, supposed, remembered, re-asserted.

The labels follow from the grammar, not from the reader. Used to train the second opinion and to
look for holes in the scope rules; never counted in a score.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import yaml

FOLDER = Path(__file__).parent.parent / "redflags"
EMERGENCIES = frozenset(
    "chest_pain faint breathless_rest stroke thunderclap_headache coughing_blood asthma_severe "
    "cauda_equina vision_loss self_harm".split()
)

RELATIVES = (
    "husband wife mum dad brother sister son daughter neighbour friend uncle aunty grandson "
    "granddaughter mate cousin".split()
)
NEIGHBOURS = [
    "a lady at bowls", "a man in my choir", "someone in the shop", "my late husband",
    "my old boss", "the chap next door", "a woman in the film", "Margaret from the group",
    "the character in my book", "my mother-in-law", "our dog", "everyone on the bus",
]  # fmt: skip
RECENT = [
    "this morning", "just now", "last night", "yesterday", "since lunch", "an hour ago", "today",
    "on Sunday", "this week", "twice today", "during the warm up", "after the squats",
    "ten minutes ago", "in the shower", "getting out of bed", "on and off all day",
]  # fmt: skip
LONG_AGO = [
    "in 2014", "years ago", "back in 2009", "when I was 30", "twenty years ago", "in my forties",
    "before my stent", "before I retired", "as a child", "in the nineties", "last century",
    "long before I met you", "in 1987", "before they changed my tablets", "back when I smoked",
    "two winters ago", "after the birth of my second", "when we lived in town",
]  # fmt: skip
OPENERS = [
    "",
    "",
    "",
    "",
    "Hi coach, ",
    "Morning. ",
    "um ",
    "hello ",
    "Kia ora, ",
    "sorry to bother you but ",
]
CLOSERS = [
    "",
    "",
    "",
    "",
    " Thanks.",
    " What should I do?",
    " 😟",
    " probably nothing",
    " not sure what to do",
]
HARMLESS_CLOSERS = [
    "",
    "",
    "",
    " 😊",
    " lovely session",
    " feeling great",
    " all good here",
    " thanks coach",
]
DOINGS = [
    "squats",
    "the band rows",
    "heel raises",
    "walking fast",
    "lifting weights",
    "the step ups",
]

DENIED = [
    "no {n}", "no {n} today", "no {n} or {n2}", "no {n}, no {n2}", "haven't had any {n} this week",
    "not had {n} since I started with you", "I never get {n}", "{n} - no", "free of {n} for months",
    "did the lot without any {n}", "no more {n} since the new tablets", "no sign of {n}",
    "doctor ruled out {n}", "nothing like {n} or {n2}", "no {n}, {n2} or anything like that",
    "hardly puffed and no {n}", "I haven't had {n}, touch wood", "it wasn't {n}, just a bit of wind",
    "legs a bit tired but no {n}", "{n}? no, none", "Not once did I have {n}", "zero {n}",
    "I don't have {n} any more", "the nurse checked me for {n}, all clear", "no {n} so far",
    "told the doctor I don't get {n}", "no {n} and sleeping well", "neither {n} nor {n2}",
]  # fmt: skip
SUPPOSED = [
    "what if I get {n}?", "can {d} cause {n}?", "what should I do if I ever have {n}",
    "how would I know if it was {n}?", "is {n} common at my age?", "could {d} bring on {n}?",
    "the leaflet says to stop if you get {n}", "I'm doing this so I don't get {n}",
    "who do I ring if I have {n}?", "worried about getting {n} one day", "what are the signs of {n}?",
    "reading an article about {n}", "does {d} help prevent {n}?", "we had a talk on {n} at the club",
    "I signed the form about {n}", "what does {n} feel like?", "how do people cope with {n}?",
    "what's the difference between {n} and {n2}?", "will {d} give me {n}?",
    "my tablets can cause {n} it says on the box", "I'll tell you if I get {n}",
    "first aid course today, we did {n}", "is it true that {d} stops {n}?",
]  # fmt: skip
REMEMBERED = [
    "I had {n} {p}", "{n} {p}, fine since", "used to get {n} {p}", "I {h} {p}", "I {h} {p}, no trouble since",
    "{p} I {h} but never again", "my notes will say {n} {p}", "had {n} {p} and the doctor sorted it",
    "for the form: {n} {p}", "I {h} {p} and that's why I joined", "scar is from when I {h} {p}",
]  # fmt: skip
OF_OTHERS = [
    "my {r} had {n} last year", "{o} {h} on Sunday, she's fine now", "my {r} {h} years ago",
    "{o} is always going on about {n}", "my {r} gets {n} and takes tablets for it", "{o} {h}, home now",
    "my {r} died after {n}, long ago now", "my {r} is a nurse who sees a lot of {n}",
    "visited {o} who {h} last month", "my {r} {h} last week, out of hospital and doing well",
    "{o} once {h}, not me", "does your class suit my {r}? she has had {n}",
]  # fmt: skip
REPORTED = [
    "I've got {n}", "got {n} {t}", "having {n} {t}", "{n} is back", "I {h} {t}", "I {h}",
    "woke up with {n}", "not being dramatic but I've got {n}", "{n} again {t}", "no {n2} but I have {n}",
    "not {n2}, just {n} {t}", "is it normal to have {n} {t}?", "should I carry on, I have {n}",
    "I had {n} {p} and now it's back", "never normally get {n} but {t} I did", "I don't want a fuss but I {h} {t}",
    "my {r} had {n} and now I have it too", "my {r} says I should tell you I {h} {t}", "{n} {t}",
    "everything went well until I {h}", "bit of {n} {t}", "still got {n}", "the {n} won't go away",
    "can't shake this {n}", "the tablets haven't stopped {n}", "no better, still {n}",
    "same {n} as in 2014", "I thought {n} was a thing of the past but it started again {t}",
]  # fmt: skip
IN_DANGER = [
    "my {r} has just {h3} what do I do", "help my {r} {h} just now", "my {r} has {n} right now",
    "my {r} {h} a minute ago and is on the floor", "{r} has {n} now should I call someone",
    "my {r}'s got {n}, it's happening now, please help",
]  # fmt: skip


ACHES = ["stiff", "a bit stiff", "a bit sore", "sore", "achy", "tight", "a bit tight", "tired", "creaky",
         "grumbling", "heavy", "like jelly", "worked hard", "tender", "complaining", "a bit weary"]  # fmt: skip
PARTS = ["knees", "hips", "shoulders", "lower back", "neck", "wrists", "thighs", "calves", "feet", "quads",
         "glutes", "bum muscles", "arms", "hamstrings", "tummy muscles", "triceps", "hands", "back",
         "old knee", "dodgy hip", "bad shoulder", "chest muscles", "ribs muscles", "thumb joints"]  # fmt: skip
CAUSES = ["after the squats", "from the garden", "after yesterday's session", "from the heel raises",
          "after the long walk", "first thing, wears off", "in the cold", "as usual", "same as always",
          "after carrying the shopping", "from painting the fence", "from the press ups",
          "after the bridges", "in the damp", "from sitting too long", "in a good way",
          "but nothing to worry about", "but happy", "after minding the grandkids", "after bowls"]  # fmt: skip
NEWS = [
    "slept {b}", "slept like a top", "woke at {h}, could not nod off again", "weight {w} kg this morning",
    "BP {s}/{d} today", "pressure was {s} over {d}", "pulse {q} at rest", "heart rate {q} resting, {e} on the hill",
    "sugar {g} before breakfast", "sugar was {g} after class", "temperature outside is {c} degrees",
    "can we move to {h} on Friday", "see you at {h}", "did {n} sets of {m}", "{n} laps of the park",
    "walked {n} km with the dog", "the {k} was hard today", "loved the {k}", "skipped the {k}, no time",
    "how many {k} should I do", "is the {k} meant to be done slowly", "{k} done, tick",
    "grandkids here for {n} days", "made {n} jars of jam", "the {x} is playing up again",
    "my {x} died", "the {x} is broken", "{x} won't load the video", "new {x} arrived",
    "a bit puffed on the {k} but fine in a minute", "puffing at the top, could still chat",
    "sweating after the {k}, good fun", "cold is nearly gone", "hay fever again", "runny nose today",
    "tickly throat", "splinter in my thumb", "blister on my heel", "bruise on my shin from the {x}",
    "insect bite on my ankle, itchy", "tummy rumbling, lunch time", "bit of wind after the beans",
    "dentist on {h}", "eye test fine", "new glasses", "blood test tomorrow", "flu jab today, arm a bit sore",
    "raining again", "the roses are out", "football was dreadful", "lost at cards", "off to the shops",
    "choir tonight", "cake for the club", "reading a good book", "my {r} rang", "my {r} is visiting",
    "lunch with my {r}", "my {r} loves your videos", "happy birthday to my {r}", "thanks coach",
    "running late", "can't come on {h}", "what is next week's plan", "how do I pay", "which band is it",
    "the hill was easier today", "balance is better", "stood on one leg for {m} seconds",
    "a bit bored of the {k}", "feeling fine", "feeling grand", "all good", "right as rain", "no news",
]  # fmt: skip
MOVES = [
    "squats",
    "band row",
    "heel raises",
    "wall press",
    "lunges",
    "bridge",
    "march",
    "step ups",
    "side lift",
]
THINGS = [
    "tablet",
    "phone",
    "laptop",
    "telly",
    "boiler",
    "car",
    "printer",
    "washing machine",
    "mower",
    "band",
    "chair",
]


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
    phrases = yaml.safe_load((FOLDER / "scope_phrases.yaml").read_text(encoding="utf-8"))
    slots = _slots()
    makers = [_reported] * 3 + [_slotted] * 3 + [_harmless] * 4 + [_ordinary] * 3
    for _ in range(count):
        yield rng.choice(makers)(rng, phrases, slots)


def _slots() -> dict[str, Mapping[str, list[str]]]:
    merged: dict[str, Mapping[str, list[str]]] = {}
    for name in ("slots_a.json", "slots_b.json"):
        merged |= json.loads((FOLDER / name).read_text(encoding="utf-8"))
    return merged


def _label(sign: str) -> str:
    return "emergency" if sign in EMERGENCIES else "urgent"


def _fill(rng: random.Random, template: str, phrases: Mapping[str, dict], sign: str) -> str:
    other = rng.choice([s for s in phrases if s != sign])
    happened = rng.choice(phrases[sign]["happened"])
    text = template.format(
        n=rng.choice(phrases[sign]["nouns"]),
        n2=rng.choice(phrases[other]["nouns"]),
        h=happened,
        h3=happened.replace("went", "gone").replace("got", "gotten"),
        t=rng.choice(RECENT),
        p=rng.choice(LONG_AGO),
        r=rng.choice(RELATIVES),
        o=rng.choice(NEIGHBOURS),
        d=rng.choice(DOINGS),
    )
    return text.replace("no a ", "no ").replace("any a ", "any ").replace("the a ", "the ")


def _reported(rng: random.Random, phrases: Mapping[str, dict], slots: Mapping) -> Labelled:
    sign = rng.choice(list(phrases))
    if rng.random() < 0.12 and sign in EMERGENCIES - {"self_harm"}:
        text = _fill(rng, rng.choice(IN_DANGER), phrases, sign)
        return Labelled(text, "emergency", (sign,), "other_in_danger")
    text = _fill(rng, rng.choice(REPORTED), phrases, sign)
    return Labelled(
        rng.choice(OPENERS) + text + rng.choice(CLOSERS), _label(sign), (sign,), "reported"
    )


def _slotted(rng: random.Random, phrases: Mapping[str, dict], slots: Mapping) -> Labelled:
    """Body part, feeling and verb in free order, or an idiom, of one sign."""
    sign = rng.choice([s for s in slots if s != "fever"])
    roles = slots[sign]
    part, feeling, verb, idiom = (
        rng.choice(roles[k]) for k in ("parts", "feelings", "verbs", "idioms")
    )
    shapes = [
        f"{idiom}", f"{idiom} {rng.choice(RECENT)}", f"my {part} {feeling} and {verb}",
        f"{feeling} {part}, {verb} {rng.choice(RECENT)}", f"{part} {verb}, {idiom}",
        f"{verb}, {part}, {feeling}", f"it's my {part}, {idiom}", f"{feeling}, {idiom}",
        f"{part} {feeling}. {idiom}", f"{idiom}, {feeling} {rng.choice(RECENT)}",
    ]  # fmt: skip
    text = rng.choice(shapes).replace("my my ", "my ").replace("my me ", "me ")
    return Labelled(
        rng.choice(OPENERS) + text + rng.choice(CLOSERS), _label(sign), (sign,), "slots"
    )


def _harmless(rng: random.Random, phrases: Mapping[str, dict], slots: Mapping) -> Labelled:
    sign = rng.choice(list(phrases))
    kind, templates = rng.choice(
        [
            ("negated", DENIED),
            ("hypothetical", SUPPOSED),
            ("historical", REMEMBERED),
            ("other_person", OF_OTHERS),
        ]
    )
    if sign == "self_harm" and kind == "hypothetical":
        sign = "chest_pain"
    text = _fill(rng, rng.choice(templates), phrases, sign)
    return Labelled(rng.choice(OPENERS) + text + rng.choice(HARMLESS_CLOSERS), "none", (), kind)


def _news(rng: random.Random) -> str:
    if rng.random() < 0.35:
        return f"{rng.choice(PARTS)} {rng.choice(ACHES)} {rng.choice(CAUSES)}"
    return rng.choice(NEWS).format(
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
        k=rng.choice(MOVES),
        x=rng.choice(THINGS),
        r=rng.choice(RELATIVES),
    )


def _ordinary(rng: random.Random, phrases: Mapping[str, dict], slots: Mapping) -> Labelled:
    """Training talk, minor complaints, weather, family: one to three pieces of news."""
    count = rng.choice([1, 1, 2, 3])
    text = rng.choice([", ", ". ", " and ", " but "]).join(_news(rng) for _ in range(count))
    text = rng.choice(OPENERS) + text + rng.choice(HARMLESS_CLOSERS)
    return Labelled(text, "none", (), "ordinary")
