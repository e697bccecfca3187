"""What a client has told changes plan and warm-up of the next session, through the engine."""

import pytest

from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from core.client.steering import Trait
from core.mechanics.body import body_of
from core.movements.posture import posture
from tests.support.facts import reference
from tests.support.practice import Practice
from tests.support.sessions import tap, values

NEW_HIP = {"kind": "replacement", "joint": "hip", "side": "left"}


async def gentle_texts(village: Practice, who: str) -> list[str]:
    """The morning, and the texts of the warm-up up to the first movement."""
    await village.at("07:00")
    await village.good_morning(who)
    await village.says(who, "/today")
    await village.taps(who, "Start", "I am ready")
    said = [village.last_to(who)]
    while "done" in values(village, who):
        await village.wait(3)
        said += await tap(village, "done", who)
    return said


def planned(village: Practice, who: str):
    """The client and the steps of today's plan, as the store has them."""

    def ask(unit):
        client = village.ids[who]
        me = get_person(unit, client)
        facts = StoreFacts(unit, me, village.clock.now(), reference())
        session = facts.session(client, me.local(village.clock.now()).date())
        return facts.client(client).client, [item.step for item in session.plan.prescriptions]

    return village.app.database.run_now(ask)


async def test_a_replaced_hip_without_a_date_is_bent_to_a_right_angle_at_most(village: Practice):
    """Hospital leaflets: not over 90 degrees; a date that is not known may be last Friday."""
    await village.client("Nell", replaced_joints=[NEW_HIP])
    said = await gentle_texts(village, "nell")
    assert not any("Seated march" in text for text in said)

    client, steps = planned(village, "nell")
    assert steps
    for step in steps:
        rung = reference().catalogue.by_id[step.rung]
        bent = posture(body_of(client), rung, client.kit, [step.setting]).hip_bend[0]
        assert bent <= 90.5, step.key


async def test_a_spared_knee_and_ankle_warm_up_without_sitting_down_or_rising_on_toes(
    village: Practice,
):
    await village.client("Nell", spares=["knee", "ankle"])
    said = await gentle_texts(village, "nell")
    assert any("Shoulder rolls" in text for text in said)
    for text in said[:-1]:
        assert "Small squat" not in text
        assert "Seated leg reach" not in text
        assert "toes" not in text


@pytest.mark.parametrize(
    "told",
    [
        {"falls": 1},
        {"walking_aid": "stick"},
        {"conditions": ["parkinson"]},
        {"conditions": ["stroke"]},
        {"medicines": ["opioid", "sedative"]},
    ],
    ids=["a fall", "a stick", "parkinson", "stroke", "two medicines"],
)
async def test_who_may_fall_has_a_hand_on_something_in_each_movement(village: Practice, told: dict):
    await village.client("Nell", **told)
    await gentle_texts(village, "nell")
    _, steps = planned(village, "nell")
    assert steps
    for step in steps:
        rung = reference().catalogue.by_id[step.rung]
        assert Trait.UNHELD not in rung.traits, step.key
        hold = step.dial.get("support", rung.dials.get("support", ("",))[0])
        assert hold not in ("none", "fingertips"), step.key


async def test_what_the_rows_say_is_read_where_people_act(village: Practice):
    """Cautions and signs before the session and on the card; signs and questions for the coach."""
    told = {"conditions": ["stroke", "heart_failure", "pressure"], "lives_alone": False}
    await village.client("Nell", cleared=False, **told)
    await village.says("rua", "/clients")
    assert "Watch for: heart failure worse?" in "\n".join(await tap_nell(village))
    card = "\n".join(await tap(village, "about", "rua"))
    assert "Ask before you clear: " in card
    assert "which side is the weak one" in card
    assert "whether the weight is taken each morning" in card
    assert "Watch for: heart failure worse?" in card

    await village.client("Olive", **told)
    await village.at("07:00")
    await village.good_morning("olive")
    await village.says("olive", "/today")
    await village.taps("olive", "Start")
    ready = village.last_to("olive")
    assert "• Have someone near you." in ready
    assert "• Count out loud while you push." in ready
    assert "Stop and tell me if you notice:" in ready
    assert "• more weight in a few days, or short of breath lying flat" in ready
    assert "• a drooping face, a weak arm, or speech that slurs" in ready

    cards = await cards_of(village, "olive")
    assert any("Count out loud" in card for card in cards)
    assert any("Have someone near you." in card for card in cards)
    assert not any("in a corner" in card for card in cards)


async def test_who_may_be_alone_is_not_told_to_have_somebody_near(village: Practice):
    await village.client("Nell", falls=1)
    await village.at("07:00")
    await village.good_morning("nell")
    await village.says("nell", "/today")
    await village.taps("nell", "Start")
    said = [village.last_to("nell"), *await cards_of(village, "nell")]
    assert any("Stand in a corner" in text for text in said)
    assert not any("Have someone near you" in text for text in said)


async def tap_nell(village: Practice) -> list[str]:
    """Nell's card, opened from the coach's list."""
    return await tap(village, f"open~{village.ids['nell']}", "rua")


async def cards_of(village: Practice, who: str) -> list[str]:
    """Every card of today's plan, looked at from the list."""
    await village.says(who, "/today")
    seen = [value for value in values(village, who) if value.startswith("see=")]
    cards = []
    for value in seen:
        cards += await tap(village, value, who)
        await tap(village, "list", who)
    return cards
