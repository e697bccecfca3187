"""Conditions, medicines and operations, told in a sentence.

What is denied, somebody else's or over does not count; where that is not plain the answer is not
sure, and is said back. A medicine whose name is not known counts as one.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from core.answers.said import Clause, clauses, cut_at_turns, without_questions
from core.answers.words import PhraseHit, Phrases, SentenceWords, Understood

UNKNOWN = "unknown"
SHORTEST_MEDICINE = 6
"""Letters from which a word that is none of every day may be a medicine."""

Codes = tuple[str, ...]
"""Sorted codes; none where the answer is "none"."""


@dataclass(frozen=True, slots=True)
class Operated:
    """An operation told: the joint and its side ("" where not said), or another operation."""

    joint: str
    side: str


def read_conditions(text: str, words: SentenceWords) -> Understood[Codes] | None:
    """The conditions that somebody has or was told of."""
    phrases = words.conditions
    answer = without_questions(text, words)
    said = cut_at_turns(clauses(answer, words, phrases, words.lists["no_conditions"]), words)
    told, doubt = _told(said, phrases, words)
    heart = {"heart"} if _only(said, phrases, words, "bare_heart") else set()
    found = (set(told) - {"heart"}) | (({"heart"} & set(told)) if not heart else set())
    if heart:
        # "Heart" alone says which only where nothing else of the heart is told.
        others = words.lists["heart_codes"].vocabulary
        if not {code.replace("_", "") for code in found} & others:
            found |= heart & set(told)
            doubt = True
    if found:
        return Understood(tuple(sorted(found)), sure=not doubt)
    return _none(said, words, "no_conditions", doubt=doubt)


def read_medicines(text: str, words: SentenceWords) -> Understood[Codes] | None:
    """The classes of the medicines that are taken."""
    phrases = words.medicines
    answer = without_questions(text, words)
    said = cut_at_turns(clauses(answer, words, phrases, words.lists["no_medicines"]), words)
    told, doubt = _told(said, phrases, words)
    found = set(told)
    for clause in said:
        if _is_other(clause, words) or _denied_before(clause, len(clause), words):
            continue
        for at, word in enumerate(clause):
            if phrases.stands_in([word]) or any(
                hit.start <= at < hit.end for hit in phrases.hits(clause)
            ):
                continue
            code = _by_ending(word, words)
            if code:
                found.add(code)
            elif _may_be_a_medicine(clause, at, words):
                found.add(UNKNOWN)
                doubt = True
    if found:
        return Understood(tuple(sorted(found)), sure=not doubt and UNKNOWN not in found)
    if any(words.lists["no_class"].stands_in(clause) for clause in said):
        # A statin changes nothing here: none of those that count, to be said back.
        return Understood((), sure=False)
    return _none(said, words, "no_medicines", doubt=doubt)


def read_operations(text: str, words: SentenceWords) -> Understood[tuple[Operated, ...]] | None:
    """Replaced joints and other operations; none where the words say so."""
    joints, sides, others = words.choices["joint"], words.choices["side"], words.lists["operations"]
    looked_for = (joints, sides, others, words.lists["no_operations"])
    said = cut_at_turns(clauses(without_questions(text, words), words, *looked_for), words)
    found: list[Operated] = []
    doubt = False
    for clause in said:
        if _is_other(clause, words) or words.lists["awaiting"].stands_in(clause):
            doubt = True
            continue
        hits = [hit for hit in joints.hits(clause) if not _denied_before(clause, hit.start, words)]
        side = list(dict.fromkeys(hit.code for hit in sides.hits(clause)))
        if hits:
            both = "both" in side
            for joint in dict.fromkeys(hit.code for hit in hits):
                named = ["left", "right"] if both else side[:1] or [""]
                found += [Operated(joint, one) for one in named]
                doubt = doubt or len(side) > 1
        elif side and found and not found[-1].side:
            found[-1] = Operated(found[-1].joint, side[0])
        elif others.stands_in(clause) and not _denied_before(clause, len(clause), words):
            long_ago = words.lists["long_ago"].stands_in(clause) or _year_ago(clause)
            if not long_ago:
                found.append(Operated("", ""))
    found = list(dict.fromkeys(found))
    if any(one.joint for one in found):
        found = [one for one in found if one.joint]
    if found:
        return Understood(tuple(found), sure=not doubt and all(one.side for one in found))
    if any(words.lists["no_operations"].stands_in(clause) for clause in said) and not doubt:
        return Understood((), sure=True)
    return None


def tells_nothing_else(text: str, words: SentenceWords) -> bool:
    """Whether a text names conditions and medicines that somebody has, and not one word more.

    Only words of a short list may stand beside them.
    """
    said = clauses(text, words, words.conditions, words.medicines)
    named = False
    for clause in said:
        left = list(clause)
        for phrases in (words.conditions, words.medicines):
            hits = phrases.hits(left)
            named = named or bool(hits)
            for hit in reversed(hits):
                del left[hit.start : hit.end]
        if any(not (words.lists["around_health"].are([word]) or word.isdigit()) for word in left):
            return False
    return named


def _told(said: Sequence[Clause], phrases: Phrases, words: SentenceWords) -> tuple[list[str], bool]:
    """The codes that stand there undenied, and whether anything makes them doubtful."""
    told, doubt = [], False
    for clause in said:
        hits = phrases.hits(clause)
        if not hits:
            continue
        if _is_other(clause, words):
            doubt = doubt or words.lists["own_say"].stands_in(clause)
            continue
        for hit in hits:
            if _denied(clause, hit, words):
                continue
            if words.lists["over"].stands_in(clause):
                doubt = True
                continue
            told.append(hit.code)
            doubt = doubt or words.lists["hedging"].stands_in(clause)
    return told, doubt


def _denied(clause: Clause, hit: PhraseHit, words: SentenceWords) -> bool:
    after = clause[hit.end : hit.end + 5]
    return _denied_before(clause, hit.start, words) or words.lists["is_fine"].stands_in(after)


def _denied_before(clause: Clause, place: int, words: SentenceWords) -> bool:
    """Whether a "no" before that place still holds there."""
    denying = [
        hit
        for hit in words.lists["denying"].hits(clause[:place])
        if not words.lists["no_denial"].stands_in(clause[hit.start : hit.end + 2])
    ]
    if not denying:
        return False
    again = words.lists["having"].hits(clause[denying[-1].end : place])
    return not again


def _is_other(clause: Clause, words: SentenceWords) -> bool:
    """Whether a clause speaks of somebody else."""
    return words.lists["other_people"].stands_in(clause) and not words.lists["of_me"].stands_in(
        clause
    )


def _only(said: Sequence[Clause], phrases: Phrases, words: SentenceWords, name: str) -> bool:
    """Whether the heart is named by a bare word only."""
    bare, any_heart = False, False
    for clause in said:
        for hit in phrases.hits(clause):
            if hit.code == "heart":
                any_heart = True
                bare = bare or words.lists[name].are(clause[hit.start : hit.end])
                if not words.lists[name].are(clause[hit.start : hit.end]):
                    return False
    return bare and any_heart


def _none(
    said: Sequence[Clause], words: SentenceWords, name: str, *, doubt: bool
) -> Understood[Codes] | None:
    none = any(words.lists[name].stands_in(clause) for clause in said)
    return Understood((), sure=not doubt) if none else None


def _by_ending(word: str, words: SentenceWords) -> str:
    for ending, code in words.endings.items():
        if len(word) > len(ending) + 2 and word.endswith(ending) and word not in words.common:
            return code
    return ""


def _may_be_a_medicine(clause: Clause, at: int, words: SentenceWords) -> bool:
    word = clause[at]
    reason = words.lists["reason_for"].stands_in(clause[max(0, at - 2) : at])
    led = at == 0 or words.lists["before_medicine"].stands_in(clause[max(0, at - 2) : at])
    plain = not word.isalpha() or len(word) < SHORTEST_MEDICINE or word in words.common
    known = words.conditions.stands_in([word]) or words.lists["no_medicine"].stands_in([word])
    return led and not (reason or plain or known)


def _year_ago(clause: Clause) -> bool:
    return any(word.isdigit() and len(word) == 4 and 1900 <= int(word) <= 2200 for word in clause)
