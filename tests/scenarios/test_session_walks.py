"""Four clients go through the day: a sore wrist, no floor, a beta blocker, and a first week."""

import itertools
import re
from datetime import timedelta

import pytest
import textstat

from bot.flows.client.training import REST_NUDGE_AFTER
from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from core.dose.prescription import SessionPlan
from core.vocabulary import Family, Spare
from tests.support.facts import reference
from tests.support.practice import Practice
from tests.support.sessions import (
    begin,
    do_movement,
    finish,
    labels,
    tap,
    values,
    whole_session,
)

LONGEST_WITHOUT_A_TAP = timedelta(minutes=4)
MOST_WORDS = 15


async def with_client(village: Practice, name: str, **answers: object) -> str:
    await village.client(name, **answers)
    return name.lower()


def record(village: Practice, who: str):
    """History and plan of the day, as the store has them."""

    def ask(unit):
        client = village.ids[who]
        me = get_person(unit, client)
        facts = StoreFacts(unit, me, village.clock.now(), reference())
        today = me.local(village.clock.now()).date()
        session = facts.session(client, today)
        return facts.history(client), session.plan if session else None

    return village.app.database.run_now(ask)


def sets_of(plan: SessionPlan) -> int:
    """All sets of a day."""
    return sum(each.sets for each in plan.prescriptions)


def stressed(village: Practice, who: str) -> set[str]:
    """Everything that the movements of today's plan load."""
    _, plan = record(village, who)
    return {spare for item in plan.prescriptions for spare in item.step.stresses}


def shown_number(text: str) -> str:
    """What the card asks for: "one set of 15"."""
    return text.partition("Do: ")[2].partition("\n")[0]


def assert_plain(texts: list[str]) -> None:
    """Short sentences, easy words: grade 6 over a whole walk (AMA and NIH advise 6)."""
    sentences = [
        sentence.strip()
        for text in texts
        for line in text.splitlines()
        for sentence in re.split(r"[.!?]\s|[.!?]$|: ", line.lstrip("•0123456789 ·"))
        if len(sentence.split()) > 2
    ]
    too_long = {one for one in sentences if len(one.split()) > MOST_WORDS}
    assert not too_long
    assert textstat.flesch_kincaid_grade(". ".join(sentences)) <= 6


async def test_a_sore_wrist(village: Practice):
    """Hurts, substitute, coach told over the limit, asked next morning whether it settled."""
    who = await with_client(village, "Nell", spares=["wrist"])
    await village.at("07:00")
    await village.good_morning(who)
    await village.says(who, "/today")
    assert "wrist" not in stressed(village, who)

    await tap(village, "see=1", who)
    card = village.last_to(who)
    easier = await tap(village, "easier", who)
    assert re.match(r"This is (a little |a good deal )?easier\.", easier[-1])
    harder = await tap(village, "harder", who)
    assert re.match(r"This is (a little |a good deal )?harder\.", harder[-1])
    not_yet = await tap(village, "harder", who)
    assert not_yet[-1].startswith("That would leave you too little in hand today.")
    assert shown_number(not_yet[-1]) == shown_number(card)

    await tap(village, "hurts", who)
    await village.taps(who, "Wrist", "4")
    lighter = await village.taps(who, "No, more of an ache")
    assert lighter[-1].startswith("Pain of 4: ")
    assert village.channel.sent[-1].outgoing.picture

    await tap(village, "list", who)
    await tap(village, "start", who)
    await tap(village, "ready", who)
    while "done" in values(village, who):
        await village.wait(3)
        await tap(village, "done", who)
    await do_movement(village, who)
    await tap(village, "hurts", who)
    await village.taps(who, "Wrist", "7")
    stopped = await village.taps(who, "No, more of an ache")
    assert "We leave this one out today." in stopped[-1]
    assert "I have put it on Rua's list." in stopped[-1]
    await tap(village, "on", who)
    said = await finish(village, who)
    assert said[-1].startswith("Well done, Nell.")

    history, _ = record(village, who)
    assert Family.PUSH not in {done.family for done in history.sets}
    assert [(pain.where, pain.how_much) for pain in history.pains] == [
        (Spare.WRIST, 4),
        (Spare.WRIST, 7),
    ]

    await village.at("07:00")
    asked = await village.taps(who, "None of these", "4", "4", "4", "4", "4")
    assert "Has it settled?" in asked[-1]
    await village.taps(who, "No, not yet")
    await village.wait(24 * 60)
    await village.at("07:00")
    asked = await village.taps(who, "None of these", "4", "4", "4", "4", "4")
    assert "Has it settled?" in asked[-1], "asked again until it has"
    await village.taps(who, "Partly")
    await village.says(who, "/today")
    assert "The pain has not settled yet" in village.last_to(who)
    assert "push" not in [item.family for item in record(village, who)[1].prescriptions]
    assert_plain(village.heard(who))


