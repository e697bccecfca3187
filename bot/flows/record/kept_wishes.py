"""Wishes for an easier movement on a day without it: kept for its next day, two weeks at most.

Only easier ones: what is harder is asked for when the movement is there.
"""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Final

from bot.flows.changes import SaveProfile
from bot.flows.facts import ClientRecord
from bot.json_values import JsonValue
from core.vocabulary import Family

EASIER_NEXT: Final = "easier_next"
"""Answer that holds, by family, the day on which it was asked for."""
KEPT_FOR: Final = timedelta(days=14)
"""After so long what was too hard is no longer what would come (ours)."""


def wishes_kept(record: ClientRecord, today: date) -> tuple[Family, ...]:
    """The families that were asked to be easier on an earlier day, or today, and still wait."""
    return tuple(
        family
        for family in Family
        if family in _kept(record)
        and date.fromisoformat(str(_kept(record)[family])) >= today - KEPT_FOR
    )


def keep_wish(record: ClientRecord, family: Family, today: date) -> SaveProfile:
    """With one wish more."""
    return _saved(record, {**_kept(record), family.value: today.isoformat()})


def wishes_granted(record: ClientRecord, families: tuple[Family, ...]) -> SaveProfile:
    """Without what was done as wished."""
    rest = {family: on for family, on in _kept(record).items() if family not in families}
    return _saved(record, rest)


def _kept(record: ClientRecord) -> Mapping[str, JsonValue]:
    kept = record.answers.get(EASIER_NEXT)
    return kept if isinstance(kept, Mapping) else {}


def _saved(record: ClientRecord, kept: Mapping[str, JsonValue]) -> SaveProfile:
    return SaveProfile(record.id, {EASIER_NEXT: dict(kept)})
