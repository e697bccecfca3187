"""Blood sugar and ketones told as numbers: what a figure means, and in which unit.

A figure counts only beside its word ("sugar", "meter says", "ketones") or its unit. Lines, mmol/L:
under 4.0 low, 14 and over high (with illness an emergency), 27.8 and over, or a meter that reads
"HI", very high; ketones 1.6 and 3.0 in blood, two plus in urine (Diabetes UK, NHS on ketoacidosis;
27.8 from memory). A clinician has yet to sign them.
"""

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from core.number_words import NumberWords, numbers_in
from core.red_flags.lexicon import MEASURED
from core.red_flags.matching import Hit, Hits
from core.red_flags.tokens import Token
from core.vocabulary import MMOL_PER_MG

HIGH, VERY_HIGH, LOW, KETONES, KETONES_HIGH = MEASURED

MMOL, MG = "mmol/L", "mg/dL"
_LOW_UNDER, _HIGH_FROM, _VERY_HIGH_FROM = 4.0, 13.9, 27.7
_MOST_MMOL = 33.9  # meters show "HI" above 33.3 mmol/L
_LEAST_MG, _MOST_MG = 20, 900
_LOW_WHOLE = 3.0  # "sugar 2" may be spoons: a whole number this small needs a verb before it
_KETONES_SOME, _KETONES_HIGH = 1.6, 3.0

_SUGAR = r"\b(?:blood )?(?:sugars?|glucose|bgls?|bsls?|bgs?|bms?|glycaemia)\b"
_METER = r"\b(?:meter|metre|monitor|sensor|libre|cgm|glucometer|finger prick|prick|pricker)\b"
_VERB = (
    r"(?:says?|said|reads?|reading|shows?|showing|showed|flashes|flashing|is|was|at|of|now|up|=)"
)
_NUMBER_WORD = (
    "zero|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen"
    "|sixteen|seventeen|eighteen|nineteen|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety"
)
_FIGURE = (
    rf"(?P<figure>\d{{1,3}}(?:[.,]\d{{1,2}})?(?!\d)"
    rf"|\b(?:{_NUMBER_WORD}|hundred)"
    rf"(?:[ -](?:{_NUMBER_WORD}|hundred|point|and(?= (?:{_NUMBER_WORD}))))*\b)"
)
_UNIT = r"\s*(?P<unit>mmols?(?:\s?/\s?l(?:itre)?)?|mg(?:\s?/?\s?dl)?|milligrams?|millimoles?)?\b"
_BETWEEN = r"(?P<between>(?:[^\w.!?]+(?:(?!\d)[\w']+)){0,5}?[^\w.!?]+)"
_AFTER_SUGAR = re.compile(rf"(?P<cue>{_SUGAR}|{_METER}){_BETWEEN}(?<![\w.,]){_FIGURE}{_UNIT}")
_BEFORE_SUGAR = re.compile(
    rf"(?<![\w.,]){_FIGURE}{_UNIT}\s+(?:(?:on|for|is|was|my|the|in|a)\s+){{0,3}}"
    rf"(?:{_METER}|blood sugar|blood glucose|glucose)\b"
)
_WITH_UNIT = re.compile(
    rf"(?<![\w.,]){_FIGURE}\s*(?P<unit>mmols?(?:\s?/\s?l(?:itre)?)?|mg\s?/?\s?dl)\b"
)
_MORE_OF_IT = re.compile(rf"^[^\w.!?]*(?:then|and then|now|again|to|and now)\s+{_FIGURE}{_UNIT}")
_SHOWS_HI = re.compile(
    rf"(?i:{_METER}|{_SUGAR}|\bit|\bmachine|\breader)\b[^.!?]{{0,25}}?"
    r"\b(?:just |only |still )?"
    r"(?:says?|said|reads?|reading|shows?|showing|flashes|flashing|displays|is|at)\s+(?:just\s+)?"
    r"[\"'“‘]?(?P<figure>HI|Hi(?=[\"'”’])|LO)\b",
)
_LOWER_HI = re.compile(
    rf"{_METER}[^.!?]{{0,12}}?\b(?:just |only |still )?(?:says?|reads?|shows?|showing|flashing)"
    r"\s+(?:just\s+)?[\"'“‘]?(?P<figure>hi|high|too high)\b"
)
_NOT_SUGAR_AFTER = re.compile(
    r"^\s*(?:%|percent|per cent|reps?|sets?|minutes?|mins?|hours?|hrs?|seconds?|secs?|days?|weeks?"
    r"|months?|years?|yrs?|kilos?|kgs?|g|grams?|grammes?|gms?|steps?|times|spoons?|teaspoons?|tsps?"
    r"|sugars?\b|lumps?|cubes?|units?|cals?|calories|pounds?|lbs?|stone|st|dollars?|euros?|quid"
    r"|metres?|meters?|miles?|km|cm|am|pm|o'?clock|packets?|bags?|cups?|slices?|biscuits?|pieces?"
    r"|tablets?|pills?|jabs?|people|of us|floors?|squats?|stairs|p\b|/|:\d|st\b|nd\b|rd\b|th\b)"
)
_NOT_SUGAR_BETWEEN = re.compile(
    r"\b(?:under|below|less|than|keep|kept|target|goal|aim|free|cut|cutting|spoons?|teaspoons?|tea"
    r"|coffee|pulse|heart|pressure|weight|age|aged|bus|page|chapter|every|for|about sugar|before"
    r"|bpm|bp|units?|took|take|taken|ate|eat|carbs?|in the last|walked|until|within|snap|peas"
    r"|a1c|hba1c|took|insulin|temp|temperature|reps?|did|after)\b|:"
)
_OTHER_METER = re.compile(
    r"(?:parking|gas|electric|electricity|smart|water|taxi|light|power|step|steps|square|baby)\s+$"
)
_KETONES_TOLD = re.compile(
    r"\b(?:ketones?|acid test|blood acid|keto(?:ne)? (?:strip|stick|test|meter))\b"
    r"(?P<between>[^.!?\d]{0,30}?)(?P<figure>\d{1,2}(?:[.,]\d)?|\b(?:one|two|three|four)\b|(?=\+\+))"
    r"\s*(?P<plus>\++|plus)?"
)


