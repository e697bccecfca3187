"""Every folder of tests can be imported by its own name."""

from tests.architecture.code import ROOT


def test_every_folder_of_tests_is_a_package():
    folders = {path.parent for path in (ROOT / "tests").rglob("*.py")}

    assert {one for one in folders if not (one / "__init__.py").exists()} == set()
