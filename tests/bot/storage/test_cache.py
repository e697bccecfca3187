"""What the process remembers of a client's sets is what the store holds, whatever came between."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest
from sqlmodel import select

from bot.flows.changes import Erase, SaveProfile, SetPerson
from bot.storage import people
from bot.storage.cache import KeptValues
from bot.storage.changes.apply import apply_all
from bot.storage.changes.applying import Applying
from bot.storage.database import Database
from bot.storage.facts import StoreFacts
from bot.storage.tables import ClientRow, CoachRow, SessionRow, SetRow
from bot.storage.told import seal_set, set_done
from bot.storage.unit import UnitOfWork, stored_id
from core.dose.history import SetDone
from core.dose.session import believed_capacity
from core.vocabulary import Family, PersonId, Role
from tests.bot.storage.conftest import NOON
from tests.support.dose_cases import squat_set
from tests.support.facts import reference
from tests.support.joined import PLAIN


@pytest.fixture
def bob(store: Database) -> PersonId:
    """A client of Rua's, who has answered everything."""

    def add(unit: UnitOfWork) -> PersonId:
        coach = people.add_person(unit, Role.COACH, "Rua", NOON)
        unit.session.add(CoachRow(person_id=coach))
        client = people.add_person(unit, Role.CLIENT, "Bob", NOON)
        sealed = unit.encryption.encrypt_json(PLAIN)
        unit.session.flush()
        unit.session.add(ClientRow(person_id=client, coach_id=coach, profile_sealed=sealed))
        unit.commit()
        return client

    return store.run_now(add)


def log(unit: UnitOfWork, client: PersonId, done: SetDone) -> None:
    session = SessionRow(client_id=client, on_date=done.on)
    unit.session.add(session)
    unit.session.flush()
    row = SetRow(
        session_id=stored_id(session),
        client_id=client,
        on_date=done.on,
        at=NOON,
        done_sealed=seal_set(unit.encryption, done),
    )
    unit.session.add(row)
    unit.session.flush()


def facts_of(unit: UnitOfWork, client: PersonId) -> StoreFacts:
    return StoreFacts(unit, people.get_person(unit, client), NOON, reference())


def asked(store: Database, client: PersonId):
    """Sets and capacity as a turn sees them."""

    def ask(unit: UnitOfWork):
        facts = facts_of(unit, client)
        return facts.history(client).sets, facts.capacity(client)

    return store.run_now(ask)


def anew(store: Database, client: PersonId):
    """The same from a process that remembers nothing."""
    fresh = Database(store.address, store.encryption)
    found = asked(fresh, client)
    fresh.close()
    return found


def logged(store: Database, client: PersonId, *sets: SetDone) -> None:
    def work(unit: UnitOfWork) -> None:
        for done in sets:
            log(unit, client, done)
        unit.commit()

    store.run_now(work)


def assert_same(store: Database, client: PersonId) -> None:
    sets, capacity = asked(store, client)
    fresh_sets, fresh = anew(store, client)
    assert sets == fresh_sets
    assert capacity.families == fresh.families
    assert capacity.mean.tolist() == fresh.mean.tolist()
    assert capacity.spread.tolist() == fresh.spread.tolist()
    assert capacity.last_done == fresh.last_done


def test_a_set_that_is_logged_is_in_the_very_next_answer(store: Database, bob: PersonId):
    assert asked(store, bob)[0] == ()
    for day in range(6):
        logged(store, bob, squat_set(0.3 + day / 50, days=2 * day))
        assert_same(store, bob)
    assert len(asked(store, bob)[0]) == 6


def test_a_turn_sees_its_own_set_before_the_commit_and_nobody_else_after_a_rollback(
    store: Database, bob: PersonId
):
    logged(store, bob, squat_set(0.30))
    asked(store, bob)
    with store.unit() as unit:
        log(unit, bob, squat_set(0.35, days=2))
        assert [done.demand for done in facts_of(unit, bob).history(bob).sets] == [0.30, 0.35]
        # The block is left without a commit.
    assert [done.demand for done in asked(store, bob)[0]] == [0.30]
    assert_same(store, bob)

    # The database gives the id of the set that never was to the next two.
    logged(store, bob, squat_set(0.32, days=2))
    logged(store, bob, squat_set(0.33, days=4))
    assert [done.demand for done in asked(store, bob)[0]] == [0.30, 0.32, 0.33]
    assert_same(store, bob)


def test_a_set_taken_back_and_others_in_its_place_are_told_apart(store: Database, bob: PersonId):
    logged(store, bob, squat_set(0.30))
    with store.unit() as unit:
        log(unit, bob, squat_set(0.35, days=2))
        facts_of(unit, bob).capacity(bob)
    logged(store, bob, squat_set(0.32, days=2), squat_set(0.33, days=2))

    assert [done.demand for done in asked(store, bob)[0]] == [0.30, 0.32, 0.33]
    assert_same(store, bob)


