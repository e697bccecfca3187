"""A coach's note belongs to the card it was begun on, and to nothing that is typed later."""

import pytest
from sqlmodel import select

from bot.storage.tables import NoteRow
from bot.storage.unit import UnitOfWork
from tests.support.practice import Practice

WORDS = "walks well with the new stick"


async def notes(village: Practice) -> list[tuple[int, str]]:
    def ask(unit: UnitOfWork) -> list[tuple[int, str]]:
        rows = unit.session.exec(select(NoteRow)).all()
        return [(row.client_id, unit.encryption.decrypt(row.text_sealed)) for row in rows]

    return await village.app.database.run(ask)


async def begins_a_note(village: Practice, name: str = "Mary") -> None:
    await village.says("rua", name)
    said = await village.taps("rua", "Notes", "Write a note")
    assert name in said[0]


async def by_name(village: Practice) -> None:
    await village.says("rua", "Hemi.")


async def by_the_list(village: Practice) -> None:
    await village.says("rua", "/clients")
    labels = [c.label for row in village.newest_buttons("rua").outgoing.choices for c in row]
    await village.taps("rua", next(label for label in labels if "Hemi" in label))


async def by_an_alert(village: Practice) -> None:
    await village.says("hemi", "my chest feels tight")
    await village.taps("rua", "Open the card")


async def by_seeing_an_alert(village: Practice) -> None:
    await village.wait(1)
    await village.says("hemi", "my chest feels tight")
    await village.taps("rua", "I have seen this")


@pytest.mark.parametrize("turns", [by_name, by_the_list, by_an_alert, by_seeing_an_alert])
async def test_words_after_turning_to_another_client_are_not_filed(village: Practice, turns):
    await village.client("Hemi")
    await begins_a_note(village)
    await turns(village)

    await village.says("rua", WORDS)

    assert await notes(village) == []


async def test_a_note_on_the_other_card_is_the_other_client_s(village: Practice):
    await village.client("Hemi")
    await begins_a_note(village, "Mary")
    await begins_a_note(village, "Hemi")
    await village.says("rua", WORDS)

    assert await notes(village) == [(village.ids["hemi"], WORDS)]


async def test_asked_again_about_whom_the_words_are_kept(village: Practice):
    await village.client("Hemi")
    await begins_a_note(village)
    await by_seeing_an_alert(village)
    said = await village.says("rua", WORDS)
    assert "Mary" in said[-1]
    await village.says("rua", WORDS)

    assert await notes(village) == [(village.ids["mary"], WORDS)]


@pytest.mark.parametrize(
    ("minutes", "kept"), [(59, True), (60, False), (61, False), (60 * 24, False)]
)
async def test_a_question_older_than_an_hour_is_not_filled(
    village: Practice, minutes: int, kept: bool
):
    await begins_a_note(village)
    await village.wait(minutes)
    await village.says("rua", WORDS)

    assert await notes(village) == ([(village.ids["mary"], WORDS)] if kept else [])


async def test_the_other_person_s_pause_is_not_given_by_a_late_word(village: Practice):
    await village.client("Hemi")
    await village.says("rua", "Mary")
    await village.taps("rua", "Pause training")
    await village.says("rua", "/clients")
    said = await village.says("rua", "Ill")

    assert "did not understand" in said[0]
    assert "pause" not in "".join(village.heard("mary"))


async def test_a_name_typed_over_a_question_that_makes_nothing_of_it_opens_the_card(
    village: Practice,
):
    """A coach on a bus types the next name; the question that stood open would only come again."""
    await village.client("Hemi")
    for opened in (("Pause",), ("More", "Holiday")):
        await village.says("rua", "Mary")
        await village.taps("rua", *opened)
        assert "Hemi: silent" in (await village.says("rua", "hem"))[-1]
    await village.says("rua", "settings")
    await village.taps("rua", "Time of my list")
    assert "Hemi: silent" in (await village.says("rua", "hemi"))[0]


async def test_namesakes_typed_over_a_note_are_a_list_to_choose_from(village: Practice):
    await village.client("Hemi")
    twin = await village.client("Hemi")
    await begins_a_note(village)
    await village.says("rua", "Hemi")

    labels = [c.label for row in village.newest_buttons("rua").outgoing.choices for c in row]
    assert len([label for label in labels if "Hemi" in label]) == 2
    assert twin
    assert await notes(village) == []


async def test_part_of_a_name_over_a_note_or_a_message_is_asked_about_and_nothing_is_lost(
    village: Practice,
):
    await village.client("Hemi")
    await begins_a_note(village)
    said = await village.says("rua", "hem")
    assert said == ["“hem” may be part of a name. Is it your note about Mary?"]
    assert await notes(village) == []
    await village.taps("rua", "Keep it")
    assert await notes(village) == [(village.ids["mary"], "hem")]

    await village.says("rua", "Mary")
    await village.taps("rua", "Write to them")
    said = await village.says("rua", "hem")
    assert said == ["“hem” may be part of a name. Shall I send it to Mary?"]
    said = await village.taps("rua", "Open Hemi")
    assert "Hemi: silent" in said[-1]
    assert not any("hem" in text.split() for text in village.heard("mary"))
    await village.says("rua", "Mary")
    await village.taps("rua", "Write to them")
    await village.says("rua", "hem")
    await village.taps("rua", "Send it to Mary")
    assert any(text.endswith("hem") or "\nhem" in text for text in village.heard("mary"))

    await village.says("rua", "Mary")
    await village.taps("rua", "Notes", "Find or change", f"{village.clock.now():%d}", "Change")
    kept = await notes(village)
    said = await village.says("rua", "hem")
    assert said == ["“hem” may be part of a name. Is it your note about Mary?"]
    await village.taps("rua", "Cancel")
    assert await notes(village) == kept


async def test_a_question_left_half_way_for_another_card_is_said_not_to_be_done(
    village: Practice,
):
    await village.client("Hemi")
    await village.says("mary", "my chest feels tight")
    await village.taps("rua", "I have seen", "End the pause", "A doctor")
    said = await village.says("rua", "/clients")
    assert said[0] == "You left the end of the pause of Mary half-way. It is not done."
    await village.says("rua", "Hemi")
    await village.taps("rua", "Pause training")
    said = await village.says("rua", "/clients")
    assert not any("half-way" in one for one in said), "nothing was answered yet"


async def test_words_looked_for_in_notes_are_no_greeting_and_a_name_opens_the_card(
    village: Practice,
):
    await village.client("Hemi")
    await begins_a_note(village)
    await village.says("rua", WORDS)
    await village.taps("rua", "Find or change")
    assert "Nobody needs you" not in (await village.says("rua", "morning"))[-1]
    assert "Hemi: silent" in (await village.says("rua", "hem"))[-1]


async def test_a_word_of_the_menu_typed_for_a_name_invites_nobody(village: Practice):
    await village.says("rua", "invite")
    said = await village.says("rua", "clients")
    assert "Mary" in said[-1]
    assert not any("An invitation for" in one for one in said)
