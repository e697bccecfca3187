"""Finds numbers of the body in free words: pressure, sugar, pulse, temperature and their like.

A number counts only beside its word, its unit, or (a pressure) as a pair. What it means is not
said here. Whose it is and of when follows the words around it, as for the signs.
"""

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from core.number_words import NumberWords
from core.red_flags.clauses import Clauses
from core.red_flags.matching import Hits
from core.red_flags.number_cues import KindWords, NumberCues
from core.red_flags.scope import far_year
from core.red_flags.spoken_numbers import spoken_numbers
from core.red_flags.tokens import Token
from core.told_number import NumberKind, OffScale, ToldNumber, When, Who

_FIGURE = re.compile(r"(?<![\w.,:])\d{1,3}(?:[.,]\d{1,2})?(?![\d]|[.,:]\d)")
_STOP = re.compile(r"[!?\n;]|\.(?!\d)")
_WORDS_BETWEEN = 7  # from the word that names it to the number
_WORDS_AFTER = 6
_MORE = re.compile(
    r"^[^.!?\d]{0,6}?"
    r"(?:\s*(?:then|and|now|to|again|,|or|-|–|later|sitting|sat down|down|walking)\s*){1,3}"
    r"[^\w.!?]*$"
)
_ON_THE = frozenset(["on", "by", "the", "my", "his", "her"])
_WHOLE = frozenset([NumberKind.PULSE, NumberKind.OXYGEN])
"""Kinds that no device shows with a tenth."""


@dataclass(frozen=True, slots=True)
class _Figure:
    value: float
    start: int
    end: int
    whole: bool  # written without a decimal
    spoken: bool = False


@dataclass(frozen=True, slots=True)
class _Cue:
    words: KindWords
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class HeardText:
    """What the finder reads: the text, its tokens and concepts, and who writes it."""

    text: str
    tokens: Sequence[Token]
    hits: Hits
    clauses: Clauses
    by_another: bool = False
    after_effort: bool = False


def find_numbers(
    scene: HeardText, words: NumberCues, language: NumberWords
) -> tuple[ToldNumber, ...]:
    """All numbers of the body in a text, in order; those of others, of before and aims too."""
    lower = _lower(scene.text)
    figures = _figures(lower, words, language)
    shown = words.may_show.search(lower) is not None
    if not figures and not shown:
        return ()
    cues = _cues(scene, words)
    found = list(_shown_words(scene, cues, words)) if shown else []
    found += _Binding(scene, words, lower, figures, cues).all()
    return tuple(sorted(found, key=lambda one: one.start))


def _lower(text: str) -> str:
    """``text`` in lower case, each letter in its own place."""
    if text.isascii():
        return text.lower()
    return "".join(low if len(low := letter.lower()) == 1 else letter for letter in text)


def _figures(lower: str, words: NumberCues, language: NumberWords) -> list[_Figure]:
    found = [
        _Figure(
            float(match.group().replace(",", ".")),
            match.start(),
            match.end(),
            whole=match.group().isdigit(),
        )
        for match in _FIGURE.finditer(lower)
    ]
    found += [
        _Figure(one.value, one.start, one.end, whole=one.value == int(one.value), spoken=True)
        for one in spoken_numbers(lower, language)
    ]
    found.sort(key=lambda one: one.start)
    joined: list[_Figure] = []
    half = " ".join(("", *language.and_a_half))
    for one in found:
        last = joined[-1] if joined else None
        if last and last.whole and one.whole and one.value < 10:
            link = lower[last.end : one.start]
            said = last.spoken is one.spoken and link == " " and 34 <= last.value <= 42
            if words.point.fullmatch(link) or said:
                # "100 point 8", and a temperature said as "thirty nine two".
                value = last.value + one.value / 10
                joined[-1] = _Figure(value, last.start, one.end, whole=False, spoken=last.spoken)
                continue
        if lower.startswith(half, one.end):
            one = replace(one, value=one.value + 0.5, end=one.end + len(half), whole=False)
        joined.append(one)
    return joined


def _cues(scene: HeardText, words: NumberCues) -> list[_Cue]:
    seeming = scene.hits.of("NUM_NOT")
    found = []
    for kind in words.kinds:
        for hit in scene.hits.of(kind.cue):
            if not any(hit.start < s.end and s.start < hit.end for s in seeming):
                start, end = scene.tokens[hit.start].start, scene.tokens[hit.end - 1].end
                found.append(_Cue(kind, start, end))
    # A "heart rate monitor" is no monitor of sugar: the longest name wins.
    longest = [
        cue
        for cue in found
        if not any(
            one.start <= cue.start
            and cue.end <= one.end
            and one.end - one.start > cue.end - cue.start
            for one in found
        )
    ]
    return sorted(longest, key=lambda cue: (cue.start, -cue.end))