@dataclass(frozen=True, slots=True)
class Measured:
    """Figures as hits of the concepts of ``lexicon.MEASURED``, in order.

    ``unit_matters``: a sugar was told without its unit that is grave in either.
    """

    hits: tuple[Hit, ...] = ()
    unit_matters: bool = False


@dataclass(frozen=True, slots=True)
class _Told:
    """A sugar: where it stands in the text, its value in mmol/L, whether the unit is in doubt."""

    start: int
    end: int
    mmol: float
    doubtful: bool = False


def measured(text: str, tokens: Sequence[Token], unit: str | None, words: NumberWords) -> Measured:
    """The sugars and ketones told in ``text``.

    Args:
        words: the number words of the lexicon's language.
        unit: the writer's own unit ("mmol/L" or "mg/dL"); ``None`` where it is not known: then a
            whole number from 34 is mg/dL, any other mmol/L.
    """
    if not tokens or not re.search(r"\d|\+\+|hi\b|high|LO\b|" + _NUMBER_WORD, text, re.IGNORECASE):
        return Measured()
    told = sorted(_sugars(text, unit, words), key=lambda one: one.start)
    hits = [_hit(concept, one.start, one.end, tokens) for one, concept in _meaning(told)]
    hits += [_hit(concept, *span, tokens) for concept, span in _ketones(text.lower(), words)]
    return Measured(tuple(hits), any(one.doubtful for one in told))


def with_measured(hits: Hits, found: Measured) -> Hits:
    """``hits`` and those of the figures."""
    if not found.hits:
        return hits
    by_concept = dict(hits.by_concept)
    for hit in found.hits:
        by_concept[hit.concept] = sorted(
            {*by_concept.get(hit.concept, ()), hit}, key=lambda h: (h.start, h.end)
        )
    # "At 19" is an age elsewhere, not where it is a sugar.
    by_concept["PAST_FAR"] = [
        past
        for past in by_concept.get("PAST_FAR", ())
        if not any(past.start < hit.end and hit.start < past.end for hit in found.hits)
    ]
    return Hits(by_concept, hits.masked)


def _meaning(told: Sequence[_Told]) -> Iterator[tuple[_Told, str]]:
    """What each sugar stands for; of a high and a low one, only the one told last is true now."""
    named = [(one, _named(one.mmol)) for one in told]
    last = next((what for _, what in reversed(named) if what), "")
    for one, what in named:
        if what and (what == LOW) is (last == LOW):
            yield one, what


def _named(mmol: float) -> str:
    if mmol < _LOW_UNDER:
        return LOW
    if mmol >= _VERY_HIGH_FROM:
        return VERY_HIGH
    return HIGH if mmol >= _HIGH_FROM else ""


