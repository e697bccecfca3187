"""A set told in one line: how many were done, and how many more there were ("Ten, three more")."""

from collections.abc import Sequence
from dataclasses import dataclass

from core.answers.counts import MOST_LEFT, done_in, heard_numbers, left_in, without_plan
from core.answers.plain import BREAK
from core.answers.said import Clause, is_figure, numbered, value_of, without_questions
from core.answers.words import SentenceWords, Understood

AFTER = "after"


@dataclass(frozen=True, slots=True)
class SetTold:
    """A set in a client's own words.

    Attributes:
        done: how many (or how many seconds).
        left: how many more could have been done; ``None`` where nothing was said of it.
        sure: ``left`` can hardly mean anything else.
    """

    done: int
    left: int | None = None
    sure: bool = True


def read_set(
    text: str, planned: int, words: SentenceWords, most: int = MOST_LEFT
) -> SetTold | None:
    """What was done of a set and, where the words go on, how many more there were.

    Of "two or three more" the fewer count, not surely; so does a second number that nothing
    names ("12, 4").
    """
    lists = words.lists
    answer = without_questions(text, words)
    looked_for = (lists["none_left"], lists["many_left"], lists["all_of_them"])
    said, misheard = heard_numbers(numbered(answer, words, *looked_for, ordinals=False), words)
    said = without_plan(said, planned, words)
    flat = [word for clause in said for word in (*clause, BREAK)][:-1]
    turn, named = _goes_on_at(flat, words)
    head, tail = _clauses(flat[:turn]), _clauses(flat[turn:])
    done = done_in(head, planned, words, doubt=misheard)
    if done is None:
        return None
    fewest = _fewest(tail, words)
    left = Understood(min(fewest, most), sure=False) if fewest is not None else None
    left = left or left_in(tail, words, most, doubt=misheard)
    if left is None:
        return SetTold(done.value)
    plain = left.sure or (left.value == most and fewest is None)
    return SetTold(done.value, left.value, plain and named and done.sure and not misheard)


def _goes_on_at(flat: Sequence[str], words: SentenceWords) -> tuple[int, bool]:
    """Where what was left begins, and whether words name it; the end where it does not."""
    figures = [at for at, word in enumerate(flat) if is_figure(word)]
    every = words.lists["all_of_them"].hits(flat)
    begun = min([*figures[:1], *(hit.start for hit in every[:1])], default=len(flat))
    marks = [hit for hit in words.choices["goes_on"].hits(flat) if hit.start > begun]
    for hit in marks:
        start = _start_of_number(flat, hit.start, words) if hit.code == AFTER else hit.start
        if start <= begun:
            continue
        unnamed = [at for at in figures if begun < at < start]
        if (
            len(unnamed) == 1
            and flat[start : hit.end]
            and not _is_number_near(flat, start, hit.end)
        ):
            return unnamed[0], False
        return start, True
    rest = [at for at in figures if at > begun]
    if rest and (len(rest) == 1 or _are_range(flat, rest, words)):
        return rest[0], False
    return len(flat), True


def _is_number_near(flat: Sequence[str], start: int, end: int) -> bool:
    """Whether the words that go on have a number, or say that none was left."""
    return any(is_figure(word) for word in flat[start : end + 2]) or end - start > 1


def _are_range(flat: Sequence[str], places: Sequence[int], words: SentenceWords) -> bool:
    one, two = places[0], places[-1]
    return len(places) == 2 and words.lists["range_links"].are(flat[one + 1 : two])


def _start_of_number(flat: Sequence[str], end: int, words: SentenceWords) -> int:
    """Where "two or three" begins that ends before a word."""
    start = end
    if start and is_figure(flat[start - 1]):
        start -= 1
        linked = words.lists["range_links"].are(flat[start - 1 : start])
        if start > 1 and linked and is_figure(flat[start - 2]):
            start -= 2
    return start


def _fewest(said: Sequence[Clause], words: SentenceWords) -> int | None:
    """The fewer of "two or three"; ``None`` for other words."""
    for clause in said:
        for at in range(2, len(clause)):
            one, link, two = clause[at - 2 : at + 1]
            if is_figure(one) and is_figure(two) and words.lists["range_links"].are([link]):
                return int(min(value_of(one), value_of(two)))
    return None


def _clauses(flat: Sequence[str]) -> list[Clause]:
    found: list[Clause] = [[]]
    for word in flat:
        if word == BREAK:
            found.append([])
        else:
            found[-1].append(word)
    return [clause for clause in found if clause]