async def test_no_floor(village: Practice):
    """Nothing on the floor, nothing but the chair at hand; no kit, away, a quarter of an hour."""
    who = await with_client(village, "Nell", floor=False, kit={"chair": 43, "bottle": 1.0})
    await whole_session(village, who)
    for _ in range(7):
        await village.wait(30 * 60)
        await whole_session(village, who, left=4)
        _, plan = record(village, who)
        loaded = {spare for item in plan.prescriptions for spare in item.step.stresses}
        assert not loaded & {"floor", "kneeling"}
        needs = {need for item in plan.prescriptions for need in item.step.needs}
        assert needs <= {"chair", "wall", "bottle"}

    await village.wait(30 * 60)
    await village.at("07:00")
    await village.good_morning(who)
    await village.says(who, "/today")
    whole = sets_of(record(village, who)[1])

    short = await tap(village, "short", who)
    assert "You have 15 minutes, so this is the short plan." in short[-1]
    assert int(re.search(r"About (\d+) minutes", short[-1])[1]) <= 15
    plan = record(village, who)[1]
    assert len(plan.prescriptions) >= 2
    assert sets_of(plan) < whole
    assert "I have 15 minutes" not in labels(village, who)

    away = await tap(village, "away", who)
    assert "15 minutes" in away[-1], "little time and away from home at once"
    await tap(village, "whole", who)
    assert sets_of(record(village, who)[1]) == whole

    await tap(village, "see=2", who)
    without = await tap(village, "no_kit", who)
    assert without[-1].startswith(("Here is one that you can do", "There is none of these"))
    assert_plain(village.heard(who))


async def test_a_beta_blocker(village: Practice):
    """Ten minutes of warm-up and cool-down in short steps, three in hand, no pulse, slow rising."""
    who = await with_client(
        village, "Nell", medicines=["beta_blocker"], conditions=["heart", "pressure"], sex="f"
    )
    await village.at("07:00")
    await village.good_morning(who)
    await village.says(who, "/today")
    short = await tap(village, "short", who)
    assert any("Warm-up and cool-down alone take 20 minutes." in text for text in short)
    assert len(record(village, who)[1].prescriptions) == 6, "the whole plan still stands"

    await tap(village, "list", who)
    before = len(village.heard(who))
    ready = await tap(village, "start", who)
    for part in ("Chair against the wall, no wheels", "Shoes on", "Phone in reach", "Water"):
        assert part in ready[-1]
    assert "Never hold your breath." in ready[-1]
    await tap(village, "ready", who)
    parts = []
    while "done" in values(village, who):
        parts.append(timedelta(minutes=_minutes(village.last_to(who))))
        await village.wait(parts[-1].total_seconds() / 60)
        await tap(village, "done", who)
    assert sum(parts, timedelta()) == timedelta(minutes=10)
    assert max(parts) <= LONGEST_WITHOUT_A_TAP

    assert "three more well" in village.last_to(who)
    puffed = await tap(village, "puffed", who)
    assert any("two full sentences" in text for text in puffed)
    for _ in range(3):
        await do_movement(village, who, minutes=1.5)
    middle = village.last_to(who)
    assert "Say two sentences out loud." in middle

    # The nudge comes at the end of the rest, whatever is looked at meanwhile.
    await tap(village, "watch", who)
    told = len(village.heard(who))
    await village.wait(REST_NUDGE_AFTER.total_seconds() / 60 + 0.1)
    assert village.heard(who, told)[0].startswith("Now the next one.")

    for _ in range(3):
        await do_movement(village, who)
    parts = []
    while "done" in values(village, who):
        parts.append(timedelta(minutes=_minutes(village.last_to(who))))
        assert "Stand up slowly" in village.last_to(who)
        await village.wait(parts[-1].total_seconds() / 60)
        await tap(village, "done", who)
    assert sum(parts, timedelta()) == timedelta(minutes=10)
    assert max(parts) <= LONGEST_WITHOUT_A_TAP
    await tap(village, "effort=8", who)
    said = await tap(village, values(village, who)[2], who)
    assert "That was hard. Aim for a little less next time" in said[-1]
    assert not any("pulse between" in text for text in village.heard(who, before))
    assert not any("Is all well" in text for text in village.heard(who, before))

    history, _ = record(village, who)
    assert {done.stop_at_left for done in history.sets} == {3}
    assert_plain(village.heard(who))


def _minutes(text: str) -> int:
    return int(re.search(r": (\d+) minutes", text)[1])


