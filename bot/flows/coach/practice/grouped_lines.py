"""The morning list's lines: clients of whom the same is said share one, and needs come first."""

from collections.abc import Iterable, Sequence
from typing import TypedDict

from bot.flows.coach.client.card import AlertLine
from bot.flows.coach.client_state import ClientLine, ClientState, StateReason
from bot.flows.reasons import Reason

MOST_NAMES = 8
"""So many are named of whom nothing is needed today; the list of clients names all."""

ALONE = frozenset({StateReason.ALERT_UNSEEN.value, StateReason.ALERT_OPEN.value})
"""An alert has a line of its own."""

OF_MANY = frozenset(
    {
        StateReason.NO_CHECKIN.value,
        StateReason.NO_CHECKIN_YESTERDAY.value,
        StateReason.EASE_OFF.value,
        StateReason.EASE_OFF_BEFORE.value,
        StateReason.AFTER_HOLD.value,
        StateReason.AWAY.value,
        StateReason.NOT_JOINED.value,
    }
)
"""What asks nothing of the coach today: beyond ``MOST_NAMES`` there is only a count."""


class GroupedLine(TypedDict):
    """A line of the list; ``more``: of how many more the same is true."""

    standing: str
    because: str
    who: Sequence[ClientLine]
    more: int


class Mentioned(TypedDict):
    """What was told without an alert, and by whom; ``quotes``: own words and reasons."""

    ids: list[str]
    names: list[str]
    signs: list[str]
    quotes: list[str | Reason]


def grouped(lines: Iterable[ClientLine]) -> list[GroupedLine]:
    """Lines in the order of ``lines``; those who are fine are left out, the list counts them."""
    groups: dict[tuple[str, str], list[ClientLine]] = {}
    for line in lines:
        if line["standing"] != ClientState.FINE.value:
            own = line["id"] if line["because"] in ALONE else ""
            groups.setdefault((line["because"], own), []).append(line)
    return [_of(found) for found in groups.values()]


def _of(found: list[ClientLine]) -> GroupedLine:
    because = found[0]["because"]
    if because == StateReason.NO_CHECKIN_FOR_DAYS.value:
        found = sorted(found, key=_days)
    shown = found[:MOST_NAMES] if because in OF_MANY else found
    return {
        "standing": found[0]["standing"],
        "because": because,
        "who": shown,
        "more": len(found) - len(shown),
    }


def _days(line: ClientLine) -> int:
    days = line["numbers"].get("days", 0)
    return days if isinstance(days, int) else 0


def same_mentions(alerts: Iterable[AlertLine]) -> list[Mentioned]:
    """What was told, in the order of ``alerts``; the same of several clients is said once."""
    found: list[Mentioned] = []
    for alert in alerts:
        signs, quotes, who = alert["signs"], alert["quotes"], alert["client_id"]
        same = next(
            (one for one in found if (one["signs"], one["quotes"]) == (signs, quotes)), None
        )
        if same is None:
            same = {"ids": [], "names": [], "signs": signs, "quotes": quotes}
            found.append(same)
        if who not in same["ids"]:
            same["ids"].append(who)
            same["names"].append(alert["name"])
    return found
