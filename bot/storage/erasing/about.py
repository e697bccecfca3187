"""Which clients a row of somebody else tells of: what is erased with them."""

from collections.abc import Iterable

from core.vocabulary import PersonId


def names(client_ids: Iterable[int]) -> str:
    """Ids as a row holds them, each between commas, or ""; a part of it can be searched for."""
    ids = sorted({int(one) for one in client_ids})
    return f",{','.join(map(str, ids))}," if ids else ""


def ids_in(about: str) -> list[PersonId]:
    """The ids that :func:`names` was given."""
    return [PersonId(int(one)) for one in about.split(",") if one]
