"""A browser, and the real program with its page; skipped where there is no chromium."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.live import Live, live_page

ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
NAMES = ("chromium", "chromium-browser")
PATIENCE_MS = 60_000


@pytest.fixture(scope="session")
def chromium() -> str:
    """Where Debian's chromium is."""
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        pytest.skip("no chromium on this machine (Debian: apt-get install chromium)")
    return found


@pytest.fixture(scope="package")
def browser(chromium: str) -> Iterator[Browser]:
    """One browser for the tests of this folder.

    It ends with them: while it lives, its event loop keeps asynchronous tests from running.
    """
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium, args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture(scope="package")
def live(tmp_path_factory: pytest.TempPathFactory, chromium: str) -> Iterator[Live]:
    """A program for tests that only look, or that leave the practice as it was."""
    with live_page(tmp_path_factory.mktemp("live")) as running:
        yield running


@pytest.fixture
def own_live(tmp_path: Path, chromium: str) -> Iterator[Live]:
    """A program of a test's own."""
    with live_page(tmp_path) as running:
        yield running


@pytest.fixture
def tab(browser: Browser) -> Iterator[Page]:
    """A new tab that fails the test on any error of the page's script."""
    context = browser.new_context(viewport={"width": 1200, "height": 800})
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    yield page
    context.close()
    assert errors == []
