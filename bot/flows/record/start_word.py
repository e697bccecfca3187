"""What coach and home tests say of a client's strength before the first session."""

from bot.flows.facts import ClientRecord
from bot.flows.record.home_test_record import tests_of
from bot.flows.record.profile import coach_word_of
from core.client.care import is_careful
from core.client.steering import SteeringTable, cares_of
from core.dose.history import History
from core.dose.home_test_word import strength_word
from core.dose.prior import WORD_STRENGTH, CoachWord, start_word
from core.vocabulary import Condition, Family

SHORT_OF_BREATH = frozenset({Condition.LUNG, Condition.ASTHMA, Condition.HOME_OXYGEN})
"""With these and with a heart that asks for more in hand a strong test raises little (ours)."""


def word_of(record: ClientRecord, history: History, table: SteeringTable) -> dict[Family, float]:
    """Log of how much stronger than typical, by family (see :func:`core.dose.prior.start_word`).

    Only tests up to the first day of training say where it started; later ones measure what it did.
    """
    client = record.client
    first = history.sets[0].on if history.sets else None
    tests = [done for done in tests_of(record.answers) if first is None or done.on <= first]
    tested = strength_word(tests, client.birth_year, client.sex)
    if is_careful(client, cares_of(client, table)) or client.conditions & SHORT_OF_BREATH:
        praise = WORD_STRENGTH[CoachWord.FITTER]
        tested = {family: min(said, praise) for family, said in tested.items()}
    return start_word(coach_word_of(record.answers), tested)
