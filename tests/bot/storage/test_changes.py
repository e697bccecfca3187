"""The table of what carries out which change."""

from typing import get_args, get_type_hints

from bot.flows.changes import Change
from bot.storage.changes.apply import CARRIED_OUT_BY


def test_every_change_that_a_conversation_can_want_is_carried_out():
    assert set(CARRIED_OUT_BY) == set(get_args(Change))


def test_each_change_is_carried_out_by_the_function_made_for_it():
    made_for = {change: get_type_hints(work)["change"] for change, work in CARRIED_OUT_BY.items()}

    assert made_for == {change: change for change in CARRIED_OUT_BY}
