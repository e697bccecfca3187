"""What a client's own words say beside the sign: where they are, which joint, on which side.

Read for the coach only, beside the words themselves: nothing is decided by it.
"""

from collections.abc import Sequence

from bot.flows.place_words import PlaceWords
from bot.flows.reasons import Reason

Words = Sequence[str | Reason]


def place_told(words: Words, known: PlaceWords) -> str:
    """The newest line that tells where the client is, as typed, or ""."""
    return next((line for line in _newest_first(words) if _is_place(line, known)), "")


def street_told(words: Words, known: PlaceWords) -> str:
    """The newest street with a number in the words, without what stands around it, or ""."""
    found = (known.street.search(line) for line in _newest_first(words))
    return next((street.group() for street in found if street is not None), "")


def body_parts_told(words: Words, known: PlaceWords) -> list[str]:
    """Joints and limbs that the words name, with their side where it is told, each once."""
    said = " ".join(reversed(list(_newest_first(words)))).casefold()
    sided = [f"{side} {part}" for side, part in known.sided_part.findall(said)]
    rest = known.part.findall(known.sided_part.sub(" ", said))
    named = {part.split()[-1] for part in sided} | known.also_no_part
    return list(dict.fromkeys([*sided, *(part for part in rest if part not in named)]))


def _is_place(line: str, known: PlaceWords) -> bool:
    return bool(known.street.search(line) or known.somewhere.search(line))


def _newest_first(words: Words) -> list[str]:
    said = [word.replace("’", "'") for word in words if isinstance(word, str)]
    return [line.strip() for word in reversed(said) for line in reversed(word.splitlines())]
