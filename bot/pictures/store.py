"""Pictures by content id: asked for cheaply, drawn once when first shown, kept on disk.

The id is made of everything that the picture shows, so that the same picture has the same id on
every replica and after every restart, and is uploaded to a channel once.
"""

import json
import os
import tempfile
from collections import deque
from collections.abc import Collection, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from typing import Any

from bot.errors import StoreError
from bot.json_values import from_json, to_json
from bot.pictures.moving import moving_gif
from bot.pictures.strips import pair_png, strip_png
from bot.private_files import private_folder
from bot.storage.encryption import SEALED_FILE, Encryption
from core.client.client import Client, KitAtHome
from core.figure.people import LOOKS, look_for
from core.figure.scene import Scene
from core.mechanics.body import Body, body_of
from core.movements.catalogue import Catalogue, DialValue, Setting
from core.movements.dials import has_kit
from core.vocabulary import Family, Sex

VERSION = 5
"""Raise when pictures look different, so that old ones are not shown again."""

MOST_IN_TURNS = 50
"""Pictures that turns under way may have asked for, at most."""

CHARTS = ("readiness", "weekly_load", "climb", "movement_climb")
"""Names of charts. What draws them is imported with the first: it takes 0.25 s and 28 MB."""

ENDINGS = {"strip": "png", "pair": "png", "moving": "gif", "chart": "png"}


class PictureStore:
    """Pictures under ``home/pictures``, sealed: bodies, and charts with names to them."""

    def __init__(self, home: Path, catalogue: Catalogue, encryption: Encryption) -> None:
        """``home``: the folder of the practice; it need not exist yet."""
        self._encryption = encryption
        self._folder = home / "pictures"
        self._catalogue = catalogue
        # Asked for by turns that may not be committed yet.
        self._newest: deque[str] = deque(maxlen=MOST_IN_TURNS)
        # One thread: each one that has drawn keeps memory for whole pictures (six of them 150 MB
        # more), and the chart library keeps caches that are not made for several.
        self._drawing = ThreadPoolExecutor(1, thread_name_prefix="pictures")

    def request(
        self, step_key: str, client: Client, family: Family, *, moving: bool = False
    ) -> str:
        """The content id of a rung's picture for this client; draws nothing.

        ``step_key`` is the stored key of a ladder step. Returns "" where the catalogue has no such
        rung any more.
        """
        rung_id = step_key.partition("@")[0]
        if rung_id not in self._catalogue.by_id:
            return ""
        kind = "moving" if moving else "strip"
        return self._keep({"kind": kind, "step": step_key, **_looks_of(client, family)})

    def then_and_now(self, then: str, now: str, client: Client, family: Family) -> str:
        """The content id of two steps of a family, one above the other; draws nothing.

        Returns "" where a rung is gone from the catalogue, or its kit from the client's home.
        """
        for step_key in (then, now):
            rung = self._catalogue.by_id.get(step_key.partition("@")[0])
            if rung is None or not has_kit(client.kit, rung.needs):
                return ""
        return self._keep({"kind": "pair", "step": then, "below": now, **_looks_of(client, family)})

    def chart(self, name: str, data: Mapping[str, Any]) -> str:
        """The content id of a chart: its kind (:data:`CHARTS`), plain data."""
        if name not in CHARTS:
            raise KeyError(name)
        return self._keep({"kind": "chart", "name": name, "data": data, "version": VERSION})

    def load(self, content_id: str) -> tuple[bytes, str]:
        """(file content, file name) of a picture; drawn now when it was not drawn before.

        Raises:
            KeyError: nobody asked for a picture with this id.
        """
        wanted = self._wanted(content_id)
        file = f"{content_id}.{ENDINGS[wanted['kind']]}"
        path = self._folder / file
        known = self._read(path)
        if known is not None:
            return known, file
        return self._drawing.submit(self._draw_once, wanted, path).result(), file

    def seal_anew(self) -> None:
        """Seal files that an older version has left in the open, or that have an older key.

        Raises:
            OSError: a file cannot be read or written.
        """
        for path in self._folder.iterdir() if self._folder.is_dir() else ():
            with path.open("rb") as file:
                sealed = file.read(len(SEALED_FILE)) == SEALED_FILE
            if not sealed:
                self._write(path, path.read_bytes())
            elif len(self._encryption.names) > 1:
                content = self._read(path)
                if content is not None:
                    self._write(path, content)

    def _read(self, path: Path) -> bytes | None:
        """A file opened; None when there is none, or one of another key."""
        if not path.is_file():
            return None
        try:
            return self._encryption.open_file(path.read_bytes())
        except StoreError:
            return None

    def _write(self, path: Path, content: bytes) -> None:
        _write(path, self._encryption.seal_file(content))

    def forget(self, content_ids: Collection[str], waiting: Collection[str]) -> None:
        """Take pictures off the disk: these, and all others but the newest; they are drawn anew.

        Args:
            waiting: content ids of pictures that are still to be sent: those stay.

        Raises:
            OSError: a file cannot be deleted.
        """
        if not self._folder.is_dir():
            return
        for path in self._folder.iterdir():
            stem = path.name.partition(".")[0]
            if stem not in waiting and (stem in content_ids or stem not in self._newest):
                path.unlink(missing_ok=True)
                with suppress(ValueError):
                    self._newest.remove(stem)

    def _wanted(self, content_id: str) -> dict[str, Any]:
        if not content_id.isalnum():
            raise KeyError(content_id)
        given = self._read(self._folder / f"{content_id}.json")
        if given is None:
            raise KeyError(content_id)
        wanted: dict[str, Any] = json.loads(given)
        return wanted

    def _keep(self, wanted: Mapping[str, Any]) -> str:
        text = json.dumps(wanted, sort_keys=True, separators=(",", ":"))
        content_id = self._encryption.hashed(text)
        if content_id in self._newest:
            return content_id
        self._newest.append(content_id)
        path = self._folder / f"{content_id}.json"
        if self._read(path) is None:
            self._write(path, text.encode())
        return content_id

    def _draw_once(self, wanted: Mapping[str, Any], path: Path) -> bytes:
        """The picture, also where somebody else had it drawn while this waited for its turn."""
        content = self._read(path)
        if content is None:
            content = self._drawn(wanted)
            self._write(path, content)
        return content

    def _drawn(self, wanted: Mapping[str, Any]) -> bytes:
        if wanted["kind"] == "chart":
            from bot.pictures.charts import DRAWN_BY

            return DRAWN_BY[wanted["name"]](wanted["data"])
        scene = self._scene(wanted)
        if wanted["kind"] == "pair":
            return pair_png(scene, self._scene({**wanted, "step": wanted["below"]}))
        return strip_png(scene) if wanted["kind"] == "strip" else moving_gif(scene)

    def _scene(self, wanted: Mapping[str, Any]) -> Scene:
        rung_id, _, dials = wanted["step"].partition("@")
        if rung_id not in self._catalogue.by_id:
            raise KeyError(rung_id)
        return Scene(
            rung=self._catalogue.by_id[rung_id],
            setting=setting_from(dials),
            body=Body(Sex(wanted["sex"]), wanted["stature"], wanted["mass"]),
            kit=from_json(KitAtHome, wanted["kit"]),
            look=LOOKS[wanted["look"]],
        )


