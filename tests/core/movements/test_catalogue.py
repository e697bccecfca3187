"""Movement files: what is refused, and that refusals name file, rung and field."""

import copy
import re
from pathlib import Path

import pytest
import yaml

from bot.reference.catalogue import MOVEMENTS, load_catalogue, load_words, say_dial, say_setting
from core.errors import CatalogueError
from core.movements.catalogue_loader import catalogue_from
from core.movements.dials import told
from core.vocabulary import Aim, Family
from tests.core.movements.people import catalogue, words

RUNG = {
    "stance": "squat",
    "measure": "squat",
    "unit": "reps",
    "tempo": {"out": 3, "there": 0, "back": 2, "rest": 1},
    "amounts": {"endurance": [2, 15, 20], "strength": [2, 8, 12], "open": [2, 10, 15]},
    "pose": {"arms": "forward"},
    "dials": {"range": [1, 0.5]},
}


def file_with(**changes: object) -> dict[str, dict]:
    rung = copy.deepcopy(RUNG) | changes
    return {"own.yaml": {"family": "squat", "rungs": {"my_squat": rung}}}


def test_a_coachs_own_rung_is_taken() -> None:
    rung = catalogue_from(file_with()).by_id["my_squat"]
    assert rung.family is Family.SQUAT
    assert rung.dials == {"range": (1.0, 0.5)}
    assert rung.amounts[Aim.STRENGTH].low == 8


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("stance", {"stance": "handstand"}),
        ("measure", {"measure": "sweat"}),
        ("unit", {"unit": "miles"}),
        ("tempo", {"tempo": {"out": 3}}),
        ("tempo.out", {"tempo": {"out": -1, "there": 0, "back": 2, "rest": 1}}),
        ("amounts.strength", {"amounts": RUNG["amounts"] | {"strength": [2, 12, 8]}}),
        ("amounts", {"amounts": {"strength": [2, 8, 12]}}),
        ("needs", {"needs": ["sofa"]}),
        ("needs", {"pose": {"seat": "chair", "arms": "forward"}}),
        ("needs", {"dials": {"load": [1.0]}}),
        ("stresses", {"stresses": ["pride"]}),
        ("traits", {"traits": ["mondays"]}),
        ("pose.arms", {"pose": {"arms": "akimbo"}}),
        ("pose.lean", {"pose": {"lean": [1, 2, 3]}}),
        ("pose.learn", {"pose": {"learn": 30}}),
        ("dials.music", {"dials": {"music": ["loud"]}}),
        ("dials.range", {"dials": {"range": [1.5]}}),
        ("dials.tempo", {"dials": {"tempo": ["hectic"]}}),
        ("factor", {"factor": 9}),
        ("factor_source", {"factor": 1.2}),
        ("effort", {"measure": "authored"}),
        ("colour", {"colour": "blue"}),
    ],
)
def test_a_wrong_field_is_refused_by_file_rung_and_field(field: str, changes: dict) -> None:
    with pytest.raises(CatalogueError) as refused:
        catalogue_from(file_with(**changes))
    assert str(refused.value).startswith(f"own.yaml: my_squat: {field}: ")


def test_a_wrong_family_is_refused_by_file_and_field() -> None:
    with pytest.raises(CatalogueError, match=r"^own\.yaml: family: 'juggling' is not one of"):
        catalogue_from({"own.yaml": {"family": "juggling", "rungs": {}}})


def test_an_id_may_be_used_once_only() -> None:
    twice = file_with() | {"second.yaml": file_with()["own.yaml"]}
    with pytest.raises(CatalogueError, match=r"^second\.yaml: my_squat: rungs: this id"):
        catalogue_from(twice)


def test_a_pose_that_names_an_arm_place_of_the_wrong_view_is_refused() -> None:
    with pytest.raises(CatalogueError, match=r"^own\.yaml: my_squat: pose: "):
        catalogue_from(file_with(pose={"arms": "out"}))


def test_every_shipped_pose_can_be_placed_on_an_ordinary_body() -> None:
    # Ours: a start does not try them, so this test stands for it.
    assert load_catalogue(try_shipped=True).rungs(Family.SQUAT)