def _sugars(text: str, unit: str | None, words: NumberWords) -> Iterator[_Told]:
    lower = text.lower()
    seen: set[int] = set()
    for pattern in (_AFTER_SUGAR, _BEFORE_SUGAR, _WITH_UNIT):
        for match in pattern.finditer(lower):
            told = _sugar(match, lower, unit, words)
            if told is None or told.start in seen:
                continue
            seen.add(told.start)
            yield told
            more = _MORE_OF_IT.match(lower[told.end :])
            if more:
                yield from _next_sugar(more, told.end, unit, words)
    for pattern, said in ((_SHOWS_HI, text), (_LOWER_HI, lower)):
        for match in pattern.finditer(said):
            if not _OTHER_METER.search(lower[: match.start()]):
                low = match["figure"] == "LO"
                yield _Told(match.start("figure"), match.end("figure"), 1.0 if low else 34.0)


def _next_sugar(
    match: re.Match[str], offset: int, unit: str | None, words: NumberWords
) -> Iterator[_Told]:
    value = _value(match["figure"], words)
    if value is not None:
        mmol, doubtful = _in_mmol(value, match["unit"] or "", unit)
        if mmol is not None:
            start, end = match.span("figure")
            yield _Told(offset + start, offset + end, mmol, doubtful)


def _sugar(match: re.Match[str], text: str, unit: str | None, words: NumberWords) -> _Told | None:
    groups = match.groupdict()
    between = groups.get("between") or ""
    named = groups.get("unit") or ""
    if _NOT_SUGAR_BETWEEN.search(between) or _OTHER_METER.search(text[: match.start()]):
        return None
    if "a1c" in text[max(0, match.start() - 15) : match.end() + 12]:
        return None
    start, end = match.span("figure")
    if not named and _NOT_SUGAR_AFTER.match(text[end : end + 20]):
        return None
    cue = groups.get("cue")
    if cue and re.fullmatch(_METER, cue) and not re.search(rf"\b{_VERB}(?=\W)", between):
        return None
    value = _value(match["figure"], words)
    if value is None:
        return None
    small = value <= _LOW_WHOLE and not named and not re.search(r"[.,]|point", match["figure"])
    if small and not re.search(rf"\b{_VERB}(?=\W)", between):
        return None
    mmol, doubtful = _in_mmol(value, named, unit)
    return None if mmol is None else _Told(start, end, mmol, doubtful)


def _value(figure: str, words: NumberWords) -> float | None:
    spoken = re.sub(r"\b(one|two|three|four) ?hundred\b", r"\1 hundred", figure)
    if "point" in spoken:
        whole, _, tenth = spoken.partition("point")
        left, right = numbers_in(whole, words), numbers_in(tenth, words)
        return left[0].value + right[0].value / 10 if left and right else None
    found = numbers_in(spoken.replace(",", "."), words)
    return found[-1].value if found else None


def _in_mmol(value: float, named: str, unit: str | None) -> tuple[float | None, bool]:
    """The sugar in mmol/L, and whether its unit is in doubt: grave in both, in neither the same.

    A figure that cannot be in the writer's unit is in the other one.
    """
    if named.startswith(("mmol", "millim")):
        return (value if 0.5 < value <= _MOST_MMOL + 20 else None), False
    if named:
        return (value * MMOL_PER_MG if value <= _MOST_MG else None), False
    if value != int(value) or value < _LEAST_MG:
        # Nobody tells mg/dL with a tenth, or under 20.
        return (value if 0.5 < value <= _MOST_MMOL else None), False
    if value > _MOST_MMOL:
        return (value * MMOL_PER_MG if value <= _MOST_MG else None), False
    return (value * MMOL_PER_MG if unit == MG else value), True


def _ketones(text: str, words: NumberWords) -> Iterator[tuple[str, tuple[int, int]]]:
    for match in _KETONES_TOLD.finditer(text):
        if re.search(r"\b(?:under|below|less|diet|no|set|sets)\b", match["between"]):
            continue
        found = numbers_in(match["figure"], words) if match["figure"] else ()
        value = found[0].value if found else float(len(match["plus"] or ""))
        high = value >= 2 if match["plus"] else value >= _KETONES_HIGH
        some = value >= 1 if match["plus"] else value >= _KETONES_SOME
        if high and value <= 15:
            yield KETONES_HIGH, match.span()
        elif some and value <= 15:
            yield KETONES, match.span()


def _hit(concept: str, start: int, end: int, tokens: Sequence[Token]) -> Hit:
    """The tokens that stand between two places of the text."""
    first = max(0, bisect_right(tokens, start, key=lambda token: token.start) - 1)
    last = max(first, bisect_right(tokens, end - 1, key=lambda token: token.start) - 1)
    return Hit(concept, first, last + 1)
