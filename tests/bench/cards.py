"""How tall the card of every rung is on a phone of 390 x 844, picture and buttons included.

Usage: ``python -m tests.bench.cards [--every 1] [--tallest 10] [--folder DIR]``

Each rung is rendered as in a running session after the first set, in each setting that the ladder
of a whole kit knows, with the words of the chat and the style of the trial page (18 px), in
chromium. The tallest are printed; with a folder their screenshots are kept there.
"""

import argparse
import base64
import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

from playwright.sync_api import Page, sync_playwright
from rich.console import Console

from bot.flows.client.cards import card
from bot.flows.machine import State
from bot.flows.record.planning import Training, training_status
from bot.messages import Outgoing
from bot.pictures.strips import strip_png
from bot.reference.catalogue import LANGUAGE
from core.client.client import Client, Limits
from core.dose.history import Unit
from core.dose.prescription import EffortWords, Prescription, SessionPlan, TalkTest
from core.movements.ladder import LadderStep, ladder
from core.vocabulary import Aim, DayPlan, Family
from tests.core.figure.scenes import CATALOGUE, KIT, scene
from tests.support.facts import BOB, Record
from tests.support.joined import with_bob
from tests.support.talk import rendered

WIDTH, HEIGHT = 390, 844
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
NO_CARD = (Family.WARM_UP, Family.COOL_DOWN, Family.MOBILITY, Family.BREATHING)
STYLE = LANGUAGE.parent / "page" / "page.css"


@dataclass(frozen=True, slots=True)
class Shown:
    """A card in final words, and what its picture is of."""

    step: LadderStep
    outgoing: Outgoing

    @property
    def picture(self) -> bytes:
        """Its picture as a PNG file."""
        return strip_png(scene(self.step.rung, self.step.setting))


def cards(every: int = 1) -> list[Shown]:
    """The card of every n-th step of every ladder, for somebody with a whole kit."""
    client = Client("Bob", floor_ok=True, kit=KIT, limits=Limits(overhead_allowed=True))
    steps = [
        step
        for family in Family
        if family not in NO_CARD
        for step in ladder(client, family, CATALOGUE)
    ]
    facts = with_bob(Record(BOB))
    return [Shown(step, rendered_card(step, facts)) for step in steps[::every]]


def rendered_card(step: LadderStep, facts: Record) -> Outgoing:
    """The card of a step in a running session, after the first set."""
    place = training_status(facts)
    plan = SessionPlan(DayPlan.AS_PLANNED, (_prescribed(step),), (), (), 30, 5, 5, False)
    answers = {"at": 0, "running": True, "undo": {"at": 0}, "rest_first": True}
    said = card(State("today", "move", answers), Training(facts, place, plan, None))
    return rendered(said, facts)


def _prescribed(step: LadderStep) -> Prescription:
    """The most that may be asked of a step: its top amount, in three sets."""
    amounts = CATALOGUE.by_id[step.rung].amounts
    amount = amounts.get(Aim.ENDURANCE) or next(iter(amounts.values()))
    return Prescription(
        family=step.family,
        step=step,
        sets=3,
        low=amount.low,
        high=amount.high,
        amount=amount.high,
        unit=Unit(step.unit),
        stop_at_left=3,
        left_target=(3, 4),
        predicted_left=3.0,
        effort=EffortWords.TIRING,
        talk_test=TalkTest.FULL_SENTENCES,
        reasons=(),
    )


def heights(page: Page, shown: Sequence[Shown], folder: Path | None = None) -> list[float]:
    """Pixels from the top of each card to the end of its last button."""
    page.set_viewport_size({"width": WIDTH, "height": HEIGHT})
    found = []
    for one in shown:
        page.set_content(_html(one))
        page.locator("img").evaluate("image => image.decode()")
        box = page.locator("li").bounding_box()
        assert box is not None
        found.append(box["height"])
        if folder is not None:
            page.locator("li").screenshot(path=folder / f"{len(found):02}-{one.step.rung}.png")
    return found


def _html(one: Shown) -> str:
    """The card as the page of the trial makes it (``entries.js``)."""
    picture = base64.b64encode(one.picture).decode("ascii")
    rows = "".join(
        "<div class=row>" + "".join(f"<button>{escape(c.label)}</button>" for c in row) + "</div>"
        for row in one.outgoing.choices
    )
    return (
        f"<style>{STYLE.read_text('utf-8')} body {{display: block}}</style>"
        "<main class=desk style='display: block'><section class=phone><div class=log>"
        "<ol class=entries><li class='told reply current'><p class=by>Dayrung, 07:30</p>"
        f"<figure class=picture><img src='data:image/png;base64,{picture}'></figure>"
        f"<p class=words>{escape(one.outgoing.text)}</p><div class=choices>{rows}</div></li></ol>"
    )


def main() -> None:
    """Measures and prints the tallest."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--every", type=int, default=1, help="take every n-th step")
    parser.add_argument("--tallest", type=int, default=10, help="print so many")
    parser.add_argument("--folder", type=Path, help="keep screenshots of the tallest here")
    chosen = parser.parse_args()
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        raise SystemExit("no chromium on this machine")
    shown = cards(chosen.every)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=ARGUMENTS)
        page = browser.new_page()
        measured = heights(page, shown)
        by_height = sorted(zip(measured, shown, strict=True), key=lambda pair: -pair[0])
        tallest = by_height[: chosen.tallest]
        if chosen.folder is not None:
            chosen.folder.mkdir(parents=True, exist_ok=True)
            heights(page, [one for _, one in tallest], chosen.folder)
        browser.close()
    too_tall = sum(height > HEIGHT for height in measured)
    out = Console()
    out.print(f"{len(shown)} cards, {too_tall} taller than {HEIGHT} px")
    for height, one in tallest:
        out.print(f"{height:6.0f} px  {one.step.key}")


if __name__ == "__main__":
    main()
