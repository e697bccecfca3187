"""Where the lexicon's concepts and rules stand in a text.

Cost is bounded: each token tries only the phrases that begin with its word or one of its concepts,
a gap spans at most five words, and a rule looks only at concepts that are present.
"""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from core.red_flags.lexicon import FIGURE, NUMBER_CUE, Element, Lexicon, Rule
from core.red_flags.tokens import Gap, Token

_COMMA_WORDS = 2  # a list of news is not one piece of news: a comma keeps its sides apart
MOST_ANCHORS = 40  # places of one concept that are tried: enough for any honest message


@dataclass(frozen=True, slots=True)
class Hit:
    """A concept found at tokens ``start`` up to, not including, ``end``."""

    concept: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Match:
    """A rule satisfied: the tokens it spans and the hits that satisfy it."""

    rule: Rule
    start: int
    end: int
    hits: tuple[Hit, ...]


@dataclass(frozen=True, slots=True)
class Hits:
    """All concepts of a text, by name, each list in order of position."""

    by_concept: dict[str, list[Hit]]
    masked: frozenset[int]

    def of(self, concept: str) -> Sequence[Hit]:
        """The hits of ``concept``, first to last."""
        return self.by_concept.get(concept, ())

    def has_any(self, concepts: Iterable[str]) -> bool:
        """Whether any of ``concepts`` is there."""
        return any(self.by_concept.get(concept) for concept in concepts)

    def within(self, concept: str, start: int, end: int) -> list[Hit]:
        """The hits of ``concept`` that lie wholly in tokens [start, end)."""
        listed = self.by_concept.get(concept)
        if not listed:
            return []
        first = bisect_left(listed, start, key=_start)
        return [h for h in listed[first : bisect_left(listed, end, key=_start)] if h.end <= end]

    def any_within(self, concepts: Sequence[str], start: int, end: int) -> bool:
        """Whether any of ``concepts`` lies wholly in tokens [start, end)."""
        return any(self.within(concept, start, end) for concept in concepts)


def find_hits(tokens: Sequence[Token], lexicon: Lexicon) -> Hits:
    """Every concept in ``tokens``; those under a figure of speech are left out."""
    concepts_at = [lexicon.words.get(t.word, ()) for t in tokens]
    concepts_at = _with_slips(tokens, concepts_at, lexicon)
    hits: list[Hit] = []
    masked: set[int] = set()
    for index, token in enumerate(tokens):
        following = tokens[index + 1].word if index + 1 < len(tokens) else ""
        hits.extend(Hit(concept, index, index + 1) for concept in concepts_at[index])
        for key in (token.word, *concepts_at[index]):
            for phrase in lexicon.phrases.get(key, ()):
                if phrase.second is not None and following not in phrase.second:
                    continue
                end = _phrase_end(phrase.elements, 0, index, tokens, concepts_at)
                if end:
                    if phrase.concept == FIGURE:
                        masked.update(range(index, end))
                    else:
                        hits.append(Hit(phrase.concept, index, end))
    by_concept: dict[str, list[Hit]] = {}
    for hit in sorted(set(hits), key=lambda h: (h.start, h.end, h.concept)):
        hidden = masked and any(i in masked for i in range(hit.start, hit.end))
        shown = hit.concept.startswith(NUMBER_CUE) or hit.concept in lexicon.unhidden
        if shown or not hidden:
            by_concept.setdefault(hit.concept, []).append(hit)
    _drop_false_cues(by_concept, "NEG", "PSEUDO_NEG")
    _drop_false_cues(by_concept, "IF", "PSEUDO_IF")
    _drop_false_cues(by_concept, "PERSON", "PSEUDO_PERSON")
    _drop_false_cues(by_concept, "RETURNED", "PSEUDO_RETURNED")
    return Hits(by_concept, frozenset(masked))


def _drop_false_cues(by_concept: dict[str, list[Hit]], cue: str, pseudo: str) -> None:
    """Take out cues that only look like one ("not going away" denies nothing)."""
    seeming = by_concept.get(pseudo)
    if seeming and cue in by_concept:
        by_concept[cue] = [
            hit for hit in by_concept[cue] if not any(_overlap(hit, s) for s in seeming)
        ]


