"""The versions of ``deploy/pins.txt`` that the service needs, with the hashes of their files.

    python -m tests.deploy.hashed_pins

asks pip for the files (Linux on x86-64 and ARM, the Python that runs this) and writes
``deploy/pins.hashed.txt``, which names no index.
"""

import hashlib
import subprocess
import sys
import tempfile
import tomllib
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from importlib.metadata import distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name, parse_sdist_filename, parse_wheel_filename

from tests.architecture.code import ROOT
from tests.deploy.materials import PINNED, PINS

PLATFORMS = tuple(
    tuple(f"manylinux{glibc}_{machine}" for glibc in ("2014", "_2_17", "_2_26", "_2_27", "_2_28"))
    for machine in ("x86_64", "aarch64")
)
"""Platform tags (PEP 600) of the machines that the service is installed on."""

HEAD = """\
# What the service is installed from: each file's hash (pip install --require-hashes).
# Linux on x86-64 and ARM, Python {python}. Made by: python -m tests.deploy.hashed_pins
"""


def needed() -> Sequence[str]:
    """The packages that the service needs, PostgreSQL's driver included, by their plain names."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    waiting = [*project["dependencies"], *project["optional-dependencies"]["postgres"]]
    found: dict[str, frozenset[str]] = {}
    while waiting:
        asked = Requirement(waiting.pop())
        name, extras = canonicalize_name(asked.name), frozenset(asked.extras)
        if name in found and extras <= found[name]:
            continue
        found[name] = extras | found.get(name, frozenset())
        waiting += _needs(name, found[name])
    return sorted(found)


def _needs(name: str, extras: frozenset[str]) -> Iterator[str]:
    for line in distribution(name).requires or ():
        asked = Requirement(line)
        marker, asked.marker = asked.marker, None
        if marker is None or any(marker.evaluate({"extra": one}) for one in ("", *extras)):
            yield str(asked)


def pinned() -> Mapping[str, str]:
    """The version of each package in ``deploy/pins.txt``."""
    plain = (ROOT / "deploy" / "pins.txt").read_text("utf-8")
    return {canonicalize_name(name): version for name, version in PINNED.findall(plain)}


def hashes(wanted: Sequence[str]) -> Mapping[str, Sequence[str]]:
    """The SHA-256 of each file that pip would install, by package."""
    found: dict[str, set[str]] = defaultdict(set)
    for tags in PLATFORMS:
        with tempfile.TemporaryDirectory() as folder:
            options = ["--quiet", "--no-deps", "--only-binary=:all:", f"--dest={folder}"]
            options += [f"--platform={tag}" for tag in (*tags, "any")]
            pip = (sys.executable, "-m", "pip", "download")
            subprocess.run([*pip, *options, *wanted], check=True)
            for path in Path(folder).iterdir():
                found[_name_of(path.name)].add(hashlib.sha256(path.read_bytes()).hexdigest())
    return {name: sorted(sums) for name, sums in found.items()}


def _name_of(file: str) -> str:
    if file.endswith(".whl"):
        return parse_wheel_filename(file)[0]
    return parse_sdist_filename(file)[0]


def main() -> None:
    """Write the file."""
    versions, names = pinned(), needed()
    wanted = {name: f"{name}=={versions[name]}" for name in names}
    sums = hashes(list(wanted.values()))
    entries = [
        " \\\n".join([wanted[name], *(f"    --hash=sha256:{one}" for one in sums[name])])
        for name in names
    ]
    python = ".".join(map(str, sys.version_info[:2]))
    PINS.write_text(HEAD.format(python=python) + "\n".join(entries) + "\n", "utf-8")


if __name__ == "__main__":
    main()
