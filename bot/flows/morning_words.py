"""A client's own words that answer the morning's questions, whatever is open."""

from bot.flows.facts import Facts
from bot.flows.parsing import read_answer
from bot.json_values import JsonValue
from core.answers.morning import ill_told, morning_told, told_parts
from core.readiness.morning_questions import (
    MorningQuestion,
    PainPlace,
    Trouble,
    read_pain_place,
)
from core.readiness.scales import PAIN, parse_number


def morning_of(text: str, facts: Facts) -> dict[str, JsonValue]:
    """Answers by the key of their question; empty for other words.

    A place is told only with a word for pain. A chest is none: the reader of warning signs has let
    it pass, and where it hurts is asked.
    """
    words = facts.reference.sentences
    told: dict[str, JsonValue] = dict(morning_told(text, words))
    hurts = False
    for part in told_parts(text, words):
        if not words.lists["it_hurts"].stands_in(part) or words.lists["no_pain"].stands_in(part):
            continue
        hurts = True
        place = _place(part, facts)
        if place:
            told[MorningQuestion.PAIN_PLACE.value] = place
            # "My knee is sore" is a pain, and says nothing of the muscles.
            told.pop(MorningQuestion.SORENESS.value, None)
    level, ill = _out_of_ten(text, facts), ill_told(text, words)
    if hurts and level is not None:
        told[MorningQuestion.PAIN_LEVEL.value] = level
        if MorningQuestion.PAIN_PLACE.value not in told:
            # Where it hurts is asked.
            told[MorningQuestion.TROUBLE.value] = Trouble.PAIN.value
    if ill:
        both = MorningQuestion.TROUBLE.value in told
        told[MorningQuestion.TROUBLE.value] = (Trouble.ILL_AND_PAIN if both else Trouble.ILL).value
    return told


def _out_of_ten(text: str, facts: Facts) -> int | None:
    """The one number in a text that is told as "8 of 10"; None where there is none, or several."""
    words, numbers = facts.reference.sentences, facts.reference.words.numbers
    found = set()
    for part in told_parts(text, words):
        for hit in words.lists["of_ten"].hits(part):
            level = parse_number(part[hit.start - 1], PAIN, numbers) if hit.start else None
            if isinstance(level, int | float):
                found.add(int(level))
    return found.pop() if len(found) == 1 else None


def _place(part: list[str], facts: Facts) -> str:
    known = facts.reference.answers["pain_place"]
    sides = [word for word in part if word in ("left", "right")]
    found = set()
    for word in part:
        told = read_pain_place(read_answer(word, known) or word)
        if told is not None:
            found.add(told[0])
    if len(found) != 1 or found <= {PainPlace.CHEST, PainPlace.HEAD}:
        return ""
    side = f"{sides[0]} " if len(set(sides)) == 1 else ""
    where = read_pain_place(f"{side}{found.pop().value}")
    return "" if where is None else f"{where[1].value} {where[0].value}" if where[1] else where[0]