def _with_slips(
    tokens: Sequence[Token], concepts_at: list[tuple[str, ...]], lexicon: Lexicon
) -> list[tuple[str, ...]]:
    """Add the concept behind a real-word slip ("cheat pain") where its company is near."""
    widened = list(concepts_at)
    for index, token in enumerate(tokens):
        for slip in lexicon.slips.get(token.word, ()):
            near = concepts_at[max(0, index - slip.reach) : index + slip.reach + 1]
            if any(c in slip.needs for concepts in near for c in concepts):
                widened[index] = (*widened[index], slip.concept)
    return widened


def _phrase_end(
    elements: Sequence[Element],
    at: int,
    index: int,
    tokens: Sequence[Token],
    concepts_at: Sequence[tuple[str, ...]],
) -> int:
    """The token after the phrase when it matches from ``index``, else 0. Never crosses a stop."""
    for place in range(at, len(elements)):
        element = elements[place]
        if element.gap:
            for skip in range(element.gap + 1):
                end = _phrase_end(elements, place + 1, index + skip, tokens, concepts_at)
                if end:
                    return end
                if index + skip >= len(tokens) or tokens[index + skip].gap is Gap.STOP:
                    return 0
            return 0
        if index >= len(tokens) or (place > 0 and tokens[index].gap is Gap.STOP):
            return 0
        if tokens[index].word not in element.words and not any(
            c in element.concepts for c in concepts_at[index]
        ):
            return 0
        index += 1
    return index


def find_matches(
    hits: Hits, lexicon: Lexicon, clauses: Sequence[tuple[int, int]], tokens: Sequence[Token]
) -> list[Match]:
    """Every rule satisfied within one of ``clauses`` (token ranges)."""
    length = len(tokens)
    places = _places(tokens)
    matches: list[Match] = []
    for key, rules in lexicon.rules.items():
        anchors = hits.by_concept.get(key)
        if not anchors:
            continue
        for rule in rules:
            if any(c not in hits.by_concept for c in rule.concepts[1:]):
                continue
            for anchor in _bounded(anchors):
                span = (0, length) if rule.whole_text else _clause_of(anchor, clauses)
                match = _complete(rule, anchor, span, hits, places)
                if match is not None:
                    matches.append(match)
    return matches


def _clause_of(hit: Hit, clauses: Sequence[tuple[int, int]]) -> tuple[int, int]:
    index = bisect_left(clauses, (hit.start + 1, 0)) - 1
    return clauses[max(0, index)]


def _places(tokens: Sequence[Token]) -> list[int]:
    """Where each token stands when every comma counts as so many words more."""
    places: list[int] = []
    at = 0
    for token in tokens:
        at += _COMMA_WORDS if token.gap is Gap.COMMA else 0
        places.append(at)
        at += 1
    return [*places, at]


def _complete(
    rule: Rule, anchor: Hit, span: tuple[int, int], hits: Hits, places: Sequence[int]
) -> Match | None:
    """The nearest hit of each other concept of ``rule`` around ``anchor``, if within its window."""
    start, end = anchor.start, anchor.end
    if anchor.end > span[1]:
        return None
    chosen = [anchor]
    window = max(rule.window, 400 if rule.whole_text else 0)
    for concept in rule.concepts[1:]:
        best: Hit | None = None
        best_width = window + 1
        listed = hits.by_concept[concept]
        first = bisect_left(listed, start - window, key=_start)
        for hit in _bounded(listed[first : bisect_left(listed, end + window, key=_start)]):
            if hit.start < span[0] or hit.end > span[1] or any(_overlap(hit, c) for c in chosen):
                continue
            if rule.ordered and hit.start < chosen[-1].end:
                continue
            width = places[max(end, hit.end) - 1] - places[min(start, hit.start)] + 1
            if width < best_width:
                best, best_width = hit, width
        if best is None:
            return None
        chosen.append(best)
        start, end = min(start, best.start), max(end, best.end)
    if any(hits.within(concept, *span) for concept in rule.unless):
        return None
    if rule.alone and end - start < len(places) - 1:
        return None
    return Match(rule, start, end, tuple(chosen))


def _start(hit: Hit) -> int:
    return hit.start


def _bounded(listed: Sequence[Hit]) -> Sequence[Hit]:
    """``listed``, or its two ends when a text says the same thing over and over."""
    if len(listed) <= MOST_ANCHORS:
        return listed
    half = MOST_ANCHORS // 2
    return (*listed[:half], *listed[-half:])


def _overlap(a: Hit, b: Hit) -> bool:
    return a.start < b.end and b.start < a.end
