"""Which message goes next: the most urgent first, in order within a chat and kind."""

from datetime import timedelta

from bot.messages import Kind, Outgoing
from bot.storage import outbox
from bot.storage.database import Database
from bot.storage.people import Address
from bot.storage.unit import UnitOfWork
from tests.bot.storage.conftest import NOON

LATER = NOON + timedelta(seconds=30)


def put(
    store: Database,
    text: str,
    *,
    to: str = "mary",
    kind: Kind = Kind.REPLY,
    key: str = "",
    edits: int | None = None,
) -> int:
    def work(unit: UnitOfWork) -> int:
        row_id = outbox.enqueue(
            unit,
            dedupe_key=key or text,
            at=Address("page", to),
            person_id=None,
            kind=kind,
            outgoing=Outgoing(text),
            now=NOON,
            edits_id=edits,
        )
        unit.commit()
        return row_id

    return store.run_now(work)


def claimed(store: Database, *, most: int = 9, **limits: object) -> list[str]:
    def work(unit: UnitOfWork) -> list[outbox.Due]:
        return outbox.claim(unit, NOON, channel="page", most=most, **limits)

    return [due.outgoing.text for due in store.run_now(work)]


def finish(store: Database, row_id: int, platform_id: str = "p1") -> None:
    def work(unit: UnitOfWork) -> None:
        due = next(one for one in outbox.claim(unit, NOON, channel="page", most=9))
        assert due.id == row_id
        outbox.mark_sent(unit, due, platform_id, NOON)
        unit.commit()

    store.run_now(work)


def fail(store: Database, row_id: int) -> None:
    def work(unit: UnitOfWork) -> None:
        outbox.mark_retry(unit, row_id, LATER, "Retryable")
        unit.commit()

    store.run_now(work)


def test_the_most_urgent_kind_goes_first(store: Database):
    for kind in Kind:
        put(store, kind.name, to=kind.name, kind=kind)

    assert claimed(store) == ["SAFETY", "NEW_ALERT", "ALERT", "REPLY", "PROMPT", "DIGEST"]


def test_a_chat_gets_one_kind_in_order_one_at_a_time(store: Database):
    first = put(store, "first")
    put(store, "second")
    put(store, "hello", to="hemi")

    assert claimed(store) == ["first", "hello"]
    finish(store, first)
    assert claimed(store) == ["second", "hello"]


def test_a_reply_waits_behind_one_that_is_tried_again_later(store: Database):
    fail(store, put(store, "first"))
    put(store, "second")

    assert claimed(store) == []


def test_alerts_and_safety_replies_are_not_held_behind_one_that_is_tried_again_later(
    store: Database,
):
    for kind in (Kind.ALERT, Kind.SAFETY):
        fail(store, put(store, f"first {kind.name}", kind=kind))
        put(store, f"second {kind.name}", kind=kind)

    assert claimed(store) == ["second SAFETY", "second ALERT"]


def test_alerts_go_to_a_resting_chat_but_not_to_one_that_the_platform_limits(store: Database):
    put(store, "reply")
    put(store, "alert", kind=Kind.ALERT)

    assert claimed(store, resting=["mary"]) == ["alert"]
    assert claimed(store, limited=["mary"]) == []


def test_a_cause_speaks_once(store: Database):
    first = put(store, "hello", key="in:page:1:0")

    assert put(store, "hello again", key="in:page:1:0") == first
    assert claimed(store) == ["hello"]


def test_an_edit_waits_for_its_message_and_a_later_edit_replaces_it(store: Database):
    shown = put(store, "question")
    put(store, "half", edits=shown, kind=Kind.SAFETY)
    put(store, "whole", edits=shown, kind=Kind.SAFETY)

    assert claimed(store) == ["question"]
    finish(store, shown)
    assert claimed(store) == ["whole"]


def test_a_closed_chat_keeps_nothing_waiting_and_a_moved_one_takes_it_along(store: Database):
    put(store, "to mary")
    put(store, "to hemi", to="hemi")

    def change(unit: UnitOfWork) -> None:
        outbox.refuse_chat(unit, Address("page", "mary"), "Unreachable")
        outbox.move_chat(unit, Address("page", "hemi"), "hemi-2")
        unit.commit()

    store.run_now(change)

    assert claimed(store, limited=["hemi"]) == ["to hemi"]
    assert claimed(store, limited=["hemi-2"]) == []
