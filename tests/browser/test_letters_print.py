"""Both letters print to two A4 pages at most, whatever there is to tell of a quarter."""

import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from bot.flows.changes import LogPain
from bot.flows.facts import Checkin
from bot.letters.letters import Letters
from bot.pictures.store import PictureStore
from core.dose.history import PainTold
from core.vocabulary import AlertLevel, Condition, DayPlan, Medicine, Sign, Spare
from tests.bot.flows.coach.test_coach_walks import alert, practice
from tests.bot.letters.test_letters import agree, made
from tests.support.dose_cases import squat_set
from tests.support.facts import BOB, COACH, NOW, Record
from tests.support.talk import words

QUARTER = 91
MOST_PAGES = 2
PAGE = re.compile(rb"/Type\s*/Page[^s]")


@pytest.fixture
def full() -> Record:
    """Bob, who told something every day of a quarter: numbers, pains, twelve warning signs."""
    found = practice(COACH)
    signs = [sign for sign in Sign if sign not in (Sign.ABUSE, Sign.SELF_HARM)][:12]
    found.alerted(*(alert(20 + n, AlertLevel.URGENT, sign) for n, sign in enumerate(signs)))
    found.save(BOB, conditions=[one.value for one in Condition])
    found.save(BOB, medicines=[one.value for one in Medicine])
    today = BOB.local(NOW).date()
    days = [today - timedelta(days=back) for back in range(QUARTER, 0, -1)]
    found.trained(BOB, *(replace(squat_set(2.5, amount=15), on=day) for day in days[::2]))
    told = {"trouble": "nothing", "sleep": 4, "pressure": "142/88", "glucose": "6.4"}
    found.checked_in(
        BOB,
        *(
            Checkin(day, told, finished=True, signs_asked_at=NOW, day_plan=DayPlan.EASE_OFF)
            for day in days
        ),
    )
    found.become(BOB)
    places = list(Spare)
    pains = [PainTold(day, None, places[n % len(places)], 3 + n % 4) for n, day in enumerate(days)]
    found.apply([LogPain(BOB.id, pain) for pain in pains])
    found.become(COACH)
    return found


@pytest.mark.parametrize("kind", ["review91", "doctor91"])
def test_a_quarter_full_of_news_prints_on_two_sheets(
    browser: Browser, full: Record, tmp_path: Path, kind: str
):
    agree(full)
    store = PictureStore(tmp_path, full.reference.catalogue, full.unit.encryption)
    html = made(full, Letters(words(), full.reference, store), kind)
    page = browser.new_page()
    try:
        page.set_content(html)
        printed = page.pdf(format="A4", prefer_css_page_size=True)
    finally:
        page.close()
    assert 1 <= len(PAGE.findall(printed)) <= MOST_PAGES
