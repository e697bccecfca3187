"""The Python that Debian 12 has, and so the image: an older 3.11 than the tests run on."""

import os
import subprocess
import sys
from pathlib import Path

SYSTEM = Path("/usr/bin/python3.11")
"""Debian's own; where it is missing, the Python of the tests does the same."""

ROOT = Path(__file__).parents[2]


def test_a_practice_starts_is_watched_backed_up_and_restored(tmp_path: Path) -> None:
    # The packages of this Python fit: they were built for every 3.11.
    packages = [str(ROOT), *(path for path in sys.path if path.endswith("site-packages"))]
    python = SYSTEM if SYSTEM.exists() and sys.version_info[:2] == (3, 11) else sys.executable
    lived = subprocess.run(
        [python, "-m", "tests.deploy.life_in_short", tmp_path],
        env={"PATH": os.environ["PATH"], "PYTHONPATH": os.pathsep.join(packages)},
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )

    assert lived.returncode == 0, lived.stderr
    assert 'dayrung_alerts_unseen{level="emergency"} 1.0' in lived.stdout
    assert "restored 1" in lived.stdout
