"""The one path that needs no store: advice at once, the coach tried directly, nothing lost."""

import asyncio
import logging
from collections.abc import AsyncIterator, Iterator, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

import pytest

from bot.clock import ManualClock
from bot.delivery import lifeline as module
from bot.delivery.lifeline import Lifeline
from bot.delivery.lifeline_words import LifelineWords
from bot.delivery.spool import Spool
from bot.errors import DeliveryError, Rejected, Retryable, StoreError, Unknown, Unreachable
from bot.messages import Incoming, IncomingKind
from bot.storage import people
from bot.storage.database import Database
from bot.storage.directory import Directory
from bot.storage.people import Address
from bot.storage.tables import ClientRow, CoachRow, PersonRow
from bot.storage.unit import UnitOfWork
from core.red_flags.reading import Reading
from core.vocabulary import PersonId, Role
from tests.bot.delivery.conftest import NOON
from tests.bot.delivery.troubled import TroubledChannel
from tests.doubles.store import store_at
from tests.support.loaded import loaded

SIGN = "my chest hurts and it goes to my arm"
SLOW_AFTER = 0.05
MARY, RUA, KIRI, STRANGER = "mary", "rua", "kiri", "nobody"


class ChatsWithTrouble(TroubledChannel):
    """Raises what is listed for a chat, one error a try; then it sends."""

    def __init__(self, trouble: dict[str, list[DeliveryError]] | None = None) -> None:
        super().__init__()
        self.trouble = trouble or {}

    async def send(self, address, outgoing):
        self.tries.append(address)
        errors = self.trouble.get(address)
        if errors:
            raise errors.pop(0)
        return await super().send(address, outgoing)


@dataclass
class Store:
    """What takes arrivals: it can be told to fail, to hang, or never to take certain words."""

    never: str = ""
    fault: Exception | None = None
    hangs: asyncio.Event | None = None
    taken: list[str] = field(default_factory=list)
    asked: int = 0

    async def __call__(self, batch: Sequence[Incoming]) -> None:
        self.asked += 1
        if self.hangs is not None:
            await self.hangs.wait()
        if self.fault is not None:
            raise self.fault
        if any(one.text == self.never for one in batch if self.never):
            raise ValueError("never")
        self.taken += [one.update_id for one in batch if one.update_id not in self.taken]


@dataclass
class Rig:
    """A lifeline with all that it stands between."""

    lifeline: Lifeline
    store: Store
    channel: ChatsWithTrouble
    spool: Spool
    clock: ManualClock
    database: Database
    _number: int = 0

    async def says(self, text: str, at: str = MARY, kind: IncomingKind = IncomingKind.TEXT) -> str:
        """Somebody writes, and all direct messages go out; gives the update's id."""
        self._number += 1
        await self.lifeline.accept([self.arrival(text, at, kind, self._number)])
        await self.lifeline.settle()
        return str(self._number)

    def arrival(self, text: str, at: str, kind: IncomingKind, number: int) -> Incoming:
        return Incoming("record", at, str(number), kind, text, "", "", self.clock.now())

    def received(self, chat: str) -> list[str]:
        return self.channel.said_to(chat)


def _people(unit: UnitOfWork) -> None:
    def person(name: str, role: Role) -> PersonId:
        made = people.add_person(unit, role, name.capitalize(), NOON)
        unit.session.get_one(PersonRow, made).country = "NZ"
        people.bind(unit, made, Address("record", name), NOON)
        return made

    rua, kiri = person(RUA, Role.COACH), person(KIRI, Role.COACH)
    unit.session.add(CoachRow(person_id=rua, backup_id=kiri))
    unit.session.add(CoachRow(person_id=kiri))
    profile = unit.encryption.encrypt_json({"phone": "+64215550101"})
    mary = person(MARY, Role.CLIENT)
    unit.session.add(ClientRow(person_id=mary, coach_id=rua, profile_sealed=profile))
    unit.commit()


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    made = store_at(tmp_path / "store.sqlite3")
    made.run_now(_people)
    yield made
    made.close()