class _Binding:
    """Binds the numbers of one text to what they are numbers of."""

    def __init__(
        self,
        scene: HeardText,
        words: NumberCues,
        lower: str,
        figures: list[_Figure],
        cues: list[_Cue],
    ) -> None:
        self._scene = scene
        self._words = words
        self._lower = lower
        self._figures = figures
        self._cues = cues
        self._of = {kind.kind: kind for kind in words.kinds}

    def all(self) -> list[ToldNumber]:
        found: list[ToldNumber] = []
        at = 0
        while at < len(self._figures):
            pair = self._pair(at)
            if pair is not None:
                found += pair
                at += 1 + len(pair)
                continue
            one = self._single(at, found)
            if one is not None:
                found = (
                    [*found[:-1], one] if found and found[-1].start == one.start else [*found, one]
                )
            at += 1
        return found

    def _pair(self, at: int) -> list[ToldNumber] | None:
        """A pressure, and the pulse that a cuff shows third."""
        if at + 1 >= len(self._figures):
            return None
        top, low = self._figures[at], self._figures[at + 1]
        link = self._lower[top.end : low.start]
        kind = self._of[NumberKind.PRESSURE]
        named = any(
            cue.words is kind and self._same_sentence(cue.start, top.start) for cue in self._cues
        )
        if not (
            self._words.pair.fullmatch(link)
            or self._words.pair_by_place.fullmatch(link)
            or (named and self._words.pair_beside_word.fullmatch(link))
        ):
            return None
        least, most = kind.ranges["mmHg"]
        values = (top.value, low.value)
        unit = "mmHg"
        if not (least <= top.value <= most and kind.second[0] <= low.value <= kind.second[1]):
            # In some languages a pressure is told in centimetres of mercury.
            if not (named and 9 <= top.value <= 26 and 4 <= low.value <= 16):
                return None
            unit = ""
        elif top.value - low.value < 15:
            return None
        if self._words.other_after.match(self._lower, low.end):
            return None
        if not (top.whole and low.whole):
            return None
        found = [self._told(kind.kind, values, unit, top.start, low.end)]
        if at + 2 < len(self._figures) and unit:
            third = self._figures[at + 2]
            between = self._lower[low.end : third.start].strip()
            if between == "/" and 25 <= third.value <= 220 and third.whole:
                found.append(
                    self._told(NumberKind.PULSE, (third.value,), "bpm", third.start, third.end)
                )
        return found

    def _single(self, at: int, before: Sequence[ToldNumber]) -> ToldNumber | None:
        """The number at ``at``: named by its unit, a word before it, or a word after it."""
        figure = self._figures[at]
        more = self._more_of(figure, before)
        if more is not None:
            return more
        for kind in self._candidates(figure):
            unit = self._unit_of(kind, figure)
            if unit is None or (kind.unless and self._scene.hits.of(kind.unless)):
                continue
            end = self._unit_end(kind, unit, figure)
            if end == figure.end and self._is_other(figure, figure.end):
                if not unit.startswith("in "):
                    continue
            elif end == figure.end and self._other_before(figure):
                continue
            return self._told(kind.kind, (figure.value,), unit, figure.start, end)
        return None

    def _more_of(self, figure: _Figure, before: Sequence[ToldNumber]) -> ToldNumber | None:
        """One more of the kind just told: "ninety three, then ninety four"."""
        if not before or before[-1].kind is NumberKind.PRESSURE or before[-1].off_scale:
            return None
        last = before[-1]
        between = self._lower[last.end : figure.start]
        named = any(last.end <= cue.start < figure.start for cue in self._cues)
        stones = last.unit == "st" and between == " " and figure.value < 14
        if named or not (stones or _MORE.match(between)):
            return None
        kind = self._of[last.kind]
        if stones:
            return replace(last, values=(*last.values, figure.value), end=figure.end)
        unit = self._unit_of(kind, figure)
        if unit is None or self._is_other(figure, self._unit_end(kind, unit, figure)):
            return None
        end = self._unit_end(kind, unit, figure)
        told_unit = last.unit or unit if end == figure.end else unit
        return replace(last, values=(*last.values, figure.value), unit=told_unit, end=end)

    def _candidates(self, figure: _Figure) -> Iterator[KindWords]:
        """Kinds that this number may be of, the likeliest first."""
        sure = [
            kind
            for kind in self._words.kinds
            if kind.sure_unit is not None
            and figure.value >= kind.sure_from
            and kind.sure_unit.match(self._lower, figure.end)
            and not (kind.sure_unless and self._scene.hits.of(kind.sure_unless))
        ]
        yield from sure
        ahead = [cue for cue in self._cues if cue.end <= figure.start]
        for cue in sorted(ahead, key=lambda one: (-one.end, one.start)):
            between = self._lower[cue.end : figure.start]
            if _STOP.search(between) or len(between.split()) > _WORDS_BETWEEN:
                break
            if self._fits(cue, figure, between, ahead=True):
                yield cue.words
        behind = [cue for cue in self._cues if cue.start >= figure.end]
        for cue in behind:
            between = self._lower[figure.end : cue.start]
            if _STOP.search(between) or len(between.split()) > _WORDS_AFTER:
                break
            if any(figure.end < other.start < cue.start for other in self._figures):
                break
            if self._has_its_own(cue):
                continue
            if self._fits(cue, figure, between, ahead=False):
                yield cue.words

    def _has_its_own(self, cue: _Cue) -> bool:
        """A number follows this word at once, so that one before it is not the one it names."""
        following = next((one for one in self._figures if one.start >= cue.end), None)
        return following is not None and len(self._lower[cue.end : following.start].split()) <= 1

    def _fits(self, cue: _Cue, figure: _Figure, between: str, *, ahead: bool) -> bool:
        kind = cue.words
        if self._words.between_not.search(between):
            return False
        if kind.kind is NumberKind.PRESSURE:
            single = kind.single
            near = self._lower[max(0, cue.start - 6) : figure.end + 14]
            return bool(single and single.search(near))
        has_unit = any(unit.match(self._lower, figure.end) for unit in kind.units.values())
        if kind.vague is not None and kind.vague.search(self._lower, 0, cue.end):
            return has_unit or self._fits_vaguely(kind, figure)
        if kind.ahead_only and not ahead and cue.start - self._told_end(kind, figure) > 2:
            return False
        if kind.needs_unit:
            return has_unit
        needs = kind.needs_verb is not None and kind.needs_verb.search(self._lower, 0, cue.end)
        if figure.whole and figure.value <= kind.small and not has_unit:
            # "Sugar 2" may be spoons, and "tried two fingers" is no reading.
            return bool(self._words.shows.search(" ".join(between.split()[-2:])))
        if not needs or has_unit:
            return True
        tight = not between.strip(" :=~-")
        if tight or self._words.shows.search(between):
            return True
        # "155 on the watch", but not "38 sets, said the watch".
        close = set(between.split()) <= _ON_THE
        return not ahead and (close or kind.kind is not NumberKind.PULSE)

    def _fits_vaguely(self, kind: KindWords, figure: _Figure) -> bool:
        """Whether a number beside a word for any reading can be one of these and nothing else."""
        least, most = kind.vague_range
        named = any(cue.words is not kind for cue in self._cues)
        others = named or self._scene.hits.of("NUM_NOT")
        return not figure.whole and least <= figure.value <= most and not others

    def _unit_of(self, kind: KindWords, figure: _Figure) -> str | None:
        """The unit told, "" where none was; None where the number cannot be one of these."""
        part = self._part_of_minute(figure) if kind.kind is NumberKind.PULSE else ""
        if part:
            return part if 5 <= figure.value <= 110 else None
        for unit, pattern in kind.units.items():
            if pattern.match(self._lower, figure.end):
                least, most = kind.ranges.get(unit, (0.0, 4.0))
                if least <= figure.value <= most:
                    return unit
                sugar = kind.kind is NumberKind.SUGAR
                return self._other_unit(kind, figure) if sugar else None
        if not figure.whole and kind.kind in _WHOLE:
            return None
        return self._other_unit(kind, figure)

    @staticmethod
    def _other_unit(kind: KindWords, figure: _Figure) -> str | None:
        """No unit was told: the only one that the number fits, or "" where it fits several."""
        fitting = [
            unit for unit, (least, most) in kind.ranges.items() if least <= figure.value <= most
        ]
        if kind.kind is NumberKind.SUGAR and not figure.whole and figure.value <= 60:
            fitting = ["mmol/L"]  # nobody tells mg/dL with a tenth
        if not fitting:
            return None
        return fitting[0] if len(fitting) == 1 else ""

    def _told_end(self, kind: KindWords, figure: _Figure) -> int:
        """The end of the number with whatever unit is told behind it."""
        ends = [
            match.end()
            for unit in kind.units.values()
            if (match := unit.match(self._lower, figure.end))
        ]
        return max(ends, default=figure.end)

    def _unit_end(self, kind: KindWords, unit: str, figure: _Figure) -> int:
        pattern = kind.units.get(unit)
        match = pattern.match(self._lower, figure.end) if pattern else None
        return match.end() if match else figure.end

    def _part_of_minute(self, figure: _Figure) -> str:
        if self._words.half_minute.match(self._lower, figure.end):
            return "in 30 s"
        return "in 15 s" if self._words.quarter_minute.match(self._lower, figure.end) else ""

    def _is_other(self, figure: _Figure, end: int) -> bool:
        """The words around say that it is a number of something else."""
        return bool(self._words.other_after.match(self._lower, end)) or self._other_before(figure)

    def _other_before(self, figure: _Figure) -> bool:
        """A word right before says so, and is no part of what names it ("top number")."""
        named = max((cue.end for cue in self._cues if cue.end <= figure.start), default=0)
        return bool(self._words.other_before.search(self._lower[named : figure.start]))

    def _same_sentence(self, one: int, other: int) -> bool:
        return self._sentence(one) == self._sentence(other)

    def _sentence(self, position: int) -> tuple[int, int]:
        return self._scene.clauses.sentence_of(_token_at(self._scene, position))

    def _told(
        self, kind: NumberKind, values: tuple[float, ...], unit: str, start: int, end: int
    ) -> ToldNumber:
        return told_of(self._scene, ToldNumber(kind, values, unit, Who.SELF, When.NOW, start, end))