def test_a_shipped_pose_that_cannot_be_placed_is_found_here(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    content = file_with(pose={"arms": "out"})["own.yaml"]
    (tmp_path / "own.yaml").write_text(yaml.safe_dump(content), encoding="utf-8")
    monkeypatch.setattr("bot.reference.catalogue.MOVEMENTS", tmp_path)
    with pytest.raises(CatalogueError, match=r"^own\.yaml: my_squat: pose: "):
        load_catalogue(try_shipped=True)


def test_the_poses_of_a_coachs_folder_are_tried_at_a_start(tmp_path: Path) -> None:
    content = file_with(pose={"arms": "out"})["own.yaml"]
    (tmp_path / "own.yaml").write_text(yaml.safe_dump(content), encoding="utf-8")
    with pytest.raises(CatalogueError, match=r"^own\.yaml: my_squat: pose: "):
        load_catalogue(tmp_path)


def test_a_coachs_folder_adds_to_the_shipped_families(tmp_path: Path) -> None:
    content = file_with()["own.yaml"]
    (tmp_path / "own.yaml").write_text(yaml.safe_dump(content), encoding="utf-8")
    squats = load_catalogue(tmp_path).rungs(Family.SQUAT)
    assert squats[-1].id == "my_squat"
    assert len(squats) == len(catalogue().rungs(Family.SQUAT)) + 1


def test_a_file_that_is_no_yaml_is_refused_by_name(tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text("rungs: [", encoding="utf-8")
    with pytest.raises(CatalogueError, match=r"^bad\.yaml: not readable"):
        load_catalogue(tmp_path)


def test_a_rung_without_words_is_refused(tmp_path: Path) -> None:
    content = file_with()["own.yaml"]
    (tmp_path / "own.yaml").write_text(yaml.safe_dump(content), encoding="utf-8")
    with pytest.raises(CatalogueError, match="my_squat"):
        load_words(load_catalogue(tmp_path))


def test_there_are_at_least_eleven_families_and_eighty_rungs_to_weigh() -> None:
    weighed = [rung for rung in catalogue() if rung.measure != "authored"]
    assert len({rung.family for rung in weighed}) >= 11
    assert len(weighed) >= 80
    for family in (Family.WARM_UP, Family.COOL_DOWN, Family.MOBILITY, Family.BREATHING):
        assert len(catalogue().rungs(family)) >= 4
    assert {path.stem for path in MOVEMENTS.glob("*.yaml")} == set(Family)


@pytest.mark.parametrize("family", list(Family))
def test_each_family_of_a_session_has_at_least_five_rungs(family: Family) -> None:
    assert len(catalogue().rungs(family)) >= 5


def test_every_authored_factor_names_its_source() -> None:
    for rung in catalogue():
        assert rung.factor == 1.0 or len(rung.factor_source) > 10


def test_settings_are_said_in_words_with_what_nobody_could_guess() -> None:
    wall = catalogue().by_id["push_wall"]
    said = say_setting(words(), wall, dict(told(wall, (("tempo", "slow"),))))
    assert said[0].startswith("feet two and a half shoe lengths from the wall")
    assert said[1] == "slowly"
    squat = next(
        one for one in catalogue() if one.dials.get("range") == (0.3, 0.2, 0.25, 0.35, 0.4, 0.5)
    )
    assert say_dial(words(), squat, "range", 0.5) == "halfway"
    said = say_dial(words(), squat, "range", 0.35)
    assert said == "some of the way, as in the picture: level 4 of 6"


def test_no_setting_asks_a_client_to_do_a_sum() -> None:
    sums = re.compile(r"percent|degree|quarter|third|fifth|tenth|half of")
    for rung in catalogue():
        for name, values in rung.dials.items():
            for said in (say_dial(words(), rung, name, value) for value in values):
                assert not sums.search(said), (rung.id, said)


def test_no_two_settings_of_a_dial_sound_the_same() -> None:
    # "Easier" would seem to change nothing.
    for rung in catalogue():
        for name, values in rung.dials.items():
            said = [say_dial(words(), rung, name, value) for value in values]
            assert len(set(said)) == len(said), (rung.id, name, said)
