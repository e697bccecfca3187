"""Training load and the watch on too much of it, as the coach and the client read them."""

from datetime import UTC, date, datetime, timedelta
from io import BytesIO

import pytest
from PIL import Image
from sqlmodel import select

from bot.storage.tables import CheckinRow, SessionRow
from bot.storage.told import (
    MorningResult,
    SessionEffort,
    effort_of,
    seal_effort,
    seal_result,
)
from bot.storage.unit import UnitOfWork
from core.readiness.scales import ScaleId
from tests.support.practice import Practice

TODAY = date(2026, 3, 3)
LOAD_OF_A_DAY = (4.0, 30.0)


async def lived(
    village: Practice, who: str, *, low_days: int, hard_days: int, days: int = 40
) -> None:
    """Weeks before today: usual mornings and sessions, at the end low ones and hard ones."""

    def add(unit: UnitOfWork) -> None:
        for back in range(days, 0, -1):
            on = TODAY - timedelta(days=back)
            morning = dict.fromkeys(
                ("sleep", "tiredness", "soreness", "stress", "mood"), 2 if back <= low_days else 4
            )
            at = datetime.combine(on, datetime.min.time(), UTC)
            unit.session.add(
                CheckinRow(
                    client_id=village.ids[who],
                    on_date=on,
                    answers_sealed=unit.encryption.encrypt_json({"trouble": "nothing", **morning}),
                    started_at=at,
                    finished_at=at,
                    result_sealed=seal_result(unit.encryption, MorningResult(75.0, "as_planned")),
                )
            )
            if back % 2 == 0:
                effort, minutes = LOAD_OF_A_DAY
                hard = back <= hard_days
                unit.session.add(_session(village, who, on, effort * (2 if hard else 1), minutes))
        unit.commit()

    await village.app.database.run(add)


def _session(village: Practice, who: str, on: date, effort: float, minutes: float) -> SessionRow:
    return SessionRow(
        client_id=village.ids[who],
        on_date=on,
        status="finished",
        effort_sealed=seal_effort(
            village.app.database.encryption,
            SessionEffort(effort, ScaleId.SESSION_EFFORT.value, minutes),
        ),
    )


async def measures_page(village: Practice) -> str:
    """The published measures, one tap behind the week's work."""
    await load_page(village)
    await village.taps("rua", "How this is")
    return village.last_to("rua")


async def load_page(village: Practice, who: str = "Mary") -> str:
    await village.says("rua", "/clients")
    labels = [c.label for row in village.newest_buttons("rua").outgoing.choices for c in row]
    await village.taps("rua", next(label for label in labels if who in label), "Work each week")
    return village.last_to("rua")


async def test_too_much_makes_a_day_off_and_stands_in_the_coachs_list(village: Practice):
    await lived(village, "mary", low_days=7, hard_days=8)
    await village.at("06:00")
    assert "I say so at the next check-in." in await load_page(village)
    await village.at("07:00")
    said = await village.taps("mary", "None of these", "2", "2", "2", "2", "2", "Yes")

    assert "Take a day off." in said[-1]
    assert "Today: rest." in said[-1]
    await village.says("rua", "/clients")
    assert "signs of too much training, told to rest" in village.last_to("rua")
    page = await load_page(village)
    assert "Too much: Mary feels it" in page
    assert "I said: take a day off." in page
    assert "keep quiet about it for two weeks" in page


async def test_two_low_weeks_are_for_the_doctor_and_the_coach_reads_it(village: Practice):
    """Unexplained tiredness of two weeks is medical first, after the rule-outs of Meeusen 2013."""
    await lived(village, "mary", low_days=14, hard_days=0)
    await village.at("07:00")
    said = await village.taps("mary", "None of these", "2", "2", "2", "2", "2", "Yes")

    assert "Please talk to your doctor." in said[-1]
    assert "a question for a doctor first" in await load_page(village)
    await village.says("rua", "/clients")
    assert "told to see a doctor" in village.last_to("rua")


