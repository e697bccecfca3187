"""Numbers told in a sentence: how many, how many more, how often, how bad, how hard.

Of several numbers the one counts that the words choose ("but I say 6", "only a 4 now"); what was so
before, what somebody else said and spans of time are passed over. Of a range ("2 or 3") the fewer
counts for a set, and is said back; elsewhere a range is unclear.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from core.answers.choices import NO, UNCLEAR, choose
from core.answers.said import Clause, is_figure, numbered, value_of, without_questions
from core.answers.words import SentenceWords, Understood

MOST_REPS, MOST_LEFT, MOST_FALLS = 60, 5, 3
TOP = 10.0
RANGE_ENDS = 2


@dataclass(frozen=True, slots=True)
class _Told:
    """A number with what is said about it.

    Attributes:
        chosen: the words say that this one counts.
        passed_over: it was so before, or is somebody else's.
    """

    value: float
    clause: int
    chosen: bool
    passed_over: bool


def read_reps(text: str, planned: int, words: SentenceWords) -> Understood[int] | None:
    """How many were done, of ``planned``."""
    answer, lists = without_questions(text, words), words.lists
    said = numbered(answer, words, lists["all_of_them"], lists["none_done"], ordinals=False)
    said, misheard = heard_numbers(said, words)
    return done_in(said, planned, words, doubt=misheard)


def done_in(
    said: Sequence[Clause], planned: int, words: SentenceWords, *, doubt: bool
) -> Understood[int] | None:
    """The same of clauses with their numbers as figures."""
    said = without_plan(said, planned, words)
    if _any(said, words, "lost_count"):
        # "Seven, but I lost count a bit": a number told beside it counts, not surely.
        return _doubted(_whole_of(_one_of(said, words)), doubt=True)
    short = _short_of(said, planned, words)
    if short is None and _any(said, words, "half_of_them") and _one_of(said, words) is None:
        return Understood(planned // 2, sure=False)
    told = _one_of(said, words) or _fewer_of(said, words)
    if short is not None:
        agrees = told is None or told.value in (short, abs(planned - short))
        return Understood(short, sure=agrees)
    if told is not None:
        return _doubted(_whole(told, 0, MOST_REPS), doubt=doubt)
    if _any(said, words, "all_of_them"):
        return Understood(planned)
    if _any(said, words, "none_done"):
        return Understood(0)
    return None


def read_left(text: str, words: SentenceWords, most: int = MOST_LEFT) -> Understood[int] | None:
    """How many more could have been done; ``most`` stands for so many or more."""
    answer, lists = without_questions(text, words), words.lists
    said = numbered(answer, words, lists["none_left"], lists["many_left"], ordinals=False)
    said, misheard = heard_numbers(said, words)
    return left_in(said, words, most, doubt=misheard)


def left_in(
    said: Sequence[Clause], words: SentenceWords, most: int, *, doubt: bool
) -> Understood[int] | None:
    """The same of clauses with their numbers as figures."""
    found = _any(said, words, "none_left")
    told = _one_of(said, words) or _fewer_of(said, words)
    if found and (told is None or told.value == 0):
        return Understood(0)
    if told is not None:
        read = _whole(told, 0, MOST_REPS)
        if read is None:
            return None
        sure = read.sure and not (found or doubt) and read.value <= most
        return Understood(min(read.value, most), sure=sure)
    if _any(said, words, "a_couple"):
        return Understood(2)
    if _any(said, words, "many_left"):
        return Understood(most, sure=False)
    return None


def read_falls(text: str, words: SentenceWords) -> Understood[int] | None:
    """How often somebody fell; three stands for three or more."""
    answer = without_questions(text, words)
    said = numbered(answer, words, words.choices["falls"], ordinals=False)
    said, misheard = heard_numbers(said, words)
    numbers = [
        value_of(word)
        for clause in said
        for at, word in enumerate(clause)
        if is_figure(word)
        and value_of(word) <= MOST_REPS
        and not words.lists["spans"].stands_in(clause[at + 1 : at + 2])
    ]
    coded = [
        int(hit.code)
        for clause in said
        for hit in words.choices["falls"].hits(clause)
        if hit.code.isdigit()
    ]
    told = _one_of(said, words)
    caught = _any(said, words, "no_fall_after_all")
    if coded and set(coded) == {1} and len(coded) + _count(said, words, "another") > 1:
        both = len(coded) + _count(said, words, "another")
        return Understood(min(both, MOST_FALLS), sure=False)
    if numbers and min(numbers) >= MOST_FALLS and not coded:
        sure = len(numbers) == 1 or told is not None
        return Understood(MOST_FALLS, sure=sure and not misheard)
    if coded:
        same = all(value == coded[0] for value in coded)
        agree = all(min(value, MOST_FALLS) == coded[0] for value in numbers[:1])
        return Understood(
            coded[0], sure=same and not (caught and coded[0]) and (agree or coded[0] > 0)
        )
    unclear = any(hit.code == UNCLEAR for one in said for hit in words.choices["falls"].hits(one))
    if told is None and not coded and not unclear and _any(said, words, "a_fall"):
        return Understood(min(1 + _count(said, words, "another"), MOST_FALLS), sure=False)
    if told is None and not unclear:
        plain = choose(text, "yes_no", words)
        return Understood(0, sure=False) if plain is not None and plain.value == NO else None
    read = None if told is None else _whole(told, 0, MOST_REPS)
    if told is None or read is None:
        return None
    more = _count(said, words, "another") if read.value == 1 else 0
    sure = read.sure and not (more or misheard)
    return Understood(min(read.value + more, MOST_FALLS), sure=sure)


def read_pain(text: str, words: SentenceWords) -> Understood[int] | None:
    """How bad a pain is, from 0 to 10; in doubt nothing."""
    answer = _of_ten(without_questions(text, words))
    said = numbered(answer, words, words.lists["no_pain"], ordinals=False)
    told = _one_of(said, words, strict=True)
    none = _any(said, words, "no_pain")
    if told is None:
        return Understood(0) if none and not _any(said, words, "but_pain") else None
    read = _whole(told, 0, int(TOP))
    # "A 2, nothing to write home about" is said back.
    return Understood(read.value, sure=False) if read is not None and none and read.value else read


def read_effort(text: str, words: SentenceWords) -> Understood[float] | None:
    """How hard a session was, from 0 to 10, halves too."""
    answer = numbered(_of_ten(without_questions(text, words)), words, ordinals=False)
    said, misheard = heard_numbers(_without_more(answer, words), words)
    told = _one_of(said, words, strict=True)
    if told is None or not 0 <= told.value <= TOP or (told.value * 2) % 1:
        return None
    return Understood(told.value, sure=told.sure and not misheard)


def heard_numbers(said: Sequence[Clause], words: SentenceWords) -> tuple[list[Clause], bool]:
    """The clauses with what dictation wrote for numbers ("too more"), and whether it did."""
    left, found = [], False
    before_number, after_number = words.lists["before_number"], words.lists["after_number"]
    for clause in said:
        kept = list(clause)
        for hit in words.choices["misheard"].hits(clause):
            before, after = clause[: hit.start][-1:], clause[hit.end :][:1]
            led = not before or is_figure(before[0]) or before_number.stands_in(before)
            follows = not after or after_number.stands_in(after)
            if led and follows:
                kept[hit.start] = hit.code
                found = True
        left.append(kept)
    return left, found


def _whole_of(told: "_Number | None") -> Understood[int] | None:
    return None if told is None else _whole(told, 0, MOST_REPS)


def _doubted(read: Understood[int] | None, *, doubt: bool) -> Understood[int] | None:
    return Understood(read.value, sure=read.sure and not doubt) if read is not None else None


def _of_ten(text: str) -> str:
    """ "7/10" without the top of the scale."""
    return re.sub(r"(?<=\d)\s*/\s*10(?!\d)", " ", text)


def _without_more(said: Sequence[Clause], words: SentenceWords) -> list[Clause]:
    """The clauses without "not one more", which is no number of this scale."""
    left = []
    for clause in said:
        kept = list(clause)
        for hit in reversed(words.lists["no_more_of_them"].hits(clause)):
            del kept[hit.start : hit.end]
        left.append(kept)
    return [clause for clause in left if clause]


@dataclass(frozen=True, slots=True)
class _Number:
    value: float
    sure: bool


def _whole(told: "_Number", low: int, high: int) -> Understood[int] | None:
    if told.value % 1 or not low <= told.value <= high:
        return None
    return Understood(int(told.value), sure=told.sure)


def _one_of(
    said: Sequence[Clause], words: SentenceWords, *, strict: bool = False
) -> _Number | None:
    """The one number that the clauses tell.

    Args:
        strict: several numbers count only where the words choose one of them.
    """
    told: list[_Told] = []
    for at, clause in enumerate(said):
        told += _in_clause(clause, at, words)
        if _is_range(clause, words):
            return None
    kept = [one for one in told if not one.passed_over]
    chosen = [one for one in kept if one.chosen]
    values = {one.value for one in kept}
    if not kept:
        return None
    if len(values) == 1:
        return _Number(kept[0].value, sure=len(told) == len(kept))
    if chosen:
        return _Number(chosen[-1].value, sure=False)
    if strict:
        return None
    first = [one for one in kept if one.clause == kept[0].clause]
    return _Number(first[0].value, sure=False) if len(first) == 1 else None


def _fewer_of(said: Sequence[Clause], words: SentenceWords) -> _Number | None:
    """The fewer of "2 or 3", where these are the only numbers; ``None`` for other words.

    Fewer done and fewer left in hand both lead to the easier dose.
    """
    told = [one for at, clause in enumerate(said) for one in _in_clause(clause, at, words)]
    ranges = sum(_is_range(clause, words) for clause in said)
    if len(told) != RANGE_ENDS or ranges != 1 or any(one.passed_over for one in told):
        return None
    return _Number(min(one.value for one in told), sure=False)


def _in_clause(clause: Clause, at: int, words: SentenceWords) -> list[_Told]:
    lists = words.lists
    found = []
    begin = 0
    for place, word in enumerate(clause):
        if not is_figure(word):
            continue
        after = clause[place + 1 : place + 2]
        before = clause[begin:place]
        # "7/10" and "7 out of 10" name the top of the scale.
        top = clause[max(0, place - 2) : place] == ["out", "of"] and value_of(word) == TOP
        span = lists["spans"].stands_in(after) or lists["clock_words"].stands_in(after)
        begin = place + 1
        if top or span or ":" in word:
            continue
        part = [*before, *clause[place + 1 : place + 3]]
        chosen = lists["choosing"].stands_in(before) or lists["choosing_after"].stands_in(
            clause[place + 1 : place + 4]
        )
        past = lists["was_before"].stands_in(part) and not chosen
        other = lists["others_say"].stands_in(before) and not lists["own_say"].stands_in(before)
        found.append(_Told(value_of(word), at, chosen, past or other))
    return found


def _is_range(clause: Clause, words: SentenceWords) -> bool:
    """Whether two different numbers stand as "3 or 4", "3 up to 7", "between 2 and 5"."""
    places = [place for place, word in enumerate(clause) if is_figure(word)]
    for first, second in pairwise(places):
        between = clause[first + 1 : second]
        differs = value_of(clause[first]) != value_of(clause[second])
        if differs and words.lists["range"].are(between):
            return True
    return False


def without_plan(said: Sequence[Clause], planned: int, words: SentenceWords) -> list[Clause]:
    """The clauses without the plan's own number in "nine of the ten"."""
    left = []
    for clause in said:
        kept: Clause = []
        for at, word in enumerate(clause):
            before = clause[max(0, at - 3) : at]
            plan = is_figure(word) and value_of(word) == planned and len(before) > 1
            of = [hit for hit in words.lists["of_planned"].hits(before) if hit.end == len(before)]
            if plan and of and any(map(is_figure, before)):
                continue
            kept.append(word)
        left.append(kept)
    return left


def _short_of(said: Sequence[Clause], planned: int, words: SentenceWords) -> int | None:
    """ "One short": the plan less so many."""
    for clause in said:
        for hit in words.lists["all_but"].hits(clause):
            after = clause[hit.end] if hit.end < len(clause) else ""
            if is_figure(after) and 0 < value_of(after) < planned:
                return planned - int(value_of(after))
        for hit in words.lists["more_than_asked"].hits(clause):
            before = clause[hit.start - 1] if hit.start else ""
            if is_figure(before) and 0 < value_of(before) < planned:
                return planned + int(value_of(before))
        for hit in words.lists["short_of"].hits(clause):
            before = clause[hit.start - 1] if hit.start else ""
            if is_figure(before) and 0 < value_of(before) < planned:
                return planned - int(value_of(before))
    return None


def _any(said: Sequence[Clause], words: SentenceWords, name: str) -> bool:
    return any(words.lists[name].stands_in(clause) for clause in said)


def _count(said: Sequence[Clause], words: SentenceWords, name: str) -> int:
    return sum(len(words.lists[name].hits(clause)) for clause in said)
