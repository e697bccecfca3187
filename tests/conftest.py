"""For all tests: arithmetic on one thread, as in the program; files in memory where there is room;
a worker more than there are cores; on the build machine no skip; where coverage is not counted.
"""

import gc
import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Generator, Iterable, Iterator
from contextlib import contextmanager, suppress
from importlib import import_module
from pathlib import Path
from types import FrameType
from typing import Any

import pytest
from hypothesis import settings

from bot.cli.start import one_thread_for_arithmetic
from tests.doubles.turns import KINDS, wanted_kinds, working_on
from tests.support.counting import Worthwhile

one_thread_for_arithmetic()

HERE = Path(__file__).parent
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

# The same examples each time, with no limit of time: a test that fails can be run again, and none
# fails on a slow machine alone. `--hypothesis-profile default` looks for new ones.
settings.register_profile("steady", settings.get_profile("ci"))
settings.load_profile("steady")


def _interrupted(number: int, frame: FrameType | None) -> None:
    signal.default_int_handler(number, frame)


def _one_handler_of_interrupts() -> None:
    """An interrupt ends the tests as ever, by a handler that no loop puts its own in place of.

    A loop that does asks for the name of the handler before it, by way of the representation of
    what a fixture has given: of a whole practice that was half a second, each time.
    """
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _interrupted)


_one_handler_of_interrupts()


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int | None:
    """``-n auto`` is one worker more than there are cores.

    Services that are killed, hang or start keep a test waiting with nothing to do: about a fifth of
    the time of two workers on two cores.
    """
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return None if "PYTEST_XDIST_AUTO_NUM_WORKERS" in os.environ else (cores or 1) + 1


VILLAGE = "village"
"""How the names of fixtures end that give a practice."""


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """A test with a practice runs once on each kind of store."""
    given = any(name.endswith(VILLAGE) for name in metafunc.fixturenames)
    if given or "practice" in metafunc.function.__code__.co_names:
        # First, so that it is there before the practice is.
        metafunc.fixturenames.insert(0, "kind_of_store")
        metafunc.parametrize("kind_of_store", wanted_kinds(), indirect=True)


@pytest.fixture
def kind_of_store(request: pytest.FixtureRequest) -> Iterator[str]:
    """The kind of store that the practices of this test work on."""
    with working_on(request.param):
        yield request.param


NOT_COUNTED = (
    # They read the program instead of running it.
    "architecture/",
    # The program runs in other processes.
    "browser/",
    "faults/test_kills.py",
    "faults/test_page_kill.py",
    # The same lines, which tests of their own reach, thousands of times.
    "bot/flows/coach/test_coach_walks.py",
    "core/dose/test_dose_properties.py",
    "core/dose/test_simulated_doses.py",
    "core/figure/test_faces_and_solids.py",
    "core/figure/test_nothing_sinks_in.py",
    "core/movements/test_demand.py",
    "core/movements/test_steering.py",
    "core/programme/test_promises.py",
    "core/red_flags/test_labelled_sets.py",
    "lives/",
    "published/dose/test_two_for_two.py",
    "published/test_time_zones.py",
)
"""Where under ``tests`` coverage is not counted: counting doubles or trebles the time."""


def pytest_collection_modifyitems(items: Iterable[pytest.Item]) -> None:
    for item in items:
        if item.path.relative_to(HERE).as_posix().startswith(NOT_COUNTED) or _is_second(item):
            item.add_marker("no_cover")


def _is_second(item: pytest.Item) -> bool:
    """A test with a practice reaches the same lines on the second kind of store.

    What is different there, tests in ``bot/storage`` reach.
    """
    given = getattr(item, "callspec", None)
    return given is not None and given.params.get("kind_of_store", KINDS[0]) != KINDS[0]


_worthwhile = Worthwhile()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, object, object]:
    """Further cases with a practice are not counted once some in a row have reached nothing new.

    Only those are long and much alike; a text or a picture more is quick, and may take a way of its
    own.
    """
    if (
        _counting(item.config) is None
        or item.get_closest_marker("no_cover") is not None
        or "kind_of_store" not in getattr(item, "fixturenames", ())
    ):
        return (yield)
    test = item.nodeid.partition("[")[0]
    if not _worthwhile.is_worth(test):
        item.add_marker("no_cover")
        return (yield)
    before = _reached(item.config)
    done = yield
    _worthwhile.counted(test, _reached(item.config) - before)
    return done


def _reached(config: pytest.Config) -> int:
    """How many different steps from line to line have been counted so far in this process."""
    by_file = _counting(config).cov._collector.data
    return sum(map(len, by_file.copy().values()))


@pytest.hookimpl(wrapper=True)
def pytest_runtest_setup(item: pytest.Item) -> Generator[None]:
    """Nor is it counted in what fixtures do there; pytest-cov leaves out the test itself."""
    if item.get_closest_marker("no_cover") is None:
        return (yield)
    with _not_counting(item.config):
        return (yield)


@pytest.hookimpl(trylast=True)
def pytest_collection_finish() -> None:
    """The tests themselves stay: no round of the collector has to look through them.

    Nor has it to come round after each few hundred objects; it still comes often enough for what
    a closed practice leaves behind.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(10_000, 10, 5)


@pytest.hookimpl(wrapper=True)
def pytest_collection(session: pytest.Session) -> Generator[None]:
    """All modules are imported first; then the tests are found without counting."""
    if _counting(session.config) is None and not hasattr(session.config, "workerinput"):
        return (yield)
    _import_modules(session.config)
    with _not_counting(session.config):
        return (yield)


def _import_modules(config: pytest.Config) -> None:
    """Import the modules of tests; each worker begins at another place.

    What one has rewritten for pytest, which is costly, the others then find ready.
    """
    found = [path for one in config.args for path in _modules_at(Path(one.partition("::")[0]))]
    worker: dict[str, str | int] = getattr(config, "workerinput", {})
    number = int(str(worker.get("workerid", "gw0")).removeprefix("gw"))
    first = len(found) * number // int(worker.get("workercount", 1))
    for path in found[first:] + found[:first]:
        with suppress(Exception):  # pytest imports it again, and says what is wrong
            import_module(".".join(path.relative_to(HERE.parent).with_suffix("").parts))


def _modules_at(path: Path) -> list[Path]:
    whole = path.absolute()
    if not whole.is_relative_to(HERE):
        return []
    return sorted(whole.rglob("test_*.py")) if whole.is_dir() else [whole]


def _counting(config: pytest.Config) -> Any:
    """What counts coverage, or None."""
    return getattr(config.pluginmanager.get_plugin("_cov"), "cov_controller", None)


@contextmanager
def _not_counting(config: pytest.Config) -> Iterator[None]:
    counting = _counting(config)
    if counting is None:
        yield
        return
    counting.pause()
    try:
        yield
    finally:
        counting.resume()


def pytest_unconfigure() -> None:
    """The database server of this process ends with it."""
    double = sys.modules.get("tests.doubles.postgres")
    if double is not None:
        double.stop_shared()


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
