"""While an alert is open: no words lost, nothing runs beside it, nothing is said that is not so.

No outside source: the promises are ours, and the words in quotes are what clients may type.
"""

import pytest
from sqlmodel import col, select

from bot.messages import Kind
from bot.storage.tables import AlertRow, HoldRow, OutboxRow, SessionRow
from bot.storage.told import alert_told
from bot.storage.unit import UnitOfWork
from core.vocabulary import Sign
from tests.support.practice import Practice
from tests.support.sessions import begin

SIGN = "my chest feels tight"
DOUBT = "felt something odd in my leg"
"""Words that the reader asks about."""


async def alerts(village: Practice) -> list[AlertRow]:
    """The alerts that are chased."""

    def read(unit: UnitOfWork) -> list[AlertRow]:
        rows = unit.session.exec(select(AlertRow).where(AlertRow.level != "mention")).all()
        unit.session.expunge_all()
        return list(rows)

    return await village.app.database.run(read)


async def words(village: Practice) -> list[str]:
    """The client's own words on the one chased alert."""
    (row,) = await alerts(village)
    told = village.app.database.encryption.decrypt_json(row.words_sealed)
    return [word for word in told if isinstance(word, str)]


async def kinds(village: Practice, since: int) -> list[Kind]:
    """Why Mary's messages from the ``since``-th on went out, in order."""

    def read(unit: UnitOfWork) -> list[Kind]:
        mine = OutboxRow.person_id == village.ids["mary"]
        rows = unit.session.exec(select(OutboxRow).where(mine).order_by(col(OutboxRow.id))).all()
        return [Kind(row.kind) for row in rows[since:]]

    return await village.app.database.run(read)


async def seen(village: Practice, sign: str = SIGN) -> None:
    await village.says("mary", sign)
    await village.taps("rua", "I have seen")


async def lifted(village: Practice) -> None:
    await village.taps("rua", "End the pause", "A doctor")
    await village.says("rua", "Dr Singh")
    await village.taps("rua", "Today")


# ---- words ----


@pytest.mark.parametrize(
    "typed",
    ["it comes and goes since breakfast", "I feel unwell", "the chair wobbles a bit"],
    ids=["a doubt", "words of the menu", "talk"],
)
async def test_words_an_hour_later_stand_on_the_alert_and_are_sent(village: Practice, typed: str):
    await village.says("mary", SIGN)
    await village.wait(61)

    await village.says("mary", typed)

    assert await words(village) == [SIGN, typed]
    assert village.last_to("rua").startswith("More from Mary:")
    assert f"“{typed}”" in village.last_to("rua")


async def test_a_doubt_that_would_say_no_more_than_the_alert_is_one_calm_line(village: Practice):
    await village.says("mary", SIGN)
    said = await village.says("mary", "it comes and goes since breakfast")

    assert not any("Is this happening now?" in text for text in said)
    assert any(text.startswith("I have sent that to Rua.") for text in said)


async def test_a_doubt_under_a_seen_alert_is_asked_about_and_sent_once(village: Practice):
    await seen(village)

    said = await village.says("mary", DOUBT)
    assert any("Is this happening now?" in text for text in said)
    assert await words(village) == [SIGN, DOUBT]
    assert f"“{DOUBT}”" in village.last_to("rua")

    await village.taps("mary", "Yes, now")
    assert await words(village) == [SIGN, DOUBT]
    assert "!! EMERGENCY: Mary" in village.last_to("rua")


async def test_a_no_in_words_stands_on_the_open_alert_too(village: Practice):
    await seen(village)
    await village.says("mary", DOUBT)
    await village.says("mary", "no, it was only the dog")

    assert (await words(village))[1:] == [DOUBT, "no, it was only the dog"]


