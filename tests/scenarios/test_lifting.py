"""Lifting a pause is a decision: the alert was seen; who cleared the client, by name, and when."""

from dataclasses import dataclass
from datetime import date

import pytest
from sqlmodel import col, select

from bot.schedule.due import reschedule
from bot.storage.tables import ClientRow, HoldRow
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice


def buttons(village: Practice, who: str) -> list[str]:
    return [c.label for row in village.newest_buttons(who).outgoing.choices for c in row]


async def opened(village: Practice, words: str, who: str = "mary") -> None:
    """A client told a sign, the coach has seen it and wants to lift the pause."""
    await village.says(who, words)
    await village.taps("rua", "I have seen", "End the pause")


async def still_paused(village: Practice, who: str = "mary") -> bool:
    told = village.heard(who)
    assert not any("you may train again" in text for text in told)
    return "paused" in (await village.says(who, "/today"))[-1]


async def a_doctor_cleared(village: Practice, day: str = "Today") -> None:
    await village.taps("rua", "A doctor")
    await village.says("rua", "Dr Singh")
    await village.taps("rua", day)


@dataclass(frozen=True)
class Lift:
    """A hold that was lifted, opened."""

    because: str
    cleared_kind: str
    cleared_by_sealed: str
    cleared_on: date | None
    lifted_by_id: int | None
    restart_easiest: bool


async def lifts(village: Practice) -> list[Lift]:
    def read(unit: UnitOfWork) -> list[Lift]:
        rows = unit.session.exec(select(HoldRow).where(col(HoldRow.lifted_at).is_not(None))).all()
        opened = unit.encryption.decrypt
        return [
            Lift(
                opened(row.because_sealed),
                opened(row.cleared_kind_sealed),
                row.cleared_by_sealed,
                row.cleared_on,
                row.lifted_by_id,
                row.restart_easiest,
            )
            for row in rows
        ]

    return await village.app.database.run(read)


def with_a_morning_list(unit: UnitOfWork, village: Practice) -> None:
    """The coach's list comes each morning."""
    reschedule(unit, village.ids["rua"], village.clock.now())
    unit.commit()


@pytest.mark.parametrize("words", ["he feels fine now", "no one yet", "me just now"])
async def test_words_that_name_nobody_lift_nothing(village: Practice, words: str):
    await opened(village, "my chest feels tight")

    await village.says("rua", words)
    assert "I could not find" in village.last_to("rua")
    await village.taps("rua", "A doctor")
    await village.says("rua", words)

    assert "does not look like a name" in village.last_to("rua")
    assert await still_paused(village)


async def test_no_example_of_the_screens_own_can_be_typed_back(village: Practice):
    await opened(village, "my chest feels tight")
    await village.says("rua", "Dr Singh, 3 March")

    assert "I could not find" in village.last_to("rua")
    assert await still_paused(village)


@pytest.mark.parametrize(
    "words",
    ["my chest feels tight", "my calf is swollen and sore", "my heart is racing",
     "I hit my head on the door", "I fainted"],
)  # fmt: skip
async def test_the_coachs_own_word_is_refused_where_a_clinician_is_due(
    village: Practice, words: str
):
    await opened(village, words)
    assert "a doctor, nurse or hospital must have looked" in village.last_to("rua")

    await village.taps("rua", "I decide myself")

    assert "Your own decision is not enough here" in village.last_to("rua")
    await village.says("rua", "me")
    assert "Your own decision is not enough here" in village.last_to("rua")
    assert await still_paused(village)


async def test_a_clinicians_word_lifts_and_training_begins_at_the_easiest(village: Practice):
    await opened(village, "my chest feels tight")
    await a_doctor_cleared(village)

    assert "you may train again" in village.last_to("mary")
    assert "start with the easiest moves" in village.last_to("mary")
    (row,) = await lifts(village)
    assert (row.cleared_kind, row.cleared_on) == ("doctor", date(2026, 3, 2))
    assert "Singh" not in row.cleared_by_sealed
    assert row.lifted_by_id == village.ids["rua"]
    assert row.restart_easiest


