""" "Is this happening now?" and what it came between: every answer counts as what it means.

No outside source: the promises are ours, and the words in quotes are what clients have typed.
"""

import pytest
from sqlmodel import col, select

from bot.flows.reasons import Reason
from bot.flows.safety.opening import SafetyOpening, as_stored, opened_with
from bot.messages import Kind
from bot.storage.people import Address, mark_blocked
from bot.storage.tables import AlertRow, ClientRow, HoldRow, OutboxRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel, Sign, TextLevel
from tests.faults.kills import words_of_alerts
from tests.support.practice import CHANNEL, Practice

DOUBTFUL = "my chest felt odd for a moment"
"""Words that the reader asks about; unanswered, an emergency."""
DOUBT_ABOUT_A_FALL = "I took a tumble, or nearly"
"""Asked about, too; unanswered, urgent."""
DOUBT_IN_JOINING = "Right knee replaced eight weeks ago"


async def asked(village: Practice, words: str = DOUBTFUL) -> list[str]:
    said = await village.says("mary", words)
    assert any("Is this happening now?" in text for text in said), said
    return said


async def on_record(village: Practice) -> list[tuple[str, bool]]:
    """Level of each alert and mention on record, and whether it is closed."""

    def rows(unit: UnitOfWork) -> list[tuple[str, bool]]:
        found = unit.session.exec(select(AlertRow)).all()
        return [(row.level, row.closed_at is not None) for row in found]

    return await village.app.database.run(rows)


async def open_levels(village: Practice) -> list[str]:
    """Levels of the open alerts, mentions left out."""
    rows = await on_record(village)
    return [level for level, closed in rows if level != AlertLevel.MENTION and not closed]


async def newest_kind(village: Practice) -> Kind:
    """Why the newest message to Mary went out."""

    def kind(unit: UnitOfWork) -> Kind:
        rows = unit.session.exec(
            select(OutboxRow)
            .where(OutboxRow.person_id == village.ids["mary"])
            .order_by(col(OutboxRow.id))
        ).all()
        return Kind(rows[-1].kind)

    return await village.app.database.run(kind)


async def holds(village: Practice) -> int:
    def count(unit: UnitOfWork) -> int:
        rows = unit.session.exec(select(HoldRow)).all()
        return len([row for row in rows if row.lifted_at is None])

    return await village.app.database.run(count)


async def joining(village: Practice, **given: object) -> None:
    """Mary joins anew; with these answers given, the next question is open."""
    await village.app.database.run(lambda unit: _unjoined(village, unit, given))
    await village.says("mary", "/checkin")


def _unjoined(village: Practice, unit: UnitOfWork, given: dict[str, object]) -> None:
    row = unit.session.get_one(ClientRow, village.ids["mary"])
    row.joined_at = row.cleared_at = None
    before: dict[str, object] = {
        "consent": "agree",
        "country": "NZ",
        "country_right": True,
        "zone": "Pacific/Auckland",
        "called": "Mary",
        "phone": "+64215550101",
    }
    profile = dict(unit.encryption.decrypt_json(row.profile_sealed) or {})
    row.profile_sealed = unit.encryption.encrypt_json({**profile, "joining": {**before, **given}})
    unit.session.add(row)
    unit.commit()


UP_TO_HEALTH: dict[str, object] = {
    "home": "1 Kauri Street",
    "contact_name": "Tom",
    "contact_phone": "+64215550102",
    "birth_year": 1950,
    "sex": "f",
    "own_aim": None,
}
UP_TO_OPERATIONS: dict[str, object] = {
    **UP_TO_HEALTH,
    "conditions_heart": [],
    "conditions_other": [],
}
NO_OPERATIONS: dict[str, object] = {"replaced_joints": [], "operations": []}
UP_TO_OTHER_HEALTH: dict[str, object] = {
    **UP_TO_OPERATIONS,
    **NO_OPERATIONS,
    "screening_signs": [],
    "active": False,
}
UP_TO_FLOOR: dict[str, object] = {
    **UP_TO_OTHER_HEALTH,
    "other_health": None,
    "medicines_any": "none",
    "spares": [],
}
ON_FEET: dict[str, object] = {
    "falls": 0,
    "fears_falling": False,
    "walking_aid": "none",
    "lives_alone": False,
}


