"""Looks for holes that nobody can cross over bodies and kits: ``python -m tests.bench.holes``.

6 bodies, everything that may be at home or missing at three heights of furniture: about a minute
of processor time. The tests try a part of it.
"""

import sys

from core.dose.bounds import LARGEST_RISE_OVER_HOLE
from tests.core.movements.people import catalogue
from tests.support.holes import HEIGHTS, PEOPLE, kits, largest_holes


def main() -> int:
    """Prints the holes; the exit code says whether there are any."""
    at_home = [kit for heights in HEIGHTS for kit in kits(heights)]
    found = largest_holes(catalogue(), PEOPLE, at_home, LARGEST_RISE_OVER_HOLE)
    for ratio, whom in sorted(found.values(), reverse=True):
        print(f"{ratio:.3f} {whom}")  # noqa: T201
    print(f"{len(at_home)} kits, {len(PEOPLE)} bodies, {len(found)} holes")  # noqa: T201
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
