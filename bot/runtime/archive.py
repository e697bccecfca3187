"""A backup as a file: a tar archive that names its key and its contents, sealed with a passphrase
where one is given (GnuPG, symmetric)."""

import errno
import hashlib
import json
import os
import shutil
import subprocess
import tarfile
import tempfile
import zlib
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from bot.errors import SettingsError
from bot.json_values import from_json, to_json
from bot.storage.encryption import key_name

LIST = "backup.json"
FORMAT = 1


@dataclass(frozen=True, slots=True)
class BackupContents:
    """What a backup says of itself.

    Attributes:
        made_at: ISO 8601.
        keys: the names of the keys that open the store, the newest first (:func:`names_of`).
        files: the SHA-256 of each file, by its path in the backup.
    """

    format: int
    made_at: str
    keys: Sequence[str]
    files: Mapping[str, str]


def names_of(keys: bytes) -> Sequence[str]:
    """What keys are called, as ``dayrung check`` calls them."""
    return [key_name(one) for one in keys.split()]


def pack(folder: Path, made_at: str, keys: bytes, target: Path, passphrase: Path | None) -> None:
    """Write everything in ``folder`` into the file ``target``, which must not be in it.

    What is to be sealed never stands beside ``target`` in the open, but for a moment beside
    ``folder``: the disk of backups may be somebody else's.

    Raises:
        SettingsError: it cannot be sealed.
        OSError: it cannot be written.
    """
    paths = sorted(path for path in folder.rglob("*") if path.is_file())
    sums = {path.relative_to(folder).as_posix(): _sum(path) for path in paths}
    described = to_json(BackupContents(FORMAT, made_at, names_of(keys), sums))
    (folder / LIST).write_text(json.dumps(described, indent=1), encoding="utf-8")
    plain = target if passphrase is None else folder.with_suffix(".plain")
    with tarfile.open(plain, "w:gz") as archive:
        for path in [folder / LIST, *paths]:
            archive.add(path, path.relative_to(folder).as_posix(), recursive=False)
    if passphrase is not None:
        try:
            _gpg(passphrase, "--symmetric", "--cipher-algo", "AES256", plain, target)
        finally:
            plain.unlink()
    target.chmod(0o600)
    _to_the_disk(target)


def _take_out(archive: tarfile.TarFile, folder: Path) -> None:
    """Put the files of a backup into ``folder``: plain ones below it, nothing else.

    The library's own filter for this is missing in Python before 3.11.4.

    Raises:
        TarError: there is something else in it.
        OSError: a file is there twice, or cannot be written.
    """
    for member in archive:
        name = PurePosixPath(member.name)
        if not member.isfile() or name.is_absolute() or ".." in name.parts:
            raise tarfile.TarError("a backup holds plain files only")
        read = archive.extractfile(member)
        if read is None:
            raise tarfile.TarError("a file that cannot be read")
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        with read, target.open("xb") as written:
            shutil.copyfileobj(read, written)


def unpack(source: Path, folder: Path, passphrase: Path | None) -> BackupContents:
    """Bring a backup's files into ``folder``, each as it was put in.

    Raises:
        SettingsError: it is no backup, is damaged, or its passphrase is another one.
        OSError: the disk is full.
    """
    opened = source
    if passphrase is not None:
        opened = folder / ".opened"
        _gpg(passphrase, "--decrypt", source, opened)
    try:
        with tarfile.open(opened, "r:gz") as archive:
            _take_out(archive, folder)
        written = (folder / LIST).read_text(encoding="utf-8")
        contents = from_json(BackupContents, json.loads(written))
    except (OSError, EOFError, tarfile.TarError, zlib.error, ValueError) as error:
        if isinstance(error, OSError) and error.errno == errno.ENOSPC:
            raise
        raise SettingsError(
            f"{source} is no backup that can be read here ({type(error).__name__}); one that is "
            "sealed needs its passphrase."
        ) from None
    finally:
        if passphrase is not None:
            opened.unlink(missing_ok=True)
    (folder / LIST).unlink()
    if contents.format != FORMAT:
        raise SettingsError(f"{source} was made by another version of Dayrung.")
    found = {
        path.relative_to(folder).as_posix(): _sum(path)
        for path in folder.rglob("*")
        if path.is_file()
    }
    if found != dict(contents.files):
        raise SettingsError(f"{source} is damaged: its files are not those that were put in.")
    return contents


def _gpg(passphrase: Path, *what: str | Path) -> None:
    """Run GnuPG in a home of its own; the last two arguments are where from and where to.

    Raises:
        SettingsError: it is missing, or refuses.
    """
    path = shutil.which("gpg")
    if path is None:
        raise SettingsError("GnuPG (gpg) is not installed here: a backup cannot be sealed.")
    _demand_words(passphrase)
    *how, source, target = what
    # A short path: GnuPG puts a socket there.
    with tempfile.TemporaryDirectory(prefix="dayrung-") as home:
        settled = ["--homedir", home, "--batch", "--yes", "--quiet", "--no-tty"]
        asked: list[str | Path] = ["--pinentry-mode", "loopback", "--passphrase-file", passphrase]
        done = _run([path, *settled, *asked, "--output", target, *how, source])
        ends = shutil.which("gpgconf")
        if ends is not None:
            with suppress(OSError):
                _run([ends, "--homedir", home, "--kill", "all"])
    if done.returncode:
        raise SettingsError(f"{source} cannot be sealed or opened with that passphrase.")


def _demand_words(passphrase: Path) -> None:
    """GnuPG takes the first line, and an empty one too: then anybody could open the backup.

    Raises:
        SettingsError: there is nothing in it, or it cannot be read.
    """
    try:
        with passphrase.open("rb") as file:
            words = file.readline().strip()
    except OSError as error:
        raise SettingsError(f"{passphrase} cannot be read: {error.strerror}.") from None
    if not words:
        raise SettingsError(f"The first line of {passphrase} is empty: it must hold a passphrase.")


def _run(command: Sequence[str | Path]) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(  # noqa: S603 - a fixed program, and paths of the operator
        command, capture_output=True, check=False
    )


def _sum(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _to_the_disk(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
