"""Whose turn it is: the families of one day, from what was done before it.

Nothing is kept of a plan but the coach's word: each day is worked out from the sets done, so that
a missed day is not made up, an extra day does not empty the next, and days may be swapped.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

from core.client.client import Client
from core.dose.family_record import FIRST_SESSIONS, MOST_LEFT_THAT_IS_HARD
from core.dose.history import History
from core.programme.groups import FAMILIES_OF, GROUP_OF, Group
from core.vocabulary import Family

A_WEEK: Final = 7.0
FORTNIGHT: Final = timedelta(days=14)
LONG_AGO: Final = 56
"""Days that count for a family not done for longer, or never."""

DAYS_A_WEEK: Final[Mapping[Group, float]] = {
    **dict.fromkeys(Group, 2),
    Group.KNEE: 3,
    Group.BALANCE: 7,
    Group.CARRY: 0.5,
    Group.GET_UP: 0.5,
}
"""On how many days a group is wanted, of those on which the client trains (WHO 2020: two or more
of each major group, balance on three or more). Rising and climbing come first, in all but short
sessions on each day; carrying has the hands of pulls too, and getting up from the floor is a skill:
once in two weeks (ours)."""

OFTEN_DAYS, USUAL_DAYS, SELDOM_DAYS = 2.0, 4.0, 6.0
"""After how many days a family is due again: the one nearest to the client's own aim; the first of
a group, and others wished for; any other (ours)."""

SELDOM_IS_DUE: Final = 12
"""Days after which, in sessions with a limit, what is wanted once in two weeks comes before all
else but the knee (ours)."""

SHORT_SESSION: Final = 2
"""Movements of a session in which balance is one more."""

FEWEST_AFTER_HARD_DAY: Final = 2
"""With fewer rested groups than this, families of groups that worked yesterday come in too."""


@dataclass(frozen=True, slots=True)
class DoneBefore:
    """What was done before a day, as far as turns go.

    Attributes:
        last: when each family was done last.
        hard_on: when each family was last hard (three or fewer left).
        sessions: days with more than balance, before the day.
        fortnight: the families of each of the last fourteen days with any, at least.
    """

    last: Mapping[Family, date] = field(default_factory=dict)
    hard_on: Mapping[Family, date] = field(default_factory=dict)
    sessions: int = 0
    fortnight: Mapping[date, frozenset[Family]] = field(default_factory=dict)

    def with_day(self, families: Iterable[Family], on: date) -> "DoneBefore":
        """The same after a day on which ``families`` were hard work."""
        done = dict.fromkeys(families, on)
        return DoneBefore(
            {**self.last, **done},
            {**self.hard_on, **done},
            self.sessions + bool(done.keys() - {Family.BALANCE}),
            {**self.fortnight, on: frozenset(done)},
        )


def done_before(history: History, on: date) -> DoneBefore:
    """What a history says of the days before ``on``."""
    before = [done for done in history.sets if done.on < on]
    fortnight: dict[date, frozenset[Family]] = {}
    for done in reversed(before):
        if on - done.on > FORTNIGHT:
            break
        fortnight[done.on] = fortnight.get(done.on, frozenset()) | {done.family}
    return DoneBefore(
        {done.family: done.on for done in before},
        {done.family: done.on for done in before if done.stop_at_left <= MOST_LEFT_THAT_IS_HARD},
        sum(day < on for day in history.days_worked()),
        fortnight,
    )


def turns(
    client: Client,
    done: DoneBefore,
    reachable: frozenset[Family],
    on: date,
    most: int,
) -> tuple[Family, ...]:
    """The families of a day, the most wanted first; the coach's own day in the order she set.

    Args:
        reachable: families with something to offer this client.
        most: how many there is time for.
    """
    if is_set_by_coach(client, reachable, on):
        return client.week.days[on.isoweekday()]
    yesterday = on - timedelta(days=1)
    hard = {family for family, day in done.hard_on.items() if day == yesterday}
    hard.discard(Family.BALANCE)  # On most days (common practice).
    open_now = reachable - hard
    resting = {GROUP_OF[family] for family in hard if family in GROUP_OF}
    rested = _by_need(client, done, open_now, on, [one for one in Group if one not in resting])
    if len(rested) < FEWEST_AFTER_HARD_DAY:
        tired = _by_need(client, done, open_now, on, [one for one in Group if one in resting])
        rested = [*rested, *tired[: FEWEST_AFTER_HARD_DAY - len(rested)]]
    return _with_balance(_knee_first(rested, most), most)


def _knee_first(by_need: Sequence[Family], most: int) -> Sequence[Family]:
    """Rising or climbing leads each day on which it has rested: daily life asks for it most (ours).

    Not in a short session, where the others would hardly have a turn.
    """
    if most <= SHORT_SESSION:
        return by_need
    return sorted(by_need, key=lambda family: GROUP_OF[family] is not Group.KNEE)


def _with_balance(by_need: Sequence[Family], most: int) -> tuple[Family, ...]:
    """The first ``most``, with balance among them where it may be done: it takes a minute or two.

    In a short session it comes on top, so that two others still take their turns.
    """
    chosen = list(by_need[:most])
    if not chosen or Family.BALANCE in chosen or Family.BALANCE not in by_need:
        return tuple(chosen)
    kept = chosen if most <= SHORT_SESSION else chosen[:-1]
    return (*kept, Family.BALANCE)


def is_set_by_coach(client: Client, reachable: frozenset[Family], on: date) -> bool:
    """Whether the coach has set the day, and something of it may be done."""
    return not reachable.isdisjoint(client.week.days.get(on.isoweekday(), ()))


def _by_need(
    client: Client,
    done: DoneBefore,
    reachable: frozenset[Family],
    on: date,
    groups: Sequence[Group],
) -> list[Family]:
    """One family a group; first the group that has waited longest and had least of its share."""
    wished = {GROUP_OF[family] for family in client.wished_families if family in GROUP_OF}

    def need(group: Group) -> float:
        days = max(len(client.training_days), 1)
        wanted = min(DAYS_A_WEEK[group], days) + (group in wished)
        families = frozenset(FAMILIES_OF[group])
        waited = min(_waited(done, family, on) for family in families)
        timed = client.session_minutes != 0
        if timed and DAYS_A_WEEK[group] < 1 and SELDOM_IS_DUE <= waited < LONG_AGO:
            return LONG_AGO
        had = sum(
            bool(families & there)
            for day, there in done.fortnight.items()
            if timedelta() < on - day <= FORTNIGHT
        )
        return waited * wanted / A_WEEK - had / (2 * wanted)

    ranked = sorted(groups, key=lambda group: (-need(group), tuple(Group).index(group)))
    chosen = (_of_group(client, done, reachable, on, group) for group in ranked)
    return [family for family in chosen if family is not None]


def _of_group(
    client: Client, done: DoneBefore, reachable: frozenset[Family], on: date, group: Group
) -> Family | None:
    """The family of a group whose turn it is.

    A client begins with the first of each group, or the one that her own aim asks for; others come
    in when the first sessions are done.
    """
    there = [family for family in FAMILIES_OF[group] if family in reachable]
    if not there:
        return None
    wished = [family for family in client.wished_families if family in there]
    begins = {*wished, there[0]}
    if done.sessions < FIRST_SESSIONS:
        there = [family for family in there if family in begins]

    def due(family: Family) -> float:
        every = SELDOM_DAYS
        if family in wished[:1]:
            every = OFTEN_DAYS
        elif family in begins:
            every = USUAL_DAYS
        return _waited(done, family, on) / every

    return max(there, key=due)


def _waited(done: DoneBefore, family: Family, on: date) -> int:
    last = done.last.get(family)
    return LONG_AGO if last is None else min((on - last).days, LONG_AGO)
