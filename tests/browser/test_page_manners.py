"""Manners of the page: size, contrast, keyboard, lost connections, and who it talks to."""

import json
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from tests.browser.live import CLIENT, COACH, Live
from tests.browser.screen import Screen

VISIBLE_TEXT = """() => {
  const parse = (colour) => colour.match(/[\\d.]+/g).map(Number);
  const light = ([r, g, b]) => [r, g, b].map((part) => {
    const share = part / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  }).reduce((sum, part, at) => sum + part * [0.2126, 0.7152, 0.0722][at], 0);
  const ground = (element) => {
    for (let one = element; one; one = one.parentElement) {
      const colour = parse(getComputedStyle(one).backgroundColor);
      if (colour.length === 3 || colour[3] === 1) return colour;
    }
    return [255, 255, 255];
  };
  const found = [];
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const element = texts.currentNode.parentElement;
    const box = element.getBoundingClientRect();
    const hidden = ["SCRIPT", "NOSCRIPT", "TEMPLATE", "OPTION"].includes(element.tagName);
    if (!texts.currentNode.data.trim() || hidden || box.width < 2 || box.height < 2) continue;
    const style = getComputedStyle(element);
    const [one, other] = [light(parse(style.color)), light(ground(element))];
    found.push({
      text: texts.currentNode.data.trim().slice(0, 40),
      size: parseFloat(style.fontSize),
      contrast: (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05),
      loud: element.closest(".alert, .safety, .trouble, .lost") !== null,
    });
  }
  return found;
}"""

FOCUSED = "document.activeElement.className || document.activeElement.tagName"

CONTROLS = """() => Array.from(document.querySelectorAll("button, select, textarea"))
  .filter((one) => one.offsetParent !== null)
  .map((one) => ({ name: one.textContent || one.tagName, box: one.getBoundingClientRect() }))
  .map(({ name, box }) => ({ name, width: box.width, height: box.height }))"""


@pytest.fixture
def screen(live: Live, tab: Page) -> Screen:
    """The page with an answer on the client's phone."""
    opened = Screen(tab)
    opened.open(live.url)
    return opened


@pytest.fixture(params=[(1200, 800), (600, 400), (360, 740), (320, 640)], ids=str)
def sized(request: pytest.FixtureRequest, screen: Screen) -> Screen:
    """At the usual sizes; 600 by 400 is a wide screen zoomed to 200 %."""
    width, height = request.param
    screen.page.set_viewport_size({"width": width, "height": height})
    screen.ask(screen.client, "menu")
    expect(screen.client.locator(".current button").first).to_be_visible()
    return screen


def test_text_is_large_and_stands_out(sized: Screen) -> None:
    texts = sized.page.evaluate(VISIBLE_TEXT)
    assert len(texts) > 10
    for text in texts:
        assert text["size"] >= 18, text
        assert text["contrast"] >= (7 if text["loud"] else 4.5), text


def test_whatever_is_pressed_is_large_enough_for_a_thumb(sized: Screen) -> None:
    controls = sized.page.evaluate(CONTROLS)
    assert len(controls) > 5
    for control in controls:
        assert control["height"] >= 48, control
        assert control["width"] >= 48, control


