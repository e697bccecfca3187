"""Double taps and old buttons."""

from ast import literal_eval
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
    """A button of an earlier day changes nothing of a client's check-ins, sessions and pains.

    It offers today's screen, and the plan of today is worked out when it is first shown: where
    there was none before, a session that is only planned may be new.
    """
    if step.day_before is None:
        return None
    before, after = step.day_before
    new = [row for row in after["session"] if row not in before["session"]]
    shown = [row for row in after["session"] if not (row in new and _is_planned(row))]
    return [
        f"the old button changed {table}: {difference}"
        for table, difference in _differences(before, {**after, "session": shown})
    ]


def _is_planned(session: str) -> bool:
    """Whether this row of a session (see ``FACTS``) is planned and nothing more."""
    _client, _on, _plan, status, effort = literal_eval(session)
    return (status, effort) == ("planned", "")


def _differences(one: Facts, other: Facts) -> list[tuple[str, str]]:
    found = []
    for table, rows in one.items():
        gone = [row for row in rows if row not in other[table]]
        new = [row for row in other[table] if row not in rows]
        if rows != other[table]:
            found.append((table, f"{gone[:1] or len(rows)} became {new[:1] or len(other[table])}"))
    return found
