"""When cases of a test are no longer counted for coverage (ours)."""

from tests.support.counting import PATIENCE, Worthwhile


def test_a_test_is_counted_until_some_cases_in_a_row_reach_nothing_new() -> None:
    worthwhile = Worthwhile()
    for _ in range(PATIENCE):
        assert worthwhile.is_worth("one")
        worthwhile.counted("one", 0)
    assert not worthwhile.is_worth("one")
    assert worthwhile.is_worth("another")


def test_a_case_that_reaches_something_new_begins_the_row_again() -> None:
    worthwhile = Worthwhile()
    for new in (0,) * (PATIENCE - 1) + (7,) + (0,) * (PATIENCE - 1):
        worthwhile.counted("one", new)
    assert worthwhile.is_worth("one")
    worthwhile.counted("one", 0)
    assert not worthwhile.is_worth("one")