async def test_what_was_decided_is_on_card_record_and_the_list_for_four_weeks(village: Practice):
    await opened(village, "my chest feels tight")
    await a_doctor_cleared(village)
    said = "pause ended by Rua after chest pain or pressure. Cleared by a doctor, Dr Singh, 02 Mar"

    listed = "Mary 02 Mar, chest pain or pressure: Dr Singh"
    assert "Pause ended 02 Mar: Dr Singh." in village.last_to("rua"), "the card"
    await village.taps("rua", "About Mary")
    assert said in village.last_to("rua"), "what the card tells more of"
    await village.taps("rua", "Card")
    await village.app.database.run(with_a_morning_list, village)
    await village.taps("rua", "Record")
    assert said in village.last_to("rua")
    await village.at("07:00")
    assert any("Good morning" in text and listed in text for text in village.heard("rua"))

    await village.wait(60 * 24 * 26)
    before = len(village.heard("rua"))
    await village.wait(60 * 24)
    assert any(listed in text for text in village.heard("rua", before)), "the 28th morning"
    await village.wait(60 * 24)
    before = len(village.heard("rua"))
    await village.wait(60 * 24)
    (digest,) = [text for text in village.heard("rua", before) if "Good morning" in text]
    assert "Dr Singh" not in digest


@pytest.mark.parametrize(
    ("typed", "who", "on"),
    [
        ("Dr Singh, today", "Dr Singh", date(2026, 3, 2)),
        ("Moana Tait, 2 March 2026", "Moana Tait", date(2026, 3, 2)),
        ("Dr Singh, yesterday", "Dr Singh", None),
        ("Dr Singh, 9 March 2026", "Dr Singh", None),
        ("Mary, today", "", None),
    ],
)
async def test_name_and_day_in_one_line_lift_only_where_both_will_do(
    village: Practice, typed: str, who: str, on: date | None
):
    """A day before the sign, or to come, is asked for again; so is what is no name."""
    await opened(village, "my chest feels tight")
    await village.taps("rua", "A doctor")
    await village.says("rua", typed)

    if on is not None:
        (row,) = await lifts(village)
        assert row.cleared_on == on
        await village.taps("rua", "About Mary")
        assert f"Cleared by a doctor, {who}, {on:%d %b %Y}" in village.last_to("rua")
        return
    assert await still_paused(village)
    asked = "On which day did Dr Singh clear Mary?" if who else "what is the name?"
    assert asked in village.last_to("rua")


@pytest.mark.parametrize(
    ("typed", "kind"),
    [("the hospital", "hospital"), ("Nurse", "nurse"), ("paramedics", "emergency_service"),
     ("GP", "doctor"), ("a doctor", "doctor")],
)  # fmt: skip
async def test_who_cleared_may_be_typed(village: Practice, typed: str, kind: str):
    await opened(village, "my chest feels tight")
    await village.says("rua", typed)
    await village.says("rua", "Moana Tait")
    await village.says("rua", "today")

    assert (await lifts(village))[0].cleared_kind == kind


@pytest.mark.parametrize(
    "words", ["no ambulance", "no doctor", "not a nurse", "no emergency service", "yes", "ok"]
)
async def test_a_denial_is_no_one_who_cleared(village: Practice, words: str):
    await opened(village, "my chest feels tight")
    await village.says("rua", words)

    assert "Who has cleared Mary" in village.last_to("rua")
    assert await still_paused(village)


async def test_other_signs_may_be_the_coachs_decision_with_its_day(village: Practice):
    await opened(village, "I feel dizzy")
    await village.taps("rua", "I decide myself")
    assert "On which day did you look at Mary" in village.last_to("rua")
    assert await still_paused(village)

    await village.taps("rua", "Today")

    assert "you may train again" in village.last_to("mary")
    assert "Pause ended 02 Mar: own decision." in village.last_to("rua")
    await village.taps("rua", "About Mary")
    assert "Own decision, 02 Mar 2026" in village.last_to("rua")


async def test_an_alert_that_nobody_has_seen_is_not_lifted_past(village: Practice):
    await village.says("mary", "I feel dizzy")
    await village.taps("rua", "End the pause")
    assert "No coach has seen the alert" in village.last_to("rua")
    assert "I have seen this" in buttons(village, "rua")
    assert await still_paused(village)

    await village.taps("rua", "I have seen", "End the pause", "I decide myself", "Today")

    assert "you may train again" in village.last_to("mary")


async def test_a_sign_that_comes_while_the_coach_answers_must_be_seen_first(village: Practice):
    await opened(village, "I feel dizzy")
    await village.taps("rua", "I decide myself")
    asked = village.newest_buttons("rua")
    today = next(c.value for row in asked.outgoing.choices for c in row if c.label == "Today")
    await village.says("mary", "now my chest feels tight")

    await village.taps_value("rua", today, asked.platform_id)

    assert "No coach has seen the alert" in village.last_to("rua")
    assert await still_paused(village)


async def test_a_sign_seen_while_the_coach_answers_begins_the_questions_anew(village: Practice):
    await opened(village, "I feel dizzy")
    await village.taps("rua", "I decide myself")
    asked = village.newest_buttons("rua")
    today = next(c.value for row in asked.outgoing.choices for c in row if c.label == "Today")
    await village.wait(1)
    await village.says("mary", "now my chest feels tight")
    await village.taps("rua", "I have seen")

    await village.taps_value("rua", today, asked.platform_id)

    assert "Who has cleared Mary" in village.last_to("rua")
    assert "a doctor, nurse or hospital must have looked" in village.last_to("rua")
    assert await still_paused(village)


