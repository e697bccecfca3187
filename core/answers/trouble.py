"""What is wrong this morning, told in words: a pain, an illness, both or nothing."""

from core.answers.said import Clause, clauses, cut_at_turns, without_questions
from core.answers.words import Phrases, SentenceWords, Understood

NOTHING, PAIN, ILL, BOTH = "nothing", "pain", "ill", "ill_and_pain"
NEAR = 4
"""Words before a word of pain among which a "no" denies it."""
PLAIN = 8
"""Words; who writes more to say that nothing is wrong is asked whether that is right."""


def read_trouble(text: str, words: SentenceWords) -> Understood[str] | None:
    """What somebody tells of; ``None`` where words of a warning sign or a doubt stand there.

    Only a short plain "nothing" is sure. Sore muscles are no pain: they are asked about later.
    """
    lists = words.lists
    said = cut_at_turns(clauses(without_questions(text, words), words), words)
    if any(lists["wait_for_buttons"].stands_in(clause) for clause in said):
        return None
    pain = any(_told(clause, lists["pain_told"], words) or _felt(clause, words) for clause in said)
    ill = any(_told(clause, lists["ill_told"], words) for clause in said)
    if pain or ill:
        return Understood(BOTH if pain and ill else PAIN if pain else ILL, sure=False)
    if not any(lists["nothing_wrong"].stands_in(clause) for clause in said):
        return None
    whole = len(said) == 1 and sum(map(len, said)) <= PLAIN
    return Understood(NOTHING, sure=whole and lists["nothing_wrong"].are(said[0]))


def _told(clause: Clause, named: Phrases, words: SentenceWords) -> bool:
    """Whether a clause tells of it, undenied and not as over."""
    if words.lists["felt_no_more"].stands_in(clause):
        return False
    denying = words.lists["denying"]
    return any(
        not denying.stands_in(clause[max(0, hit.start - NEAR) : hit.start])
        for hit in named.hits(clause)
    )


def _felt(clause: Clause, words: SentenceWords) -> bool:
    """Whether a part of the body is felt: "left knee a bit", "wrist still there"."""
    still = words.lists["still_felt"].stands_in(clause)
    return still and _told(clause, words.lists["sore_place"], words)
