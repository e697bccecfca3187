"""For all tests: arithmetic on one thread, as in the program; on the build machine no skip."""

import os
from collections.abc import Generator

import pytest

from bot.settings import one_thread_for_arithmetic

one_thread_for_arithmetic()


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