async def test_the_day_is_not_before_the_newest_sign(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.at("10:00")  # Tuesday 3 March
    await village.says("mary", "my heart is racing")
    await village.taps("rua", "I have seen", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    assert "03 March 2026 or later" in village.last_to("rua")

    await village.taps("rua", "Yesterday")
    assert "before the newest sign" in village.last_to("rua")
    await village.says("rua", "2 March 2026")
    assert "before the newest sign" in village.last_to("rua")
    await village.says("rua", "4 March")
    assert "has not come yet" in village.last_to("rua")
    await village.says("rua", "04/03/2026")  # in New Zealand the day comes first
    assert "has not come yet" in village.last_to("rua")
    for unclear in ("March", "last week", "soon"):
        await village.says("rua", unclear)
        assert "could not read that date" in village.last_to("rua")
    assert await still_paused(village)

    await village.taps("rua", "Another day")
    assert "Please type the day" in village.last_to("rua")
    await village.says("rua", "3 March")
    assert "you may train again" in village.last_to("mary")


@pytest.mark.parametrize(
    "name",
    ["no one", "nobody", "me", "Mary", "Rua", "he feels fine", "the doctor", "Dr", "?!", "x",
     "xxx", "the hospital", "I did", "ok", "fine", "not yet", "Dr nobody", "Dr Singh says ok",
     "3 March", "1 March 2026", "4 April", "on Monday", "hemi",
     "Prefers the morning, likes the blue band."],
)  # fmt: skip
async def test_no_name_is_no_name(village: Practice, name: str):
    await village.client("Hemi", "rua")
    await opened(village, "my chest feels tight")
    await village.taps("rua", "A doctor")
    await village.says("rua", name)

    assert "what is the name?" in village.last_to("rua")
    assert await lifts(village) == []


@pytest.mark.parametrize(
    "name",
    ["Singh", "Dr Fine", "Dr. Good", "Dr He", "sister mary o'brien", "Thames Hospital", "Dr Ng",
     "Dr Friday", "June March", "Hemi Ward",
     "Prof. García of the heart clinic", "王医生"],
)  # fmt: skip
async def test_plausible_names_are_taken(village: Practice, name: str):
    await village.client("Hemi", "rua")
    await opened(village, "my chest feels tight")
    await village.taps("rua", "The hospital")
    await village.says("rua", name)

    assert f"On which day did {name} clear Mary" in village.last_to("rua")


async def test_a_silent_session_is_closed_with_a_name_to_it(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    await village.taps("mary", "Start", "I am ready")
    await village.wait(16)
    await village.taps("rua", "I have seen", "End the pause", "I decide myself", "Today")

    (row,) = await lifts(village)
    assert (row.because, row.cleared_kind) == ("silent_session", "own")
    assert "you may train again" in village.last_to("mary")


async def test_a_replaced_joint_and_fever_need_a_clinician(village: Practice):
    await village.client("Nell", conditions=["joint_replacement"], replaced_joints=["left knee"])
    await village.says("nell", "I have a fever of 38.5")
    await opened(village, "I feel dizzy", "nell")
    await village.taps("rua", "I decide myself")
    assert "Your own decision is not enough here" in village.last_to("rua")
    assert await still_paused(village, "nell")


async def test_an_operation_alone_says_that_a_joint_was_replaced(village: Practice):
    await village.client("Nell", replaced_joints=["left ankle"])
    await village.says("nell", "I have a fever of 38.5")
    await opened(village, "I feel dizzy", "nell")
    await village.taps("rua", "I decide myself")
    assert "Your own decision is not enough here" in village.last_to("rua")


async def test_swollen_ankles_need_a_clinician_with_a_heart_condition(village: Practice):
    await village.client("Nell", conditions=["heart_failure"])
    for who, due in (("mary", False), ("nell", True)):
        await opened(village, "my ankles are very swollen today", who)
        await village.taps("rua", "I decide myself")
        refused = "Your own decision is not enough here" in village.last_to("rua")
        assert refused is due


async def test_a_joining_hold_lifted_is_no_leave_to_train(village: Practice):
    await village.client("Nell", cleared=False)
    await opened(village, "my chest feels tight", "nell")
    await a_doctor_cleared(village)

    assert not any("you may train again" in text for text in village.heard("nell"))
    assert "you cannot train yet" in village.last_to("nell")
    assert "must clear you to start first" in village.last_to("nell")
    lifted = next(text for text in reversed(village.heard("rua")) if "pause has ended" in text)
    assert "may NOT train yet: you have not cleared Nell to start" in lifted
    assert "must clear you before you start" in (await village.says("nell", "/today"))[-1]
    before = len(village.heard("nell"))
    await village.wait(60 * 48)
    assert village.heard("nell", before) == [], "two days without a prompt or a plan"


async def test_the_clearing_screen_is_offered_with_it(village: Practice):
    await village.client("Nell", cleared=False)
    await opened(village, "my chest feels tight", "nell")
    await a_doctor_cleared(village)
    offer = next(
        one
        for one in reversed(village.channel.sent)
        if one.address == "rua" and "may NOT train yet" in one.outgoing.text
    )
    (choice,) = [c for row in offer.outgoing.choices for c in row]

    await village.taps_value("rua", choice.value, offer.platform_id)

    assert "Before Nell starts, please check two things" in village.last_to("rua")


async def test_a_clearance_that_has_run_out_is_not_renewed_by_lifting(village: Practice):
    await village.client("Nell", cleared_on="2025-02-01")
    await opened(village, "I feel dizzy", "nell")
    await village.taps("rua", "I decide myself", "Today")

    assert not any("you may train again" in text for text in village.heard("nell"))
    assert "Your clearance has run out" in village.last_to("nell")
    assert any("your clearance has run out" in text for text in village.heard("rua"))


async def test_a_change_in_health_behind_the_pause_keeps_the_clearance_ended(village: Practice):
    await opened(village, "I feel dizzy")

    def withdraw(unit: UnitOfWork) -> None:
        unit.session.get_one(ClientRow, village.ids["mary"]).cleared_at = None
        unit.commit()

    await village.app.database.run(withdraw)
    await village.taps("rua", "I decide myself", "Today")

    assert "you cannot train yet" in village.last_to("mary")


async def test_a_pause_that_has_ended_is_not_ended_once_more(village: Practice):
    await village.says("mary", "I feel dizzy when I stand up")
    await village.taps("rua", "I have seen")
    screen = village.newest_buttons("rua")
    ends = [one for row in screen.outgoing.choices for one in row if one.label == "End the pause"]
    await village.taps("rua", "End the pause")
    await a_doctor_cleared(village)

    said = await village.taps_value("rua", ends[0].value, screen.platform_id)

    assert said[0] == "Mary is not paused."
    assert len(await lifts(village)) == 1


async def half_lifted(village: Practice) -> None:
    """All but the day is answered."""
    await opened(village, "my chest feels tight")
    await village.taps("rua", "A doctor")
    await village.says("rua", "Dr Singh")


@pytest.mark.parametrize("words", ["my arm feels heavy as well you know", "it is getting worse"])
async def test_words_that_join_the_alert_meanwhile_show_the_pause_anew(
    village: Practice, words: str
):
    await half_lifted(village)
    screen = village.newest_buttons("rua")
    days = [one for row in screen.outgoing.choices for one in row if one.label == "Today"]
    await village.wait(2)
    await village.says("mary", words)

    await village.taps_value("rua", days[0].value, screen.platform_id)

    assert await lifts(village) == []
    assert await still_paused(village)


async def rings_again(village: Practice, words: str) -> bool:
    """Whether a coach who has seen the alert is asked anew after these words."""
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen")
    before = len(village.heard("rua"))
    await village.says("mary", words)
    await village.wait(30)
    return any("Not seen yet" in text for text in village.heard("rua", before))


@pytest.mark.parametrize("words", ["it is getting worse", "help", "please help me"])
async def test_a_seen_alert_is_unseen_again_when_it_gets_worse(village: Practice, words: str):
    assert await rings_again(village, words)


@pytest.mark.parametrize("words", ["thank you for your help", "it is no worse", "I sit down now"])
async def test_other_words_to_a_seen_alert_ring_nobody_again(village: Practice, words: str):
    assert not await rings_again(village, words)


async def test_the_screen_names_the_coachs_own_pause_beside_a_sign(village: Practice):
    await village.says("rua", "Mary")
    await village.taps("rua", "Pause training", "In hospital", "Until I end it")
    await village.at("20:00", days=1)
    await village.says("mary", "I feel dizzy when I stand up")
    await village.taps("rua", "I have seen")
    said = await village.taps("rua", "End the pause")
    assert "dizziness" in said[-1]
    # Whoever stands in may read this: it is not called the reader's own, and its day is told.
    since = said[-1].partition("Mary is paused since ")[2][: len("Mon 02 Mar 18:00")]
    assert f"what a coach paused Mary for on {since}: in hospital." in said[-1]