# ---- the question and its answers ----


async def test_the_question_quotes_the_words_it_is_about(village: Practice):
    said = await asked(village)

    assert f"“{DOUBTFUL}”" in said[-1]
    assert "111" in said[-1].splitlines()[0]


async def test_a_long_letter_is_quoted_in_short(village: Practice):
    said = await asked(village, f"{DOUBTFUL} yesterday, {'and the garden is lovely ' * 20}")

    assert "…”" in said[-1]
    assert len(said[-1]) < 600


async def test_the_second_doubt_is_quoted_with_the_first(village: Practice):
    await asked(village)
    said = await village.says("mary", "felt a bit odd in my heart perhaps")

    assert f"“{DOUBTFUL}”" in said[-1]
    assert "“felt a bit odd in my heart perhaps”" in said[-1]


@pytest.mark.parametrize("answer", ["yeh", "a bit", "it comes and goes", "👍", "no no it's worse"])
async def test_yes_in_words(village: Practice, answer: str):
    await asked(village)
    said = await village.says("mary", answer)

    assert said[0].startswith("Stop. Call 111 now.")
    assert "EMERGENCY: Mary" in village.last_to("rua")
    assert DOUBTFUL in village.last_to("rua")


async def test_an_address_is_yes_and_is_where_help_is_sent(village: Practice):
    await asked(village)
    said = await village.says("mary", "14 Rimu Street, Paeroa")
    assert said[0].startswith("Stop. Call 111 now.")

    await village.taps("mary", "I can't")

    assert "Send help to: “14 Rimu Street, Paeroa”" in village.last_to("rua")
    assert "14 Rimu Street" in village.last_to("mary")