def _looks_of(client: Client, family: Family) -> dict[str, Any]:
    """Body, kit and clothes of a client's pictures."""
    body = body_of(client)
    return {
        "sex": body.sex.value,
        # Nearest centimetre and 5 kg: finer cannot be seen, and pictures are shared more.
        "stature": round(body.stature, 2),
        "mass": 5 * round(body.mass / 5),
        "kit": _kit_as_json(client.kit),
        "look": look_for(client.name, family.value).name,
        "version": VERSION,
    }


def setting_from(dials: str) -> Setting:
    """The setting of a key behind its "@"; undoes :func:`core.movements.ladder.key_of`."""
    pairs = (one.partition("=")[::2] for one in dials.split(",") if one)
    return tuple((name, _dial_value(value)) for name, value in pairs)


def _dial_value(text: str) -> DialValue:
    try:
        return float(text)
    except ValueError:
        return text


def _kit_as_json(kit: KitAtHome) -> dict[str, Any]:
    drawn = ("chair", "bench", "table", "step", "bottle", "band")
    return {name: value for name, value in to_json(kit).items() if name in drawn}


def _write(path: Path, content: bytes) -> None:
    """Writes a whole file or nothing, so that a reader never sees half a picture."""
    private_folder(path.parent)
    handle, name = tempfile.mkstemp(dir=path.parent)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
    Path(name).replace(path)
