"""A test at home, from the coach's tap to her reading of it; care before all else."""

import json

import pytest
import textstat
from sqlmodel import select

from bot.flows.desk import AT_ONCE
from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.tables import AuditRow, ClientRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import Family
from tests.support.facts import reference
from tests.support.practice import Practice
from tests.support.talk import words

TESTS = ("30-second chair", "30-second arm", "One-leg", "Five chair")
KIT = {"chair": 43, "bench": 90, "bottle": 2.0}


async def asks(village: Practice, who: str, test: str) -> None:
    """Rua asks for a test, from the client's card."""
    await village.says("rua", "/clients")
    await village.taps("rua", next(label for label in _labels(village, "rua") if who in label))
    said = await village.taps("rua", "Home tests", test)
    assert said[-1].startswith(f"Ask {who} for the ")
    said = await village.taps(
        "rua", next(la for la in _labels(village, "rua") if la.startswith(("Yes", "Ask")))
    )
    assert said[0].startswith(f"Asked. {who} gets it as a short walk-through")


def _labels(village: Practice, phone: str) -> list[str]:
    return [c.label for row in village.newest_buttons(phone).outgoing.choices for c in row]


async def profile(village: Practice, who: str) -> dict:
    def read(unit: UnitOfWork) -> dict:
        row = unit.session.get_one(ClientRow, village.ids[who])
        return unit.encryption.decrypt_json(row.profile_sealed)

    return await village.app.database.run(read)