def told_of(scene: HeardText, number: ToldNumber) -> ToldNumber:
    """``number`` with whose it is, of when, and whether it was taken in exertion."""
    at = _token_at(scene, number.start)
    sentence = scene.clauses.sentence_of(at)
    return replace(
        number,
        who=_who(scene, at, sentence),
        when=_when(scene, at, sentence),
        after_effort=_after_effort(scene, sentence),
        days=_days(scene, sentence) if number.kind is NumberKind.WEIGHT_GAIN else None,
    )


def _token_at(scene: HeardText, position: int) -> int:
    return max(0, bisect_right(scene.tokens, position, key=lambda token: token.start) - 1)


def _who(scene: HeardText, at: int, sentence: tuple[int, int]) -> Who:
    """The nearest person named before the number, else the one right after it, else the writer."""
    hits = scene.hits
    staff = {hit.start for hit in hits.of("NUM_STAFF")}
    if scene.by_another:
        return Who.OTHER
    people = [
        hit
        for concept in ("PERSON", "THEY")
        for hit in hits.within(concept, sentence[0], at)
        if hit.start not in staff
    ]
    own = [
        hit
        for concept in ("SELF", "MY")
        for hit in hits.within(concept, sentence[0], at)
        # "My husband" is no word of my own.
        if not any(0 <= person.start - hit.end <= 1 for person in people)
    ]
    of_them = [
        hit
        for hit in hits.within("PERSON", at, min(sentence[1], at + 12))
        if hit.start > 1
        and scene.tokens[hit.start - 1].word in ("my", "our", "the")
        and scene.tokens[hit.start - 2].word in ("of", "on", "for")
        and hit.start not in staff
    ]
    if of_them:
        return Who.OTHER
    last_person = max((hit.start for hit in people), default=-1)
    last_own = max((hit.start for hit in own), default=-1)
    if last_person > last_own:
        return Who.OTHER
    if last_own < 0:
        behind = [
            hit
            for concept in ("PERSON", "THEY")
            for hit in hits.within(concept, at, min(sentence[1], at + 9))
            if hit.start not in staff
        ]
        if any(
            scene.tokens[hit.start - 1].word in ("my", "of", "for", "on") or hit.start - at <= 4
            for hit in behind
            if hit.start
        ):
            return Who.OTHER
        earlier = [
            h
            for c in ("PERSON", "THEY")
            for h in hits.within(c, max(0, sentence[0] - 14), sentence[0])
            if h.start not in staff
        ]
        mine = [
            h
            for c in ("SELF", "MY")
            for h in hits.within(c, max(0, sentence[0] - 14), sentence[0])
            if not any(0 <= p.start - h.end <= 1 for p in earlier)
        ]
        if earlier and not mine:
            return Who.OTHER
    return Who.SELF


