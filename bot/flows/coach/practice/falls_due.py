"""What falls due among a coach's clients, for her morning list: a line a kind, with the names.

What she can act on comes each day; what goes by weeks comes on Mondays, and on her first day back.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import TypedDict

from bot.flows.coach.client_state import ClientLine
from bot.flows.facts import ClientRecord, Facts
from bot.flows.record.home_test_record import ASKED, asked_of, tests_of
from bot.flows.record.overrules import Overruled, overrules_on
from bot.flows.record.profile import REVIEWED_ON
from core.programme.lighter_week import is_lighter

TEST_AGAIN = timedelta(weeks=12)
"""So long after its last time a home test is due again (common practice, from memory)."""

REVIEW_AGAIN = timedelta(weeks=13)
"""So long after the last review, or the first training, one is due: a quarter (ours)."""

ENDS_SOON = timedelta(days=2)
"""So long before its last day a choice of the coach's own is named."""

MOST_NAMES = 8
MONDAY = 1


class DueClient(TypedDict):
    """A client in such a line.

    Attributes:
        what: of what (a home test, a family of movements), or "".
        on: the last day of it, or None.
        days: since how many days, or 0.
    """

    name: str
    what: str
    on: date | None
    days: int


class DueLine(TypedDict):
    """A line; ``kind`` says which (see ``coach/digest.j2``), ``more`` how many are not named."""

    kind: str
    who: Sequence[DueClient]
    more: int


def falls_due(facts: Facts) -> list[DueLine]:
    """The lines of today; none where nothing is due. Nobody who is paused or away is in them."""
    kinds: dict[str, Callable[[ClientRecord, Facts], list[DueClient]]] = {
        "tests_wait": _tests_that_wait,
        "set_ends": _set_ends,
    }
    if _is_day_of_weeks(facts):
        kinds |= {"tests_again": _tests_again, "lighter": _lighter, "reviews": _review}
    training = [one for one in facts.clients() if _trains(one, facts)]
    lines: list[DueLine] = []
    for kind, found_of in kinds.items():
        who = [found for record in training for found in found_of(record, facts)]
        if who:
            lines.append({"kind": kind, "who": who[:MOST_NAMES], "more": len(who[MOST_NAMES:])})
    return lines


def clearances_that_end(lines: Iterable[ClientLine]) -> list[DueLine]:
    """One line of all whose clearance ends soon, the first to end first; of those paused too."""
    ends = sorted(
        (line["clearance_ends"], line["name"]) for line in lines if line["clearance_ends"]
    )
    who: list[DueClient] = [{"name": name, "what": "", "on": on, "days": 0} for on, name in ends]
    return [{"kind": "clearance", "who": who, "more": 0}] if who else []


def _is_day_of_weeks(facts: Facts) -> bool:
    today, desk = facts.me.local(facts.now).date(), facts.desk(facts.me.id)
    back = desk.away_until is not None and today - desk.away_until == timedelta(days=1)
    return back or today.isoweekday() == MONDAY


def _trains(record: ClientRecord, facts: Facts) -> bool:
    mine = record.coach_id == facts.me.id and not record.person.left
    free = record.cleared and facts.hold(record.id) is None
    return mine and free and not record.is_away(_today(record, facts))


def _tests_that_wait(record: ClientRecord, facts: Facts) -> list[DueClient]:
    test = asked_of(record, facts)
    if test is None:
        return []
    at = record.person.local(datetime.fromisoformat(record.answers[ASKED]["at"]))
    days = (_today(record, facts) - at.date()).days
    return [_one(record, what=test.value, days=days)] if days else []


def _tests_again(record: ClientRecord, facts: Facts) -> list[DueClient]:
    last = {done.test: done.on for done in tests_of(record.answers)}
    waits = asked_of(record, facts)
    before = _today(record, facts) - TEST_AGAIN
    return [
        _one(record, what=test.value)
        for test, on in last.items()
        if on <= before and test is not waits
    ]


def _set_ends(record: ClientRecord, facts: Facts) -> list[DueClient]:
    today = _today(record, facts)
    return [
        _one(record, what=one.family, on=one.until)
        for one in overrules_on(record.answers, today)
        if one.what is not Overruled.DAY and one.until <= today + ENDS_SOON
    ]


def _lighter(record: ClientRecord, facts: Facts) -> list[DueClient]:
    lighter = is_lighter(facts.history(record.id), _today(record, facts))
    return [_one(record)] if lighter else []


def _review(record: ClientRecord, facts: Facts) -> list[DueClient]:
    trained = facts.history(record.id).days_trained()
    told = record.answers.get(REVIEWED_ON)
    since = date.fromisoformat(told) if told else trained[0] if trained else None
    due = since is not None and _today(record, facts) - since >= REVIEW_AGAIN
    return [_one(record)] if due else []


def _today(record: ClientRecord, facts: Facts) -> date:
    return record.person.local(facts.now).date()


def _one(
    record: ClientRecord, *, what: str = "", on: date | None = None, days: int = 0
) -> DueClient:
    return {"name": record.person.name, "what": what, "on": on, "days": days}