async def test_a_chair_stand_from_asking_to_both_reading_the_result(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await asks(village, "Mary", "30-second chair")
    invited = village.last_to("mary")
    assert "Put the chair against a wall." in invited
    assert "Stop at once if you feel unwell." in invited

    await village.taps("mary", "Go on")
    assert "Is somebody in the room with you?" in village.last_to("mary")
    await village.taps("mary", "Yes, somebody")
    assert "Stand up and sit down for 30 seconds" in village.last_to("mary")
    await village.taps("mary", "I am ready")
    said = await village.says("mary", "95")
    assert "from 0 to 40" in said[-1]
    await village.says("mary", "9")
    await village.taps("mary", "No")

    # Rikli and Jones 1999: women of 75 to 79, the middle half does 10 to 15.
    mary = village.heard("mary")[-1]
    assert "You stood up 9 times." in mary
    assert "Most women of your age do 10 to 15." in mary
    assert "nothing about your health" in mary
    rua = village.last_to("rua")
    assert "Below the usual: the middle half of women of this age does 10 to 15." in rua
    assert "a line for falls" in rua
    assert "Proposal: begin squat with" in rua
    kept = await profile(village, "mary")
    assert [(one["test"], one["result"]) for one in kept["home_tests"]] == [("chair_stand", 9.0)]


async def test_what_was_asked_and_done_is_written_down(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await asks(village, "Mary", "30-second arm")
    await village.taps("mary", "Go on", "Yes, somebody", "I am ready", "14")

    def audits(unit: UnitOfWork) -> list[tuple[str, str]]:
        rows = unit.session.exec(select(AuditRow)).all()
        return [(row.what, unit.encryption.decrypt(row.detail_sealed)) for row in rows]

    written = await village.app.database.run(audits)
    assert ("home_test_asked", "arm_curl") in written
    assert ("home_test_done", "arm_curl") in written
    await village.says("rua", "/clients")
    await village.taps("rua", next(la for la in _labels(village, "rua") if "Mary" in la))
    await village.taps("rua", "Home tests")
    assert "14 times" in village.last_to("rua")


async def test_on_one_leg_nobody_starts_alone_and_three_tries_are_averaged(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await asks(village, "Mary", "One-leg")
    await village.taps("mary", "Go on", "No, I am alone")
    assert "not today" in village.last_to("mary")
    assert "until somebody is there" in village.last_to("rua")

    await village.says("mary", "/menu")
    await village.taps("mary", "The test at home")
    await village.taps("mary", "Go on", "Yes, somebody", "I am ready")
    await village.says("mary", "2")
    assert "Try 2 of 3" in village.last_to("mary")
    await village.says("mary", "4")
    await village.says("mary", "6.5")

    # Bohannon 2006: 17.2 seconds from 70 to 79; under 5 seconds is a line for falls.
    assert "You stood for 4.2 seconds." in village.last_to("mary")
    assert "the mean of this age is 17.2 seconds" in village.last_to("rua")
    assert "a line for falls" in village.last_to("rua")


async def test_a_frail_client_needs_company_for_every_test_and_a_fit_one_does_not(
    village: Practice,
):
    await village.client("Nell", birth_year=1940, kit=KIT)
    await village.client("Fay", birth_year=1960, kit=KIT)
    await village.at("07:00")
    for who, said in (("nell", "not today"), ("fay", "Are you ready?")):
        await village.good_morning(who)
        await asks(village, who.capitalize(), "30-second chair")
        await village.taps(who, "Go on", "No, I am alone")
        assert said in village.last_to(who)


async def test_the_coach_reads_who_should_not_before_she_asks(village: Practice):
    await village.client("Nell", conditions=["angina"], spares=["knee"])
    await village.says("rua", "/clients")
    await village.taps("rua", next(la for la in _labels(village, "rua") if "Nell" in la))
    await village.taps("rua", "Home tests", "30-second chair")

    said = village.last_to("rua")
    assert "only with the doctor's word" in said
    assert "to be spared" in said
    assert "another person in the room" in said
    assert "Ask all the same" in _labels(village, "rua")


async def test_no_test_is_asked_of_a_client_on_hold_or_not_cleared(village: Practice):
    await village.client("Nora", cleared=False)
    await village.says("mary", "my chest feels tight and heavy right now")
    for who in ("Nora", "Mary"):
        await village.says("rua", "/clients")
        await village.taps("rua", next(la for la in _labels(village, "rua") if who in la))
        said = await village.taps("rua", "Home tests", "30-second chair")
        assert any("No test now" in text for text in said)


async def test_a_pause_that_comes_between_ends_the_test_for_good(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await asks(village, "Mary", "30-second chair")
    await village.taps("mary", "Go on", "Yes, somebody", "I am ready")
    await village.says("mary", "I have chest pain now")
    assert "call 111" in " ".join(village.heard("mary")[-3:]).lower()

    said = await village.says("mary", "12")
    assert not any("You stood up" in text for text in said)
    said = await village.says("mary", "/test")
    assert not any("Go on" in label for label in _labels(village, "mary"))
    assert "home_tests" not in await profile(village, "mary")


async def test_a_test_asked_for_after_a_pause_was_lifted_the_same_day_can_be_done(
    village: Practice,
):
    await village.at("07:00")
    await village.good_morning()
    await village.says("rua", "/clients")
    await village.taps("rua", next(la for la in _labels(village, "rua") if "Mary" in la))
    await village.taps("rua", "Home tests", "30-second arm", "Yes")
    await village.says("rua", "/clients")
    await village.taps("rua", next(la for la in _labels(village, "rua") if "Mary" in la))
    await village.taps("rua", "Pause training", "Another reason", "Until I end it")
    await village.says("rua", "/clients")
    await village.taps("rua", next(la for la in _labels(village, "rua") if "Mary" in la))
    await village.taps("rua", "End the pause", "I decide myself", "Today")
    # What was asked for before the pause is gone with it.
    assert "no test" in (await village.says("mary", "/test"))[-1]

    await village.wait(5)
    await asks(village, "Mary", "30-second chair")
    await village.taps("mary", "Go on")
    assert "Is somebody in the room" in village.last_to("mary")


@pytest.mark.parametrize(
    ("morning", "said"),
    [
        (("None of these", "1", "1", "1", "1", "1"), "rest day"),
        (("None of these", "1", "4", "4", "4", "4"), "a better day"),
    ],
)
async def test_a_day_of_rest_or_ease_puts_the_test_off(village: Practice, morning, said):
    await village.at("07:00")
    await village.taps("mary", *morning)
    await asks(village, "Mary", "30-second chair")
    await village.taps("mary", "Go on")
    assert said in village.last_to("mary")

    await village.at("07:00")
    await village.good_morning()
    if "settled" in village.last_to("mary"):
        await village.taps("mary", "Yes, it has gone")
    await village.says("mary", "/test")
    await village.taps("mary", "Go on")
    assert "Is somebody in the room" in village.last_to("mary")


async def test_without_a_check_in_that_comes_first_and_old_signs_are_asked_again(
    village: Practice,
):
    await village.at("07:00")
    await asks(village, "Mary", "30-second arm")
    await village.taps("mary", "Go on")
    assert "Any of these today?" in village.last_to("mary")
    await village.good_morning()
    await village.wait(150)
    await village.says("mary", "/test")
    await village.taps("mary", "Go on")
    assert "any chest pain" in village.last_to("mary")
    await village.taps("mary", "! Yes")
    assert "call 111" in " ".join(village.heard("mary")[-3:]).lower()


async def test_asked_in_the_evening_it_comes_after_the_quiet_hours(village: Practice):
    await village.at("22:00")
    before = len(village.heard("mary"))
    await asks(village, "Mary", "30-second chair")
    assert len(village.heard("mary")) == before

    await village.at("06:30")
    assert any("asks you for a short test" in text for text in village.heard("mary", before))


async def test_a_weak_chair_stand_makes_the_first_squat_easier(village: Practice):
    """The push, of which the test says nothing, stays as it is."""
    await village.client("Nell", kit=KIT)
    await village.client("Fay", kit=KIT)
    await village.at("07:00")
    for who in ("nell", "fay"):
        await village.good_morning(who)
    await asks(village, "Nell", "30-second chair")
    await village.taps("nell", "Go on", "Yes, somebody", "I am ready", "4", "No")

    def believed(unit: UnitOfWork) -> list[dict[Family, float]]:
        found = []
        for who in ("nell", "fay"):
            person = get_person(unit, village.ids[who])
            facts = StoreFacts(unit, person, village.clock.now(), reference())
            capacity = facts.capacity(person.id)
            found.append({one: capacity.baseline(one).mean for one in (Family.SQUAT, Family.PUSH)})
        return found

    nell, fay = await village.app.database.run(believed)
    assert nell[Family.SQUAT] == pytest.approx(fay[Family.SQUAT] - 0.2)
    assert nell[Family.PUSH] == fay[Family.PUSH]


async def test_the_client_may_decline_or_stop_and_the_coach_hears_it(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await asks(village, "Mary", "30-second chair")
    await village.taps("mary", "I'd rather not")
    assert "would rather not" in village.last_to("rua")
    assert "no test" in (await village.says("mary", "/test"))[-1]

    await asks(village, "Mary", "30-second chair")
    await village.taps("mary", "Go on", "Yes, somebody", "I am ready", "Stop the test")
    assert "stopped the 30-second chair stand" in village.last_to("rua")


async def test_later_keeps_it_in_the_menu(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await asks(village, "Mary", "30-second chair")
    await village.taps("mary", "Later")
    await village.says("mary", "/menu")
    await village.taps("mary", "The test at home")
    assert "asks you for a short test" in village.last_to("mary")


async def test_silence_in_a_test_is_asked_about_and_then_told_to_the_coach(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await asks(village, "Mary", "30-second chair")
    await village.taps("mary", "Go on", "Yes, somebody", "I am ready")
    await village.wait(11)
    assert "Is all well" in village.last_to("mary")
    await village.taps("mary", "I am fine")
    assert "How many times" in village.last_to("mary")

    await village.wait(11)
    await village.wait(6)
    assert "I have told Rua" in village.last_to("mary")
    assert "no answer" in " ".join(village.heard("rua")[-2:]) or "silent" in village.last_to("rua")


async def test_a_restart_in_the_middle_goes_on_at_the_count(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await asks(village, "Mary", "30-second arm")
    await village.taps("mary", "Go on", "Yes, somebody", "I am ready")
    await village.restart()
    await village.taps("mary", "16")
    assert "You bent your arm 16 times." in village.last_to("mary")


async def test_what_was_asked_is_forgotten_after_two_weeks(village: Practice):
    await asks(village, "Mary", "30-second chair")
    await village.at("07:00", days=15)
    await village.good_morning()
    assert "no test" in (await village.says("mary", "/test"))[-1]


async def test_results_are_in_the_clients_copy_of_her_data(village: Practice):
    await village.at("07:00")
    await village.good_morning()
    await asks(village, "Mary", "30-second arm")
    await village.taps("mary", "Go on", "Yes, somebody", "I am ready", "16")
    content, _ = village.app.contents.load(f"export-{village.ids['mary']}")
    assert "arm_curl" in json.dumps(json.loads(content))


@pytest.mark.parametrize("told_to", ["Rua", ""], ids=["told", "nobody told"])
def test_what_the_client_reads_in_a_test_is_plain(told_to: str):
    """Grade 6 or lower (AMA and NIH advise 6 for patients)."""
    lines: list[str] = []
    for name in ("invite", "company", "how", "count", "result", "later", "not_done"):
        for test in ("chair_stand", "arm_curl", "one_leg_stand", "five_chair_stands"):
            for why in ("alone", "stop", "rather_not"):
                text = words().render(f"home_test/{name}", _values(test, why, told_to)).text
                lines += [li for li in text.splitlines() if li.endswith((".", "?", "!"))]
    whole = " ".join(dict.fromkeys(lines))
    assert textstat.flesch_kincaid_grade(whole) <= 6
    for sentence in whole.replace("?", ".").split("."):
        assert len(sentence.split()) <= 15, sentence


def _values(test: str, why: str, told_to: str) -> dict:
    person = type("Person", (), {"name": "Mary"})()
    found = {
        "test": test, "result": 9.0, "standing": "below", "sex": "f", "low": 10, "high": 15,
        "arms_used": True,
    }  # fmt: skip
    return {
        "me": person, "coach": "Rua", "emergency": "111", "test": test, "company": True,
        "minds": ["chair_against_wall", "arms_crossed"], "kilos": 2.3, "again": why == "stop",
        "low": 0, "high": 40, "number": 2 if why == "alone" else 1, "of": 3, "found": found,
        "why": why, "told_to": told_to, "ways": AT_ONCE, "of_whom": "",
    }  # fmt: skip
