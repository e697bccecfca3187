"""A life: a practice that runs for some days, by chance or by a recorded list of acts."""

import logging
import random
import tempfile
from collections import Counter
from collections.abc import AsyncIterator, Callable, Collection, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from tests.lives import cast
from tests.lives.acts import Act, Tap, perform, typed_by
from tests.lives.chats import Chats, Found
from tests.lives.habits import Habits
from tests.lives.laws.all_laws import LAWS
from tests.lives.laws.reactions import CLIENTS_DAY
from tests.lives.step import Memory, Step
from tests.lives.store import Record, Store
from tests.support.practice import NEW_ZEALAND, Practice, practice

FIRST_EVENING = datetime(2026, 3, 2, 18, 0, tzinfo=ZoneInfo(NEW_ZEALAND))
EXPECTED = ("reaches nobody", "cannot be reached")
"""What is logged as an error and is the world's fault, not the program's."""

MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None  # noqa: S108
"""Where lives are kept: in memory, where there is such a folder."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A law that was broken, and by which act of a life."""

    law: str
    what: str
    act: int


@dataclass(slots=True)
class Lived:
    """What a life was.

    Attributes:
        looked: in how many steps each law had something to look at.
    """

    setting: "Setting"
    acts: list[Act] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    looked: Counter[str] = field(default_factory=Counter)
    steps: int = 0


@dataclass(frozen=True, slots=True)
class Setting:
    """Who is there when a life begins."""

    clients: tuple[str, ...]
    with_stand_in: bool

    @classmethod
    def by_chance(cls, chance: random.Random) -> "Setting":
        """Two or three clients; mostly with a stand-in."""
        clients = chance.sample(sorted(cast.CLIENTS), chance.choice((2, 2, 3)))
        return cls(tuple(clients), chance.random() < 0.7)


@dataclass(slots=True)
class Life:
    """A running practice that is looked at after every step."""

    practice: Practice
    store: Store
    chats: Chats
    errors: "Errors"
    laws: Collection[str]
    lived: Lived
    record: Record
    memory: Memory = field(default_factory=Memory)
    _broken: set[str] = field(default_factory=set)

    async def does(self, act: Act) -> None:
        """Do one act and look."""
        tapped = self._button(act)
        once: list[dict[str, list[str]]] = []
        before_day = self._day_of(act, tapped)
        self.memory.typed.update(one.text.strip() for one in typed_by(act))
        at = len(self.lived.acts)
        self.lived.acts.append(act)
        try:
            done = await perform(
                act,
                self.practice,
                self.chats,
                seen=lambda: self._look(act, at),
                between=lambda: once.append(self.store.facts()),
            )
        except Exception as error:  # noqa: BLE001 - whatever it is, it is the program's fault
            self.lived.faults.append(Fault("nothing_fails", repr(error), at))
            return
        if not done:
            return
        after_day = self._day_of(act, tapped)
        days = None if before_day is None or after_day is None else (before_day, after_day)
        facts = self.store.facts() if once else None
        self._look(act, at, tapped, once[0] if once else None, facts, days)

    def _look(
        self,
        act: Act,
        at: int,
        tapped: Found | None = None,
        once: dict[str, list[str]] | None = None,
        facts: dict[str, list[str]] | None = None,
        day_before: tuple[dict[str, list[str]], dict[str, list[str]]] | None = None,
    ) -> None:
        """Check all laws on what has changed since the last look."""
        before, self.record = self.record, self.store.read()
        local = self.practice.clock.now().astimezone(ZoneInfo(NEW_ZEALAND))
        sent = self.chats.look(local.date())
        step = Step(
            act=act,
            before=before,
            after=self.record,
            sent=sent,
            memory=self.memory,
            tapped=tapped,
            once=once,
            facts=facts,
            day_before=day_before,
            errors=self.errors.take(),
        )
        self.lived.steps += 1
        for name in self.laws:
            faults = LAWS[name](step)
            if faults is None:
                continue
            self.lived.looked[name] += 1
            # Once a life is enough: what is broken mostly stays so.
            if faults and name not in self._broken:
                self._broken.add(name)
                self.lived.faults.append(Fault(name, faults[0], at))

    def _button(self, act: Act) -> Found | None:
        return self.chats.button(act.who, act.label, act.old) if isinstance(act, Tap) else None

    def _day_of(self, act: Act, tapped: Found | None) -> dict[str, list[str]] | None:
        """A client's days, where a button of an earlier day is tapped that is about them."""
        if not isinstance(act, Tap) or tapped is None:
            return None
        person = self.record.called(act.who)
        today = self.practice.clock.now().astimezone(ZoneInfo(NEW_ZEALAND)).date()
        if person is None or person.role != "client" or today - tapped.shown.on < timedelta(days=2):
            return None
        return self.store.facts(*CLIENTS_DAY)


class Errors(logging.Handler):
    """Takes what is logged as an error."""

    def __init__(self) -> None:
        """Only errors."""
        super().__init__(logging.ERROR)
        self._taken: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Take one in."""
        text = record.getMessage()
        if not any(part in text for part in EXPECTED):
            self._taken.append(text)

    def take(self) -> tuple[str, ...]:
        """What was logged since the last time."""
        taken, self._taken = tuple(self._taken), []
        return taken


@asynccontextmanager
async def begun(setting: Setting, laws: Collection[str]) -> AsyncIterator[Life]:
    """A life at its first evening."""
    errors = Errors()
    logging.getLogger().addHandler(errors)
    try:
        with tempfile.TemporaryDirectory(prefix="lives-", dir=MEMORY) as home:
            async with practice(Path(home), FIRST_EVENING) as running:
                await _people_come(running, setting)
                store = Store(running)
                chats = Chats(running.channel)
                life = Life(running, store, chats, errors, laws, Lived(setting), store.read())
                try:
                    yield life
                finally:
                    store.close()
    finally:
        logging.getLogger().removeHandler(errors)


async def live(
    seed: str,
    days: int,
    laws: Collection[str] = tuple(LAWS),
    day_over: Callable[[int], None] = lambda _day: None,
) -> Lived:
    """Live a life by chance.

    Args:
        seed: the same seed gives the same life.
        day_over: called with each day that is over.
    """
    chance = random.Random(seed)
    setting = Setting.by_chance(chance)
    habits = Habits(chance, [*setting.clients], setting.with_stand_in)
    async with begun(setting, laws) as life:
        last, day = FIRST_EVENING + timedelta(days=days), 0
        while (now := life.practice.clock.now()) < last:
            await life.does(habits.next(life.record, life.chats))
            if (now - FIRST_EVENING).days > day:
                day = (now - FIRST_EVENING).days
                day_over(day)
        return life.lived


async def live_again(
    setting: Setting, acts: Sequence[Act], laws: Collection[str], *, to_the_fault: bool = False
) -> Lived:
    """Live a recorded life; acts that cannot be done any more are left out.

    Args:
        to_the_fault: nothing after the first fault matters.
    """
    async with begun(setting, laws) as life:
        for act in acts:
            await life.does(act)
            if to_the_fault and life.lived.faults:
                break
        return life.lived


async def _people_come(running: Practice, setting: Setting) -> None:
    await running.coach(cast.COACH.capitalize())
    if setting.with_stand_in:
        await running.coach(cast.STAND_IN.capitalize(), backup_of=cast.COACH)
    for name in setting.clients:
        await running.client(name.capitalize(), cast.COACH, **cast.CLIENTS[name])
