"""The trial page as a person sees it: one or two phones, buttons, words."""

from dataclasses import dataclass

from playwright.sync_api import Locator, Page, expect

NARROW_BELOW = 900


@dataclass(frozen=True)
class Screen:
    """A page that is open in a tab."""

    page: Page

    @property
    def is_narrow(self) -> bool:
        """Whether only one phone is shown at a time."""
        size = self.page.viewport_size
        return size is not None and size["width"] < NARROW_BELOW

    def open(self, url: str) -> None:
        """Open the page and wait for its phones."""
        self.page.goto(url)
        expect(self.page.locator(".phone .local-time").first).not_to_be_empty()

    def phone(self, side: str) -> Locator:
        """A phone, brought to the front where only one is shown."""
        if self.is_narrow:
            self.page.locator(f".switch [data-show={side}]").click()
        return self.page.locator(f".phone[data-side={side}]")

    @property
    def client(self) -> Locator:
        """The client's phone."""
        return self.phone("left")

    @property
    def coach(self) -> Locator:
        """The coach's phone."""
        return self.phone("right")

    def move_clock(self, to: str) -> None:
        """Press a button of the clock and wait until it has moved."""
        self._fold_clock(open_it=True)
        self.page.locator(f".clock [data-to={to}]").click()
        expect(self.page.locator(".clock-note")).to_contain_text("Moved to ")
        self._fold_clock(open_it=False)

    def _fold_clock(self, *, open_it: bool) -> None:
        """Where the page is narrow, its clock stands behind a button."""
        fold = self.page.locator(".unfold")
        if fold.is_visible() and (fold.get_attribute("aria-expanded") == "true") is not open_it:
            fold.click()

    def tap(self, phone: Locator, label: str = "") -> None:
        """Tap a button of the open question (the first, or by its label) and wait for the answer.

        The answer changes that message or adds another.
        """
        before = self.everything(phone)
        buttons = phone.locator(".current .choices button")
        button = buttons.get_by_text(label, exact=True) if label else buttons
        button.first.click()
        expect(phone.locator(".entries")).not_to_have_text(before)

    def write(self, phone: Locator, text: str) -> None:
        """Type words and send them with the Enter key."""
        phone.locator("textarea").fill(text)
        phone.locator("textarea").press("Enter")

    def ask(self, phone: Locator, text: str) -> None:
        """Type words and wait for the answer, which is one more message.

        Where the same was asked before, an older answer with the same buttons must not be taken
        for this one: it changes under the hand when the new one comes.
        """
        told = phone.locator(".told")
        before = told.count()
        self.write(phone, text)
        expect(told).not_to_have_count(before)

    def everything(self, phone: Locator) -> str:
        """All that stands in a chat."""
        return phone.locator(".entries").text_content() or ""
