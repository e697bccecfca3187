"""People who type sentences where buttons are get through: joining, check-in and a session."""

import pytest

from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.trial.acts import CODE
from tests.support.facts import reference
from tests.support.joining import offered, question_of, record_of, taps_code
from tests.support.practice import Practice
from tests.support.sessions import begin, values

POLITE = {
    "consent": "Yes, I agree to that, thank you.",
    "country": "I live in New Zealand, in Porirua.",
    "country_right": "Yes, that is right, thank you.",
    "zone": "Wellington",
    "called": "You may call me Margaret",
    "phone": "021 555 123",
    "home": "12 Hill Road, Napier",
    "contact_name": "My niece is called Rosemary, 021 555 0122",
    "birth_year": "I was born in 1948, in the big snow.",
    "sex": "I am a woman.",
    "own_aim": "skip",
    "conditions_heart": "I have high blood pressure and take bisoprolol every morning",
    "conditions_other": "Nothing else at all, thank you",
    "replaced_joints": "I have all my own joints, never had any new ones",
    "operations": "No, nothing of the kind, thank you.",
    "screening_signs": "none",
    "active": "no",
    "doctor_said": "No, not yet.",
    "other_health": "skip",
    "medicines_any": "Yes, I do take some.",
    "spares": "none",
    "floor": "Yes, I can.",
    "falls": "Just the once, on the wet leaves.",
    "fears_falling": "Not really, no.",
    "walking_aid": "none",
    "lives_alone": "I live with my sister.",
    "stature_cm": "I am five foot four, or I was.",
    "mass_kg": "Ten stone seven, I am sorry to say",
    "wall": "Yes, there is.",
    "mat": "Yes, I have one.",
    "checkin_at": "Half past seven would suit me nicely",
    "days": "Mondays and Thursdays please",
}


async def typed(village: Practice, who: str, key: str) -> None:
    """Answer the open question by words; what is said back is right."""
    wish = POLITE.get(key)
    codes = [value.rpartition("~")[2] for value in offered(village, who)]
    if "heard_yes" in codes:
        await village.says(who, "yes")
    elif wish is None:
        await taps_code(village, who, next(c for c in ("skip", "none") if c in codes))
    else:
        await village.says(who, wish)


async def test_a_polite_client_joins_by_sentences(village: Practice):
    await village.says("rua", "/invite")
    code = CODE.search("\n".join(await village.says("rua", "Margaret")))
    assert code is not None
    await village.says("margaret", f"Good morning. My code is {code.group()}, I think.")
    asked: list[str] = []
    while any("~" in value for value in offered(village, "margaret")):
        key = question_of(village, "margaret")
        asked.append(key)
        assert asked.count(key) < 4, (key, village.last_to("margaret"))
        ticked = "Ticked:" in village.last_to("margaret")
        if ticked and "heard" not in key:
            await village.says("margaret", "done")
        else:
            await typed(village, "margaret", key)

    told = record_of(village, "margaret").answers["joining"]
    assert told["called"] == "Margaret"
    assert told["country"] == "NZ"
    assert told["contact_name"] == "Rosemary, niece"
    assert told["contact_phone"] == "+64215550122"
    assert "contact_phone" not in asked
    assert told["birth_year"] == 1948
    assert told["conditions_heart"] == ["pressure"]
    assert told["conditions_other"] == []
    assert told["medicines_heart"] == ["beta_blocker"]
    assert told["replaced_joints"] == []
    assert told["operations"] == []
    assert told["falls"] == 1
    assert told["lives_alone"] is False
    assert told["stature_cm"] == pytest.approx(162.6)
    assert told["mass_kg"] == pytest.approx(66.7)
    assert told["checkin_at"] == "07:30"
    assert told["days"] == "14"


async def test_what_may_be_meant_otherwise_is_said_back_and_can_be_refused(village: Practice):
    await village.says("rua", "/invite")
    code = CODE.search("\n".join(await village.says("rua", "Peg")))
    assert code is not None
    await village.says("peg", code.group())
    for text in ("yes", "Ireland", "yes"):
        await village.says("peg", text)
    said = await village.says("peg", "They all call me Peggy here")

    assert said[-1].startswith("I understand: Peggy.")
    assert "call you" in (await village.says("peg", "no"))[-1]
    assert "I understand: Peg." in (await village.says("peg", "You can call me Peg, dear"))[-1]
    await village.taps("peg", "Yes")
    assert question_of(village, "peg") == "phone"


async def test_a_morning_in_sentences(village: Practice):
    await village.at("07:00")
    await village.taps("mary", "None of these")
    for text, next_question in (
        ("Well, thank you for asking", "rested"),
        ("Fairly rested, I had a nice lie in.", "muscles"),
        ("A bit sore in the thighs from the chair.", "calm"),
        ("Quite calm.", "mood"),
    ):
        assert next_question in (await village.says("mary", text))[-1], text
    await village.says("mary", "Very good, my grandson is home.")
    checkin = record_checkin(village)

    # "Fairly" counts as the middle, the careful way, for rest as for sore muscles.
    assert [checkin[key] for key in ("sleep", "tiredness", "soreness", "stress", "mood")] == [
        4,
        3,
        3,
        4,
        5,
    ]


def record_checkin(village: Practice):
    """Today's answers, as the store has them."""
    with village.app.database.unit() as unit:
        me = get_person(unit, village.ids["mary"])
        facts = StoreFacts(unit, me, village.clock.now(), reference())
        found = facts.checkin(me.id, me.local(village.clock.now()).date())
        assert found is not None
        return dict(found.answers)


async def test_a_set_in_sentences(village: Practice):
    await village.at("07:00")
    await begin(village)
    said = await village.says("mary", "I managed twenty of them")
    assert said[-1].startswith("20 done. How many more")

    said = await village.says("mary", "Plenty more, I could have kept going")
    assert said[-1].startswith("I understand: 5 or more.")
    await village.says("mary", "yes")
    assert any(value.startswith("did=") for value in values(village))


async def test_a_pain_told_with_the_count_is_asked_about(village: Practice):
    await village.at("07:00")
    await begin(village)
    said = await village.says("mary", "I did six and then my knee had a twinge")

    assert "Where does it hurt" in said[-1]
