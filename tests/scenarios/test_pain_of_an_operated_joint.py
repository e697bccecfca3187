"""Wherever a pain is told, the rule is the same, and the coach reads which joint it may be."""

from itertools import product
from typing import Any

import pytest
from sqlmodel import select

from bot.flows.record.told_to_coach import operations_named
from bot.reference.reference import load_all
from bot.storage.tables import PainRow, SetRow
from bot.storage.told import pain_done
from bot.storage.unit import UnitOfWork
from core.client.operations import Joint, Operation, OperationKind, Side
from tests.scenarios.test_session_walks import with_client
from tests.support.practice import Practice
from tests.support.sessions import begin, tap, values

LEFT_REPAIR = {"kind": "repair", "joint": "knee", "side": "left"}
RIGHT_FUSED = {"kind": "fusion", "joint": "ankle", "side": "right"}


async def hurts_by_button(village: Practice, who: str, place: str, level: str) -> list[str]:
    """A pain told from the menu, on a day without a session."""
    await village.says(who, "/unwell")
    await village.taps(who, "Pain in a joint")
    await (village.says(who, place) if place[0].islower() else village.taps(who, place))
    return await village.taps(who, level)


async def hurts_after_a_set(village: Practice, who: str, place: str, level: str) -> list[str]:
    """ "It hurt", once the set is over."""
    await village.at("07:00")
    await begin(village, who)
    await tap(village, next(one for one in values(village, who) if one.startswith("did=")), who)
    await tap(village, "it_hurt", who)
    await (village.says(who, place) if place[0].islower() else village.taps(who, place))
    return await village.taps(who, level)


WAYS = pytest.mark.parametrize("tells", [hurts_by_button, hurts_after_a_set])


@WAYS
@pytest.mark.parametrize(
    ("joints", "place", "level", "operated"),
    [
        ([LEFT_REPAIR], "left knee", "4", "left knee (repaired)"),
        ([LEFT_REPAIR], "left knee!", "4", "left knee (repaired)"),
        ([LEFT_REPAIR], "Knee", "5", "left knee (repaired)"),
        ([LEFT_REPAIR], "right knee", "5", ""),
        ([RIGHT_FUSED], "Ankle", "4", "right ankle (fused)"),
        (["right hip", LEFT_REPAIR], "Hip", "4", "right hip (replaced)"),
        (["other joint"], "Shoulder", "4", "a joint not known (replaced)"),
        ([LEFT_REPAIR], "Knee", "3", ""),
        ([], "Knee", "7", ""),
    ],
)
async def test_from_four_in_an_operated_joint_the_coach_is_told_at_once_and_which(
    village: Practice, tells: Any, joints: list[Any], place: str, level: str, operated: str
):
    """Ours, stricter than the bands of Ageberg 2010: 4 of 10 stops where an operation may be."""
    who = await with_client(village, "Nell", replaced_joints=joints)
    said = await tells(village, who, place, level)

    assert any("Stop for today." in text for text in said) is bool(operated)
    urgent = [text for text in village.heard("rua") if "URGENT: Nell" in text]
    assert bool(urgent) is bool(operated)
    if operated:
        where = place.strip("!").lower()
        line = f"Pain in the {where}: {level} of 10. Operated there: {operated}."
        assert line in urgent[-1]
        assert "paused" in (await village.says(who, "/today"))[-1]


@WAYS
async def test_a_severe_pain_names_its_side_and_no_operation_where_there_was_none(
    village: Practice, tells: Any
):
    who = await with_client(village, "Nell")
    await tells(village, who, "left knee", "8")

    alert = next(text for text in reversed(village.heard("rua")) if "URGENT: Nell" in text)
    assert "Pain in the left knee: 8 of 10." in alert
    assert "Operated" not in alert


async def test_a_pain_after_a_set_is_kept_with_its_joint(village: Practice):
    def kept(unit: UnitOfWork) -> tuple[list[tuple[str, int]], int]:
        pains = [pain_done(unit.encryption, row) for row in unit.session.exec(select(PainRow))]
        return [(one.where, one.how_much) for one in pains], len(
            unit.session.exec(select(SetRow)).all()
        )

    who = await with_client(village, "Nell")
    said = await hurts_after_a_set(village, who, "Knee", "6")
    assert "Marked: pain 6 of 10." in said[-1]
    await tap(village, "left=3", who)

    pains, sets = await village.app.database.run(kept)
    assert pains == [("knee", 6)]
    assert sets == 1
    await village.says("rua", "alerts")
    assert "pain 6 of 10: stopped, in the knee." in village.last_to("rua")


async def test_a_pain_in_the_chest_after_a_set_is_not_measured(village: Practice):
    who = await with_client(village, "Nell")
    await village.at("07:00")
    await begin(village, who)
    await tap(village, next(one for one in values(village, who) if one.startswith("did=")), who)
    assert "Where does it hurt" in (await tap(village, "it_hurt", who))[-1]
    said = await tap(village, "where=chest", who)

    assert "Call 111 now" in said[0]


async def test_no_pain_after_all_leaves_no_note(village: Practice):
    said = await hurts_by_button(village, "mary", "Knee", "0")

    assert "note" not in said[-1]
    assert "Pain" not in "".join(await village.says("rua", "alerts"))


def test_every_operation_has_words_in_an_alert():
    words = load_all(lambda code: code).words
    for kind, joint, side in product(OperationKind, [*Joint, None], [*Side, None]):
        told = operations_named([Operation(kind, joint, side), Operation()])
        numbers = {"where": "knee", "level": 4, "before": 2, "operated": told}
        for code in ("pain_stop_careful", "pain_rising", "fever_joint"):
            said = words.reason("readiness_coach", code, numbers)
            assert "a joint not known (replaced)" in said
            assert joint is None or side is None or f"{side.value} " in said
    old = words.reason("readiness_coach", "pain_stop_careful", {"where": "knee", "level": 4})
    assert old == "Pain in the knee: 4 of 10. An operated joint.", "an older alert names none"
    for code in ("pain_stop_careful", "pain_rising", "fever_joint"):
        numbers = {"where": "knee", "level": 4, "before": 2, "operated": ""}
        assert words.reason("readiness_coach", code, numbers), "nor one whose joint was taken back"
