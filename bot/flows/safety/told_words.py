"""What a client's own words say beside the sign: where they are, which joint, on which side.

Read for the coach only, beside the words themselves: nothing is decided by it.
"""

import re
from collections.abc import Sequence

from bot.flows.reasons import Reason

_STREETS = (
    "street|st|road|rd|avenue|ave|lane|drive|terrace|place|crescent|close|way|court|grove|parade"
    "|quay|highway|square|hill|row|gardens|view"
)
_STREET = re.compile(
    rf"\b\d+[a-z]?(?:/\d+)?\s+(?:[a-z'-]+\s+){{1,3}}(?:{_STREETS})\b", re.IGNORECASE
)
_NO_PLACE = (
    "the|my|our|his|her|moment|all|least|last|first|once|times|rest|night|risk|ease|morning|evening|afternoon|day|time"
    "|left|right|chest|arms?|legs?|head|neck|jaw|back|shoulders?|throat|knees?|hips?|calf|ribs?"
    "|eyes?|ears?|stomach|tummy|belly|side|heart|phone|whole|end|way|middle|pain|tablets?|pills?"
)
_SOMEWHERE = re.compile(
    r"^\W*(?:(?:i\s+am|i'm|im|we\s+are|we're)\s+)?(?:now\s+|still\s+)?"
    r"(?:(?:at|outside|near|behind|opposite)\s+(?:(?:the|my)\s+)?"
    r"|on\s+the\s+|in\s+(?:the|my|our|his|her)\s+)"
    rf"(?!(?:{_NO_PLACE})\b)[a-z]",
    re.IGNORECASE,
)
_JOINTS = "knee|hip|shoulder|elbow|wrist|ankle|neck|back|calf|leg|foot|arm|hand|groin"
_SIDED = re.compile(
    rf"\b(left|right)\s+(?:(?:new|replaced|bad|operated)\s+)?({_JOINTS})\b", re.IGNORECASE
)
_JOINT = re.compile(rf"\b({_JOINTS})\b", re.IGNORECASE)

Words = Sequence[str | Reason]


def place_told(words: Words) -> str:
    """The newest line that tells where the client is, as typed, or ""."""
    return next((line for line in _newest_first(words) if _is_place(line)), "")


def street_told(words: Words) -> str:
    """The newest street with a number in the words, without what stands around it, or ""."""
    found = (_STREET.search(line) for line in _newest_first(words))
    return next((street.group() for street in found if street is not None), "")


def body_parts_told(words: Words) -> list[str]:
    """Joints and limbs that the words name, with their side where it is told, each once."""
    said = " ".join(reversed(list(_newest_first(words)))).casefold()
    sided = [f"{side} {part}" for side, part in _SIDED.findall(said)]
    plain = [part for part in _JOINT.findall(_SIDED.sub(" ", said)) if part not in _ALSO_NO_JOINT]
    named = {part.split()[-1] for part in sided}
    return list(dict.fromkeys([*sided, *(part for part in plain if part not in named)]))


_ALSO_NO_JOINT = ("back", "hand", "foot")
"""Words that mean no part of the body as often ("it is back again"): named with a side only."""


def _is_place(line: str) -> bool:
    return bool(_STREET.search(line) or _SOMEWHERE.search(line))


def _newest_first(words: Words) -> list[str]:
    said = [word.replace("’", "'") for word in words if isinstance(word, str)]
    return [line.strip() for word in reversed(said) for line in reversed(word.splitlines())]
