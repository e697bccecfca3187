"""What a frightened person types in the mother tongue: few phrases in each of some languages.

The reader proper knows English. Here nothing is weighed: a phrase stands in the text or not, and a
word of "not" outside it makes it doubtful. Phrases stand in ``mother_tongues.yaml``.
"""

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from core.errors import LexiconError
from core.vocabulary import Sign, TextLevel

_NOT, _HELP, _AMBULANCE = "not", "help", "ambulance"
_UNSPACED = frozenset({"zh"})
"""Languages that put no spaces between words."""
_MOST_BETWEEN = 3
# Letters with a stroke, and forms of one Arabic letter, that Unicode does not take apart.
_ONE_LETTER = str.maketrans(
    {
        "ł": "l",
        "ß": "ss",
        "ı": "i",
        "ø": "o",
        "أ": "ا",
        "إ": "ا",
        "آ": "ا",
        "ة": "ه",
        "ى": "ي",
        "ؤ": "و",
    }
)
_WITHOUT_MARKS = ("LATIN", "ARABIC")
_JOINS = re.compile("[’'`ʻʼ‘]")
_JOINED = frozenset({"sm", "mi"})
"""Languages in which an apostrophe is a letter that people leave out."""
_WORDS = re.compile("[a-z0-9]+")


@dataclass(frozen=True, slots=True)
class EmergencyPhrase:
    """A phrase of one sign, as a pattern over plain text; ``level``: what it calls for."""

    sign: Sign
    level: TextLevel
    pattern: re.Pattern[str]


@dataclass(frozen=True, slots=True)
class Tongue:
    """One language: its phrases, the words of "not", and the words that begin a phrase."""

    code: str
    phrases: tuple[EmergencyPhrase, ...]
    denials: re.Pattern[str]
    beginnings: frozenset[str]


@dataclass(frozen=True, slots=True)
class ForeignWords:
    """What was found: the language, the signs and the level, and the words as typed."""

    tongue: str
    signs: tuple[Sign, ...]
    level: TextLevel
    unanswered: TextLevel
    span: str


def parse_tongues(data: Mapping[str, Mapping[str, Sequence[str]]]) -> tuple[Tongue, ...]:
    """The languages of ``mother_tongues.yaml``.

    Raises:
        LexiconError: a sign is not known.
    """
    return tuple(_tongue(code, entry) for code, entry in data.items())


def _tongue(code: str, entry: Mapping[str, Sequence[str]]) -> Tongue:
    phrases: list[EmergencyPhrase] = []
    beginnings: set[str] = set()
    for key, texts in entry.items():
        if key == _NOT:
            continue
        if key in (_HELP, _AMBULANCE):
            sign = Sign.UNSURE
            level = TextLevel.ASK if key == _HELP else TextLevel.EMERGENCY
        elif key in set(Sign):
            sign, level = Sign(key), TextLevel.EMERGENCY
        else:
            raise LexiconError(f"mother_tongues.yaml, {code}: there is no sign {key!r}")
        phrases += [EmergencyPhrase(sign, level, _pattern(text, code)) for text in texts]
        beginnings.update(*(_plain_phrase(text).split()[0].split("|") for text in texts))
    denials = "|".join(_pattern(word, code).pattern for word in entry.get(_NOT, ())) or "(?!)"
    return Tongue(code, tuple(phrases), re.compile(denials), frozenset(beginnings))


def _plain_phrase(text: str) -> str:
    return unicodedata.normalize("NFC", text)


def _pattern(text: str, code: str) -> re.Pattern[str]:
    text = _plain_phrase(text)
    if code in _UNSPACED:
        signs = [re.escape(part) for part in text.split("..")]
        return re.compile(f".{{0,{_MOST_BETWEEN}}}".join(signs))
    parts: list[str] = []
    for word in text.split():
        if word == "..":
            parts.append(rf"(?: [^ ]+){{0,{_MOST_BETWEEN}}}")
        else:
            either = "|".join(re.escape(one) for one in word.split("|"))
            parts.append(rf" (?:{either})")
    return re.compile("".join(parts) + "(?= )")


def plain_foreign(text: str, code: str = "") -> str:
    """``text`` in small letters, Latin and Arabic without marks, words parted by one space each.

    Begins and ends with a space, so that a phrase is looked for as whole words.
    """
    joined = _JOINS.sub("" if code in _JOINED else " ", text.casefold())
    if joined.isascii():
        return f" {' '.join(_WORDS.findall(joined))} "
    letters = "".join(_bare(joined)).translate(_ONE_LETTER)
    spaced = re.sub(r"[^\w\u0900-\u097f]+|[_।]+", " ", letters)
    return f" {' '.join(spaced.split())} "


def _bare(text: str) -> Iterator[str]:
    """Letters taken apart where their marks are dropped, else as they stand."""
    for letter in unicodedata.normalize("NFC", text).translate(_ONE_LETTER):
        if unicodedata.name(letter, "").startswith(_WITHOUT_MARKS):
            apart = unicodedata.normalize("NFKD", letter)
            yield "".join(part for part in apart if not unicodedata.combining(part))
        elif not ("\u064b" <= letter <= "\u0655" or unicodedata.combining(letter) == 230):
            yield letter


def foreign_words(text: str, tongues: Sequence[Tongue]) -> ForeignWords | None:
    """The signs told in another language; of several languages, the one with the most said."""
    as_letter, as_space = plain_foreign(text, "sm"), plain_foreign(text)
    words = {*as_letter.split(), *as_space.split()}
    found: list[tuple[int, ForeignWords]] = []
    for tongue in tongues:
        unspaced = tongue.code in _UNSPACED
        if unspaced and text.isascii():
            continue
        if not unspaced and words.isdisjoint(tongue.beginnings):
            continue
        plain = as_letter if tongue.code in _JOINED else as_space
        one = _read(text, plain.replace(" ", "") if unspaced else plain, tongue)
        if one is not None:
            found.append(one)
    return max(found, key=lambda one: one[0])[1] if found else None


def _read(text: str, plain: str, tongue: Tongue) -> tuple[int, ForeignWords] | None:
    """How many letters speak for the language, and what is told."""
    hits = [(phrase, match) for phrase in tongue.phrases if (match := phrase.pattern.search(plain))]
    if not hits:
        return None
    rest = plain
    for _, match in hits:
        rest = rest.replace(match.group(), " ")
    denied = tongue.denials.search(rest) is not None
    loudest = max((phrase.level for phrase, _ in hits), key=_LOUD.__getitem__)
    signs = [phrase.sign for phrase, _ in hits if phrase.level is loudest]
    order = list(Sign)
    named = [sign for sign in signs if sign is not Sign.UNSURE] or signs
    found = ForeignWords(
        tongue=tongue.code,
        signs=tuple(sorted(set(named), key=order.index)),
        level=TextLevel.ASK if denied else loudest,
        unanswered=loudest if loudest is TextLevel.EMERGENCY else TextLevel.URGENT,
        span=text.strip(),
    )
    # A longer phrase says more of the language than a word that several share.
    return sum(len(match.group()) for _, match in hits), found


_LOUD = {TextLevel.ASK: 1, TextLevel.EMERGENCY: 2}
