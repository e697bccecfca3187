"""The red-flag reader: any text to a level, its signs, and the words that decided.

Recall first. What the writer asserts acts at once; what is only suspicious, or cleared only
doubtfully, becomes one question; what is plainly denied, past, supposed or another's is let go.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace

from core.red_flags.clauses import split_clauses
from core.red_flags.excerpt import excerpt
from core.red_flags.lexicon import FROM_NUMBERS, OF_LIFE, Lexicon
from core.red_flags.matching import Hit, Hits, Match, find_hits, find_matches
from core.red_flags.mother_tongues import ForeignWords, Tongue, foreign_words
from core.red_flags.number_cues import NumberCues
from core.red_flags.number_finder import HeardText, find_numbers
from core.red_flags.opinion import Evidence, SecondOpinion, Thresholds
from core.red_flags.reading import LOUDNESS, Mention, Reading, TextReason, TextReasonCode
from core.red_flags.run_together import put_spaces
from core.red_flags.scope import PreparedText, Status, is_by_another, status_of
from core.red_flags.signs import SignTable
from core.red_flags.spelling import Speller
from core.red_flags.tokens import MAX_CHARS, Token, contracted, tokenise, visible
from core.red_flags.weighing import weighed
from core.told_number import NumberBand, NumberKind, ToldNumber, When, Who
from core.vocabulary import Condition, Sign, TextLevel

_DOUBTS = frozenset(
    [
        Status.NEGATED_PERHAPS,
        Status.PAST_PERHAPS,
        Status.SUPPOSED_PERHAPS,
        Status.OTHER_PERHAPS,
        Status.ORDINARY_PERHAPS,
    ]
)
_OF_SOMEBODY = frozenset([Status.ASSERTED, Status.GONE, Status.OTHER_PERHAPS])
_STANDS = frozenset([Status.ASSERTED, Status.GONE, Status.OTHER_NOW])


_PLACE = {sign: place for place, sign in enumerate(Sign)}
"""Of signs as loud as each other the one that stands first comes first."""

NumberJudge = Callable[[ToldNumber, str | None, Set[Condition]], Sequence[NumberBand]]
"""What a number told means: (number, the writer's unit of sugar, conditions) -> its bands."""


@dataclass(frozen=True, slots=True)
class Writer:
    """What is known of who writes.

    Attributes:
        glucose_unit: in which blood sugar is told ("mmol/L", "mg/dL"); None: not known.
        conditions: as told at joining.
        after_effort: exertion has ended within the last minutes.
    """

    glucose_unit: str | None = None
    conditions: frozenset[Condition] = frozenset()
    after_effort: bool = False


class Reader:
    """Reads texts for warning signs; immutable, safe to share between threads."""

    def __init__(
        self,
        signs: SignTable,
        lexicon: Lexicon,
        second_opinion: SecondOpinion | None = None,
        thresholds: Thresholds | None = None,
        judge: NumberJudge | None = None,
        tongues: Sequence[Tongue] = (),
    ) -> None:
        """Nothing is read yet; all is looked up in what is handed in.

        Args:
            judge: what a number told means; without it numbers are found and mean nothing.
            tongues: other languages, of which only a few phrases are known.
        """
        self._signs = signs
        self._lexicon = lexicon
        self._second_opinion = second_opinion
        self._thresholds = thresholds or Thresholds()
        self._judge = judge
        self._tongues = tongues
        self._speller = Speller(lexicon.repairable(), lexicon.common, lexicon.weights())

    def read(self, text: str, writer: Writer | None = None) -> Reading:
        """The reading of ``text``; the first 4,096 characters count, all of a chat message.

        Args:
            writer: what is known of who writes, where it is known.
        """
        foreign = foreign_words(visible(text[:MAX_CHARS]), self._tongues)
        text = put_spaces(visible(text[:MAX_CHARS]), self._speller)
        scene = self._scene(text, writer or Writer())
        reading = self._by_words(text, scene)
        if foreign is None:
            return self._heard_twice(reading, text, scene) if scene.tokens else reading
        if any(mention.sign in foreign.signs for mention in reading.mentions):
            # The lexicon knows these words too, and their scope.
            return replace(self._heard_twice(reading, text, scene), tongue=foreign.tongue)
        # The second opinion knows English only.
        return _in_another_language(reading, foreign)

    def skim(self, text: str) -> Reading:
        """The reading of ``text`` by the lexicon alone: to find out what is to be read first."""
        foreign = foreign_words(visible(text[:MAX_CHARS]), self._tongues)
        text = put_spaces(visible(text[:MAX_CHARS]), self._speller)
        reading = self._by_words(text, self._scene(text, Writer()))
        return reading if foreign is None else _in_another_language(reading, foreign)

    def _by_words(self, text: str, scene: PreparedText) -> Reading:
        if not scene.tokens:
            return self._from_mentions((), {})
        spans = self._mentions(text, scene)
        return _told_of(self._from_mentions(tuple(spans), spans), scene)

    def _heard_twice(self, reading: Reading, text: str, scene: PreparedText) -> Reading:
        """``reading`` weighed against the second opinion, where there is one to be had."""
        tokens, hits = scene.tokens, scene.hits
        # What is meant by one word that nobody knows, no model can say.
        unknown = len(tokens) == 1 and not self._speller.knows(tokens[0].word)
        if (
            self._second_opinion is None
            or unknown
            or (reading.level is TextLevel.EMERGENCY and (reading.signs == (Sign.SELF_HARM,)))
        ):
            return reading
        evidence = Evidence(
            telling=hits.has_any(self._lexicon.telling),
            of_life=bool(hits.of(OF_LIFE)),
            figure=bool(hits.masked),
        )
        opinion = self._second_opinion(self._excerpt(text, scene))
        return weighed(reading, opinion, evidence, self._signs, self._thresholds)

    def for_second_opinion(self, text: str) -> str:
        """What of ``text`` the second opinion reads, and how: it is trained on no other."""
        text = put_spaces(visible(text[:MAX_CHARS]), self._speller)
        return self._excerpt(text, self._scene(text, Writer()))

    def _excerpt(self, text: str, scene: PreparedText) -> str:
        part = text[:MAX_CHARS]
        return excerpt(part, scene.tokens, scene.clauses, scene.hits, self._lexicon.telling)

    def numbers_in(self, text: str) -> tuple[ToldNumber, ...]:
        """The numbers of the body told in ``text``: everybody's, of any time, and aims."""
        return self._scene(put_spaces(visible(text[:MAX_CHARS]), self._speller), Writer()).numbers

    def _scene(self, text: str, writer: Writer) -> PreparedText:
        """``text``, its spaces put back, as words, concepts, numbers and clauses."""
        tokens = self._speller.repair_all(self._one_spelling(text))
        hits = find_hits(tokens, self._lexicon)
        scene = PreparedText(tokens, hits, split_clauses(tokens, hits))
        if self._lexicon.number_cues is None or not tokens:
            return scene
        found = find_numbers(
            HeardText(text, tokens, hits, scene.clauses, is_by_another(scene), writer.after_effort),
            self._lexicon.number_cues,
            self._lexicon.numbers,
        )
        bands = [(number, band) for number in found for band in self._bands(number, writer)]
        hits = _without_counts(hits, text, tokens, self._lexicon.number_cues)
        hits = _with_bands(hits, found, bands, tokens)
        return PreparedText(tokens, hits, scene.clauses, found)

    def _bands(self, number: ToldNumber, writer: Writer) -> Sequence[NumberBand]:
        if self._judge is None or number.when is not When.NOW:
            return ()
        # What is known of the writer says nothing of anybody else.
        if number.who is Who.OTHER:
            return self._judge(number, writer.glucose_unit, frozenset())
        return self._judge(number, writer.glucose_unit, writer.conditions)

    def _one_spelling(self, text: str) -> list[Token]:
        """The tokens of ``text``, words of many spellings in their one spelling."""
        spellings = self._lexicon.spellings
        return [
            replace(token, word=spellings[token.word]) if spellings.get(token.word) else token
            for token in contracted(tokenise(text, self._lexicon.emoji))
        ]

    def _mentions(self, text: str, scene: PreparedText) -> dict[Mention, str]:
        """Each mention of a sign in ``text``, with the part of the text that names it."""
        spans: dict[Mention, str] = {}
        clauses, tokens = scene.clauses.clauses, scene.tokens
        for match in find_matches(scene.hits, self._lexicon, clauses, tokens):
            if match.rule.sign is Sign.HYPO and _is_high(scene):
                continue  # sugar is never advised beside a high number
            mention = self._mention(match, scene)
            begin, end = tokens[match.start].start, tokens[match.end - 1].end
            spans[mention] = text[begin:end]
        return spans

    def _mention(self, match: Match, scene: PreparedText) -> Mention:
        status = _of_number(match, scene) or status_of(match, scene)
        sign, level = match.rule.sign, match.rule.level
        if sign is Sign.CHEST_PAIN and status is Status.GONE:
            sign, level = Sign.CHEST_DISCOMFORT_GONE, None
        if sign is Sign.CARDIAC_ARREST and status in _OF_SOMEBODY:
            status = Status.OTHER_NOW  # nobody writes of their own breath that it has stopped
        return Mention(
            sign=sign,
            level=level or self._signs[sign].text_level,
            status=status,
            certain=not match.rule.weak,
            start=match.start,
            end=match.end,
            rule=match.rule.source,
            firm=match.rule.firm,
        )

    def _outcome(self, mention: Mention) -> TextLevel:
        """The level that one mention calls for."""
        if mention.status is Status.OTHER_NOW:
            grave = mention.certain and mention.level is TextLevel.EMERGENCY
            if mention.firm and mention.level is not TextLevel.NONE:
                return mention.level
            return TextLevel.EMERGENCY if grave else TextLevel.ASK
        if mention.level is TextLevel.NONE:
            return TextLevel.NONE
        if mention.status in _STANDS:
            if mention.certain:
                return mention.level
            return TextLevel.ASK if self._signs[mention.sign].asked else TextLevel.URGENT
        if mention.status is Status.OTHER_PERHAPS and not mention.certain:
            return TextLevel.NONE
        if mention.status in _DOUBTS:
            return TextLevel.ASK
        return TextLevel.NONE

    def _from_mentions(
        self, mentions: tuple[Mention, ...], spans: Mapping[Mention, str]
    ) -> Reading:
        ranked = [(self._outcome(m), m) for m in mentions]
        count = len(mentions)
        loudest = max((LOUDNESS[called] for called, _ in ranked), default=0)
        if loudest == 0:
            return self._quiet(mentions, spans, count)
        speaking = [(called, m) for called, m in ranked if LOUDNESS[called]]
        decided = [m for called, m in speaking if LOUDNESS[called] == loudest]
        first = decided[0]
        level = max((called for called, _ in speaking), key=LOUDNESS.__getitem__)
        unanswered = level
        if level is TextLevel.ASK:
            unanswered = max((m.level for m in decided), key=lambda x: LOUDNESS[x])
        mentioned = [m for m in mentions if m.level is TextLevel.NONE and m.status in _STANDS]
        signs = self._in_order([m for _, m in speaking] + mentioned)
        code = _code_of(level, first)
        for_other = all(m.status in (Status.OTHER_NOW, Status.OTHER_PERHAPS) for _, m in speaking)
        return Reading(
            level,
            signs,
            spans[first],
            TextReason(code, count),
            unanswered,
            for_other,
            mentions=mentions,
        )

    def _quiet(
        self, mentions: tuple[Mention, ...], spans: Mapping[Mention, str], count: int
    ) -> Reading:
        listed = [m for m in mentions if m.status in _STANDS and m.level is TextLevel.NONE]
        if listed:
            code, span = TextReasonCode.MENTIONED, spans[listed[0]]
        else:
            code = TextReasonCode.CLEARED if mentions else TextReasonCode.NOTHING_FOUND
            span = spans[mentions[0]] if mentions else ""
        return Reading(
            TextLevel.NONE,
            self._in_order(listed),
            span,
            TextReason(code, count),
            TextLevel.NONE,
            mentions=mentions,
        )

    def _in_order(self, mentions: Iterable[Mention]) -> tuple[Sign, ...]:
        """The signs of ``mentions``, each once, most serious first."""
        loudness = {m.sign: LOUDNESS[m.level] for m in sorted(mentions, key=_level_of)}
        return tuple(sorted(loudness, key=lambda s: (-loudness[s], _PLACE[s])))


def _with_bands(
    hits: Hits,
    numbers: Sequence[ToldNumber],
    bands: Sequence[tuple[ToldNumber, NumberBand]],
    tokens: Sequence[Token],
) -> Hits:
    """``hits`` and those of the numbers' bands, each where its number stands."""
    if not numbers:
        return hits
    by_concept = dict(hits.by_concept)
    high = (NumberBand.SUGAR_HIGH, NumberBand.SUGAR_VERY_HIGH)
    sugars = [band for _, band in bands if band in high or band is NumberBand.SUGAR_LOW]
    for number, band in bands:
        # Of a high and a low sugar only the one told last is true now.
        if (
            sugars
            and band in (*high, NumberBand.SUGAR_LOW)
            and (band in high) is not (sugars[-1] in high)
        ):
            continue
        first, last = (_token_at(tokens, place) for place in (number.start, number.end - 1))
        made = Hit(band.value, first, max(first, last) + 1)
        by_concept[band.value] = sorted(
            {*by_concept.get(band.value, ()), made}, key=lambda hit: (hit.start, hit.end)
        )
    if _shows_no_fever(numbers, bands):
        named = by_concept.get("NUM_TEMPERATURE", ())
        for concept in _MEANS_FEVER & set(by_concept):
            by_concept[concept] = [
                hit
                for hit in by_concept[concept]
                if not any(hit.start < cue.end and cue.start < hit.end for cue in named)
            ]
    # "38" alone may be a fever, but not where it is a pulse.
    for concept in _MEANS_FEVER & set(by_concept):
        by_concept[concept] = [
            hit
            for hit in by_concept[concept]
            if not any(
                _token_at(tokens, one.start) <= hit.start
                and hit.end <= _token_at(tokens, one.end - 1) + 1
                for one in numbers
                if one.kind is not NumberKind.TEMPERATURE
            )
        ]
    # "At 19" is an age elsewhere, not where it is a sugar.
    spans = [(_token_at(tokens, n.start), _token_at(tokens, n.end - 1) + 1) for n in numbers]
    by_concept["PAST_FAR"] = [
        past
        for past in by_concept.get("PAST_FAR", ())
        if not any(past.start < end and start < past.end for start, end in spans)
    ]
    return Hits(by_concept, hits.masked)


def _without_counts(hits: Hits, text: str, tokens: Sequence[Token], words: NumberCues) -> Hits:
    """``hits`` without bare numbers that count something else: "38 minutes" is no fever."""
    lower = text.lower()
    if len(lower) != len(text):
        return hits

    def counts(hit: Hit) -> bool:
        bare = all(token.word.isdigit() for token in tokens[hit.start : hit.end])
        end = tokens[hit.end - 1].end
        return bare and words.other_after.match(lower, end) is not None

    by_concept = dict(hits.by_concept)
    for concept in _MEANS_FEVER & set(by_concept):
        by_concept[concept] = [hit for hit in by_concept[concept] if not counts(hit)]
    return Hits(by_concept, hits.masked)


_MEANS_FEVER = frozenset(["FEVER", "FEVER_ONLY", "INFECTED_NOW", "CHEMO_ILL", "HOT_HEAD"])


def _shows_no_fever(
    numbers: Sequence[ToldNumber], bands: Sequence[tuple[ToldNumber, NumberBand]]
) -> bool:
    """ "Temperature 36.8" names no fever, though a temperature alone may be one."""
    warm = {number for number, band in bands if band is not NumberBand.TEMPERATURE_LOW}
    told = [one for one in numbers if one.kind is NumberKind.TEMPERATURE and one.when is When.NOW]
    return bool(told) and not any(one in warm for one in told)


def _token_at(tokens: Sequence[Token], place: int) -> int:
    return max(0, bisect_right(tokens, place, key=lambda token: token.start) - 1)


def _of_number(match: Match, scene: PreparedText) -> Status | None:
    """The status of a mention that a number alone makes: whose it is was found with the number."""
    if not FROM_NUMBERS.issuperset(match.rule.concepts):
        return None
    told = [
        number.who
        for number in scene.numbers
        if _token_at(scene.tokens, number.start) == match.start
    ]
    return Status.OTHER_NOW if told and told[0] is Who.OTHER else Status.ASSERTED


_HIGH_SUGAR = ("SUGAR_HIGH", "SUGAR_VERY_HIGH", "SUGAR_HIGH_WORDS")


def _is_high(scene: PreparedText) -> bool:
    return scene.hits.has_any(_HIGH_SUGAR)


def _told_of(reading: Reading, scene: PreparedText) -> Reading:
    """``reading`` with who is meant, where another writes or nobody is named, and the unit."""
    if is_by_another(scene):
        of_other = perhaps_client = bool(reading.signs)
    else:
        # What else is said is of the same body: nobody types without breath.
        of_other = reading.for_other or any(
            m.sign is Sign.CARDIAC_ARREST and m.status is Status.OTHER_NOW for m in reading.mentions
        )
        perhaps_client = of_other and not scene.hits.of("PERSON")
    return replace(
        reading, numbers=scene.numbers, for_other=of_other, perhaps_client=perhaps_client
    )


def _in_another_language(reading: Reading, foreign: ForeignWords) -> Reading:
    """What was told in the mother tongue, unless the English beside it is louder still."""
    if LOUDNESS[reading.level] > LOUDNESS[foreign.level]:
        return replace(reading, tongue=foreign.tongue)
    asserted = foreign.level is TextLevel.EMERGENCY
    code = TextReasonCode.ASSERTED if asserted else TextReasonCode.SUSPICIOUS
    return replace(
        reading,
        level=foreign.level,
        signs=tuple(dict.fromkeys((*foreign.signs, *reading.signs))),
        span=foreign.span,
        because=TextReason(code, len(foreign.signs)),
        if_unanswered=max(foreign.unanswered, reading.if_unanswered, key=LOUDNESS.__getitem__),
        tongue=foreign.tongue,
    )


def _level_of(mention: Mention) -> int:
    return LOUDNESS[mention.level]


def _code_of(level: TextLevel, mention: Mention) -> TextReasonCode:
    if mention.status is Status.OTHER_NOW:
        return TextReasonCode.OTHER_IN_DANGER
    if mention.status in _DOUBTS:
        return TextReasonCode.PERHAPS_CLEARED
    if level is TextLevel.ASK or not mention.certain:
        return TextReasonCode.SUSPICIOUS
    return TextReasonCode.OVER_BY_NOW if mention.status is Status.GONE else TextReasonCode.ASSERTED


def read_lines(reader: Reader, lines: Iterable[str]) -> Iterator[dict[str, object]]:
    """One row for each line of ``lines``: text, level, signs, because, if_unanswered."""
    for line in lines:
        text = line.rstrip("\r\n")
        yield dict(reader.read(text).as_row(text))
