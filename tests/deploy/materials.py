"""What the service is made of: a bill of materials (CycloneDX) and the list of licences.

    python -m tests.deploy.materials

writes ``deploy/materials.cdx.json`` and ``deploy/licences.txt`` from ``deploy/pins.hashed.txt`` and
from what the installed packages say of themselves. ``test_materials`` checks that both are up to
date, and that every licence is one that has been looked at.
"""

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib.metadata import Distribution, distribution

from cyclonedx.contrib.license.factories import LicenseFactory
from cyclonedx.model.bom import Bom
from cyclonedx.model.component import Component, ComponentType
from cyclonedx.output.json import JsonV1Dot6
from packageurl import PackageURL

from tests.architecture.code import ROOT

PINS = ROOT / "deploy" / "pins.hashed.txt"
BILL = ROOT / "deploy" / "materials.cdx.json"
LICENCES = ROOT / "deploy" / "licences.txt"

PINNED = re.compile(r"^([A-Za-z0-9._-]+)==([^\s\\]+)", re.MULTILINE)

SAID_OTHERWISE = {
    "PSF-2.0": "PSF-2.0",
    "Python Software Foundation License": "PSF-2.0",
    "Apache 2.0": "Apache-2.0",
    "Apache Software License": "Apache-2.0",
    "BSD License": "BSD-3-Clause",
    "ISC License": "ISC",
    "MIT License": "MIT",
}
"""What packages say beside SPDX's own names -> SPDX's name (https://spdx.org/licenses)."""

LONGEST_NAME = 40
"""Characters; a longer "License" is the licence's own text."""


@dataclass(frozen=True, slots=True)
class Material:
    """A package of the service, in its pinned version."""

    name: str
    version: str
    licence: str


def materials() -> Sequence[Material]:
    """Every package that the hashed pins name.

    Raises:
        ValueError: another version than the pinned one is installed here.
    """
    found = []
    for name, version in PINNED.findall(PINS.read_text("utf-8")):
        installed = distribution(name)
        if installed.version != version:
            raise ValueError(f"{name} is pinned at {version}, and {installed.version} is installed")
        found.append(Material(name.lower(), version, licence_of(installed)))
    return sorted(found, key=lambda one: one.name)


def licence_of(package: Distribution) -> str:
    """A package's licence by its SPDX name, as the package itself says; "" when it does not."""
    return next(iter(_said(package)), "")


def _said(package: Distribution) -> Iterator[str]:
    about = package.metadata
    if "License-Expression" in about:
        yield about["License-Expression"]
    named = next(iter(about.get_all("License") or ()), "").strip()
    if named and len(named) < LONGEST_NAME and "\n" not in named:
        yield SAID_OTHERWISE.get(named, named)
    for classifier in about.get_all("Classifier") or ():
        kind, _, said = classifier.rpartition(" :: ")
        if kind.startswith("License"):
            yield SAID_OTHERWISE.get(said, said)


def bill(found: Sequence[Material]) -> str:
    """The bill of materials: the same text for the same packages."""
    licences = LicenseFactory()
    parts = [
        Component(
            name=one.name,
            version=one.version,
            type=ComponentType.LIBRARY,
            bom_ref=f"{one.name}@{one.version}",
            purl=PackageURL("pypi", name=one.name, version=one.version),
            licenses=[licences.make_from_string(one.licence)],
        )
        for one in found
    ]
    made = Bom(components=parts)
    made.metadata.component = Component(
        name="dayrung", type=ComponentType.APPLICATION, bom_ref="dayrung"
    )
    made.register_dependency(made.metadata.component, parts)
    written = json.loads(JsonV1Dot6(made).output_as_string())
    # A number and a moment of their own would make each text another one.
    written.pop("serialNumber", None)
    written["metadata"].pop("timestamp", None)
    return json.dumps(written, indent=1, sort_keys=True) + "\n"


def licence_list(found: Sequence[Material]) -> str:
    """A line for each package: name, version, licence."""
    return "".join(f"{one.name} {one.version}: {one.licence}\n" for one in found)


def main() -> None:
    """Write both files."""
    found = materials()
    BILL.write_text(bill(found), "utf-8")
    LICENCES.write_text(licence_list(found), "utf-8")


if __name__ == "__main__":
    main()
