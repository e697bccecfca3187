"""Names, a contact with a phone, and an invitation's code, found in a sentence."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from core.answers.plain import BREAK, bare, pieces
from core.answers.words import SentenceWords, Understood

MOST_NAME_WORDS = 4
CODE_LENGTH = 8
TWO = 2
FEWEST_DIGITS = 6

_NAME = re.compile(r"[^\W\d_](?:[^\W\d_]|['\u2019-](?=[^\W\d_]))*\.?")
_AS_WRITTEN = re.compile(r"(?<![\w-])([A-Z0-9]{4})-([A-Z0-9]{4})(?![\w-])")
_FOUR, _NO_MORE = r"([A-Z0-9]{4})", r"(?![A-Z0-9])"
_TWO_GROUPS = re.compile(rf"(?<![A-Z0-9])(?={_FOUR}(\s*[-\u2013 ]\s*){_FOUR}{_NO_MORE})")
_PHONE = re.compile(r"\+?\(?\d[\d\s().\u2013-]{4,}\d")


@dataclass(frozen=True, slots=True)
class Contact:
    """Who to call; each may be "".

    Attributes:
        phone: digits, with a leading plus where there was one.
        relation: who they are to the client ("niece").
    """

    name: str
    phone: str
    relation: str = ""


def read_code(text: str, words: SentenceWords) -> str:
    """Eight letters and digits of an invitation in a sentence, in capitals, or "".

    A code has a digit, or stands as it is written on the invitation: other words are none.
    """
    written = list(dict.fromkeys("".join(one.groups()) for one in _AS_WRITTEN.finditer(text)))
    if written:
        # "R4MB-6QXF. No wait, that is the old one. C9HJ-3WTP"
        mended = words.lists["slip_of_mine"].stands_in(bare(text))
        return written[-1] if len(written) == 1 or mended else ""
    apart = _halves_apart(text)
    if apart:
        return apart
    said = text.upper()
    for phrase in words.lists["spoken_hyphen"].vocabulary:
        said = re.sub(rf"\b{re.escape(phrase.upper())}\b", "-", said)
    best: tuple[tuple[bool, int, int], str] | None = None
    for found in _TWO_GROUPS.finditer(said):
        groups, between = (found[1], found[3]), found[2].strip()
        both = "".join(groups)
        if any(one.isdigit() for one in both) and not both.isdigit():
            ordinary = sum(group.lower() in words.common for group in groups)
            if not between and any(_is_said_word(one, text, words) for one in groups):
                continue
            rank = (bool(between), -ordinary, found.start())
            best = max(best, (rank, both)) if best else (rank, both)
    if best:
        return best[1]
    for found in re.finditer(r"(?<![A-Z0-9])[A-Z0-9]{8}(?![A-Z0-9])", said):
        if any(one.isdigit() for one in found.group()) and not found.group().isdigit():
            return found.group()
    spelt = _spelt(text, words)
    return spelt if len(spelt) == CODE_LENGTH and any(map(str.isdigit, spelt)) else ""


def _is_said_word(group: str, text: str, words: SentenceWords) -> bool:
    """Whether four letters are a word of the sentence, and no half of a code in capitals."""
    shouted = text.upper() == text
    if len(text.split()) <= TWO:
        return False
    return group.lower() in words.common and (shouted or group not in text)


def _halves_apart(text: str) -> str:
    """The two halves of a code with words between them: "first TZ5E and then 2UGC"; or ""."""
    groups = re.findall(r"(?<![^\W_])[^\W_]{4}(?![^\W_])", text)
    shouted = text.upper() == text
    halves = [
        one.upper()
        for one in groups
        if one.isascii()
        and not one.isdigit()
        and (any(map(str.isdigit, one)) or (one.isupper() and not shouted))
    ]
    both = "".join(halves)
    digit = any(map(str.isdigit, both))
    return both if len(halves) == len(set(halves)) == TWO and digit else ""


def _spelt(text: str, words: SentenceWords) -> str:
    """Letters said one by one: "8 N R G", "five, X for xylophone"."""
    said = [word for word in pieces(text) if word != BREAK]
    letters, at, times = "", 0, 1
    values = words.numbers.under_hundred
    while at < len(said):
        word = said[at]
        doubled = words.choices["times_said"].hits([word])
        if doubled:
            times = int(doubled[0].code)
            at += 1
            continue
        if len(word) == 1 and word.isalnum():
            as_in = words.lists["as_in"].hits(said[at + 1 : at + 3])
            named = at + 1 + as_in[0].end if as_in and not as_in[0].start else len(said)
            if named < len(said) and said[named].startswith(word):
                at = named
                letters += word * times
            elif letters or word not in words.lists["no_letter"].vocabulary:
                letters += word * times
        elif word in values and values[word] < 10:
            letters += str(int(values[word])) * times
        times = 1
        at += 1
    return letters.upper()


def read_name(text: str, words: SentenceWords) -> Understood[str] | None:
    """What somebody is to be called: "Please call me Trev", "Maureen", "Mrs Tuohy will do"."""
    whole = " ".join(text.split()).strip(" .,!")
    if not whole or ("?" in whole and len(whole.split()) < 4):
        return None
    if words.lists["no_name_given"].stands_in(bare(whole)):
        return None
    led = _after_lead(whole, words)
    if led:
        return Understood(led, sure=False)
    if _is_bare_name(whole, words):
        small = whole == whole.lower()
        return Understood(" ".join(_with_capitals(whole.split())) if small else whole)
    first = re.split(r"[,.!?;]|\s[-\u2013]\s", whole)[0]
    trimmed = _trimmed(first, words)
    if trimmed and _is_bare_name(trimmed, words):
        return Understood(trimmed, sure=False)
    capital = _capitals(whole, words)
    return Understood(capital[0], sure=False) if len(set(capital)) == 1 else None


def _after_lead(text: str, words: SentenceWords) -> str:
    """The name after the last "call me" or "my name is", or before "is the name"."""
    tokens = _NAME.findall(text)
    plain = [bare(token) for token in tokens]
    flat = [one[0] if one else "" for one in plain]
    for leads in ("name_leads", "formal_name_leads"):
        for hit in words.lists[leads].hits(flat):
            name = _name_from(tokens[hit.end :], text, words)
            if name:
                return name
    for hit in words.lists["name_tails"].hits(flat):
        before = tokens[max(0, hit.start - MOST_NAME_WORDS) : hit.start]
        name = " ".join(_ending_name(before, words))
        if name:
            return name
    for hit in words.lists["weak_name_leads"].hits(flat):
        name = _name_from(tokens[hit.end :], text, words)
        if (name and name[0].isupper()) or (name and len(flat) <= hit.end + 2):
            return name
    return ""


def _name_from(tokens: Sequence[str], text: str, words: SentenceWords) -> str:
    """The name at the beginning of these words: as far as one mark, or a word that is no name."""
    name: list[str] = []
    for token in tokens[:MOST_NAME_WORDS]:
        plain = bare(token)
        word = plain[0] if plain else ""
        title = words.lists["titles"].stands_in([word])
        if not title and words.lists["no_name_words"].stands_in([word]):
            break
        if name and not title and token[0].islower() and name[-1][0].isupper():
            break
        if name and token[0].islower() and word in words.common:
            break
        after_title = words.lists["titles"].stands_in(bare(name[-1])) if name else False
        if name and not after_title and not _adjacent(name[-1], token, text):
            break
        name.append(token.strip("."))
    if name and all(words.lists["titles"].stands_in(bare(one)) for one in name):
        return ""
    return " ".join(_with_capitals(name))


def _adjacent(one: str, two: str, text: str) -> bool:
    return re.search(rf"{re.escape(one)}\.?\s+{re.escape(two)}", text) is not None


def _ending_name(tokens: Sequence[str], words: SentenceWords) -> list[str]:
    name: list[str] = []
    for token in reversed(tokens):
        word = (bare(token) or [""])[0]
        if words.lists["no_name_words"].stands_in([word]):
            break
        name.insert(0, token)
    return _with_capitals(name)


def _with_capitals(name: Sequence[str]) -> list[str]:
    return [one if one[0].isupper() else one[0].upper() + one[1:] for one in name]


def _is_bare_name(text: str, words: SentenceWords) -> bool:
    """Whether a text is nothing but a name."""
    tokens = text.split()
    plain = [(bare(token) or [""])[0] for token in tokens]
    if not tokens or len(tokens) > MOST_NAME_WORDS or any(not one for one in plain):
        return False
    return not any(words.lists["no_name_words"].stands_in([one]) for one in plain) and not any(
        letter.isdigit() for letter in text
    )


def _trimmed(text: str, words: SentenceWords) -> str:
    """A clause without the words around a name: "hello", "here", "please"."""
    tokens = text.split()
    around = words.lists["around_name"]
    while tokens and around.stands_in(bare(tokens[0]) or [""]):
        tokens = tokens[1:]
    while tokens and around.stands_in(bare(tokens[-1]) or [""]):
        tokens = tokens[:-1]
    return " ".join(tokens)


def _capitals(text: str, words: SentenceWords) -> list[str]:
    """Runs of words with a capital that are no ordinary words, with their titles."""
    found: list[list[str]] = []
    end = -1
    for one in _NAME.finditer(text):
        token = one.group().rstrip(".")
        word = (bare(token) or [""])[0]
        title = words.lists["titles"].stands_in([word])
        ordinary = words.lists["no_name_words"].stands_in([word]) or (
            _begins(text, one.start())
            and word in words.common
            and not _capital_follows(text, one.end())
            and not _stands_alone(text, one, words)
        )
        if not token[0].isupper() or (ordinary and not title):
            continue
        gap = text[end : one.start()] if end >= 0 else "-"
        if words.lists["no_name_before"].stands_in(bare(text[: one.start()])[-1:]):
            continue
        if found and not gap.strip(" ."):
            found[-1].append(token)
        else:
            found.append([token])
        end = one.end()
    return [
        " ".join(run)
        for run in found
        if not all(words.lists["titles"].stands_in(bare(one) or [""]) for one in run)
    ]


def _capital_follows(text: str, end: int) -> bool:
    return re.match(r"\s+[^\W\d_]", text[end:]) is not None and text[end:].lstrip()[0].isupper()


def _stands_alone(text: str, one: "re.Match[str]", words: SentenceWords) -> bool:
    """Whether a word is a sentence of its own, or "my son" follows it."""
    after = text[one.end() :].strip()
    ends = not after or after[0] in ".!?"
    follows = bare(after)[:2]
    return (ends and one.start() > 0) or words.lists["relation_after"].stands_in(follows)


def _begins(text: str, start: int) -> bool:
    """Whether a sentence begins there."""
    before = text[:start].rstrip()
    return not before or before[-1] in ".!?\n"


def read_contact(text: str, words: SentenceWords) -> Understood[Contact] | None:
    """A person and their phone, either of which may be missing from the words."""
    phone, start, end = _phone(text, words)
    before, after = text[:start], text[end:]
    name = ""
    for part, last in ((before, True), (after, False)):
        names = _people(part, words)
        if names:
            name = names[-1] if last else names[0]
            break
    if not name and not phone:
        return None
    flat = bare(text)
    relations = [flat[hit.start] for hit in words.lists["relations"].hits(flat)]
    return Understood(Contact(name, phone, relations[-1] if relations else ""), sure=False)


def _people(text: str, words: SentenceWords) -> list[str]:
    """Names in order: those with a capital, or the word after "my daughter"."""
    capitals = _capitals(text, words)
    if capitals:
        return capitals
    tokens = _NAME.findall(text)
    flat = [(bare(token) or [""])[0] for token in tokens]
    found = []
    for hit in words.lists["relations"].hits(flat):
        name = _name_from(tokens[hit.end :], text, words)
        if name:
            found.append(name)
    if not found:
        trimmed = _trimmed(re.split(r"[,.!?;]", text)[0], words)
        if trimmed and _is_bare_name(trimmed, words):
            found.append(" ".join(_with_capitals(trimmed.split())))
    return found


def phone_in(text: str, words: SentenceWords) -> str:
    """The digits of a phone number in a sentence, or ""."""
    return _phone(text, words)[0]


def _phone(text: str, words: SentenceWords) -> tuple[str, int, int]:
    """The digits of a phone number, and where it stands; the end of the text for none."""
    for found in _PHONE.finditer(text):
        digits = re.sub(r"\D", "", found.group().replace("(0)", ""))
        if FEWEST_DIGITS <= len(digits) <= 15:
            plus = "+" if found.group().startswith("+") else ""
            return plus + digits, found.start(), found.end()
    digits, start, end, times = "", len(text), len(text), 1
    values = words.numbers.under_hundred
    best = ("", len(text), len(text))
    for one in re.finditer(r"[^\W_]+", text):
        word = "".join(bare(one.group()))
        figure = ""
        if word.isdigit():
            figure = word
        elif word in words.numbers.zero_digits:
            figure = "0"
        elif word in values and values[word] < 10:
            figure = str(int(values[word]))
        elif word in words.choices["times_said"].vocabulary:
            times = int(words.choices["times_said"].hits([word])[0].code)
            start = one.start() if not digits else start
            continue
        if not figure:
            digits, times = "", 1
            continue
        start = one.start() if not digits and times == 1 else start
        digits += figure * times
        times, end = 1, one.end()
        if len(digits) >= FEWEST_DIGITS and len(digits) >= len(best[0]):
            best = (digits, start, end)
    return best
