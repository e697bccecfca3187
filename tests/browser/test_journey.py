"""The main path in a browser: check-in, an easier movement, a warning sign, the coach sees it."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.live import PROFILE, Live
from tests.browser.screen import Screen


def national(number: str) -> str:
    """A number of New Zealand without its country's code."""
    return number.replace("+64 ", "0")


@pytest.mark.parametrize(("width", "height"), [(1200, 800), (360, 740)])
def test_a_client_checks_in_asks_for_easier_and_calls_for_help(
    own_live: Live, tab: Page, width: int, height: int
) -> None:
    tab.set_viewport_size({"width": width, "height": height})
    screen = Screen(tab)
    screen.open(own_live.url)

    screen.move_clock("morning")
    client = screen.client
    expect(client.locator(".current")).to_contain_text("Any of these today?")
    message = client.locator(".current").get_attribute("data-key")
    for _ in range(6):
        screen.tap(client)
    expect(client.locator(".current")).to_contain_text("Today")
    assert client.locator(".current").get_attribute("data-key") == message

    screen.tap(client)
    expect(client.locator(".current")).to_contain_text("Your session today")
    client.locator(".current .choices button").nth(1).click()
    expect(client.locator(".current img")).to_be_visible()
    card = client.locator(".current")
    before, picture = card.inner_text(), card.locator("img").get_attribute("src")
    screen.tap(client, "Easier")
    expect(card.locator("img")).to_be_visible()
    assert card.inner_text() != before
    assert card.locator("img").get_attribute("src") != picture
    assert card.locator("img").get_attribute("alt")
    # Its place is reserved, so that no button moves away under a finger.
    expect(card.locator("img")).to_have_attribute("width", re.compile(r"\d+"))

    screen.write(client, "my chest feels tight")
    warning = client.locator(".told.safety").last
    expect(warning).to_contain_text("111")
    expect(warning.locator(".loud-word")).to_have_text("Warning")
    expect(client.locator("textarea")).to_have_value("")

    if screen.is_narrow:
        expect(tab.locator(".switch [data-show=right]")).to_contain_text("ALERT")
    coach = screen.coach
    alert = coach.locator(".told.alert")
    expect(alert).to_contain_text("my chest feels tight")
    # The coach lives in the same country: the number as she dials it.
    expect(alert).to_contain_text(national(str(PROFILE["phone"])))
    expect(alert.locator(".loud-word")).to_have_text("Alert")

    screen.move_clock("ten-minutes")
    expect(alert).to_have_count(1)
    expect(alert.locator(".times")).to_have_text(re.compile(r"Said \d+ times"))

    screen.tap(coach, "I have seen this")
    client = screen.client
    expect(client.locator(".entries")).to_contain_text("does not mean")


def test_all_answers_to_is_this_happening_now_are_in_sight_on_a_phone(
    own_live: Live, tab: Page
) -> None:
    tab.set_viewport_size({"width": 390, "height": 844})
    screen = Screen(tab)
    screen.open(own_live.url)

    screen.write(screen.client, "my chest felt odd for a moment, on the left, after the stairs")
    question = screen.client.locator(".current")
    expect(question).to_contain_text("Is this happening now?")

    expect(question.get_by_text("If it is bad, call 111 now.")).to_be_in_viewport()
    for answer in ("Yes, now", "Earlier, not now", "No, I am fine"):
        button = question.get_by_role("button", name=answer)
        expect(button).to_be_in_viewport(ratio=1)
        button.click(trial=True)  # nothing lies over it
