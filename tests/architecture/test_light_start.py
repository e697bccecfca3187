"""What a start does not need is not imported: it costs every start its time and memory."""

import subprocess
import sys

import pytest

from tests.architecture.code import ROOT

TELLS = "import sys; print(*(name.partition('.')[0] for name in sys.modules))"


def _imported_by(program: str) -> frozenset[str]:
    """The packages that are loaded after ``program`` has run in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", f"{program}\n{TELLS}"],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=True,
    )
    return frozenset(done.stdout.splitlines()[-1].split())


HELP = """
import sys
from bot.cli.start import main
sys.argv = ["dayrung", "--help"]
try:
    main()
except SystemExit:
    pass
"""


@pytest.mark.parametrize(
    ("program", "needed", "unneeded"),
    [
        pytest.param(
            HELP,
            {"typer", "bot"},
            {
                "numpy", "matplotlib", "PIL", "sqlalchemy", "sqlmodel", "alembic", "telegram",
                "aiohttp", "httpx", "pydantic", "cryptography", "yaml", "jinja2", "uvicorn",
                "starlette", "apprise", "phonenumbers", "apscheduler",
            },
            id="help",
        ),
        pytest.param(
            "import bot.trial.trial",
            {"sqlalchemy", "starlette"},
            {"matplotlib", "alembic", "apprise", "telegram", "aiohttp", "httpx"},
            id="try",
        ),
        pytest.param(
            "import bot.runtime.serve",
            {"sqlalchemy", "telegram"},
            {"matplotlib", "alembic", "apprise"},
            id="serve",
        ),
    ],
)  # fmt: skip
def test_a_start_imports_what_it_needs_and_not_what_it_may_need_later(
    program: str, needed: set[str], unneeded: set[str]
):
    imported = _imported_by(program)

    assert needed <= imported
    assert unneeded & imported == set()
