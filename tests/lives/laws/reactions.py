"""Double taps and old buttons."""

from collections.abc import Mapping

from tests.lives.step import Step

CLIENTS_DAY = ("checkin", "session", "set", "walk", "pain")
"""Tables that hold a client's days."""

Facts = Mapping[str, list[str]]


def a_second_tap_changes_nothing(step: Step) -> list[str] | None:
    """After tapping a button twice everything stands as after tapping it once."""
    if step.once is None or step.facts is None or step.tapped is None:
        return None
    return [
        f"the second tap changed {table}: {difference}"
        for table, difference in _differences(step.once, step.facts)
    ]


def an_old_button_leaves_the_day_alone(step: Step) -> list[str] | None:
    """A button of an earlier day changes nothing of a client's check-ins, sessions and pains."""
    if step.day_before is None:
        return None
    return [
        f"the old button changed {table}: {difference}"
        for table, difference in _differences(*step.day_before)
    ]


def _differences(one: Facts, other: Facts) -> list[tuple[str, str]]:
    found = []
    for table, rows in one.items():
        gone = [row for row in rows if row not in other[table]]
        new = [row for row in other[table] if row not in rows]
        if rows != other[table]:
            found.append((table, f"{gone[:1] or len(rows)} became {new[:1] or len(other[table])}"))
    return found
