"""For all tests: arithmetic on one thread, as in the program; files in memory where there is room;
on the build machine no skip.
"""

import os
import shutil
import tempfile
from collections.abc import Generator
from pathlib import Path

import pytest

from bot.cli.start import one_thread_for_arithmetic

one_thread_for_arithmetic()

MEMORY = Path("/dev/shm")  # noqa: S108 - where Linux keeps files in memory
ROOM = 2_000_000_000
"""Bytes that must be free there."""


def _keep_files_in_memory() -> None:
    """A store waits for the disk after each commit; no test looks at a disk that loses power.

    A folder that was chosen by TMPDIR stays.
    """
    if "TMPDIR" in os.environ or not os.access(MEMORY, os.W_OK):
        return
    if shutil.disk_usage(MEMORY).free >= ROOM:
        tempfile.tempdir = str(MEMORY)


_keep_files_in_memory()


def _skipped_is_failed(report: pytest.TestReport | pytest.CollectReport) -> None:
    """Where ``CI`` is set, everything is installed, and every test has to run."""
    if report.skipped and os.environ.get("CI"):
        report.outcome = "failed"
        report.longrepr = f"skipped on the build machine: {report.longrepr}"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    _skipped_is_failed(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    report = yield
    _skipped_is_failed(report)
    return report