def _when(scene: HeardText, at: int, sentence: tuple[int, int]) -> When:
    hits = scene.hits
    gone = hits.any_within(("NUM_GONE_UNDER",), sentence[0], at + 1)
    aim = hits.any_within(("NUM_AIM", "IF"), sentence[0], at + 1)
    under = hits.any_within(("NUM_UNDER",), max(sentence[0], at - 2), at) and not gone
    after = hits.any_within(("NUM_AIM_AFTER",), at, min(sentence[1], at + 8))
    asks = scene.tokens[at].asks and (
        hits.any_within(("ASKING_PLAIN", "IF_EVER"), *sentence)
        or (
            any(hit.start == sentence[0] for hit in hits.within("ASKING", *sentence))
            and not hits.any_within(("MY", "SELF"), *sentence)
        )
    )
    if aim or under or after or asks:
        return When.AIM
    clause = scene.clauses.clause_of(at)
    now = hits.any_within(("TODAY", "NOW"), *clause)
    past = [
        hit
        for concept in ("NUM_PAST", "PAST_FAR")
        for hit in hits.within(concept, *sentence)
        # "At 19" is an age elsewhere, not where it is a sugar.
        if not hit.start <= at < hit.end
        and (hit.start < at or not _figure_after(hit.end, sentence, scene))
    ]
    if (past and not now) or far_year(*sentence, scene.tokens):
        return When.PAST
    told = [hit.start for hit in past if clause[0] <= hit.start < clause[1]]
    if told:
        late = [h.start for c in ("TODAY", "NOW") for h in hits.within(c, *clause)]
        if min(abs(one - at) for one in told) < min(abs(one - at) for one in late):
            return When.PAST
    return When.NOW