@pytest.fixture(autouse=True)
def hurry(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same pauses, much shorter."""
    monkeypatch.setattr(module, "FIRST_PAUSE", 0.001)
    monkeypatch.setattr(module, "REPLAY_EVERY", 0.01)
    monkeypatch.setattr(module, "REFRESH_AFTER", 0.01)


def _rig(database: Database, clock: ManualClock, tmp_path: Path, read=None) -> Rig:
    store, channel = Store(), ChatsWithTrouble()
    spool = Spool(tmp_path / "spool", database.encryption)
    data = loaded()
    made = Lifeline(
        database,
        {"record": channel},
        clock,
        accept=store,
        read=read or data.reader.read,
        words=LifelineWords(data.words, data.reference.countries),
        spool=spool,
        slow_after=SLOW_AFTER,
    )
    return Rig(made, store, channel, spool, clock, database)


@pytest.fixture
async def rig(database: Database, clock: ManualClock, tmp_path: Path) -> AsyncIterator[Rig]:
    made = _rig(database, clock, tmp_path)
    await made.lifeline.refresh()
    yield made
    await made.lifeline.settle()


@asynccontextmanager
async def at_work(lifeline: Lifeline) -> AsyncIterator[None]:
    stop = asyncio.Event()
    task = asyncio.create_task(lifeline.run(stop))
    try:
        yield
    finally:
        stop.set()
        await task


async def until(true) -> None:
    async with asyncio.timeout(120):
        while not true():  # noqa: ASYNC110 - what is waited for has no event
            await asyncio.sleep(0.005)


async def test_while_the_store_works_the_lifeline_is_silent_and_spools_nothing(rig: Rig) -> None:
    update_id = await rig.says(SIGN)

    assert rig.store.taken == [update_id]
    assert rig.channel.sent == []
    assert rig.spool.empty
    assert not rig.lifeline.in_use


async def test_a_sign_gets_its_advice_and_the_coach_the_words_when_the_store_fails(
    rig: Rig,
) -> None:
    rig.store.fault = StoreError("disk full")

    await rig.says(SIGN)

    [advice] = rig.received(MARY)
    assert "Call 111 now" in advice
    assert "trying to reach Rua" in advice
    [alert] = rig.received(RUA)
    assert alert.startswith("!! EMERGENCY: Mary")
    assert SIGN in alert
    assert "+64 21 555 0101" in alert
    assert NOT_KNOWN not in alert
    assert rig.received(KIRI) == []
    assert not rig.spool.empty
    assert rig.lifeline.in_use


@pytest.mark.parametrize(
    "fault", [StoreError("locked"), RuntimeError("a fault of ours"), MemoryError()]
)
async def test_whatever_the_store_raises_counts_as_failing(rig: Rig, fault: Exception) -> None:
    rig.store.fault = fault

    await rig.says(SIGN)

    assert "Call 111 now" in rig.received(MARY)[0]
    assert [one.update_id for one in rig.spool.claim()] == ["1"]


async def test_a_store_that_hangs_counts_as_failing_and_holds_up_nobody(rig: Rig) -> None:
    rig.store.hangs = asyncio.Event()

    async with asyncio.timeout(120):
        await rig.says(SIGN)
        # Nobody waits for it a second time.
        await rig.says("Good morning", at=STRANGER)

    assert "Call 111 now" in rig.received(MARY)[0]
    assert rig.store.asked == 1
    assert [one.update_id for one in rig.spool.claim()] == ["1", "2"]
    # It was only slow: the batch is in the store after all, and the replay changes nothing.
    rig.store.hangs.set()
    await rig.lifeline.replay()
    assert rig.store.taken == ["1", "2"]
    assert not rig.lifeline.in_use


async def test_words_without_a_sign_are_told_of_the_fault_and_whom_to_call(rig: Rig) -> None:
    rig.store.fault = StoreError("locked")

    await rig.says("Good morning")

    [said] = rig.received(MARY)
    assert "I have kept what you sent" in said
    assert "call 111" in said
    assert rig.received(RUA) == []


async def test_the_fault_is_told_once_in_ten_minutes_but_each_sign_is_answered(rig: Rig) -> None:
    rig.store.fault = StoreError("locked")

    for _ in range(3):
        await rig.says("Good morning")
    assert len(rig.received(MARY)) == 1
    await rig.says(SIGN)
    await rig.says("I fainted just now")
    assert len(rig.received(MARY)) == 3
    assert len(rig.received(RUA)) == 2

    rig.clock.move_to(NOON + timedelta(minutes=11))
    await rig.says("Good morning")
    assert len(rig.received(MARY)) == 4


async def test_an_arrival_that_comes_again_is_helped_once(rig: Rig) -> None:
    rig.store.fault = StoreError("locked")
    one = rig.arrival(SIGN, MARY, IncomingKind.TEXT, 1)

    for _ in range(3):
        await rig.lifeline.accept([one])
    with pytest.raises(StoreError):
        await rig.lifeline.watched([one], rig.store([one]))
    await rig.lifeline.settle()

    assert len(rig.received(MARY)) == 1
    assert len(rig.received(RUA)) == 1


async def test_a_voice_note_is_told_of_the_fault_with_the_number_to_call(rig: Rig) -> None:
    rig.store.fault = StoreError("locked")

    await rig.says("", kind=IncomingKind.UNREADABLE)

    assert "call 111" in rig.received(MARY)[0]


async def test_a_stranger_gets_advice_without_a_country_and_nobody_is_told(rig: Rig) -> None:
    rig.store.fault = StoreError("locked")

    await rig.says(SIGN, at=STRANGER)

    assert "your local emergency number, or 112" in rig.received(STRANGER)[0]
    assert rig.received(RUA) == []


async def test_a_coach_s_own_words_are_answered_and_told_to_nobody(rig: Rig) -> None:
    rig.store.fault = StoreError("locked")

    await rig.says(SIGN, at=RUA)

    assert len(rig.received(RUA)) == 1
    assert "Call 111 now" in rig.received(RUA)[0]
    assert rig.received(KIRI) == []


async def test_who_stands_in_is_told_when_the_coach_cannot_be_reached(rig: Rig) -> None:
    rig.store.fault = StoreError("locked")
    rig.channel.trouble[RUA] = [Unreachable("blocked")]

    await rig.says(SIGN)

    assert rig.received(RUA) == []
    assert SIGN in rig.received(KIRI)[0]


@pytest.mark.parametrize("error", [Unknown("time-out"), Retryable("refused")])
async def test_a_chat_that_fails_is_tried_again(rig: Rig, error: DeliveryError) -> None:
    rig.store.fault = StoreError("locked")
    rig.channel.trouble[RUA] = [error, error]
    rig.channel.trouble[MARY] = [error]

    await rig.says(SIGN)

    assert len(rig.received(MARY)) == 1
    assert len(rig.received(RUA)) == 1
    assert rig.received(KIRI) == []


@pytest.mark.parametrize(
    "errors", [[Rejected("never")], [Unknown("time-out")] * module.TRIES], ids=["refused", "dead"]
)
async def test_that_nobody_could_be_reached_is_an_operator_s_line_without_words(
    rig: Rig, errors: list[DeliveryError], caplog: pytest.LogCaptureFixture
) -> None:
    rig.store.fault = StoreError("locked")
    rig.channel.trouble = {RUA: list(errors), KIRI: list(errors)}

    await rig.says(SIGN)

    critical = [one for one in caplog.records if one.levelno >= logging.CRITICAL]
    assert [one.getMessage() for one in critical] == [
        "a warning sign reached nobody while the store fails"
    ]
    assert "chest" not in caplog.text
    assert "Call 111 now" in rig.received(MARY)[0]


async def test_when_the_spool_fails_too_nothing_is_confirmed_and_the_client_sends_again(
    rig: Rig, tmp_path: Path, database: Database, clock: ManualClock
) -> None:
    lost = _rig(database, clock, tmp_path / "gone")
    await lost.lifeline.refresh()
    lost.store.fault = StoreError("disk full")

    with pytest.raises(StoreError, match="neither the store nor the spool"):
        await lost.says(SIGN)
    await lost.lifeline.settle()
    assert "Call 111 now" in lost.received(MARY)[0]
    assert SIGN in lost.received(RUA)[0]

    with pytest.raises(StoreError):
        await lost.says("Good morning", at=KIRI)
    await lost.lifeline.settle()
    assert "Please send it again" in lost.received(KIRI)[0]


async def test_what_is_spooled_is_replayed_in_order_and_the_lifeline_leaves_use(
    rig: Rig,
) -> None:
    rig.store.fault = StoreError("locked")
    for words in (SIGN, "Good morning", "and again"):
        await rig.says(words)
    with pytest.raises(StoreError):
        await rig.lifeline.replay()
    assert rig.lifeline.in_use
    assert not rig.spool.empty

    rig.store.fault = None
    await rig.lifeline.replay()

    assert rig.store.taken == ["1", "2", "3"]
    assert rig.spool.empty
    assert not rig.lifeline.in_use
    assert await rig.says("later") == "4"
    assert rig.store.taken == ["1", "2", "3", "4"]


async def test_what_a_crash_left_in_the_spool_is_replayed_by_the_next_process(
    rig: Rig, database: Database, clock: ManualClock, tmp_path: Path
) -> None:
    rig.store.fault = StoreError("locked")
    await rig.says(SIGN)

    restarted = _rig(database, clock, tmp_path)
    async with at_work(restarted.lifeline):
        await until(lambda: restarted.spool.empty)

    assert restarted.store.taken == ["1"]
    assert restarted.channel.sent == []


async def test_a_crash_between_the_store_and_the_end_of_the_replay_doubles_nothing(
    rig: Rig, database: Database, clock: ManualClock, tmp_path: Path
) -> None:
    rig.store.fault = StoreError("locked")
    await rig.says(SIGN)
    rig.store.fault = None
    # The store has the batch, and the process dies before the spool is told.
    await rig.store(rig.spool.claim())

    restarted = _rig(database, clock, tmp_path)
    restarted.store.taken = list(rig.store.taken)
    await restarted.lifeline.replay()

    assert restarted.store.taken == ["1"]
    assert restarted.spool.empty


async def test_the_store_comes_back_by_itself_while_it_runs(rig: Rig) -> None:
    async with at_work(rig.lifeline):
        rig.store.fault = StoreError("locked")
        await rig.says(SIGN)
        assert rig.lifeline.in_use
        rig.store.fault = None
        await until(lambda: not rig.lifeline.in_use)

    assert rig.store.taken == ["1"]


async def test_a_store_that_was_only_slow_is_used_again_as_soon_as_it_answers(
    rig: Rig, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "REPLAY_EVERY", 3600.0)
    looked, look = asyncio.Event(), rig.lifeline.replay

    async def replay() -> None:
        await look()
        looked.set()

    monkeypatch.setattr(rig.lifeline, "replay", replay)
    async with at_work(rig.lifeline):
        # The first look at the spool is over; the next would come in an hour.
        await looked.wait()
        rig.store.hangs = asyncio.Event()
        await rig.says("Good morning")
        assert rig.lifeline.in_use
        rig.store.hangs.set()
        await until(lambda: not rig.lifeline.in_use)

    assert rig.store.taken == ["1"]
    assert rig.spool.empty


async def test_one_arrival_that_the_store_never_takes_keeps_no_other_out(
    rig: Rig, tmp_path: Path
) -> None:
    rig.store.fault = StoreError("locked")
    for words in ("one", "two", "three"):
        await rig.says(words)
    rig.store.fault = None
    rig.store.never = "two"

    await rig.lifeline.replay()

    assert rig.store.taken == ["1", "3"]
    assert rig.spool.empty
    assert not rig.lifeline.in_use
    assert (tmp_path / "spool.aside").stat().st_size > 0


async def test_work_that_fails_or_hangs_after_the_arrival_was_kept_is_helped_with(
    rig: Rig,
) -> None:
    one = rig.arrival(SIGN, MARY, IncomingKind.TEXT, 1)

    async def fails() -> None:
        raise StoreError("disk full")

    with pytest.raises(StoreError, match="disk full"):
        await rig.lifeline.watched([one], fails())
    await rig.lifeline.settle()
    assert "Call 111 now" in rig.received(MARY)[0]

    other = rig.arrival("I fainted just now", MARY, IncomingKind.TEXT, 2)

    async def slow() -> str:
        await asyncio.sleep(4 * SLOW_AFTER)
        return "done"

    assert await rig.lifeline.watched([other], slow()) == "done"
    await rig.lifeline.settle()
    assert len(rig.received(MARY)) == 2


async def test_work_that_waits_its_turn_while_others_get_theirs_is_not_taken_for_hanging(
    rig: Rig,
) -> None:
    # Long enough that a machine that pauses for a moment is not taken for a store that hangs.
    slow_after = rig.lifeline._slow_after = 0.4

    async def takes(seconds: float) -> None:
        await asyncio.sleep(seconds)

    def watched(number: int, words: str, waits: float) -> asyncio.Task[None]:
        one = rig.arrival(words, MARY, IncomingKind.TEXT, number)
        return asyncio.create_task(rig.lifeline.watched([one], takes(waits * slow_after)))

    in_turn = [watched(number, SIGN, 0.4 * number) for number in range(1, 6)]
    await asyncio.gather(*in_turn)
    await rig.lifeline.settle()
    assert rig.channel.sent == []

    # Nobody waits for ever, however much else gets done.
    busy = [watched(10 + number, "Good morning", 0.4 * number) for number in range(1, 14)]
    await asyncio.gather(watched(30, SIGN, module.MOST_WAITS + 1), *busy)
    await rig.lifeline.settle()
    assert len(rig.received(MARY)) == 1


async def test_work_that_succeeds_in_time_says_nothing(rig: Rig) -> None:
    one = rig.arrival(SIGN, MARY, IncomingKind.TEXT, 1)

    async def quick() -> int:
        return 5

    assert await rig.lifeline.watched([one], quick()) == 5
    assert rig.channel.sent == []


async def test_a_reader_that_fails_on_one_text_helps_the_others_all_the_same(
    database: Database, clock: ManualClock, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    def read(text: str) -> Reading:
        if "strange" in text:
            raise ValueError(text)
        return loaded().reader.read(text)

    rig = _rig(database, clock, tmp_path, read)
    await rig.lifeline.refresh()
    rig.store.fault = StoreError("locked")
    batch = [
        rig.arrival("strange words", KIRI, IncomingKind.TEXT, 1),
        rig.arrival(SIGN, MARY, IncomingKind.TEXT, 2),
    ]

    await rig.lifeline.accept(batch)
    await rig.lifeline.settle()

    assert "Call 111 now" in rig.received(MARY)[0]
    # Whoever could not be read is told of the fault, with the number to call.
    assert "call 111" in rig.received(KIRI)[0]
    assert "strange words" not in caplog.text


async def test_the_directory_follows_each_commit(rig: Rig, monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[Directory] = []
    real = module.load_directory

    def load(unit: UnitOfWork) -> Directory:
        read.append(real(unit))
        return read[-1]

    monkeypatch.setattr(module, "load_directory", load)

    def move(unit: UnitOfWork) -> None:
        people.bind(unit, PersonId(3), Address("record", "tablet"), NOON + timedelta(minutes=1))
        unit.commit()

    async with at_work(rig.lifeline):
        await until(lambda: bool(read))
        await rig.database.run(move)
        await until(lambda: Address("record", "tablet") in read[-1].speakers)
        # Read on a store's thread; the loop takes it up a moment later.
        await until(lambda: rig.lifeline._directory in read[1:])
        rig.store.fault = StoreError("locked")
        await rig.says(SIGN, at="tablet")

    assert "Call 111 now" in rig.received("tablet")[0]
    assert "Mary" in rig.received(RUA)[0]


def _shares_mary_s_phone(unit: UnitOfWork) -> None:
    """Tom, who is coached by Kiri, uses the same phone and has used it last."""
    tom = people.add_person(unit, Role.CLIENT, "Tom", NOON)
    unit.session.add(ClientRow(person_id=tom, coach_id=2, profile_sealed=""))
    people.bind(unit, tom, Address("record", MARY), NOON + timedelta(minutes=1))
    unit.commit()


NOT_KNOWN = "it is not known who wrote this"


async def test_a_sign_from_a_shared_phone_is_told_of_each_who_may_have_written_it(
    rig: Rig,
) -> None:
    rig.database.run_now(_shares_mary_s_phone)
    await rig.lifeline.refresh()
    rig.store.fault = StoreError("locked")

    await rig.says(SIGN)

    for coach, client in ((RUA, "Mary"), (KIRI, "Tom")):
        [alert] = rig.received(coach)
        assert alert.startswith(f"!! EMERGENCY: {client}")
        assert NOT_KNOWN in alert
        assert SIGN in alert
    assert len(rig.received(MARY)) == 1


@pytest.mark.parametrize(
    "quietly", ["my husband hits me and I am scared of him", "I want to end my life"]
)
async def test_what_others_on_a_shared_phone_must_not_learn_is_told_once(
    rig: Rig, quietly: str
) -> None:
    rig.database.run_now(_shares_mary_s_phone)
    await rig.lifeline.refresh()
    rig.store.fault = StoreError("locked")

    await rig.says(quietly)

    assert rig.received(RUA) == []
    [alert] = rig.received(KIRI)
    assert "Tom" in alert
    assert NOT_KNOWN in alert


async def test_the_last_known_directory_serves_while_the_store_cannot_even_be_read(
    rig: Rig, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def unreadable(*_given: object) -> None:
        raise StoreError("gone")

    monkeypatch.setattr(rig.database, "read", unreadable)
    with pytest.raises(StoreError):
        await rig.lifeline.refresh()
    rig.store.fault = StoreError("gone")

    await rig.says(SIGN)

    assert SIGN in rig.received(RUA)[0]


async def test_somebody_not_safe_at_home_is_never_to_be_called_through_the_contact(
    rig: Rig,
) -> None:
    rig.store.fault = StoreError("locked")

    await rig.says("my husband hits me and I am scared of him")

    assert "Do NOT call the contact person" in rig.received(RUA)[0]
    assert "555 0101" not in rig.received(RUA)[0]


async def test_thoughts_of_suicide_get_the_words_of_care(rig: Rig) -> None:
    rig.store.fault = StoreError("locked")

    await rig.says("I want to end my life")

    assert rig.received(MARY)[0].startswith("I am glad you told me.")
    assert "Mary" in rig.received(RUA)[0]


async def test_what_another_service_is_to_get_is_answered_but_neither_kept_nor_confirmed(
    rig: Rig,
) -> None:
    rig.store.fault = StoreError("another service may have taken the database over")
    rig.lifeline.keep(False)

    with pytest.raises(StoreError, match="neither"):
        await rig.says(SIGN)
    await rig.lifeline.settle()

    assert "Call 111 now" in rig.received(MARY)[0]
    assert rig.spool.empty