def test_a_set_that_another_replica_commits_late_is_put_in_its_place(
    store: Database, bob: PersonId
):
    logged(store, bob, squat_set(0.30), squat_set(0.31, days=2), squat_set(0.32, days=4))

    def take_out(unit: UnitOfWork) -> dict[str, object]:
        rows = unit.session.exec(select(SetRow)).all()
        row = next(one for one in rows if set_done(unit.encryption, one).demand == 0.31)
        kept = row.model_dump()
        unit.session.delete(row)
        unit.commit()
        return kept

    late = store.run_now(take_out)
    assert [done.demand for done in asked(store, bob)[0]] == [0.30, 0.32]

    def put_back(unit: UnitOfWork) -> None:
        unit.session.add(SetRow(**late))
        unit.commit()

    store.run_now(put_back)
    assert [done.demand for done in asked(store, bob)[0]] == [0.30, 0.31, 0.32]
    assert_same(store, bob)


def test_the_coachs_word_given_later_moves_capacity_at_once(store: Database, bob: PersonId):
    logged(store, bob, squat_set(0.30))
    _, before = asked(store, bob)

    def say(unit: UnitOfWork) -> None:
        apply_all(Applying(unit, bob, NOON, str), [SaveProfile(bob, {"fitness": "less_fit"})])
        unit.commit()

    store.run_now(say)
    _, after = asked(store, bob)
    assert after.baseline(Family.PUSH).mean < before.baseline(Family.PUSH).mean
    assert_same(store, bob)


@pytest.mark.parametrize(("on", "counts"), [("2026-01-04", True), ("2026-02-01", False)])
def test_a_home_test_counts_for_the_start_when_it_was_done_before_training(
    store: Database, bob: PersonId, on: str, *, counts: bool
):
    weak = {"test": "chair_stand", "on": on, "result": 3, "arms_used": False}
    logged(store, bob, squat_set(0.30))
    _, before = asked(store, bob)

    def keep(unit: UnitOfWork) -> None:
        apply_all(Applying(unit, bob, NOON, str), [SaveProfile(bob, {"home_tests": [weak]})])
        unit.commit()

    store.run_now(keep)
    _, after = asked(store, bob)
    assert (after.baseline(Family.SQUAT).mean < before.baseline(Family.SQUAT).mean) is counts


def test_what_is_remembered_equals_capacity_worked_out_from_the_record(
    store: Database, bob: PersonId
):
    sets = [squat_set(0.3, days=day, left=day % 5) for day in range(0, 40, 2)]
    for done in sets:
        logged(store, bob, replace(done, on=done.on + timedelta(days=1)))
        _, capacity = asked(store, bob)

    def whole(unit: UnitOfWork):
        facts = facts_of(unit, bob)
        client, history = facts.client(bob).client, facts.history(bob)
        return believed_capacity(client, history, reference().catalogue, year=2026)

    assert capacity.mean.tolist() == store.run_now(whole).mean.tolist()


def test_of_clients_and_mornings_only_the_newest_are_kept_and_none_after_an_erasure():
    made: list[int] = []

    def make(one: int) -> Callable[[], int]:
        return lambda: made.append(one) or one  # type: ignore[func-returns-value]

    kept: KeptValues[int] = KeptValues(2)
    assert [kept.get(one, make(one)) for one in (1, 2, 1, 3, 1, 2)] == [1, 2, 1, 3, 1, 2]
    assert made == [1, 2, 3, 2]
    kept.forget()
    kept.get(2, make(2))
    assert made == [1, 2, 3, 2, 2]


def test_an_erasure_leaves_no_client_and_no_morning_in_memory(store: Database, bob: PersonId):
    def look_and_erase(unit: UnitOfWork) -> int:
        facts_of(unit, bob).client(bob)
        there = len(unit.training_cache.clients)
        apply_all(Applying(unit, bob, NOON, str), [Erase(bob)])
        unit.commit()
        return there - len(unit.training_cache.clients)

    assert store.run_now(look_and_erase) == 1


def test_a_zone_or_a_day_later_is_not_taken_for_the_client_of_before(
    store: Database, bob: PersonId
):
    def zones(unit: UnitOfWork) -> list[str]:
        before = facts_of(unit, bob).client(bob).client.zone
        apply_all(Applying(unit, bob, NOON, str), [SetPerson(bob, zone="Pacific/Auckland")])
        return [before, facts_of(unit, bob).client(bob).client.zone]

    assert store.run_now(zones) == ["UTC", "Pacific/Auckland"]
