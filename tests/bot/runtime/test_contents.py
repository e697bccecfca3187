"""What stands behind a content id that nobody was ever given."""

from pathlib import Path

import pytest

from bot.letters.letters import Letters
from bot.pictures.store import PictureStore
from bot.runtime.contents import Contents
from tests.doubles.store import store_at
from tests.support.loaded import loaded


@pytest.mark.parametrize("person", ["9" * 100, "\N{SUPERSCRIPT TWO}", "-1", "", "1e3"])
def test_a_copy_for_a_number_that_nobody_can_have_is_not_there(tmp_path: Path, person: str) -> None:
    store = store_at(tmp_path / "store.sqlite3")
    pictures = PictureStore(tmp_path, loaded().reference.catalogue, store.encryption)
    letters = Letters(loaded().words, loaded().reference, pictures)
    with pytest.raises(KeyError):
        Contents(pictures, letters, store).load(f"export-{person}")
    store.close()
