"""A movement's card fits a phone of 390 x 844 at 18 px, picture and buttons included."""

import pytest
from playwright.sync_api import Browser

from tests.bench.cards import HEIGHT, Shown, cards, heights

TALLEST = 10


@pytest.fixture(scope="module")
def longest() -> list[Shown]:
    """The cards with the most lines, as far as words can tell before they are drawn."""

    def lines(one: Shown) -> int:
        return sum(1 + len(line) // 33 for line in one.outgoing.text.splitlines())

    return sorted(cards(), key=lines, reverse=True)[:TALLEST]


def test_the_ten_longest_cards_fit(browser: Browser, longest: list[Shown]):
    page = browser.new_page()
    try:
        tall = dict(zip((one.step.key for one in longest), heights(page, longest), strict=True))
    finally:
        page.close()
    assert len(tall) == TALLEST
    assert {key: height for key, height in tall.items() if height > HEIGHT} == {}
