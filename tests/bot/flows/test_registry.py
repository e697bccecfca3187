"""Every conversation is in the registry: one that is not there is never begun."""

import importlib
import pkgutil
from types import ModuleType

from bot import flows
from bot.flows.routing.registry import FLOWS


def conversations() -> list[ModuleType]:
    """The modules that have a name and a step."""
    found = pkgutil.walk_packages(flows.__path__, f"{flows.__name__}.")
    made = [importlib.import_module(one.name) for one in found]
    return [module for module in made if hasattr(module, "NAME") and hasattr(module, "step")]


def test_every_conversation_is_in_the_registry_under_its_own_name():
    assert {module.NAME: module.__name__ for module in conversations()} == {
        name: getattr(flow, "__name__", "") for name, flow in FLOWS.items()
    }


def test_no_two_conversations_share_a_name():
    names = [module.NAME for module in conversations()]

    assert len(names) == len(set(names))
