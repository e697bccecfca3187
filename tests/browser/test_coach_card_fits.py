"""What a client's card says is seen before its buttons on a phone of 390 x 844 (trial page).

The clock of the page is folded, as it is until somebody asks for it. The client has more of
everything than one person has: the front of the card counts what it leaves out, and the page
about the client says all of it.
"""

import re
from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import Locator, Page, expect
from sqlmodel import select

from bot.flows.changes import AddNote, Change, ChangeNote, RaiseAlert, SaveCheckin, SaveProfile
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.tables import ClientRow, NoteRow
from bot.storage.unit import UnitOfWork
from core.readiness.reasons import DayReason, DayReasonCode
from core.vocabulary import AlertLevel, Condition, DayPlan, Sign, Spare
from tests.browser.live import CLIENT, Live
from tests.browser.screen import Screen

WIDTH, HEIGHT = 390, 844
HEAVY: dict[str, Any] = {
    "conditions": [one.value for one in Condition],
    "replaced_joints": ["right knee", "left hip", "right shoulder"],
    "spares": [one.value for one in Spare],
    "floor": False,
}
NOTE = "Came off the bus badly in spring and does not like to be asked about it. " * 3


def _kept(unit: UnitOfWork, live: Live, news: Change | None, *, cleared: bool) -> None:
    """The heavy record, and what is new today."""
    now = live.app.clock.now()
    applying = Applying(unit, live.coach, now, str)
    notes = [AddNote(live.client, f"{number}. {NOTE}") for number in (1, 2)]
    apply_all(applying, [SaveProfile(live.client, HEAVY), *notes, *([news] if news else [])])
    rows = unit.session.exec(select(NoteRow)).all()
    apply_all(applying, [ChangeNote(live.client, int(row.id or 0), pinned=True) for row in rows])
    row = unit.session.get_one(ClientRow, live.client)
    row.cleared_at = now - timedelta(days=1) if cleared else None
    unit.commit()


def _alert(live: Live) -> Change:
    signs = (Sign.CHEST_PAIN, Sign.BREATHLESS_REST)
    return RaiseAlert(live.client, AlertLevel.URGENT, signs, "my chest feels tight")


def _lighter_day(live: Live) -> Change:
    """A check-in of today with two long reasons."""
    reasons = (
        DayReason(DayReasonCode.PAIN_RISING, {"level": 5, "before": 3}, 2.0),
        DayReason(DayReasonCode.NOT_SETTLED, {}, 1.0),
    )
    return SaveCheckin(
        live.client,
        live.app.clock.now().astimezone(ZoneInfo("Pacific/Auckland")).date(),
        {"pain_place": "shoulder"},
        signs_asked=True,
        finished=True,
        score=40.0,
        day_plan=DayPlan.EASE_OFF.value,
        certainty=0.3,
        reasons=reasons,
    )


CASES: Mapping[str, tuple[Callable[[Live], Change] | None, str]] = {
    "paused, with an alert": (_alert, "an alert nobody has seen"),
    "a lighter day": (_lighter_day, "5 of 10, before it was 3."),
    "to be cleared": (None, "NOT cleared to start"),
}


@pytest.mark.parametrize("case", CASES)
def test_the_fullest_card_is_read_before_its_buttons(own_live: Live, tab: Page, case: str):
    news, says = CASES[case]
    own_live.app.database.run_now(
        lambda unit: _kept(
            unit, own_live, news(own_live) if news else None, cleared=news is not None
        )
    )
    tab.set_viewport_size({"width": WIDTH, "height": HEIGHT})
    screen = Screen(tab)
    screen.open(own_live.url)
    screen.write(screen.coach, CLIENT.split()[0])
    card = screen.coach.locator(".entries > li", has_text="Emergency: 111").last
    expect(card).to_contain_text(says)
    expect(card).to_contain_text(re.compile(r"Conditions: .*; and \d+ more"))
    assert _hidden(card) <= 0

    card.get_by_role("button", name=f"About {CLIENT}").click()
    about = screen.coach.locator(".entries > li", has_text=f"About {CLIENT}").last
    for every in (
        "latex allergy",
        "right shoulder",
        "Contact: Ned Tolhurst",
        "2. Came off the bus",
    ):
        expect(about).to_contain_text(re.compile(re.escape(every)))


def _hidden(card: Locator) -> float:
    """Pixels that the words need over what the chat shows; negative where room is left."""
    return float(
        card.evaluate(
            """card => {
                const log = card.closest(".log");
                const room = log.clientHeight;
                const top = card.getBoundingClientRect().top;
                const end = card.querySelector(".words").getBoundingClientRect().bottom;
                return end - top - room;
            }"""
        )
    )
