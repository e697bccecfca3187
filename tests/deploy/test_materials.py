"""The hashed pins, the bill of materials and the licences are whole, agree, and are up to date."""

import json
import re

from cyclonedx.model.bom import Bom
from packaging.requirements import Requirement

from tests.architecture.code import ROOT
from tests.deploy.materials import BILL, LICENCES, PINNED, PINS, bill, licence_list, materials

SEEN = {
    "0BSD",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "CC0-1.0",
    "ISC",
    "LGPL-3.0-only",
    "MIT",
    "MIT-0",
    "MIT-CMU",
    "MPL-2.0",
    "PSF-2.0",
    "Zlib",
}
"""Licences that were looked at: each lets a service use the package unchanged, as Dayrung does."""


def test_both_files_are_what_the_command_writes() -> None:
    found = materials()

    assert BILL.read_text("utf-8") == bill(found)
    assert LICENCES.read_text("utf-8") == licence_list(found)


def test_every_licence_is_known() -> None:
    unknown = {
        one.name: one.licence
        for one in materials()
        if not one.licence or not set(re.split(r" AND | OR |[()]", one.licence)) - {""} <= SEEN
    }

    assert unknown == {}


def test_the_bill_is_cyclonedx_that_its_own_library_reads_back() -> None:
    written = json.loads(BILL.read_text("utf-8"))
    read = Bom.from_json(written)  # type: ignore[attr-defined]  # made by a decorator

    assert (written["bomFormat"], written["specVersion"]) == ("CycloneDX", "1.6")
    assert read.metadata.component.name == "dayrung"
    assert {(one.name, one.version) for one in read.components} == {
        (one.name, one.version) for one in materials()
    }
    assert all(one.licenses and one.purl for one in read.components)


def test_the_hashed_pins_are_the_plain_ones_with_hashes_and_without_an_address() -> None:
    text = PINS.read_text("utf-8")
    hashed = {name.lower(): version for name, version in PINNED.findall(text)}
    plain = (ROOT / "deploy" / "pins.txt").read_text("utf-8")
    pinned = {name.lower().replace("_", "-"): v for name, v in PINNED.findall(plain)}

    assert {name: pinned.get(name.replace("_", "-")) for name in hashed} == hashed
    assert len(re.findall(r"--hash=sha256:[0-9a-f]{64}", text)) >= len(hashed)
    entries = re.split(r"\n(?=\S)", text.strip())
    assert [one for one in entries if not one.startswith("#") and "--hash" not in one] == []
    assert "://" not in text
    assert not re.search(r"^--?(index|extra|find|trusted)", text, re.MULTILINE)


def test_the_hashed_pins_hold_all_that_the_service_needs() -> None:
    text = (ROOT / "pyproject.toml").read_text("utf-8")
    wanted = re.findall(r'^    "([^"]+)",$', text.split("[project.optional")[0], re.MULTILINE)
    names = {Requirement(one).name.lower() for one in wanted}
    hashed = {name.lower() for name, _ in PINNED.findall(PINS.read_text("utf-8"))}

    assert len(names) > 20
    assert names | {"psycopg", "psycopg-binary"} <= hashed
