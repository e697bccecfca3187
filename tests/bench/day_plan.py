"""Measure how long a day's plan takes: ``python -m tests.bench.day_plan``.

A client with a year or more of sets in a real store; a turn reads the record and plans the day, the
first time after a start ("cold") and with what the process remembers ("warm"). The target is 5 ms
for a warm plan. Times are the processor's own, so that others on the machine do not count.
"""

import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Annotated

import typer
from rich.console import Console

from bot.flows.changes import SaveCheckin
from bot.flows.facts import Checkin
from bot.flows.record.planning import planned
from bot.storage import people
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.database import Database
from bot.storage.facts import StoreFacts
from bot.storage.tables import ClientRow, CoachRow, SessionRow, SetRow
from bot.storage.told import seal_set
from bot.storage.unit import UnitOfWork, stored_id
from core.readiness.morning_questions import MorningQuestion
from core.vocabulary import DayPlan, PersonId, Role
from tests.doubles.store import store_at
from tests.support.facts import reference
from tests.support.joined import PLAIN

START = datetime(2025, 1, 6, 7, 0, tzinfo=UTC)
CONSOLE = Console(highlight=False)
ANSWERS = {
    item.value: 4
    for item in (MorningQuestion.SLEEP, MorningQuestion.TIREDNESS, MorningQuestion.MOOD)
}


def a_client(unit: UnitOfWork) -> PersonId:
    """A client who has answered everything."""
    coach = people.add_person(unit, Role.COACH, "Rua", START)
    unit.session.add(CoachRow(person_id=coach))
    client = people.add_person(unit, Role.CLIENT, "Bob", START)
    unit.session.flush()
    sealed = unit.encryption.encrypt_json(PLAIN)
    unit.session.add(ClientRow(person_id=client, coach_id=coach, profile_sealed=sealed))
    unit.commit()
    return client


def train(unit: UnitOfWork, client: PersonId, now: datetime) -> int:
    """One morning and one whole session, as planned; gives the number of sets."""
    facts = StoreFacts(unit, people.get_person(unit, client), now, reference())
    morning = SaveCheckin(client, now.date(), ANSWERS, finished=True, day_plan=DayPlan.AS_PLANNED)
    apply_all(Applying(unit, client, now, str), [morning])
    checkin = Checkin(now.date(), ANSWERS, True, now, day_plan=DayPlan.AS_PLANNED)
    plan = planned(facts.client(client), checkin, facts)
    session = SessionRow(client_id=client, on_date=now.date(), status="finished")
    unit.session.add(session)
    unit.session.flush()
    count = 0
    for item in plan.prescriptions:
        for _ in range(item.sets):
            done = item.done(now.date(), item.amount, 2)
            unit.session.add(
                SetRow(
                    session_id=stored_id(session),
                    client_id=client,
                    on_date=done.on,
                    at=now,
                    done_sealed=seal_set(unit.encryption, done),
                )
            )
            count += 1
    unit.commit()
    return count


def plan_once(unit: UnitOfWork, client: PersonId, now: datetime) -> tuple[float, float]:
    """Milliseconds of reading the record with its judgements, and of the plan alone."""
    facts = StoreFacts(unit, people.get_person(unit, client), now, reference())
    began = time.process_time()
    record = facts.client(client)
    checkin = Checkin(now.date(), ANSWERS, True, now, day_plan=DayPlan.AS_PLANNED)
    facts.mornings(client)
    facts.capacity(client)
    read = time.process_time()
    planned(record, checkin, facts)
    return 1e3 * (read - began), 1e3 * (time.process_time() - read)


def report(name: str, times: list[tuple[float, float]]) -> None:
    """One line."""
    read, plan = (median(column) for column in zip(*times, strict=True))
    CONSOLE.print(
        f"{name}: reading {read:.1f} ms, planning {plan:.1f} ms, together {read + plan:.1f} ms"
    )


def main(
    sets: Annotated[int, typer.Option(help="At least so many logged sets.")] = 1000,
    rounds: Annotated[int, typer.Option(help="How often each is measured.")] = 30,
) -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "store.sqlite3"
        store = store_at(path)
        client = store.run_now(a_client)
        logged, now = 0, START
        while logged < sets:
            logged += store.run_now(train, client, now)
            now += timedelta(days=2)
        cold = []
        for _ in range(rounds):
            again = Database(store.address, store.encryption)
            cold.append(again.run_now(plan_once, client, now))
            again.close()
        warm = [store.run_now(plan_once, client, now) for _ in range(rounds)]
        store.close()
    CONSOLE.print(f"{logged} sets over {(now - START).days} days")
    report("cold", cold)
    report("warm", warm)


if __name__ == "__main__":
    typer.run(main)
