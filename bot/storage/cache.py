"""Clients, their mornings and sets, and what the sets say of capacity, cached between turns.

A year of training is about a thousand sets: reading them all and working capacity out anew for
each tap would cost tens of milliseconds. Sets are nearly always added, so what was read once is
extended by what is new. Nothing here is a truth: before use it is held against the database, and
whatever does not fit (a set that was taken back, a transaction that was rolled back, a set that
another replica committed late) is read anew.
"""

from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from threading import Lock
from typing import Any, Generic, TypeVar

from sqlalchemy import bindparam, func
from sqlmodel import col, select

from bot.storage.prepared import Prepared, Transaction
from bot.storage.tables import SetRow
from bot.storage.told import set_done
from core.client.client import Client
from core.dose.capacity import Capacity, after_set
from core.dose.history import SetDone
from core.dose.prior import starting_point
from core.movements.catalogue import Catalogue
from core.readiness.morning_questions import Morning
from core.vocabulary import Family, PersonId

MOST_SETS = 50_000
"""Sets cached, of all clients together; the clients asked for longest ago go first."""

MOST_CLIENTS = 200
MOST_MORNINGS = 3000
"""Mornings cached, of all clients together; some turns ask for 60 of one client."""

Value = TypeVar("Value")

_MINE = SetRow.client_id == bindparam("client_id")
_SETS_FROM: Prepared[SetRow] = Prepared(
    select(SetRow).where(_MINE, col(SetRow.id) >= bindparam("first")).order_by(col(SetRow.id))
)
_SETS: Prepared[Any] = Prepared(select(func.count(col(SetRow.id)).label("number")).where(_MINE))


@dataclass(frozen=True, slots=True)
class _Basis:
    """What capacity depends on beside the sets; when it changes, capacity is computed anew."""

    client: Client
    word: Mapping[Family, float]
    year: int


@dataclass(frozen=True, slots=True)
class _ClientEntry:
    """One client's sets with the id of the last row; and capacity after the first ``absorbed``."""

    last_id: int = 0
    sets: tuple[SetDone, ...] = ()
    basis: _Basis | None = None
    capacity: Capacity | None = None
    absorbed: int = 0


class KeptValues(Generic[Value]):
    """Values that never change, by what they were made of; the one used longest ago goes first."""

    def __init__(self, most: int) -> None:
        """Nothing is kept yet."""
        self._most = most
        self._values: OrderedDict[Hashable, Value] = OrderedDict()
        self._lock = Lock()

    def get(self, made_of: Hashable, make: Callable[[], Value]) -> Value:
        """The value; it is made where it is not there. ``made_of``: all it depends on."""
        with self._lock:
            if made_of in self._values:
                self._values.move_to_end(made_of)
                return self._values[made_of]
        value = make()
        with self._lock:
            self._values[made_of] = value
            if len(self._values) > self._most:
                self._values.popitem(last=False)
        return value

    def __len__(self) -> int:
        """How many are kept."""
        return len(self._values)

    def forget(self) -> None:
        """Keep nothing."""
        with self._lock:
            self._values.clear()


class TrainingCache:
    """What is known of many clients; may be used from several threads at once.

    Attributes:
        clients: as the rules read them, by all that the row says and the day.
        mornings: by their day and sealed answers.
    """

    def __init__(self) -> None:
        """An empty cache."""
        self._entries: OrderedDict[PersonId, _ClientEntry] = OrderedDict()
        self._sets = 0
        self._lock = Lock()
        self.clients: KeptValues[Client] = KeptValues(MOST_CLIENTS)
        self.mornings: KeptValues[Morning] = KeptValues(MOST_MORNINGS)

    def sets_of(self, unit: Transaction, client_id: PersonId) -> tuple[SetDone, ...]:
        """All sets of a client, oldest first, as this transaction sees them."""
        entry = self._get(client_id)
        read = partial(set_done, unit.encryption)
        rows = _SETS_FROM.all(unit, client_id=client_id, first=entry.last_id)
        fits = True
        if entry.sets:
            there = _SETS.one(unit, client_id=client_id).number
            known = bool(rows) and rows[0].id == entry.last_id and read(rows[0]) == entry.sets[-1]
            fits = known and len(entry.sets) + len(rows) - 1 == there
            rows = rows[1:] if fits else rows
        if not fits:
            entry = _ClientEntry()
            rows = _SETS_FROM.all(unit, client_id=client_id, first=0)
        if rows:
            more = tuple(map(read, rows))
            entry = replace(entry, last_id=rows[-1].id or 0, sets=(*entry.sets, *more))
        self._put(client_id, entry)
        return entry.sets

    def capacity_of(
        self,
        client_id: PersonId,
        sets: Sequence[SetDone],
        client: Client,
        catalogue: Catalogue,
        *,
        word: Mapping[Family, float],
        today: date,
    ) -> Capacity:
        """Believed capacity after all of ``sets``, which :meth:`sets_of` has just given.

        Args:
            word: as :func:`core.dose.prior.starting_point` takes it.
            today: stands for the first day of a client without sets.
        """
        year = (sets[0].on if sets else today).year
        basis = _Basis(client, word, year)
        entry = self._get(client_id)
        capacity, absorbed = entry.capacity, entry.absorbed
        # The very same tuple: otherwise another thread has read on in between.
        mine = entry.sets is sets
        if capacity is None or not mine or entry.basis != basis:
            capacity, absorbed = starting_point(client, catalogue, year=year, word=word), 0
        for done in sets[absorbed:]:
            capacity = after_set(capacity, done)
        if mine:
            now = replace(entry, basis=basis, capacity=capacity, absorbed=len(sets))
            self._put(client_id, now)
        return capacity

    def forget(self) -> None:
        """Keep nothing in memory: somebody's sets are erased."""
        self.clients.forget()
        self.mornings.forget()
        with self._lock:
            self._entries.clear()
            self._sets = 0

    def _get(self, client_id: PersonId) -> _ClientEntry:
        with self._lock:
            return self._entries.get(client_id) or _ClientEntry()

    def _put(self, client_id: PersonId, entry: _ClientEntry) -> None:
        with self._lock:
            before = self._entries.pop(client_id, None)
            self._sets += len(entry.sets) - (len(before.sets) if before else 0)
            self._entries[client_id] = entry
            while self._sets > MOST_SETS and len(self._entries) > 1:
                _, oldest = self._entries.popitem(last=False)
                self._sets -= len(oldest.sets)
