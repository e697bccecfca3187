"""How long a set of a family takes that was never done."""

from datetime import date

from core.dose.history import History
from core.movements.ladder import ladder
from core.programme.set_clock import REST_MINUTES, SetClock
from core.vocabulary import Family
from tests.core.movements.people import catalogue, client


def test_getting_up_is_timed_by_its_own_few_goes() -> None:
    """Two to five goes of 14 seconds, as the rungs say, not the eight to twenty of other sets."""
    on = date(2026, 3, 2)
    clock = SetClock(client(), History(), catalogue(), on)
    minutes = clock.minutes_of_set(Family.GET_UP, ladder(client(), Family.GET_UP, catalogue(), on))
    assert 2 * 14 / 60 < minutes - REST_MINUTES < 5 * 14 / 60
