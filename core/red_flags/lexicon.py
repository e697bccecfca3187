"""The lexicon, parsed: which words stand for which concept, and which concepts make a sign.

A *concept* is a set of words and phrases ("CHEST", "PAIN", "NEG"). A *phrase* is words in order;
``_`` stands for up to two free words, ``__`` for up to five, ``a/b`` for either, and a word in
capitals for any word of that concept. A *rule* names the concepts that make a sign when they stand
near each other in one clause, in any order.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from core.errors import LexiconError
from core.number_words import NumberWords
from core.red_flags.number_cues import NumberCues, parse_number_cues
from core.red_flags.tokens import plain
from core.told_number import NumberBand
from core.vocabulary import Sign, TextLevel

DEFAULT_WINDOW = 9  # words from the first to the last concept of a rule
FIGURE = "FIGURE"
FROM_NUMBERS = frozenset(band.value for band in NumberBand)
"""Concepts that stand where a number in such a band was told; rules may name them."""
NUMBER_CUE = "NUM_"
"""How concepts begin that only stand beside numbers: no figure of speech hides them."""
OF_LIFE = "OF_LIFE"  # words of living and dying; alone they are no sign
_LEVELS = {"^emergency": TextLevel.EMERGENCY, "^urgent": TextLevel.URGENT, "^none": TextLevel.NONE}
_GAPS = {"_": 2, "__": 5}
_CLEARING = frozenset(["FUN", "LAUGH", "THING"])  # a misspelt sign must never become one of these


@dataclass(frozen=True, slots=True)
class Element:
    """One place of a phrase: any of ``words``, any word of ``concepts``, or a gap of free words."""

    words: frozenset[str]
    concepts: frozenset[str]
    gap: int = 0


@dataclass(frozen=True, slots=True)
class Phrase:
    """Elements in order, and the concept that they stand for.

    ``second`` holds the only words that can come second, when these are known: a quick first test.
    """

    elements: tuple[Element, ...]
    concept: str
    second: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """Concepts that make ``sign`` when they stand within ``window`` words of one clause.

    ``level`` None means the sign's own level. ``weak`` means suspicious, not certain.
    ``unless`` lists concepts whose presence in the clause switches the rule off. ``firm``: what the
    rule asserts acts whatever the second opinion says, which has not learnt such words.
    ``alone``: nothing else is said.
    """

    sign: Sign
    concepts: tuple[str, ...]
    window: int
    level: TextLevel | None
    weak: bool
    ordered: bool
    unless: frozenset[str]
    whole_text: bool
    firm: bool
    alone: bool
    source: str


@dataclass(frozen=True, slots=True)
class Slip:
    """A common word that stands for ``concept`` when one of ``needs`` is within ``reach`` words."""

    concept: str
    needs: frozenset[str]
    reach: int = 3


@dataclass(frozen=True, slots=True)
class Lexicon:
    """Everything the reader looks up. Build it with :func:`parse_lexicon`."""

    numbers: NumberWords
    words: Mapping[str, tuple[str, ...]]
    phrases: Mapping[str, tuple[Phrase, ...]]
    slips: Mapping[str, tuple[Slip, ...]]
    rules: Mapping[str, tuple[Rule, ...]]
    emoji: Mapping[str, str]
    spellings: Mapping[str, str]
    common: frozenset[str]
    telling: frozenset[str] = frozenset()
    vocabulary: frozenset[str] = field(default_factory=frozenset)
    number_cues: NumberCues | None = None
    unhidden: frozenset[str] = frozenset()

    def repairable(self) -> frozenset[str]:
        """The vocabulary that slips are mended toward: without the words that only clear."""
        return self.vocabulary - {
            word for word, concepts in self.words.items() if set(concepts) <= _CLEARING
        }

    def weights(self) -> dict[str, int]:
        """How many rules a word can serve: of two repairs as near, the more useful one wins."""
        uses: dict[str, int] = {}
        for rule in self.every_rule():
            for concept in rule.concepts:
                uses[concept] = uses.get(concept, 0) + 1
        return {
            word: sum(uses.get(concept, 0) for concept in concepts)
            for word, concepts in self.words.items()
        }

    def every_rule(self) -> tuple[Rule, ...]:
        """All rules, each once."""
        return tuple(rule for rules in self.rules.values() for rule in rules)


def parse_lexicon(
    parts: Iterable[Mapping[str, object]],
    common: Iterable[str],
    signs: Iterable[Sign],
    numbers: NumberWords,
) -> Lexicon:
    """Build a lexicon from parsed data files.

    Each part may hold ``concepts`` (name -> entries), ``figures`` (entries), ``slips``
    (concept -> {words, near}), ``rules`` (sign -> lines), ``emoji`` (sign -> words),
    ``spellings`` (word -> other spellings), ``numbers`` (what is around a number of the body) and
    ``unhidden`` (concepts that no figure of speech hides) and ``telling`` (names of the concepts
    that by
    themselves tell of the body, a feeling or a danger). Entries are a string with commas, or a
    list of such.

    Raises LexiconError naming the entry when one cannot be used.
    """
    parts = tuple(parts)
    spellings = {
        plain(variant): plain(word)
        for part in parts
        for word, variants in _mapping(part, "spellings").items()
        for variant in _entries(variants, word)
    }
    builder = _Builder(frozenset(signs), spellings, numbers)
    for part in parts:
        builder.add(part)
    return builder.finish(frozenset(common))


class _Builder:
    def __init__(
        self, signs: frozenset[Sign], spellings: Mapping[str, str], numbers: NumberWords
    ) -> None:
        self._numbers = numbers
        self._signs = signs
        self._spellings = spellings
        self._words: dict[str, set[str]] = {}
        self._phrases: dict[str, list[Phrase]] = {}
        # Phrases are made of the same few thousand places over and over: each is kept once.
        self._elements: dict[str, Element] = {}
        self._slips: dict[str, list[Slip]] = {}
        self._rules: list[Rule] = []
        self._emoji: dict[str, str] = {}
        self._names: set[str] = {FIGURE, *FROM_NUMBERS}
        self._telling: set[str] = set()
        self._number_cues: NumberCues | None = None
        self._unhidden: set[str] = set()

    def add(self, part: Mapping[str, object]) -> None:
        for name, entries in _mapping(part, "concepts").items():
            self._names.add(name)
            for entry in _entries(entries, name):
                self._add_entry(name, entry)
        for entry in _entries(part.get("figures", []), "figures"):
            self._add_entry(FIGURE, entry)
        for name, slip in _mapping(part, "slips").items():
            self._add_slips(name, slip)
        for name, lines in _mapping(part, "rules").items():
            try:
                sign = Sign(name)
            except ValueError:
                raise LexiconError(f"rules: {name} is not a sign") from None
            if not isinstance(lines, Sequence) or isinstance(lines, str):
                raise LexiconError(f"rules: {name} must be a list")
            self._rules.extend(_parse_rule(sign, str(line)) for line in lines)
        self._telling.update(_entries(part.get("telling", []), "telling"))
        self._unhidden.update(_entries(part.get("unhidden", []), "unhidden"))
        numbers = _mapping(part, "numbers")
        if numbers:
            self._number_cues = parse_number_cues(numbers)
        for sign_text, words in _mapping(part, "emoji").items():
            self._emoji[sign_text.replace("\ufe0f", "")] = str(words)

    def _add_entry(self, concept: str, entry: str) -> None:
        elements = [self._spellings.get(plain(e), e) for e in entry.split()]
        entry = " ".join(elements)
        if len(elements) == 1 and "/" not in entry and entry != FIGURE and not entry.isupper():
            for word in _inflect(entry):
                self._words.setdefault(word, set()).add(concept)
            return
        parsed = tuple(self._element(e, entry) for e in elements)
        second = parsed[1] if len(parsed) > 1 else None
        plain_second = second is not None and not second.gap and not second.concepts
        phrase = Phrase(parsed, concept, second.words if second and plain_second else None)
        first = phrase.elements[0]
        if first.gap or phrase.elements[-1].gap:
            raise LexiconError(f"{concept}: a phrase may not begin or end with a gap: {entry}")
        for key in first.words | first.concepts:
            self._phrases.setdefault(key, []).append(phrase)

    def _element(self, text: str, entry: str) -> Element:
        if text not in self._elements:
            self._elements[text] = _parse_element(text, entry)
        return self._elements[text]

    def _add_slips(self, name: str, slip: object) -> None:
        if not isinstance(slip, Mapping):
            raise LexiconError(f"slips: {name} must hold words and near")
        needs = frozenset(str(slip.get("near", "")).split())
        for word in _entries(slip.get("words", []), name):
            made = Slip(name, needs, int(slip.get("reach", 3)))
            self._slips.setdefault(plain(word), []).append(made)

    def finish(self, common: frozenset[str]) -> Lexicon:
        rules: dict[str, list[Rule]] = {}
        used = {c for words in self._words.values() for c in words} | self._names
        for rule in self._rules:
            for concept in (*rule.concepts, *rule.unless):
                if concept not in used:
                    raise LexiconError(f"rule {rule.source}: no concept {concept}")
            if rule.sign not in self._signs:
                raise LexiconError(f"rule {rule.source}: {rule.sign} is not in the signs table")
            rules.setdefault(rule.concepts[0], []).append(rule)
        if not self._unhidden <= used:
            raise LexiconError(f"unhidden: no concept {sorted(self._unhidden - used)}")
        if not self._telling <= used:
            raise LexiconError(f"telling: no concept {sorted(self._telling - used)}")
        vocabulary = set(self._words) | set(self._slips)
        for phrases in self._phrases.values():
            for phrase in phrases:
                for element in phrase.elements:
                    vocabulary |= element.words
                    for concept in element.concepts:
                        if concept not in used:
                            raise LexiconError(f"{phrase.concept}: no concept {concept}")
        return Lexicon(
            numbers=self._numbers,
            words={word: tuple(sorted(c)) for word, c in self._words.items()},
            phrases={key: tuple(p) for key, p in self._phrases.items()},
            slips={word: tuple(s) for word, s in self._slips.items()},
            rules={key: tuple(r) for key, r in rules.items()},
            emoji=dict(self._emoji),
            spellings=dict(self._spellings),
            common=common,
            telling=frozenset(self._telling),
            vocabulary=frozenset(vocabulary),
            number_cues=self._number_cues,
            unhidden=frozenset(self._unhidden),
        )


def _mapping(part: Mapping[str, object], key: str) -> Mapping[str, object]:
    value = part.get(key) or {}
    if not isinstance(value, Mapping):
        raise LexiconError(f"{key} must be a mapping")
    return value


def _entries(value: object, where: str) -> list[str]:
    if isinstance(value, str):
        return [" ".join(e.split()) for e in value.split(",") if e.strip()]
    if isinstance(value, Sequence):
        return [entry for line in value for entry in _entries(str(line), where)]
    raise LexiconError(f"{where}: entries must be a string or a list, not {value!r}")


def _parse_element(text: str, entry: str) -> Element:
    if text in _GAPS:
        return Element(frozenset(), frozenset(), _GAPS[text])
    words: set[str] = set()
    concepts: set[str] = set()
    for option in text.split("/"):
        if not option:
            raise LexiconError(f"empty option in phrase: {entry}")
        if option.isupper() and len(option) > 1:
            concepts.add(option)
        else:
            words |= set(_inflect(option))
    return Element(frozenset(words), frozenset(concepts))


def _inflect(entry: str) -> tuple[str, ...]:
    """The words an entry stands for: ``ache+`` means ache, aches, ached, aching."""
    word = plain(entry.removesuffix("+"))
    if not entry.endswith("+"):
        return (word,)
    if re.search(r"[^aeiou]y$", word):
        return (word, word[:-1] + "ies", word[:-1] + "ied", word + "ing")
    if word.endswith("e"):
        return (word, word + "s", word + "d", word[:-1] + "ing")
    if re.search(r"(s|x|z|ch|sh)$", word):
        return (word, word + "es", word + "ed", word + "ing")
    doubled = re.search(r"[^aeiou][aeiou][bdgmnprt]$", word)
    stem = word + word[-1] if doubled and len(word) <= 5 else word
    return (word, word + "s", stem + "ed", stem + "ing")


def _parse_rule(sign: Sign, line: str) -> Rule:
    concepts: list[str] = []
    unless: set[str] = set()
    window, level = DEFAULT_WINDOW, None
    weak = ordered = whole = firm = alone = False
    for part in line.split():
        if part == "?":
            weak = True
        elif part == ">":
            ordered = True
        elif part == "@text":
            whole = True
        elif part == "=":
            firm = True
        elif part == "|":
            alone = True
        elif part.startswith("~") and part[1:].isdigit():
            window = int(part[1:])
        elif part in _LEVELS:
            level = _LEVELS[part]
        elif part.startswith("!"):
            unless.add(part[1:])
        elif part.isupper():
            concepts.append(part)
        else:
            raise LexiconError(f"rule of {sign}: {part!r} is not understood in: {line}")
    if not concepts:
        raise LexiconError(f"rule of {sign} names no concept: {line}")
    return Rule(
        sign=sign,
        concepts=tuple(concepts),
        window=window,
        level=level,
        weak=weak,
        ordered=ordered,
        unless=frozenset(unless),
        whole_text=whole,
        firm=firm,
        alone=alone,
        source=f"{sign}: {line}",
    )