async def test_an_answer_to_another_question_is_sent_as_well(village: Practice):
    await seen(village, "my calf is swollen and sore and red")
    await village.says("mary", "message my coach")
    said = await village.says("mary", "Tom drives me to the hospital")

    assert (await words(village))[1:] == ["Tom drives me to the hospital"]
    assert sum("Tom drives me to the hospital" in text for text in said) == 1, "one message of it"


async def test_what_asks_for_a_screen_is_not_sent(village: Practice):
    await seen(village)
    for typed in ("message my coach", "/settings", "what are my exercises today"):
        await village.says("mary", typed)

    assert (await words(village)) == [SIGN]


async def test_help_has_been_called_in_words_is_kept_with_them(village: Practice):
    await village.says("mary", SIGN)
    before = len(village.heard("rua"))
    await village.says("mary", "yes I have called")

    (told,) = village.heard("rua")[before:]
    assert "They say they have called for help." in told
    assert "“yes I have called”" in told


async def test_words_not_understood_by_an_open_question_are_sent_and_it_comes_back(
    village: Practice,
):
    await seen(village, "my calf is swollen and sore and red")
    await village.says("mary", "/settings")
    shown = village.last_to("mary")

    said = await village.says("mary", "the plumber comes at ten")

    assert any(text.startswith("I have sent that to Rua.") for text in said)
    assert not any("did not understand" in text for text in said)
    assert village.last_to("mary") == shown


async def test_words_to_a_coach_whose_chat_has_just_closed_go_to_the_stand_in(village: Practice):
    await village.coach("Ana", backup_of="rua")
    await seen(village)
    village.channel.close_chat("rua")

    await village.says("mary", "I took my spray and sat down")
    await village.wait(0.1)
    assert "“I took my spray and sat down”" in village.last_to("ana")

    heard = len(village.heard("ana"))
    await village.says("mary", "the kettle is on")
    (told,) = village.heard("ana")[heard:]
    assert "“the kettle is on”" in told


async def test_a_fever_is_not_called_not_understood(village: Practice):
    said = await village.says("mary", "I have a bit of a temperature today")

    assert said[0].startswith("Rest today. No training with a fever.")
    assert not any("did not understand" in text for text in said)


# ---- alarming buttons ----


async def test_an_old_i_cannot_call_tapped_twice_is_chased_once(village: Practice):
    await village.says("mary", SIGN)
    old = village.newest_buttons("mary")
    cannot = old.outgoing.choices[-1][0].value
    await village.says("mary", "my arm hurts too now")
    await village.wait(3 * 60)

    first = await village.taps_value("mary", cannot, old.platform_id)
    (once,) = await alerts(village)
    again = await village.taps_value("mary", cannot, old.platform_id)
    (twice,) = await alerts(village)

    assert any("I am asking Rua to call 111 for you now." in text for text in first)
    assert any("CANNOT CALL FOR HELP" in text for text in first)
    key = village.app.database.encryption
    assert [alert_told(key, row).called for row in (once, twice)] == ["cannot", "cannot"]
    assert (once.round, once.chases) == (twice.round, twice.chases)
    assert not any("CANNOT CALL FOR HELP" in text for text in again)
    assert all("I am asking" not in text for text in again), "nobody was told by this tap"


async def test_i_cannot_call_after_it_was_seen_is_told_anew(village: Practice):
    await village.says("mary", SIGN)
    await village.taps("mary", "I can't call")
    shown = village.newest_buttons("rua")
    await village.taps_value("rua", shown.outgoing.choices[0][0].value, shown.platform_id)
    await village.wait(10)

    said = await village.says("mary", "I can't call")

    assert any("CANNOT CALL FOR HELP" in text for text in said)


async def test_yes_now_on_an_urgent_alert_that_is_known_is_answered(village: Practice):
    await village.says("mary", "I took a tumble, or nearly")
    question = village.newest_buttons("mary")
    yes = question.outgoing.choices[0][0].value
    await village.taps_value("mary", yes, question.platform_id)
    (once,) = await alerts(village)
    await village.wait(2)

    said = await village.taps_value("mary", yes, question.platform_id)

    assert said == ["If it is bad, call 111 now.\nI have that, and I go on asking Rua."]
    (twice,) = await alerts(village)
    assert once.round == twice.round


