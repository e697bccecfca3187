"""How far a training day fell short of what readiness promised: a sign of too much training."""

from collections.abc import Mapping
from datetime import date

from core.client.client import Client
from core.dose.capacity import after_set, open_day
from core.dose.history import History, by_day
from core.dose.prior import starting_point
from core.movements.catalogue import Catalogue
from core.vocabulary import Family


def below_prediction(
    client: Client,
    history: History,
    catalogue: Catalogue,
    *,
    word: Mapping[Family, float] | None = None,
) -> dict[date, float]:
    """Predicted minus observed offset of each day with sets, in spreads of an ordinary day.

    Positive: the sets went worse than that morning's answers let expect.

    Args:
        word: as :func:`core.dose.prior.starting_point` takes it.
    """
    if not history.sets:
        return {}
    capacity = starting_point(client, catalogue, year=history.sets[0].on.year, word=word)
    missed: dict[date, float] = {}
    for day in by_day(history.sets):
        capacity = open_day(capacity, day[0].on, day[0].day_shift)
        promised = capacity.day_offset
        for done in day:
            capacity = after_set(capacity, done)
        missed[day[0].on] = (promised - capacity.day_offset) / capacity.model.day_sd
    return missed
