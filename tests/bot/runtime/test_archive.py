"""A backup's file, where somebody else has put something into it."""

import io
import tarfile
from collections.abc import Sequence
from pathlib import Path

import pytest

from bot.errors import SettingsError
from bot.runtime.archive import unpack


def _archive(file: Path, members: Sequence[tarfile.TarInfo]) -> Path:
    with tarfile.open(file, "w:gz") as archive:
        for member in members:
            member.size = 5 if member.isfile() else 0
            archive.addfile(member, io.BytesIO(b"words"))
    return file


def _named(name: str, kind: bytes = tarfile.REGTYPE, link: str = "") -> tarfile.TarInfo:
    member = tarfile.TarInfo(name)
    member.type, member.linkname = kind, link
    return member


@pytest.mark.parametrize(
    "members",
    [
        [_named("../outside")],
        [_named("inside/../../outside")],
        [_named("/outside-of-it")],
        [_named("link", tarfile.SYMTYPE, "../outside")],
        [_named("link", tarfile.LNKTYPE, "../outside")],
        [_named("a"), _named("a")],
        [_named("pipe", tarfile.FIFOTYPE)],
    ],
)
def test_nothing_but_plain_files_comes_out_of_a_backup(
    tmp_path: Path, members: Sequence[tarfile.TarInfo]
) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()

    with pytest.raises(SettingsError, match="is no backup that can be read here"):
        unpack(_archive(tmp_path / "backup", members), folder, None)

    assert not list(tmp_path.glob("outside*"))
    assert not any(path.is_symlink() for path in folder.rglob("*"))
    assert not Path("/outside-of-it").exists()