async def test_a_first_week(village: Practice):
    """One set, three or four in hand, no step up before it is earned; stop, and begin again."""
    who = await with_client(village, "Nell")
    climbs: dict[Family, list[float]] = {}
    for day in range(3):
        await village.at("07:00")
        await begin(village, who)
        card = village.last_to(who)
        assert shown_number(card).startswith("one set of")
        assert "three more well" in card
        if day == 1:
            await do_movement(village, who)
            await tap(village, "stop", who)
            await tap(village, "go_on", who)
            again = village.last_to(who)
            assert re.search(r"^2 of \d ", again, re.M), "nothing is lost by asking to stop"
            await tap(village, "stop", who)
            said = await tap(village, "just_stop", who)
            assert said[-1].startswith("That is fine. What you did is written down.")
        else:
            said = await finish(village, who, left=4)
        history, _ = record(village, who)
        for done in history.sets:
            climbs.setdefault(done.family, []).append(done.demand)
        if day == 0:
            assert "That was your first session. A good start!" in said[-1]
        await village.wait(30 * 60)

    history, _ = record(village, who)
    squats = history.of_family(Family.SQUAT)
    assert len(squats) >= 2
    assert squats[1].demand == squats[0].demand, "two good sessions come first"
    for family in climbs:
        demands = [done.demand for done in history.of_family(family)]
        steps = itertools.pairwise(demands)
        assert all(later <= 1.15 * earlier * (1 + 1e-9) for earlier, later in steps)
    assert_plain(village.heard(who))


@pytest.mark.parametrize(
    ("joint", "level", "answers", "told"),
    [
        ("Knee", "8", {}, "Pain in the knee: 8 of 10."),
        (
            "Knee",
            "4",
            {"replaced_joints": ["left knee"]},
            "Pain in the knee: 4 of 10. Operated there: left knee (replaced).",
        ),
    ],
    ids=["severe pain", "a replaced joint"],
)
async def test_a_pain_that_cannot_wait_ends_the_session_and_chases_the_coach(
    village: Practice, joint: str, level: str, answers: dict[str, object], told: str
):
    who = await with_client(village, "Nell", **answers)
    await village.at("07:00")
    await begin(village, who)
    await tap(village, "hurts", who)
    # It rings with the tap of its number: whether it is sharp is not waited for.
    said = await village.taps(who, joint, level)

    assert any("Stop for today." in text for text in said)
    assert any("URGENT: Nell" in text and told in text for text in village.heard("rua"))
    closed = await village.says(who, "/today")
    assert "paused" in closed[-1]


@pytest.mark.parametrize(
    ("joints", "place", "stops"),
    [
        (["left ankle"], "left ankle", True),
        (["left ankle"], "right ankle", False),
        (["left ankle"], "Ankle", True),
        (["left ankle"], "Knee", False),
        (["other joint"], "Knee", True),
        (["other joint"], "right ankle", True),
        (["other joint"], "Somewhere else", True),
        ([{"kind": "replacement", "joint": "ankle", "side": "right"}], "left ankle", False),
        ([{"kind": "replacement", "words": "collar bone"}], "left ankle", True),
    ],
)
async def test_a_pain_of_four_stops_where_a_replaced_joint_can_be_meant(
    village: Practice, joints: list[object], place: str, stops: bool
):
    """Ours, stricter: 4 of 10 in a replaced joint; one not known can be any."""
    who = await with_client(village, "Nell", replaced_joints=joints)
    await village.at("07:00")
    await begin(village, who)
    await tap(village, "hurts", who)
    if place[0].islower():
        await village.says(who, place)
    else:
        await village.taps(who, place)
    said = await village.taps(who, "4", *([] if stops else ["No, more of an ache"]))

    assert any("Stop for today." in text for text in said) is stops
    chased = any(": 4 of 10. Operated there: " in text for text in village.heard("rua"))
    assert chased is stops
    if stops and place == "left ankle":
        assert "Pain in the left ankle" in village.last_to("rua")


@pytest.mark.parametrize("word", ["button", "stop", "Stop!"])
@pytest.mark.parametrize("moment", ["warm-up", "card", "count", "hurts", "how bad", "left out"])
async def test_a_session_can_be_stopped_at_any_moment(village: Practice, moment: str, word: str):
    who = await with_client(village, "Nell")
    await village.at("07:00")
    if moment == "warm-up":
        await village.good_morning(who)
        await village.says(who, "/today")
        await village.taps(who, "Start", "I am ready")
    else:
        await begin(village, who)
    taps = {
        "hurts": ["It hurts"],
        "how bad": ["It hurts", "Knee"],
        "left out": ["It hurts", "Knee", "6", "No, more of an ache"],
    }
    if moment == "count":
        await tap(village, next(one for one in values(village, who) if one.startswith("did=")), who)
    await village.taps(who, *taps.get(moment, []))
    said = await (tap(village, "stop", who) if word == "button" else village.says(who, word))
    assert said[-1] == "All right. Is something wrong, or are you just done?"

    said = await tap(village, "go_on", who)
    assert said[-1] != "All right. Is something wrong, or are you just done?"
    await village.says(who, "stop")
    said = await tap(village, "just_stop", who)
    assert said[-1].startswith("That is fine. What you did is written down.")


async def test_a_session_that_was_lost_sight_of_goes_on_where_it_was(village: Practice):
    who = await with_client(village, "Nell")
    await village.at("07:00")
    await begin(village, who)
    await do_movement(village, who)
    await do_movement(village, who)
    await village.restart()
    said = await village.says(who, "/today")

    assert "You have a session going." in said[0]
    assert re.match(r"3 of \d ", said[-1])
