"""What the coach is told of a client's doses: why this plan, and how each movement climbs."""

from io import BytesIO

import pytest
from PIL import Image
from sqlmodel import col, select

from bot.storage.tables import AuditRow
from tests.support.practice import Practice
from tests.support.sessions import finish, labels, tap, whole_session


async def _card(village: Practice) -> None:
    await village.says("rua", "/clients")
    (mary,) = (label for label in labels(village, "rua") if "Mary" in label)
    await village.taps("rua", mary)


async def test_the_coach_sees_what_was_chosen_what_decided_and_what_ruled_out_the_rest(
    village: Practice,
):
    await village.at("07:00")
    await village.good_morning()
    await _card(village)

    said = await village.taps("rua", "Reasons for the plan")
    assert "Mary: why this plan, Tue 03 Mar" in said[-1]
    assert said[-1].count("first time in this movement: starts easy") == 6

    said = await village.taps("rua", "Squat")
    assert "Chosen: " in said[-1]
    assert "Aimed at 3 to 4 left; expects " in said[-1]
    assert "Looked at: " in said[-1]
    assert "would leave too few" in said[-1]
    assert "would leave too many" in said[-1]
    assert said[-1].count("➜") == 1


async def test_what_found_no_time_is_named(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    await village.taps("mary", "I have 15 minutes")
    await _card(village)

    said = await village.taps("rua", "Reasons for the plan")
    assert "Heel raise: left out, asked for a plan of 15 minutes" in said[-1]


async def test_what_a_rule_or_a_limit_ruled_out_is_named(village: Practice):
    await whole_session(village)
    await village.wait(24 * 60)
    await village.at("07:00")
    await village.good_morning()
    await _card(village)
    await village.taps("rua", "Reasons for the plan")
    said = await village.taps("rua", "Squat")
    assert "one more good session before a step up" in said[-1]

    await village.taps(
        "rua", "Card", "Limits", "Set a highest rung", "squat", "Small squat at the bench"
    )
    await village.taps("rua", "Card", "Reasons for the plan")
    said = await village.taps("rua", "Squat")
    assert "over your ceiling" in said[-1]


async def test_a_change_that_the_client_asked_for_stands_beside_the_first_choice(
    village: Practice,
):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    await tap(village, "see=0")
    first = village.last_to("mary").splitlines()[0].partition("· ")[2]
    await village.taps("mary", "Easier")
    await _card(village)
    await village.taps("rua", "Reasons for the plan")
    said = await village.taps("rua", "Squat")

    assert "Decided by\n• asked for easier: " in said[-1]
    assert f"Chosen at first: {first}" in said[-1]


async def test_a_plan_with_sets_in_it_is_explained_as_it_was_made(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await _card(village)
    await village.taps("rua", "Reasons for the plan")
    before = await village.taps("rua", "Squat")

    await village.says("mary", "/today")
    await village.taps("mary", "Start", "I am ready")
    await finish(village, left=0)
    await _card(village)
    await village.taps("rua", "Reasons for the plan")
    after = await village.taps("rua", "Squat")

    assert after[-1] == before[-1]


async def test_the_last_plan_is_explained_until_there_is_a_new_one(village: Practice):
    await whole_session(village)
    await village.wait(48 * 60)
    await _card(village)
    said = await village.taps("rua", "Reasons for the plan")

    assert "Tue 03 Mar" in said[-1]


async def test_without_a_plan_and_without_sets_the_coach_is_told_so(village: Practice):
    await _card(village)
    said = await village.taps("rua", "Reasons for the plan")
    assert said[-1].startswith("Mary has no plan yet.")
    said = await village.taps("rua", "How it climbs")
    assert said[-1].startswith("Mary has logged no set yet.")


async def test_capacity_is_shown_with_its_uncertainty_which_sets_narrow(village: Practice):
    await whole_session(village)
    await _card(village)
    await village.taps("rua", "How it climbs")
    spread = []
    for days in (1, 6):
        said = await village.taps("rua", "Squat")
        spread.append(int(said[-1].partition("within about ")[2].partition(" ")[0]))
        shown = village.channel.sent[-1].outgoing
        content, _ = village.app.contents.load(shown.picture)
        with Image.open(BytesIO(content)) as picture:
            assert picture.width == 720
        if days == 1:
            for _ in range(5):
                await village.wait(24 * 60)
                await whole_session(village)
            await _card(village)
            said = await village.taps("rua", "How it climbs")
            assert "likely" in said[-1]
            assert " logged sets" in said[-1]

    assert spread[1] < spread[0]


async def test_balance_goes_by_its_holds_and_has_no_chart(village: Practice):
    await whole_session(village)
    await _card(village)
    await village.taps("rua", "How it climbs")
    said = await village.taps("rua", "Balance")

    assert "Balance has no chart" in said[-1]
    assert not village.channel.sent[-1].outgoing.picture


async def test_every_look_is_written_down(village: Practice):
    await whole_session(village)
    await _card(village)
    await village.taps(
        "rua", "Reasons for the plan", "Squat", "The whole plan", "How it climbs", "Push"
    )

    def looked(unit):
        rows = unit.session.exec(
            select(AuditRow).where(AuditRow.what == "card_read").order_by(col(AuditRow.id))
        )
        return [unit.encryption.decrypt(row.detail_sealed) for row in rows]

    found = village.app.database.run_now(looked)
    assert found[-5:] == ["why", "why~squat", "why", "climb", "climb~push"]


@pytest.mark.parametrize("what", ["why", "climb"])
async def test_another_coach_sees_nothing_of_it(village: Practice, what: str):
    await village.coach("Ana")
    await whole_session(village)
    await _card(village)
    await village.taps("rua", "Reasons for the plan" if what == "why" else "How it climbs")
    button = village.newest_buttons("rua").outgoing.choices[0][0].value
    said = await village.taps_value("ana", button)

    assert all("Mary" not in text for text in said)