async def test_a_harder_week_that_feels_fine_is_a_question_and_no_alarm(village: Practice):
    await lived(village, "mary", low_days=0, hard_days=8)
    await village.at("07:00")
    said = await village.good_morning()

    assert "Today: train as planned." in said[-1]
    assert "Too much" not in await load_page(village)
    assert "A rise is a question to you, no verdict." in await measures_page(village)


async def test_the_week_is_said_in_plain_terms_and_without_a_ratio(village: Practice):
    """Foster 1998 on days 0 120 0 120 0 120 0: mean 51.4, population spread 59.4."""
    await lived(village, "mary", low_days=0, hard_days=0)
    await village.at("07:00")
    week, page = await load_page(village), await measures_page(village)

    assert "Last seven days: 3 sessions, 90 minutes." in week
    assert "Mon 02 Mar" not in week
    assert "Sun 01 Mar: 30 minutes, effort 4 of 10" in week
    assert "No sign of too much training." in week
    assert "Last seven days: 360. The seven before: 360." in page
    assert "The same from week to week." in page
    assert "Monotony (Foster 1998): 0.9." in page
    assert "Strain (Foster 1998): 312" in page
    assert "acute" not in page.lower()
    assert "chronic" not in page.lower()


async def test_two_sessions_on_one_day_add_their_load(village: Practice):
    def add(unit: UnitOfWork) -> None:
        for effort, minutes in ((4.0, 30.0), (5.0, 20.0)):
            unit.session.add(_session(village, "mary", TODAY - timedelta(days=1), effort, minutes))
        unit.commit()

    await village.app.database.run(add)
    await village.at("07:00")
    assert "Mon 02 Mar: 50 minutes, effort 5 of 10" in await load_page(village)
    page = await measures_page(village)
    assert "Mon 02 Mar: 220" in page
    assert "Last seven days: 220." in page


async def test_a_client_without_sessions_has_a_page_that_says_so(village: Practice):
    await village.at("07:00")
    assert "No rated session in the last two weeks." in await load_page(village)


async def test_a_session_that_was_rated_in_the_chat_is_on_the_page(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    await village.taps("mary", "Start", "I am ready")
    for _ in range(40):
        labels = [c.label for row in village.newest_buttons("mary").outgoing.choices for c in row]
        if "10" in labels and "0" in labels and len(labels) == 11:
            break
        for label in ("Done", "3"):
            if any(one.startswith(label) for one in labels):
                await village.taps("mary", label)
                break
        else:
            await village.taps("mary", labels[2])
    await village.taps("mary", "5")
    await village.says("mary", "30")

    def rated(unit: UnitOfWork) -> list[tuple[float | None, float | None]]:
        rows = unit.session.exec(select(SessionRow)).all()
        told = [effort_of(unit.encryption, row) for row in rows if row.status == "finished"]
        return [(one.effort, one.minutes) for one in told]

    assert await village.app.database.run(rated) == [(5.0, 30.0)]
    assert "Tue 03 Mar: 30 minutes, effort 5 of 10" in await load_page(village)


@pytest.mark.parametrize(
    ("page", "button"), [("Work each week", "Show as a chart"), ("Record", "Mornings as a chart")]
)
async def test_the_coach_sees_weeks_and_mornings_as_a_picture(village: Practice, page, button):
    await lived(village, "mary", low_days=3, hard_days=8)
    await load_page(village)
    await village.taps("rua", "Card", page, button)
    shown = village.channel.sent[-1].outgoing
    assert shown.picture
    assert shown.picture_text.startswith("A chart of")
    assert "Lowest " in shown.picture_text
    content, _ = village.app.contents.load(shown.picture)
    with Image.open(BytesIO(content)) as picture:
        assert picture.width > 300

    # The page stays, and its buttons with it.
    await village.taps("rua", "Card")
    assert "Emergency:" in village.last_to("rua")


async def test_without_mornings_and_sessions_no_chart_is_offered(village: Practice):
    await load_page(village)
    labels = [c.label for row in village.newest_buttons("rua").outgoing.choices for c in row]
    assert labels == ["Card"]