def _figure_after(token: int, sentence: tuple[int, int], scene: HeardText) -> bool:
    """ "130, it used to be 66": what follows a word of the past is the number of the past."""
    return any(one.word.isdigit() for one in scene.tokens[token : sentence[1]])


def _after_effort(scene: HeardText, sentence: tuple[int, int]) -> bool:
    resting = scene.hits.any_within(("NUM_AT_REST",), *sentence)
    return scene.after_effort or (scene.hits.any_within(("NUM_EFFORT",), *sentence) and not resting)


def _days(scene: HeardText, sentence: tuple[int, int]) -> int | None:
    """Seven where days are told of, three where single ones; None over longer or unknown times."""
    if scene.hits.any_within(("NUM_LONG",), *sentence):
        return None
    return 7 if scene.hits.any_within(("NUM_DAYS",), *sentence) else None


def _is_device(cue: _Cue, lower: str) -> bool:
    return bool(cue.words.needs_verb and cue.words.needs_verb.search(lower, 0, cue.end))


def _shown_words(scene: HeardText, cues: Sequence[_Cue], words: NumberCues) -> Iterator[ToldNumber]:
    """What a sugar meter shows instead of a number: "HI" or "LO"."""
    sugar = [cue for cue in cues if cue.words.kind is NumberKind.SUGAR]
    lower = _lower(scene.text)
    for pattern, shown in ((words.shows_high, OffScale.HIGH), (words.shows_low, OffScale.LOW)):
        for match in pattern.finditer(scene.text):
            named = match.lastgroup or "plain"
            plain = named == "plain" and not match[named].isupper()
            near = [
                cue
                for cue in sugar
                # In small letters only a meter says it: "sugar bowl is low".
                if not (plain and not _is_device(cue, lower))
                and not _STOP.search(
                    scene.text[min(cue.end, match.end()) : max(cue.start, match.start())]
                )
                and abs(cue.start - match.start()) < 60
            ]
            # In small letters it is a greeting, unless the meter says it.
            start = match.start(named)
            by_it = not plain and words.shown.search(lower, 0, start)
            if not by_it and (not near or (plain and all(cue.end > start for cue in near))):
                continue
            told = ToldNumber(
                NumberKind.SUGAR, (), "", Who.SELF, When.NOW, start, match.end(), off_scale=shown
            )
            yield told_of(scene, told)
            break
