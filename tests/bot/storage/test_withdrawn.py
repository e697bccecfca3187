"""What waits of a person's earlier turns does not follow a warning to them."""

from datetime import timedelta

from bot.messages import Kind, Outgoing
from bot.storage import outbox, people
from bot.storage.database import Database
from bot.storage.people import Address
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId, Role
from tests.bot.storage.conftest import NOON

CHAT = Address("page", "mary")
ALARM = NOON + timedelta(seconds=2)


def test_answers_that_wait_go_and_warnings_files_and_words_of_others_stay(store: Database):
    def work(unit: UnitOfWork) -> list[str]:
        mary = people.add_person(unit, Role.CLIENT, "Mary", NOON)
        rua = people.add_person(unit, Role.COACH, "Rua", NOON)

        def put(text: str, kind: Kind, **said: object) -> int:
            by, to = said.pop("by", mary), said.pop("to", mary)
            assert isinstance(by, int)
            assert isinstance(to, int)
            fields = {"outgoing": Outgoing(text), "now": NOON, "edits_id": None, **said}
            key = outbox.message_key(text, PersonId(by), PersonId(to), "page", "hash")
            return outbox.enqueue(
                unit, dedupe_key=key, at=CHAT, person_id=PersonId(to), kind=kind, **fields
            )

        shown = put("not understood", Kind.REPLY)
        put("not understood, changed", Kind.REPLY, edits_id=shown)
        put("first the check-in", Kind.PROMPT)
        put("call now", Kind.SAFETY)
        put("how are you? Rua", Kind.PROMPT, by=rua)
        put("your file", Kind.REPLY, outgoing=Outgoing("your file", document="file"))
        put("of the same turn", Kind.REPLY, now=ALARM)
        put("to the coach", Kind.REPLY, to=rua)
        outbox.withdraw_milder(unit, mary, ALARM)
        unit.commit()
        return [due.outgoing.text for due in outbox.all_waiting(unit, "page") if due.outgoing]

    assert store.run_now(work) == [
        "call now", "how are you? Rua", "your file", "of the same turn", "to the coach",
    ]  # fmt: skip