async def test_an_address_typed_into_an_open_alert_is_where_help_is_sent(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.taps("mary", "I can't")

    await village.says("mary", "14 Rimu Street, Paeroa")
    await village.wait(2.1)

    assert "Send help to: “14 Rimu Street, Paeroa”" in village.last_to("rua")


async def test_earlier_in_words(village: Practice):
    await asked(village)
    said = await village.says("mary", "no, Tuesday")

    assert "Call your doctor today." in said[0]
    assert "URGENT: Mary" in village.last_to("rua")
    assert "no, Tuesday" in village.last_to("rua")


@pytest.mark.parametrize("answer", ["haha the dog", "I only went for my tea"])
async def test_no_in_words_stands_on_the_coachs_list(village: Practice, answer: str):
    await asked(village)
    said = await village.says("mary", answer)
    await village.wait(30)

    assert said[0].startswith("Good. Thank you for telling me.")
    assert village.heard("rua") == []
    listed = (await village.says("rua", "/alerts"))[-1]
    assert DOUBTFUL in listed
    assert answer in listed


async def test_not_me_the_neighbour_is_called_for(village: Practice):
    await asked(village)
    said = await village.says("mary", "Not me, the neighbour")

    assert said[0].startswith("Call 111 for them now.")
    assert "The danger is somebody beside them." in village.last_to("rua")
    assert await holds(village) == 0


async def test_i_am_fine_alone_is_no_answer_where_an_emergency_was_asked_about(village: Practice):
    await asked(village)
    said = await village.says("mary", "I am fine")
    assert "I am not sure what you mean." in said[0]

    await village.wait(2.1)

    assert "EMERGENCY: Mary" in village.last_to("rua")


async def test_i_am_fine_is_no_where_no_emergency_was_asked_about(village: Practice):
    await asked(village, DOUBT_ABOUT_A_FALL)
    said = await village.says("mary", "I am fine")
    await village.wait(5)

    assert said[0].startswith("Good. Thank you for telling me.")
    assert village.heard("rua") == []


async def test_it_asks_once_more_in_other_words_and_then_no_more(village: Practice):
    await asked(village)
    first = await village.says("mary", "the roses are nice this year")
    second = await village.says("mary", "and the beans")

    assert "Do you feel it right now, even a bit?" in first[0]
    assert f"“{DOUBTFUL}”" in first[0]
    assert "roses" not in first[0]
    assert second[0].startswith("I have kept your words.")
    assert "111" in first[0]
    assert "111" in second[0]

    await village.wait(2.1)

    alert = village.last_to("rua")
    assert "the roses are nice this year" in alert
    assert "and the beans" in alert
    assert "I am not sure what you mean, so I act as if it is bad." in village.last_to("mary")


async def test_words_that_were_not_understood_survive_a_second_doubt(village: Practice):
    await asked(village)
    await village.says("mary", "the roses are nice this year")
    await village.says("mary", "felt a bit odd in my heart perhaps")
    await village.taps("mary", "Yes, now")

    assert "the roses are nice this year" in village.last_to("rua")


async def test_silence_is_told_as_silence(village: Practice):
    await asked(village)
    await village.wait(2.1)

    assert "I have not heard from you" in village.last_to("mary")
    assert "You did not answer" not in village.last_to("mary")


@pytest.mark.parametrize("days", [0, 1])
@pytest.mark.parametrize("first", ["Earlier", "No"])
@pytest.mark.parametrize("typed", [True, False], ids=["typed", "tapped"])
async def test_a_changed_mind_counts_also_next_day(
    village: Practice, first: str, days: int, typed: bool
):
    await asked(village)
    button = next(
        choice.value
        for row in village.newest_buttons("mary").outgoing.choices
        for choice in row
        if choice.label == "Yes, now"
    )
    await village.taps("mary", first)
    await village.wait(3 + days * 60 * 24)

    if typed:
        said = await village.says("mary", "Yes, now")
    else:
        said = await village.taps_value("mary", button)

    assert any(text.startswith("Stop. Call 111 now.") for text in said), said
    assert "EMERGENCY: Mary" in village.last_to("rua")
    assert await open_levels(village) == [AlertLevel.EMERGENCY]


async def test_an_old_yes_now_acts_even_when_nothing_of_it_is_left(village: Practice):
    said = await village.taps_value("mary", "safety.999.now")

    assert any(text.startswith("Stop. Call 111 now.") for text in said), said
    assert "EMERGENCY: Mary" in village.last_to("rua")


async def test_a_double_tap_on_yes_now_raises_one_alarm(village: Practice):
    await asked(village)
    value = village.newest_buttons("mary").outgoing.choices[0][0].value
    await village.taps_value("mary", value)
    told = len(village.heard("rua"))

    said = await village.taps_value("mary", value)

    assert len(village.heard("rua")) == told
    assert not any(text.startswith("Stop.") for text in said)


@pytest.mark.parametrize("calm", ["Earlier", "No"])
async def test_an_old_calming_button_calms_nothing(village: Practice, calm: str):
    await asked(village)
    value = next(
        choice.value
        for row in village.newest_buttons("mary").outgoing.choices
        for choice in row
        if choice.label.startswith(calm)
    )
    await village.says("mary", "my chest feels tight")
    assert await open_levels(village) == [AlertLevel.EMERGENCY]

    said = await village.taps_value("mary", value)

    assert any("older message" in text for text in said), said
    assert await open_levels(village) == [AlertLevel.EMERGENCY]
    before = len(village.heard("rua"))
    await village.wait(2.1)
    assert len(village.heard("rua")) > before


async def test_i_have_seen_this_acts_only_on_what_its_message_told(village: Practice):
    await village.says("mary", "I feel dizzy")
    old = village.newest_buttons("rua").outgoing.choices[0][0].value
    await village.says("mary", "now my chest hurts")

    said = await village.taps_value("rua", old)

    assert "chest pain or pressure" in said[0]
    before = len(village.heard("rua"))
    await village.wait(2.1)
    assert len(village.heard("rua")) > before
    await village.taps("rua", "I have seen")
    before = len(village.heard("rua"))
    await village.wait(10)
    assert len(village.heard("rua")) == before


async def test_now_or_earlier_may_be_answered_in_words(village: Practice):
    await village.says("mary", "/unwell")
    await village.taps("mary", "! Chest", "Dizzy")

    said = await village.says("mary", "no, Tuesday")

    assert any(text.startswith("Thank you. If it comes back") for text in said), said


async def test_i_cannot_call_counts_as_long_as_the_emergency_is_open(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen")
    await village.wait(60 * 26)

    said = await village.says("mary", "I can't call")

    assert "I am asking Rua to call 111 for you now." in said[0]
    assert "CANNOT CALL" in village.last_to("rua")


async def test_i_cannot_call_is_an_answer_to_the_question(village: Practice):
    await asked(village)
    said = await village.says("mary", "I can't call")

    assert said[0].startswith("Stop. Call 111 now.")
    assert "CANNOT CALL" in village.last_to("rua")


async def test_earlier_after_relief_that_did_not_work_stays_an_emergency(village: Practice):
    await asked(village, "no better after the spray, was it")
    said = await village.taps("mary", "Earlier")

    assert said[0].startswith("Stop. Call 111 now.")
    assert "EMERGENCY: Mary" in village.last_to("rua")


async def test_wrong_button_adds_words_and_takes_nothing_back(village: Practice):
    await asked(village)
    await village.taps("mary", "Yes, now")
    said = await village.says("mary", "Wrong button")

    assert any("I cannot take the alert back." in text for text in said), said
    assert "Wrong button" in village.last_to("rua")
    assert await open_levels(village) == [AlertLevel.EMERGENCY]
    assert await holds(village) == 1
    before = len(village.heard("rua"))
    await village.wait(2.1)
    assert len(village.heard("rua")) > before


# ---- while an alert is open ----


async def test_words_without_a_new_sign_are_one_calm_line(village: Practice):
    await village.says("mary", "my chest feels tight")
    said = await village.says("mary", "the kettle is on")

    mine = [text for text in said if text.startswith("I have sent that to Rua.")]
    assert len(mine) == 1
    assert len(mine[0].splitlines()) == 1
    assert await newest_kind(village) is Kind.REPLY, "no red box"
    assert "the kettle is on" in village.last_to("rua")


async def test_words_hours_later_still_belong_to_the_open_alert(village: Practice):
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen")
    await village.wait(60 * 5)
    said = await village.says("mary", "the kettle is on")

    assert any(text.startswith("I have sent that to Rua.") for text in said), said
    assert "the kettle is on" in village.last_to("rua")


async def test_words_that_reach_nobody_are_not_said_to_be_sent(village: Practice):
    await village.says("mary", "my chest feels tight")

    def block(unit: UnitOfWork) -> None:
        mark_blocked(unit, Address(CHANNEL, "rua"), village.clock.now())
        unit.commit()

    await village.app.database.run(block)
    said = await village.says("mary", "the kettle is on")

    assert not any("I have sent" in text for text in said)
    assert any("I can reach nobody" in text for text in said)


async def test_todays_exercises_are_answered_with_why_there_are_none(village: Practice):
    await village.says("mary", "my chest feels tight")
    before = len(village.heard("rua"))
    said = await village.says("mary", "give me today's exercises")

    assert "Your training is paused." in said[0]
    assert "chest pain or tightness" in said[0]
    assert len(village.heard("rua")) == before


# ---- what the sign came between ----


async def test_the_interrupted_question_comes_back_with_go_on(village: Practice):
    await joining(village, **UP_TO_FLOOR, floor=True, stature_cm=165)
    question = village.last_to("mary")
    await village.says("mary", "my chest feels tight")

    said = await village.says("mary", "go on")

    assert said == [question]
    said = await village.says("mary", "71")
    assert question not in said
    assert not any("I have sent" in text for text in said)


async def test_the_interrupted_question_comes_back_when_an_urgent_exchange_is_over(
    village: Practice,
):
    await joining(village, **UP_TO_FLOOR, floor=True, stature_cm=165)
    question = village.last_to("mary")
    await village.says("mary", "I feel dizzy")

    said = await village.says("mary", "ok I will ring him")

    mine = [text for text in said if "More from" not in text]
    assert mine[0].startswith("I have sent that to Rua.")
    assert mine[-1] == question


async def test_the_interrupted_question_comes_back_after_no(village: Practice):
    await joining(village, **UP_TO_FLOOR, floor=True, stature_cm=165)
    question = village.last_to("mary")
    await asked(village)

    said = await village.taps("mary", "No")

    assert said[-1] == question


@pytest.mark.parametrize("hours", [0, 5])
async def test_the_interrupted_question_comes_back_when_the_alert_was_closed(
    village: Practice, hours: int
):
    await joining(village, **UP_TO_FLOOR, floor=True, stature_cm=165)
    question = village.last_to("mary")
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen")
    await village.wait(60 * hours)
    await village.taps("rua", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    before = len(village.heard("mary"))
    await village.taps("rua", "Today")
    await village.wait(0.1)

    told, back = village.heard("mary")[before:]
    assert "Rua has ended the pause" in told
    assert back == question
    heard = len(village.heard("mary"))
    await village.wait(300)
    assert len(village.heard("mary")) == heard


@pytest.mark.parametrize(
    ("given", "typed"),
    [
        ({**UP_TO_FLOOR, **ON_FEET, "floor": True, "stature_cm": 165}, "71"),
        (UP_TO_OTHER_HEALTH, "Skip"),
        ({}, "1 Kauri Street, Thames"),
    ],
    ids=["a number", "skip", "an address"],
)
async def test_a_plain_answer_is_taken_while_an_alert_is_open(
    village: Practice, given: dict[str, object], typed: str
):
    await joining(village, **given)
    question = village.last_to("mary")
    await village.says("mary", "my chest feels tight")
    before = len(village.heard("rua"))

    said = await village.says("mary", typed)

    # A sentence, such as an address, goes to the alert beside: help may need it.
    sent = [typed] if len(typed.split()) > 1 else []
    told = village.heard("rua")[before:]
    assert len(told) == len(sent)
    assert all(f"“{typed}”" in text for text in told)
    assert question not in said
    assert len(said) == 1 + len(sent), "the next question"
    assert not any("I have sent" in text for text in said)


async def test_a_no_is_the_answer_to_have_you_called(village: Practice):
    await joining(village, **UP_TO_FLOOR)
    await village.says("mary", "my chest feels tight")

    await village.says("mary", "no")

    assert "CANNOT CALL" in village.last_to("rua")


async def test_no_question_of_a_session_that_a_hold_has_ended(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await village.says("mary", "/today")
    await village.taps("mary", "Start", "I am ready")
    shown = village.last_to("mary")
    await village.says("mary", "my chest feels tight")

    said = await village.says("mary", "go on")

    assert shown not in said
    assert any("Your training is paused." in text for text in said), said
    seven = await village.says("mary", "7")
    assert any("I have sent that to Rua" in text for text in seven), seven


async def test_no_old_screen_comes_back(village: Practice):
    await village.says("mary", "/mydata")
    await village.taps("mary", "Leave and erase")
    await village.wait(60 * 16)
    await asked(village)

    said = await village.taps("mary", "No")

    assert not any("erase" in text.lower() for text in said), said


async def test_a_screen_of_a_minute_ago_does_come_back(village: Practice):
    await village.says("mary", "/mydata")
    shown = village.last_to("mary")
    await asked(village)

    said = await village.taps("mary", "No")

    assert said[-1] == shown


# ---- joining ----


@pytest.mark.parametrize(
    ("given", "typed"),
    [
        (UP_TO_OTHER_HEALTH, "Right knee replaced eight weeks ago"),
        (UP_TO_OPERATIONS, "Right knee replaced eight weeks ago"),
        (UP_TO_OPERATIONS, "I had a new hip put in on Friday"),
        (UP_TO_FLOOR, "I cannot get down to the floor"),
        (UP_TO_OTHER_HEALTH, "I had a new hip put in on Friday"),
        (UP_TO_OTHER_HEALTH, "new knee 3 weeks ago"),
        (
            {
                **UP_TO_HEALTH,
                **NO_OPERATIONS,
                "conditions_heart": ["angina"],
                "conditions_other": ["asthma"],
            },
            "two puffs of blue inhaler if short of breath",
        ),
        (
            {**UP_TO_OPERATIONS, **NO_OPERATIONS},
            "chest pain and palpitations",
        ),
    ],
)
async def test_joining_raises_no_alarm_about_what_the_form_asked(
    village: Practice, given: dict[str, object], typed: str
):
    await joining(village, **given)

    said = await village.says("mary", typed)
    await village.wait(5)

    assert said, "the next question"
    assert not any("Is this happening now?" in text or "Stop" in text for text in said), said
    assert await on_record(village) == []
    assert village.heard("rua") == []


@pytest.mark.parametrize(
    ("typed", "level"),
    [
        ("I had a new hip put in on Friday and my chest is tight", AlertLevel.EMERGENCY),
        ("my new knee is hot and red", AlertLevel.URGENT),
        ("I had a new hip put in on Friday and my calf is hot and swollen", AlertLevel.URGENT),
    ],
)
async def test_a_sign_in_a_joining_answer_still_is_one(
    village: Practice, typed: str, level: AlertLevel
):
    await joining(village, **UP_TO_OTHER_HEALTH)
    await village.says("mary", typed)

    assert await open_levels(village) == [level]


async def test_trouble_with_a_new_joint_is_asked_about_in_joining(village: Practice):
    await joining(village, **UP_TO_OTHER_HEALTH)
    await asked(village, "new knee 3 weeks ago and it is hot and red")


@pytest.mark.parametrize("given", [UP_TO_OTHER_HEALTH, UP_TO_FLOOR], ids=["words", "buttons"])
async def test_words_that_joining_takes_beside_a_question_stand_with_it(
    village: Practice, given: dict[str, object]
):
    """The form was opened above the question; what it took, or could not find, was lost."""
    await joining(village, **given)
    await village.says("mary", "it hurts")
    await village.says("mary", "/checkin")
    await village.says("mary", "my grandson won his match on saturday")
    await village.wait(3)

    assert "my grandson won" in village.app.database.run_now(words_of_alerts)


async def test_short_of_breath_now_at_the_doctors_plan_is_an_alarm(village: Practice):
    await joining(
        village,
        **UP_TO_HEALTH,
        **NO_OPERATIONS,
        conditions_heart=["angina"],
        conditions_other=["asthma"],
    )
    await village.says("mary", "I am short of breath, took two puffs, it hasn't helped")

    assert await open_levels(village) == [AlertLevel.EMERGENCY]


# ---- sorry, I did not understand ----


@pytest.mark.parametrize("words", ["blue knee bananas", "which tablet was that", "odd socks"])
async def test_what_was_not_understood_carries_the_number_where_the_body_is_named(
    village: Practice, words: str
):
    said = await village.says("mary", words)

    assert said[0].startswith("Sorry, I did not understand that.")
    assert "call 111 now" in said[0]


async def test_what_was_not_understood_carries_the_number_while_an_alert_is_open(
    village: Practice,
):
    await joining(village, **UP_TO_FLOOR)
    await village.says("mary", "I feel dizzy")
    await village.says("mary", "ok")

    said = await village.says("mary", "blue bananas")

    assert any("call 111" in text for text in said), said


async def test_other_words_that_were_not_understood_name_no_number(village: Practice):
    said = await village.says("mary", "blue bananas")

    assert said[0].startswith("Sorry, I did not understand that.")
    assert "111" not in said[0]


# ---- the one value ----


def test_an_opening_is_read_back_as_it_was():
    opening = SafetyOpening(
        level=TextLevel.ASK,
        signs=(Sign.CHEST_PAIN,),
        if_unanswered=TextLevel.EMERGENCY,
        words="odd",
        why=Reason("coach", "pain", {"where": "knee", "level": 8}),
        tries=1,
    )
    assert opened_with(as_stored(opening)) == opening


def test_conversations_of_an_older_version_are_read():
    asked_before = {
        "level": "ask",
        "signs": ["chest_pain"],
        "if_unanswered": "emergency",
        "for_other": False,
        "perhaps_client": False,
        "asks_unit": False,
        "words": "odd",
        "unread": False,
        "until": "2026-03-02T18:02:00+13:00",
    }
    opening = opened_with(asked_before)
    assert opening.signs == (Sign.CHEST_PAIN,)
    assert opening.until is not None
    assert opening.until.minute == 2
    assert opened_with({"level": "emergency", "signs": []}).level is TextLevel.EMERGENCY
