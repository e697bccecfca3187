"""The morning list's lines: clients of whom the same is said share one, and needs come first."""

from collections.abc import Iterable, Sequence
from typing import TypedDict

from bot.flows.coach.client.card import AlertLine
from bot.flows.coach.client_state import ClientLine, ClientState, StateReason
from bot.flows.reasons import Reason
from core.dose.prescription import DoseReason

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


MOVEMENT = ("coach", "movement")
"""Group and code of what is told about one movement."""


class GroupedLine(TypedDict):
    """A line of the list; ``more``: of how many more the same is true."""

    standing: str
    because: str
    who: Sequence[ClientLine]
    more: int


class Mentioned(TypedDict):
    """What was told without an alert, and by whom.

    Attributes:
        quotes: own words and reasons.
        families: of each name, the movement that the reason ``why`` is about; empty without one.
    """

    ids: list[str]
    names: list[str]
    signs: list[str]
    quotes: list[str | Reason]
    families: list[str]
    why: DoseReason | None


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
    """What was told, in the order of ``alerts``; the same of several clients is said once.

    The same reason about a movement counts as the same, whichever movement it is.
    """
    found: list[Mentioned] = []
    for alert in alerts:
        family, why = _about_a_movement(alert["quotes"])
        same = next((one for one in found if _is_same(one, alert, why)), None)
        if same is None:
            same = {
                "ids": [],
                "names": [],
                "signs": alert["signs"],
                "quotes": alert["quotes"],
                "families": [],
                "why": why,
            }
            found.append(same)
        known = list(zip(same["ids"], same["families"] or same["ids"], strict=True))
        if (alert["client_id"], family or alert["client_id"]) not in known:
            same["ids"].append(alert["client_id"])
            same["names"].append(alert["name"])
            if why is not None:
                same["families"].append(family)
    return found


def _is_same(one: Mentioned, alert: AlertLine, why: DoseReason | None) -> bool:
    if one["signs"] != alert["signs"]:
        return False
    return one["why"] == why if why is not None else one["quotes"] == alert["quotes"]


def _about_a_movement(quotes: Sequence[str | Reason]) -> tuple[str, DoseReason | None]:
    """The family and the reason, where nothing else was told."""
    quote = quotes[0] if len(quotes) == 1 else ""
    if not isinstance(quote, Reason) or (quote.group, quote.code) != MOVEMENT:
        return "", None
    why = quote.numbers.get("why")
    if not isinstance(why, DoseReason) or set(quote.numbers) - {"family", "why", "where"}:
        return "", None
    return ("", None) if quote.numbers.get("where") else (str(quote.numbers["family"]), why)