def test_nothing_is_wider_than_the_screen(sized: Screen) -> None:
    wide, shown = sized.page.evaluate(
        "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    assert wide <= shown


def test_the_role_is_always_shown(sized: Screen) -> None:
    assert "client" in sized.client.locator(".role").inner_text().lower()
    expect(sized.client.locator("select option:checked")).to_contain_text(CLIENT)
    assert "coach" in sized.coach.locator(".role").inner_text().lower()
    expect(sized.coach.locator("select option:checked")).to_contain_text(COACH)


def test_any_person_can_be_chosen_on_either_phone(screen: Screen) -> None:
    for side in ("left", "right"):
        phone = screen.phone(side)
        names = phone.locator("select option").all_inner_texts()
        assert any(CLIENT in name for name in names)
        assert any(COACH in name for name in names)
    screen.client.locator("select").select_option(label=f"{COACH}, coach")
    expect(screen.client.locator(".role")).to_contain_text("coach")
    expect(screen.client.locator(".entries")).not_to_contain_text("menu")


def test_everything_works_with_the_keyboard_alone(screen: Screen) -> None:
    page = screen.page
    screen.ask(screen.client, "menu")
    button = screen.client.locator(".current button").last
    expect(button).to_be_visible()
    button.focus()
    before = screen.everything(screen.client)
    page.keyboard.press("Enter")
    expect(screen.client.locator(".entries")).not_to_have_text(before)
    reached = set()
    page.locator("body").press("Tab")
    for _ in range(40):
        reached.add(
            page.evaluate("document.activeElement.className || document.activeElement.tagName")
        )
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert outline != "none" or page.evaluate("document.activeElement === document.body")
        page.keyboard.press("Tab")
    assert {"log", "TEXTAREA", "SELECT"} <= reached


def test_new_messages_are_read_aloud_and_everything_has_a_name(screen: Screen) -> None:
    for side in ("left", "right"):
        phone = screen.phone(side)
        log = phone.locator("[role=log]")
        expect(log).to_have_attribute("aria-live", "polite")
        assert log.get_attribute("aria-label")
        expect(phone.get_by_label("Write a message")).to_be_visible()
        expect(phone.get_by_label("Whose phone?")).to_be_visible()


def test_words_that_could_not_be_sent_stay_and_arrive_once(screen: Screen) -> None:
    page, client = screen.page, screen.client
    asked: list[dict[str, str]] = []

    def lose_the_answer(route: Route) -> None:
        """The first try arrives, but its answer is lost on the way back."""
        asked.append(json.loads(route.request.post_data or "{}"))
        if len(asked) == 1:
            route.fetch()
            route.abort()
        else:
            route.continue_()

    page.route("**/send", lose_the_answer)
    screen.write(client, "the kettle is on")
    expect(client.locator(".trouble")).to_have_text("Not sent. Try again.")
    expect(client.locator("textarea")).to_have_value("the kettle is on")
    client.locator("form button").click()
    expect(client.locator("textarea")).to_have_value("")
    expect(client.locator(".trouble")).to_be_hidden()
    page.unroute("**/send")
    assert asked[0]["update"] == asked[1]["update"]
    expect(client.locator(".said", has_text="the kettle is on")).to_have_count(1)


def test_a_tap_that_could_not_be_sent_says_so_beside_the_button(screen: Screen) -> None:
    page, client = screen.page, screen.client
    screen.ask(client, "menu")
    expect(client.locator(".current button").last).to_have_text("My data")
    page.route("**/send", lambda route: route.abort())
    client.locator(".current button").last.click()
    expect(client.locator(".current .tap-trouble")).to_have_text("Not sent. Try again.")
    page.unroute("**/send")
    client.locator(".current button").last.click()
    expect(client.locator(".tap-trouble")).to_have_count(0)


def test_buttons_of_earlier_messages_still_work(screen: Screen) -> None:
    client = screen.client
    for _ in range(2):
        screen.ask(client, "menu")
    expect(client.locator(".current")).to_have_count(1)
    old = client.locator(".told:not(.current) button").last
    before = client.locator(".told").count()
    old.click()
    expect(client.locator(".told")).not_to_have_count(before)


def test_a_new_phone_is_told_that_it_belongs_to_nobody(screen: Screen) -> None:
    client = screen.client
    client.locator("select").select_option(label="A new phone")
    expect(client.locator(".empty")).to_contain_text("invitation")
    screen.write(client, "hello")
    expect(client.locator(".told").last).to_be_visible()


def test_the_page_asks_nobody_but_its_own_server(live: Live, browser: Browser) -> None:
    context = browser.new_context()
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    Screen(page).open(live.url)
    page.wait_for_timeout(500)
    context.close()
    assert len(asked) >= 5
    assert {urlsplit(url).netloc for url in asked} == {urlsplit(live.url).netloc}


def test_less_motion_is_kept_to(live: Live, browser: Browser) -> None:
    context = browser.new_context(reduced_motion="reduce")
    page = context.new_page()
    screen = Screen(page)
    screen.open(live.url)
    screen.ask(screen.client, "menu")
    expect(screen.client.locator(".fresh").last).to_be_visible()
    moving = page.evaluate("document.getAnimations().length")
    context.close()
    assert moving == 0


def test_with_little_room_nothing_lies_between_more_and_where_one_writes(
    live: Live, browser: Browser
) -> None:
    # 390 by 844 with letters of twice the size has the room of this.
    context = browser.new_context(viewport={"width": 360, "height": 460})
    screen = Screen(context.new_page())
    screen.open(live.url)
    for text in ("menu", "my data"):
        screen.ask(screen.client, text)
    screen.page.evaluate("window.scrollTo(0, 0)")
    more, writer = (screen.client.locator(one) for one in (".below", ".writer"))
    expect(more).to_be_visible()
    above, below = more.bounding_box(), writer.bounding_box()
    line = screen.client.locator("textarea").bounding_box()
    assert above is not None
    assert below is not None
    assert line is not None
    assert abs(above["y"] + above["height"] - below["y"]) <= 1
    assert line["width"] >= 360 / 2
    context.close()


def test_with_large_letters_words_being_written_have_the_whole_line(
    live: Live, browser: Browser
) -> None:
    # 390 by 844 with letters of twice the size is as many letters wide as this.
    context = browser.new_context(viewport={"width": 195, "height": 422})
    screen = Screen(context.new_page())
    screen.open(live.url)
    line, send = (screen.client.locator(f".writer {one}") for one in ("textarea", "button"))
    line.fill("I slept well")
    written, below = line.bounding_box(), send.bounding_box()
    assert written is not None
    assert below is not None
    assert written["width"] >= 195 * 0.8
    assert below["y"] >= written["y"] + written["height"]
    assert below["y"] + below["height"] <= 422
    context.close()
