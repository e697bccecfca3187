"""What a hold, its end and a new limit promise: at once, everywhere, and truly."""

from datetime import date
from typing import Any

from sqlmodel import col, select

from bot.flows.changes import SaveProfile
from bot.reference.catalogue import load_catalogue
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.tables import SessionRow
from bot.storage.unit import UnitOfWork
from core.dose.session import INSTEAD_OF
from core.vocabulary import Family
from tests.support.practice import Practice
from tests.support.sessions import begin, finish, tap, values, whole_session

LONGEST_AFTER_HOLD = 25


async def lifted(village: Practice, who: str = "mary") -> None:
    """A sign was told, seen, and its hold lifted on a doctor's word."""
    await village.says(who, "my chest feels tight")
    await village.taps("rua", "I have seen")
    await village.taps("rua", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    await village.taps("rua", "Today")
    assert "you may train again" in village.last_to(who)


async def forbid(village: Practice, who: str, *rungs: str) -> None:
    """The coach forbids these rungs, as her limits page writes it down."""

    def write(unit: UnitOfWork) -> None:
        applying = Applying(unit, village.ids["rua"], village.clock.now(), str)
        limits = {"forbidden": list(rungs)}
        apply_all(applying, [SaveProfile(village.ids[who], {"limits": limits})])
        unit.commit()

    await village.app.database.run(write)


async def sessions(village: Practice) -> list[tuple[date, str, dict[str, Any]]]:
    """All sessions on record: day, status, plan."""

    def read(unit: UnitOfWork) -> list[tuple[date, str, dict[str, Any]]]:
        rows = unit.session.exec(select(SessionRow).order_by(col(SessionRow.id))).all()
        return [
            (row.on_date, row.status, unit.encryption.decrypt_json(row.plan_sealed)) for row in rows
        ]

    return await village.app.database.run(read)


def is_lightest(plan: dict[str, Any]) -> bool:
    """One set, the lowest amount, three left, 25 minutes at most."""
    items = plan["items"]
    assert items
    return plan["minutes"] <= LONGEST_AFTER_HOLD and all(
        (one["sets"], one["amount"]) == (1, one["low"]) and one["stop_at_left"] >= 3
        for one in items
    )


async def test_two_whole_sessions_after_the_lift_are_the_lightest_whatever_was_done_before_it(
    village: Practice,
):
    await village.client("Hemi", birth_year=1990, sex="m")
    for _ in range(8):
        await whole_session(village, "hemi")
    await village.at("20:00")
    await lifted(village, "hemi")

    for _ in range(3):
        await whole_session(village, "hemi")

    plans = [plan for _, status, plan in await sessions(village) if status == "finished"]
    assert not is_lightest(plans[7]), "else the test shows nothing"
    assert is_lightest(plans[8])
    assert is_lightest(plans[9])
    assert not is_lightest(plans[10])


async def test_a_pause_of_the_coach_s_own_does_not_end_the_easy_way_back(village: Practice):
    await village.client("Hemi", birth_year=1990, sex="m")
    await whole_session(village, "hemi")
    await village.at("20:00")
    await lifted(village, "hemi")
    await village.says("rua", "Hemi")
    await village.taps("rua", "Pause training", "Another reason", "Until I end it")
    await village.taps("rua", "End the pause", "I decide")
    await village.taps("rua", "Today")

    await village.at("07:00")
    await village.good_morning("hemi")
    await village.says("hemi", "/today")
    await village.taps("hemi", "Start")

    *_, (_, _, plan) = await sessions(village)
    assert is_lightest(plan)
    assert "after_hold" in [reason["code"] for reason in plan["reasons"]]


async def test_after_a_lift_neither_easier_nor_no_kit_asks_for_more(village: Practice):
    await village.client("Hemi", birth_year=1990, sex="m")
    await village.at("07:00")
    await lifted(village, "hemi")
    await village.taps_value("hemi", "open.checkin.")
    await village.good_morning("hemi")
    await village.says("hemi", "/today")
    for wish in ("easier", "no_kit", "harder"):
        await tap(village, "see=0", "hemi")
        await tap(village, wish, "hemi")
        if "list" not in values(village, "hemi"):
            await tap(village, "on", "hemi")
        else:
            await tap(village, "list", "hemi")

    *_, (_, _, plan) = await sessions(village)
    assert is_lightest(plan)


async def test_a_movement_forbidden_in_the_middle_is_not_the_next_screen(village: Practice):
    await village.at("07:00")
    await begin(village)
    *_, (_, _, plan) = await sessions(village)
    second = plan["items"][1]
    await forbid(village, "mary", second["rung"])

    planned = [value for value in values(village) if value.startswith("did=")]
    await tap(village, planned[2])
    await tap(village, "left=3")

    assert any("changed what you may do" in text for text in village.heard("mary")[-3:])
    *_, (_, status, after) = await sessions(village)
    assert status == "running"
    assert second["rung"] not in [one["rung"] for one in after["items"]]
    await finish(village)


async def test_a_movement_forbidden_while_it_is_shown_is_left_at_once(village: Practice):
    await village.at("07:00")
    await begin(village)
    *_, (_, _, plan) = await sessions(village)
    await forbid(village, "mary", plan["items"][0]["rung"])

    said = await tap(village, "puffed")

    assert said[0].startswith("Rua has changed what you may do.")
    *_, (_, _, after) = await sessions(village)
    assert plan["items"][0]["rung"] not in [one["rung"] for one in after["items"]]


async def test_an_easier_rung_takes_the_place_of_a_forbidden_one(village: Practice):
    await village.client("Hemi", birth_year=1990, sex="m")
    await village.at("07:00")
    await begin(village, "hemi")
    *_, (_, _, plan) = await sessions(village)
    was = plan["items"][0]
    await forbid(village, "hemi", was["rung"])

    said = await tap(village, "puffed", "hemi")

    assert "We do something else for: squat." in said[0]
    *_, (_, status, after) = await sessions(village)
    assert status == "running"
    assert len(after["items"]) == len(plan["items"])
    now = after["items"][0]
    assert (now["family"], now["rung"] == was["rung"]) == ("squat", False)
    assert now["demand"] < was["demand"]
    assert "1 of" in said[-1]
    await finish(village, "hemi")


async def test_where_nothing_easier_is_allowed_it_is_left_out(village: Practice):
    await village.at("07:00")
    await begin(village)
    *_, (_, _, plan) = await sessions(village)
    stand_ins = (Family.SQUAT, *INSTEAD_OF[Family.SQUAT])
    catalogue = load_catalogue()
    await forbid(
        village, "mary", *(rung.id for family in stand_ins for rung in catalogue.rungs(family))
    )

    said = await tap(village, "puffed")

    assert "We leave out: squat." in said[0]
    *_, (_, _, after) = await sessions(village)
    assert [one["family"] for one in after["items"]] == [
        one["family"] for one in plan["items"] if one["family"] != "squat"
    ]


async def test_a_list_of_today_heeds_a_limit_that_came_after_it(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    *_, (_, _, plan) = await sessions(village)
    await forbid(village, "mary", plan["items"][0]["rung"])

    said = await tap(village, "see=0")

    assert said[0].startswith("Rua has changed what you may do.")
    assert "Your session today." in said[1]


async def test_a_session_that_a_pain_has_ended_is_watched_no_more(village: Practice):
    await village.coach("Kit", backup_of="rua")
    await village.at("07:00")
    await begin(village)
    await tap(village, "hurts")
    await tap(village, "where=knee")
    await tap(village, "pain=9")
    await village.taps("rua", "I have seen")
    before = len(village.heard("mary")), len(village.heard("kit"))

    await village.wait(60 * 30)

    assert [status for _, status, _ in await sessions(village)] == ["stopped"]
    heard = village.heard("mary")[before[0] :]
    assert not [text for text in heard if "Is all well" in text]
    assert village.heard("kit")[before[1] :] == []


async def test_i_am_fine_says_what_is_true_and_starts_no_watch_days_later(village: Practice):
    await village.at("07:00")
    await begin(village)
    await village.wait(11)
    asked = village.newest_buttons("mary")
    fine = asked.outgoing.choices[0][0].value
    await village.wait(6)
    await village.taps("rua", "I have seen")

    said = await village.taps_value("mary", fine, asked.platform_id)
    assert any("Your training is paused" in text for text in said)
    assert not any("Carry on" in text for text in said)
    assert "Tapped: I am fine." in village.last_to("rua")

    await village.taps("rua", "End the pause", "I decide")
    await village.taps("rua", "Today")
    await village.at("12:00", days=2)
    said = await village.taps_value("mary", fine, asked.platform_id)
    before = len(village.heard("rua"))
    await village.wait(60)

    assert "That session is over." in said[0]
    assert village.heard("rua")[before:] == []


async def test_card_and_list_do_not_say_as_planned_over_a_pause(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen")
    card = (await village.says("rua", "Mary"))[0]
    assert "as planned" not in card

    await village.taps("rua", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    await village.taps("rua", "Today")

    card = (await village.says("rua", "Mary"))[0]
    assert "as planned" not in card
    assert "fine" not in (await village.says("rua", "clients"))[0]
    assert "easiest moves" in (await village.says("mary", "checkin"))[0]


async def test_a_fever_with_a_replaced_joint_is_told_with_the_tap(village: Practice):
    await village.client("Nell", conditions=["joint_replacement"], replaced_joints=["left knee"])
    await village.at("07:00")
    await village.taps("nell", "Ill or fever")
    assert village.heard("rua") == []

    await village.taps("nell", "Fever")

    assert "URGENT: Nell" in village.last_to("rua")


async def test_what_was_told_with_the_tap_is_not_told_again_with_the_last_answer(
    village: Practice,
):
    await village.client("Nell", conditions=["joint_replacement"], replaced_joints=["left knee"])
    await village.at("07:00")
    await village.taps("nell", "Ill or fever", "Fever")
    await village.taps("rua", "I have seen")
    await village.taps("rua", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    await village.taps("rua", "Today")
    before = len(village.heard("rua"))
    await village.says("nell", "checkin")

    said = await village.taps("nell", "4", "4", "4", "4", "4")

    assert "Today: rest" in said[0]
    assert village.heard("rua")[before:] == []


async def test_a_swollen_calf_is_told_with_the_tap(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "New pain", "Calf")
    assert "one leg, and swollen or warm" in village.last_to("mary")
    assert village.heard("rua") == []

    await village.taps("mary", "Yes")

    assert "URGENT: Mary" in village.last_to("rua")
    assert "possible leg clot" in village.last_to("rua")


async def test_no_answer_on_a_calf_for_two_minutes_counts_as_yes(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "New pain", "Calf")
    await village.wait(1.9)
    assert village.heard("rua") == []

    await village.wait(0.2)

    assert "possible leg clot" in village.last_to("rua")


async def test_a_calf_that_is_neither_swollen_nor_warm_is_only_listed(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "New pain", "Calf", "No", "3", "Since today")
    await village.taps("mary", "4", "4", "4", "4", "4")

    assert "Today: rest" in village.last_to("mary")
    assert village.heard("rua") == []


async def test_a_check_in_left_after_an_illness_is_followed_up(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "Ill or fever", "Cough, chest")
    before = len(village.heard("mary"))

    await village.wait(31)

    assert any("check-in is still open" in text for text in village.heard("mary")[before:])
    assert "something to know" not in "".join(village.heard("rua"))
    assert "Mary" in (await village.says("rua", "alerts"))[0]


async def test_what_was_told_before_a_silence_is_asked_about_on_the_return(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.at("07:00")
    await village.taps("mary", "Ill or fever", "Fever")
    await village.at("07:00", days=3)

    assert "How is it now?" in village.last_to("mary")
    before = len(village.heard("rua"))
    await village.taps("mary", "It is worse")

    assert "URGENT: Mary" in "".join(village.heard("rua")[before:])
    assert "it is worse" in "".join(village.heard("rua")[before:])


async def test_what_is_over_after_a_silence_leads_to_the_check_in(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.at("07:00")
    await village.taps("mary", "Ill or fever", "Fever")
    await village.at("07:00", days=3)
    before = len(village.heard("rua"))

    said = await village.taps("mary", "It is over")

    assert "Any of these today?" in said[0]
    assert not [text for text in village.heard("rua")[before:] if "URGENT" in text]
