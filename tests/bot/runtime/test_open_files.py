"""The bound of open files is raised as far as it may be."""

import subprocess
import sys

import pytest


@pytest.mark.skipif(sys.platform == "win32", reason="such bounds are of other systems")
@pytest.mark.parametrize(("hard", "raised"), [(2_000, 2_000), (512, 512)])
def test_the_soft_bound_is_raised_to_the_hard_one(hard: int, raised: int):
    # A process of its own: a bound that was lowered cannot be raised again.
    program = (
        "import resource\n"
        f"resource.setrlimit(resource.RLIMIT_NOFILE, (256, {hard}))\n"
        "from bot.runtime.open_files import allow_open_files\n"
        "allow_open_files()\n"
        "print(resource.getrlimit(resource.RLIMIT_NOFILE)[0])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )

    assert int(done.stdout) == raised
