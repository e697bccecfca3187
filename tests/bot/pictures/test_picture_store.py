"""Pictures are asked for cheaply, drawn once, and always have the same id."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from threading import get_ident

import pytest
from PIL import Image

from bot.pictures.store import PictureStore, setting_from
from bot.storage.encryption import Encryption
from core.client.client import Client, KitAtHome
from core.movements.dials import settings_of
from core.movements.ladder import key_of
from core.vocabulary import Family, Sex
from tests.core.figure.scenes import CATALOGUE, KIT
from tests.doubles.store import KEY

ENCRYPTION = Encryption(KEY)
ANN = Client("Ann", sex=Sex.FEMALE, stature_cm=162.0, mass_kg=70.0, kit=KIT)


@pytest.fixture
def store(tmp_path: Path) -> PictureStore:
    return PictureStore(tmp_path, CATALOGUE, ENCRYPTION)


def test_asking_draws_nothing(store: PictureStore, tmp_path: Path) -> None:
    assert store.request("squat_to_chair", ANN, Family.SQUAT)
    assert [path.suffix for path in (tmp_path / "pictures").iterdir()] == [".json"]


def test_a_picture_is_drawn_once_and_then_read(store: PictureStore, tmp_path: Path) -> None:
    content_id = store.request("squat_to_chair", ANN, Family.SQUAT)
    content, name = store.load(content_id)
    assert content.startswith(b"\x89PNG")
    assert name == f"{content_id}.png"
    (tmp_path / "pictures" / name).write_bytes(ENCRYPTION.seal_file(b"kept"))
    assert store.load(content_id) == (b"kept", name)


def test_asked_for_by_many_at_once_it_is_drawn_once_and_all_on_one_thread(
    store: PictureStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each thread that draws keeps memory for whole pictures."""
    drawn: list[int] = []
    monkeypatch.setattr("bot.pictures.store.strip_png", lambda _: b"%d" % _here(drawn))
    asked = [store.request(key, ANN, Family.SQUAT) for key in ("squat_to_chair", "squat_free")]

    with ThreadPoolExecutor(6) as people:
        shown = list(people.map(store.load, asked * 3))

    assert len(drawn) == len(asked)
    assert len(set(drawn)) == 1
    assert len(set(shown)) == len(asked)


def _here(drawn: list[int]) -> int:
    drawn.append(get_ident())
    return len(drawn)


def test_the_id_is_the_same_on_another_replica(tmp_path: Path) -> None:
    ids = {
        PictureStore(tmp_path / name, CATALOGUE, ENCRYPTION).request("push_table", ANN, Family.PUSH)
        for name in ("one", "two")
    }
    assert len(ids) == 1


@pytest.mark.parametrize(
    ("key", "client"),
    [
        ("squat_to_chair@cushion=8", ANN),
        ("squat_free", ANN),
        ("squat_to_chair", replace(ANN, stature_cm=180.0)),
        ("squat_to_chair", replace(ANN, kit=KitAtHome(chair=48.0))),
    ],
)
def test_what_looks_different_has_another_id(store: PictureStore, key: str, client: Client) -> None:
    assert store.request(key, client, Family.SQUAT) != store.request(
        "squat_to_chair", ANN, Family.SQUAT
    )


def test_then_and_now_stand_one_above_the_other(store: PictureStore) -> None:
    both = store.then_and_now("squat_hands_help", "squat_to_chair", ANN, Family.SQUAT)
    content, name = store.load(both)
    one, _ = store.load(store.request("squat_to_chair", ANN, Family.SQUAT))
    heights = [Image.open(BytesIO(picture)).height for picture in (content, one)]
    assert name.endswith(".png")
    assert heights[0] > 1.5 * heights[1]
    assert both != store.then_and_now("squat_to_chair", "squat_hands_help", ANN, Family.SQUAT)


def test_there_is_no_then_and_now_without_rung_or_kit(store: PictureStore) -> None:
    assert store.then_and_now("gone", "squat_to_chair", ANN, Family.SQUAT) == ""
    no_chair = replace(ANN, kit=replace(KIT, chair=None))
    assert store.then_and_now("squat_free", "squat_to_chair", no_chair, Family.SQUAT) == ""


def test_a_rung_that_is_gone_has_no_picture(store: PictureStore) -> None:
    assert store.request("no_such_rung", ANN, Family.SQUAT) == ""


@pytest.mark.parametrize("content_id", ["0" * 32, "../../etc/passwd", "", "a/b"])
def test_what_nobody_asked_for_is_a_key_error(store: PictureStore, content_id: str) -> None:
    with pytest.raises(KeyError):
        store.load(content_id)


def test_a_moving_picture_is_a_gif(store: PictureStore) -> None:
    content_id = store.request("bridge_full", ANN, Family.BRIDGE, moving=True)
    content, name = store.load(content_id)
    assert content.startswith(b"GIF89a")
    assert name.endswith(".gif")


def test_a_client_sees_one_person_in_one_family(store: PictureStore, tmp_path: Path) -> None:
    for key in ("push_table", "push_wall"):
        store.request(key, ANN, Family.PUSH)
    paths = list((tmp_path / "pictures").glob("*.json"))
    assert all(b"look" not in path.read_bytes() for path in paths)
    texts = [ENCRYPTION.open_file(path.read_bytes()).decode() for path in paths]
    assert len({text.partition('"look":"')[2].partition('"')[0] for text in texts}) == 1
    assert not any("Ann" in text for text in texts)


def test_every_stored_key_is_read_back_as_its_setting() -> None:
    for rung in CATALOGUE:
        for setting in settings_of(rung, KIT):
            assert setting_from(key_of(rung.id, setting).partition("@")[2]) == setting


def test_a_chart_is_kept_by_its_data(store: PictureStore) -> None:
    data = {"squat": [["2026-01-05", 100], ["2026-01-12", 108]]}
    content_id = store.chart("climb", data)
    assert content_id == store.chart("climb", data)
    assert content_id != store.chart("climb", {"push": data["squat"]})
    assert store.load(content_id)[0].startswith(b"\x89PNG")


def test_an_unknown_chart_is_refused_at_once(store: PictureStore) -> None:
    with pytest.raises(KeyError):
        store.chart("pie", {})


def test_what_an_older_version_left_open_is_sealed_and_still_shown(
    store: PictureStore, tmp_path: Path
) -> None:
    content_id = store.chart("climb", {"title": "Ann climbs"})
    path = tmp_path / "pictures" / f"{content_id}.json"
    path.write_bytes(ENCRYPTION.open_file(path.read_bytes()))
    (tmp_path / "pictures" / f"{content_id}.png").write_bytes(b"drawn")

    store.seal_anew()

    assert b"Ann" not in path.read_bytes()
    assert store.load(content_id)[0] == b"drawn"


def test_what_is_forgotten_is_off_the_disk_but_what_is_still_to_be_sent(
    store: PictureStore, tmp_path: Path
) -> None:
    gone, waits = (store.request(key, ANN, Family.PUSH) for key in ("push_table", "push_wall"))

    store.forget([gone, waits], [waits])

    assert [path.stem for path in (tmp_path / "pictures").iterdir()] == [waits]
    assert store.request("push_table", ANN, Family.PUSH) == gone
    assert store.load(gone)
