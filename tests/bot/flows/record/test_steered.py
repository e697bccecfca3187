"""Each column of the table that steers is met by somebody: no kept fact says nothing."""

import pytest

from bot.flows.coach.client.limit_questions import LIMIT_FORM
from bot.flows.joining.questions import JOIN_FORM
from bot.flows.record.steered import ASKED_ELSEWHERE
from core.client.care import NO_WALK_RULE
from core.client.steering import Row
from core.movements.cautions import BESIDE, beside
from tests.support.facts import reference
from tests.support.loaded import loaded

TABLE = reference().catalogue.steering
WORDS = loaded(lambda code: code).words
ASKS = WORDS.word("names", "steering_ask")


@pytest.mark.parametrize("row", TABLE.rows, ids=lambda row: row.id)
def test_what_a_row_asks_is_asked_of_the_client_or_put_to_the_coach(row: Row) -> None:
    for ask in row.asks:
        assert (ask in ASKS) is not (ask in ASKED_ELSEWHERE), ask


def test_what_is_asked_elsewhere_is_a_question_that_there_is() -> None:
    asks = {ask for row in TABLE for ask in row.asks}
    assert set(ASKED_ELSEWHERE) <= asks
    assert set(ASKS) <= asks
    questions = {*JOIN_FORM.by_key, *LIMIT_FORM.by_key}
    for where in ASKED_ELSEWHERE.values():
        known = where in questions
        assert known or (WORDS.folder / f"{where}.j2").exists(), where


def test_each_caution_that_belongs_beside_movements_is_met_beside_some_and_not_all() -> None:
    told = {code for row in TABLE for code in (*row.warns, *row.instead.values())}
    assert set(BESIDE) <= told
    for code in BESIDE:
        met = [bool(beside(rung, [code])) for rung in reference().catalogue]
        assert any(met), code
        assert not all(met), code


def test_every_row_has_a_word_for_somebody() -> None:
    for row in TABLE:
        steers = row.effects != type(row.effects)() or row.prefers or row.rather_not or row.company
        read = row.cares or row.walk != NO_WALK_RULE
        assert steers or read or row.asks or row.warns or row.watches, row.id
