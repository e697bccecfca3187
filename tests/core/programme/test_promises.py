"""What a programme promises to anybody: time, 48 hours, no group missed in silence, all rules."""

from datetime import date

from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.bench.programme import invented
from tests.core.movements.people import catalogue
from tests.support.programme_lives import broken_promises, live

START = date(2026, 3, 2)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 1_000_000))
@example(528)
@example(619)
@example(39327)
def test_four_weeks_of_anybody_keep_what_is_promised(number: int):
    client = invented(number)
    days = list(live(client, catalogue(), START, weeks=4))
    assert not broken_promises(client, catalogue(), days)