# ---- what it came between ----


async def test_the_calm_line_says_what_go_on_does_and_it_does_so_hours_later(village: Practice):
    await village.says("mary", "/settings")
    shown = village.last_to("mary")
    await village.says("mary", SIGN)
    said = await village.says("mary", "the kettle is on")
    assert 'Type "go on" to go back to what we did before.' in said[-1]
    await village.wait(70)

    await village.says("mary", "go on")

    assert village.last_to("mary") == shown
    assert "go on" not in await words(village)


async def test_a_number_at_its_own_question_is_not_asked_again(village: Practice):
    await village.client("Nell", limits={"numbers": ["pressure"]})
    await village.at("07:00")
    await village.good_morning("nell")
    said = await village.says("nell", "162/84")

    assert [text for text in said if "Type both numbers" in text] == []
    assert sum("Today: take it easier." in text for text in said) == 1


async def test_a_grave_number_at_its_own_question_is_not_asked_after_the_lift(village: Practice):
    await village.client("Nell", limits={"numbers": ["pressure"]})
    await village.at("07:00")
    await village.good_morning("nell")
    await village.says("nell", "192/118")
    await village.taps("rua", "I have seen")
    await lifted(village)

    await village.says("nell", "/checkin")

    assert "Type both numbers" not in village.last_to("nell")


# ---- sessions, and what is said first ----


async def test_a_silent_session_is_over_when_its_alert_is_raised(village: Practice):
    await village.at("07:00")
    await begin(village)
    await village.wait(16)

    def status(unit: UnitOfWork) -> list[str]:
        return [row.status for row in unit.session.exec(select(SessionRow)).all()]

    assert await village.app.database.run(status) == ["stopped"]
    assert "I have stopped it for today." in village.last_to("mary")
    (row,) = await alerts(village)
    told = alert_told(village.app.database.encryption, row)
    assert told.signs == (Sign.SILENT_SESSION,)


async def test_the_reply_to_a_severe_pain_is_a_safety_text_first(village: Practice):
    await village.taps_value("mary", "open.unwell.")
    await village.taps("mary", "Pain in a joint", "Hip")
    before = len(village.heard("mary"))
    await village.taps("mary", "9")

    first = village.heard("mary")[before]
    assert first.startswith("Stop for today. Call your doctor today.")
    assert (await kinds(village, before))[0] is Kind.SAFETY
    assert "Pain in the hip: 9 of 10." in village.last_to("rua")

    def on_hold(unit: UnitOfWork) -> list[str]:
        return [
            unit.encryption.decrypt(row.because_sealed)
            for row in unit.session.exec(select(HoldRow))
        ]

    assert await village.app.database.run(on_hold) == ["new_pain"]


async def test_a_client_whose_name_is_erased_is_called_by_a_word(village: Practice):
    await seen(village)
    await village.says("mary", "my data")
    await village.taps("mary", "Leave and erase", "Yes")
    await lifted(village)

    assert (await village.says("mary", "/menu"))[0].startswith("What would you like?")
    await village.says("mary", SIGN)
    assert village.last_to("rua").startswith("!! EMERGENCY: a client who left")
    await village.says("rua", "/alerts")
    assert "a client who left: EMERGENCY" in village.last_to("rua")


async def test_a_place_that_is_shared_stands_on_the_alert(village: Practice):
    """As the channel gives it: where help is to go must reach whoever sends it."""
    await village.says("mary", "crushing chest pain")
    await village.says("mary", "\N{ROUND PUSHPIN} -36.80000, 174.76333")

    assert "-36.80000, 174.76333" in "\n".join(village.heard("rua"))
