"""A name stands for one thing: no class name is defined twice in the program."""

import ast
from collections import defaultdict

from tests.architecture.code import program


def test_no_class_name_is_defined_twice() -> None:
    """A leading underscore says that no other module needs the name, so it may come again."""
    homes = defaultdict(list)
    for module in program():
        for node in ast.walk(module.tree):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                homes[node.name].append(module.name)
    assert len(homes) > 200
    assert {name: where for name, where in homes.items() if len(where) > 1} == {}
