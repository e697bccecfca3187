"""The alternative text of a rung names what its picture shows, and nothing that it does not."""

import re

import pytest

from core.client.steering import Trait
from core.figure.composition import Figure
from core.figure.contact import FINGERS
from core.mechanics.pose import SIDES, View
from core.movements.catalogue import Rung
from tests.core.figure.scenes import CATALOGUE, plain
from tests.core.movements.people import words

RUNGS = pytest.mark.parametrize("rung", list(CATALOGUE), ids=lambda rung: rung.id)

SAID_AS = {
    "chair": r"\bchair\b",
    "bench": r"\bbench\b",
    "table": r"\btable\b",
    "step": r"\b(on|onto|from) a step\b|\bstep edge\b|\blow stair\b",
    "bottle": r"\bbottles?\b",
    "band": r"\bband\b",
    "rail": r"\brails?\b",
}
DRAWN_AS = {"run": "bench"}  # a bench that runs along beside someone


def _text(rung: Rung) -> str:
    return words().rungs[rung.id].picture_text


def _things(figures: tuple[Figure, Figure]) -> set[str]:
    kinds = {s.part.partition("_")[0] for f in figures for s in (*f.room, *f.person)}
    return {DRAWN_AS.get(kind, kind) for kind in kinds}


@RUNGS
def test_things_in_the_picture_are_in_the_text_and_the_other_way_round(rung: Rung) -> None:
    seen = _things(plain(rung.id))
    for thing, said in SAID_AS.items():
        assert bool(re.search(said, _text(rung))) is (thing in seen), (thing, _text(rung))
    if re.search(r"\bwall\b", _text(rung)):
        assert "wall" in seen


NO_THING = re.compile(r"as if to a chair|towards your seat|^Heel to seat|\bwall or rail\b")
"""What the words name without meaning furniture, or leave a choice of."""
IN_WORDS = {"seat": "chair", "wall": "wall", **{t: t for t in ("chair", "bench", "table", "rail")}}


@RUNGS
def test_what_the_words_tell_to_use_is_in_the_picture(rung: Rung) -> None:
    said = words().rungs[rung.id]
    text = NO_THING.sub("", " ".join((said.name, *said.cues)))
    seen = _things(plain(rung.id))
    seen |= {"wall"} if any("wall" in thing for thing in seen) else set()
    for word, thing in IN_WORDS.items():
        if re.search(rf"\b{word}\b", text, re.I):
            assert thing in seen, (word, text, seen)
    if re.search(r"\bsomething firm\b", text):
        assert seen & {"chair", "bench", "table", "wall", "rail"}, text


@RUNGS
def test_hands_on_the_thighs_are_there_from_the_start(rung: Rung) -> None:
    said = words().rungs[rung.id]
    if not re.search(r"hands (on|down) (your )?thighs", " ".join((said.name, *said.cues))):
        return
    for figure in plain(rung.id):
        bones = figure.bones
        for side in SIDES:
            middle = (bones[f"hip_{side}"] + bones[f"knee_{side}"]) / 2
            # Standing, arms reach to the upper half of the thigh.
            assert abs(bones[f"wrist_{side}"] - middle) < 18.0 * bones.scale
    starts_seated = re.match(r"Sit\b", said.cues[0]) is not None
    bones = plain(rung.id)[0].bones
    assert starts_seated is (bones.hips.imag < 70.0 * bones.scale)


@RUNGS
def test_the_first_cue_and_the_first_picture_start_alike(rung: Rung) -> None:
    cues = words().rungs[rung.id].cues
    bones = plain(rung.id)[0].bones
    low = bones.hips.imag < 70.0 * bones.scale
    if re.match(r"(Sit|Lie)\b", cues[0]):
        assert low, cues[0]
    if re.match(r"Stand (?!a bottle)", cues[0]):
        assert not low, cues[0]
    if rung.stance == "squat" and rung.pose.get("seat") and not rung.traits >= {Trait.UNHELD}:
        order = [bool(re.search(r"\b[Ss]it down\b", cue)) for cue in cues]
        assert cues[0].startswith("Stand"), cues[0]
        assert order.index(True) < len(cues) - 1, "up is said after down, as it is drawn"


@RUNGS
def test_who_lies_sits_or_kneels_in_the_text_does_so_in_the_picture(rung: Rung) -> None:
    first = plain(rung.id)[0].bones
    text = _text(rung)
    low = first.hips.imag < 35.0 * first.scale
    if re.search(r"\blies\b|\blying\b", text):
        assert low
        assert abs(first.trunk.imag) < 0.4
    if "hands and knees" in text:
        assert min(first[f"knee_{side}"].imag for side in SIDES) < 10.0
        assert min(first[f"wrist_{side}"].imag for side in SIDES) < 10.0
    if re.search(r"\bsits (tall )?on a chair\b", text):
        assert first.prop("chair", "chair_front") is not None
        assert 35.0 < first.hips.imag < 75.0
    if re.search(r"\bstands on one leg\b", text):
        last = plain(rung.id)[1].bones
        assert last["toe_near"].imag > last["toe_far"].imag + 3.0


@RUNGS
def test_hands_are_where_the_text_says(rung: Rung) -> None:
    text = _text(rung)
    for figure in plain(rung.id):
        bones = figure.bones
        wrists = [bones[f"wrist_{side}"] for side in SIDES]
        if "hands on hips" in text:
            assert max(abs(wrist - bones.hips) for wrist in wrists) < 26.0
        if "one hand on the belly" in text:
            assert sum(wrist.imag > bones.hips.imag + 8.0 for wrist in wrists) == 1
        touched = re.search("(hands|fingertips) on a wall", text)
        if bones.view is View.SIDE and touched:
            wall = bones.prop("wall")
            assert wall is not None
            reach = 6.0 if touched[1] == "hands" else 6.0 + FINGERS
            assert all(abs(wall.at.real - wrist.real) < reach for wrist in wrists)
