"""What arrived is kept once, in order, and set aside after three failures."""

from dataclasses import replace

import pytest

from bot.errors import StoreError
from bot.messages import Incoming, IncomingKind
from bot.storage import inbox
from bot.storage.database import Database
from tests.bot.storage.conftest import NOON


def arrival(number: int, text: str = "hello", channel: str = "page") -> Incoming:
    return Incoming(channel, "7", str(number), IncomingKind.TEXT, text, "", "", NOON)


def test_arrivals_wait_in_the_order_they_came_and_read_back_as_they_were(store: Database):
    batch = [arrival(2, "second id first"), arrival(1, "första 😀")]

    store.run_now(inbox.accept, batch)

    assert [row.incoming for row in store.run_now(inbox.waiting)] == batch


def test_a_repeat_is_a_no_op(store: Database):
    first = store.run_now(inbox.accept, [arrival(1), arrival(2)])
    again = store.run_now(inbox.accept, [arrival(2, "edited"), arrival(3), arrival(3)])

    assert [row.incoming.update_id for row in first] == ["1", "2"]
    assert [row.incoming.update_id for row in again] == ["3"]
    assert [row.incoming.text for row in store.run_now(inbox.waiting)] == ["hello"] * 3


def test_the_same_number_on_another_channel_is_another_arrival(store: Database):
    store.run_now(inbox.accept, [arrival(1), arrival(1, channel="telegram")])

    assert len(store.run_now(inbox.waiting)) == 2


def test_a_repeat_of_a_row_that_is_done_stays_done(store: Database):
    (row,) = store.run_now(inbox.accept, [arrival(1)])

    def finish(unit, row_id):
        inbox.mark_done(unit, row_id, None)
        unit.commit()

    store.run_now(finish, row.id)

    assert store.run_now(inbox.accept, [arrival(1)]) == []
    assert store.run_now(inbox.waiting) == []


def test_a_batch_that_fails_half_way_is_not_kept_at_all_and_can_be_given_again(store: Database):
    refuse, take = REFUSING[store.is_file]
    with store.engine.begin() as connection:
        connection.exec_driver_sql(refuse)
    with pytest.raises(StoreError):
        store.run_now(inbox.accept, [arrival(1), arrival(2)])
    with store.engine.begin() as connection:
        connection.exec_driver_sql(take)

    # Were the first kept, the repeat would find it known, and nobody would work it off.
    new = store.run_now(inbox.accept, [arrival(1), arrival(2)])
    assert [row.incoming.update_id for row in new] == ["1", "2"]


REFUSING = {
    True: (
        (
            "CREATE TRIGGER disk BEFORE INSERT ON inbox WHEN NEW.update_id = '2' "
            "BEGIN SELECT RAISE(ABORT, 'the disk is full'); END"
        ),
        "DROP TRIGGER disk",
    ),
    False: (
        "ALTER TABLE inbox ADD CONSTRAINT disk CHECK (update_id <> '2')",
        "ALTER TABLE inbox DROP CONSTRAINT disk",
    ),
}
"""Whether it is a file -> how a store refuses the second arrival, and how it takes it again."""


def test_a_row_is_set_aside_at_its_third_failure(store: Database):
    rows = store.run_now(inbox.accept, [arrival(1), arrival(2)])

    final = [store.run_now(inbox.mark_failure, rows[0].id, "KeyError at step:7") for _ in range(3)]

    assert final == [False, False, True]
    assert [row.incoming.update_id for row in store.run_now(inbox.waiting)] == ["2"]


def test_a_naive_time_never_reaches_the_database(store: Database):
    naive = replace(arrival(1), received_at=NOON.replace(tzinfo=None))

    with pytest.raises(StoreError):
        store.run_now(inbox.accept, [naive])
