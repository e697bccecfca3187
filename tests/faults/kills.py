"""Kills the service again and again while clients use it, then looks for what was lost.

    python -m tests.faults.kills --kills 200
    python -m tests.faults.kills --kills 200 --standby

With ``--standby`` two services stand on one PostgreSQL database: the one that works is killed, the
other takes over, and the killed one comes back to stand by.

SIGKILL stands for a crash of the process. It does not stand for a loss of power: what the kernel
has taken over survives a SIGKILL even when it is not on the disk yet.
"""

import argparse
import asyncio
import contextlib
import json
import random
import re
import tempfile
import time
from collections.abc import Sequence
from contextlib import AsyncExitStack, ExitStack
from dataclasses import asdict, dataclass, replace
from functools import partial
from pathlib import Path

from sqlmodel import col, func, select

from bot.storage.database import Database
from bot.storage.tables import AlertRow, CheckinRow, InboxRow, OutboxRow, PersonRow
from bot.storage.unit import UnitOfWork
from core.readiness.morning_questions import MorningQuestion
from tests.doubles.bot_api import BotApi
from tests.doubles.serve_process import Service
from tests.doubles.telegram_practice import Chats, make_practice, open_store
from tests.faults.simulated_people import People

CLIENTS = 20
REPORTING = 6
"""How many of the clients write of warning signs; the others answer check-ins."""

SIX = (
    MorningQuestion.TROUBLE,
    MorningQuestion.SLEEP,
    MorningQuestion.MOOD,
)
"""Some of the answers that a finished check-in must hold."""

TOO_OLD = "answerCallbackQuery: Bad Request: query is too old"
"""A normal complaint, once a kill: the button was answered, the kill came, it is answered again."""

WAIT = 120
"""Seconds that anything is waited for at most; on a quiet machine all of it takes one or two."""

SETTINGS = {"DAYRUNG_SENDS_PER_SECOND": "500", "DAYRUNG_SECONDS_BETWEEN_SENDS": "0.02"}
"""The limits are raised for the double, so that more happens between two kills."""


@dataclass
class Result:
    """What became of everything.

    Attributes:
        acknowledged: updates that the service told the platform it had.
        lost_updates: those of them that are not in the store, or not worked off.
        flags: warning signs written; each must be in the store, at the coach, and answered.
        repeats: messages that reached a chat more often than the store says they were sent.
        out_of_order: what somebody wrote later was stored or told the coach before.
        takeovers: seconds from a kill until the other service asked the platform for something,
            where it stood by.
    """

    kills: int
    acknowledged: int
    lost_updates: int
    flags: int
    flags_not_stored: int
    flags_coach_not_told: int
    flags_unanswered: int
    checkins: int
    checkins_lost: int
    messages: int
    repeats: int
    complaints: Sequence[str]
    out_of_order: int = 0
    takeovers: Sequence[float] = ()

    @property
    def nothing_lost(self) -> bool:
        """Whether everything is there."""
        return not (
            self.lost_updates
            or self.flags_not_stored
            or self.flags_coach_not_told
            or self.flags_unanswered
            or self.checkins_lost
            or self.complaints
            or self.out_of_order
        )


async def kill_often(home: Path, kills: int, seed: int) -> Result:
    """Let 20 clients use the service while it is killed ``kills`` times."""
    chance = random.Random(seed)
    chats = make_practice(home, clients=CLIENTS)
    async with BotApi() as api:
        service = Service(home, api.address, **SETTINGS)
        for chat in (*chats.clients, *chats.coaches):
            api.chat(chat)
        people = People(api, chance)
        busy = _begin(people, chats)
        for _ in range(kills):
            # Killed at the end of the block.
            async with service:
                await _some_moment(api, chance)
        people.going = False
        await asyncio.gather(*busy)
        async with service:
            await _everything_done(api, people, chats, home)
            await service.stop()
        return _look(api, people, chats, open_store(home), kills)


async def kill_with_standby(home: Path, address: str, kills: int, seed: int) -> Result:
    """The same with two services on the PostgreSQL database at ``address``."""
    chance = random.Random(seed)
    chats = make_practice(home, clients=CLIENTS, address=address)
    homes = (home / "one", home / "two")
    for one in homes:
        one.mkdir()
    takeovers = []
    async with BotApi() as api:
        settings = SETTINGS | {"DAYRUNG_DATABASE": address}
        working, standby = (Service(one, api.address, **settings) for one in homes)
        for chat in (*chats.clients, *chats.coaches):
            api.chat(chat)
        people = People(api, chance)
        busy = _begin(people, chats)
        async with AsyncExitStack() as both:
            await both.enter_async_context(working)
            # Whoever is first works.
            await working.until_it_says("running")
            await both.enter_async_context(standby)
            for number in range(1, kills + 1):
                await _some_moment(api, chance)
                # Each fifth time perhaps before the other has even come up.
                if number % 5:
                    await _stands_by(standby)
                stood_by = _waits(standby)
                killed = time.monotonic()
                await working.kill()
                working, standby = standby, working
                await api.until(partial(_asked_since, api, killed), WAIT)
                if stood_by:
                    takeovers.append(time.monotonic() - killed)
                await standby.start()
            people.going = False
            await asyncio.gather(*busy)
            await _everything_done(api, people, chats, home, address)
            await standby.kill()
            await working.stop()
        result = _look(api, people, chats, open_store(home, address), kills)
        return replace(result, takeovers=[round(one, 3) for one in takeovers])


async def _stands_by(service: Service) -> None:
    async with asyncio.timeout(WAIT):
        while not _waits(service):  # noqa: ASYNC110 - another process's log
            await asyncio.sleep(0.05)


def _waits(service: Service) -> bool:
    said = service.log
    return said.rfind("waits, and") > said.rfind("Dayrung is running")


def _asked_since(api: BotApi, moment: float) -> bool:
    return bool(api.calls) and api.calls[-1].at > moment


def _begin(people: People, chats: Chats) -> list[asyncio.Task[None]]:
    works = [people.reports_signs(chat) for chat in chats.clients[:REPORTING]]
    works += [people.checks_in(chat) for chat in chats.clients[REPORTING:]]
    return [asyncio.create_task(work) for work in works]


async def _some_moment(api: BotApi, chance: random.Random) -> None:
    """Until the service is at work, and then for a while: a time, or a number of its requests."""
    at_start = len(api.calls)
    # Now and then before it has even come up.
    if chance.random() < 0.1:
        await asyncio.sleep(chance.uniform(0.0, 2.0))
        return
    more = chance.randint(3, 60)
    # When the machine is slow, the kill comes a little earlier in its work.
    with contextlib.suppress(TimeoutError):
        await api.until(lambda: len(api.calls) >= at_start + more, 10)
    await asyncio.sleep(chance.choice((0.0, 0.0, chance.uniform(0.0, 0.05))))


async def _everything_done(
    api: BotApi, people: People, chats: Chats, home: Path, address: str = ""
) -> None:
    """Let every client finish the check-in, and the service send all that waits."""
    for chat in chats.clients[REPORTING:]:
        try:
            async with asyncio.timeout(WAIT):
                while not people.has_finished(chat):
                    await people.one_step(chat)
        except TimeoutError:
            shown = [(one.text[:80], one.buttons) for one in api.chat(chat).said.values()][-4:]
            raise AssertionError(f"{chat} cannot finish the check-in: {shown}") from None
    await api.until(lambda: all(map(api.confirmed, people.updates)), WAIT)
    store = open_store(home, address)
    async with asyncio.timeout(WAIT):
        while store.run_now(_still_waiting):  # noqa: ASYNC110 - another process's work
            await asyncio.sleep(0.2)
    store.close()


def _still_waiting(unit: UnitOfWork) -> int:
    inbox = select(func.count()).where(InboxRow.status == "waiting")
    outbox = select(func.count()).where(OutboxRow.status == "waiting")
    return unit.session.exec(inbox).one() + unit.session.exec(outbox).one()


def _not_normal(complaints: Sequence[str], kills: int) -> Sequence[str]:
    """What the platform complained of, but for one button answered twice a kill."""
    too_old = [one for one in complaints if one.startswith(TOO_OLD)]
    return [*(one for one in complaints if one not in too_old), *too_old[kills:]]


def _look(api: BotApi, people: People, chats: Chats, store: Database, kills: int) -> Result:
    acknowledged = [one for one in people.updates if api.confirmed(one)]
    done = store.run_now(_updates_done)
    stored_words = store.run_now(words_of_alerts)
    checkins = store.run_now(_finished_checkins)
    sent = store.run_now(
        lambda unit: unit.session.exec(select(func.count()).where(OutboxRow.status == "sent")).one()
    )
    out_of_order = store.run_now(_stored_out_of_order) + store.run_now(_told_out_of_order)
    store.close()
    coach_read = "\n".join(api.chat(chats.coaches[0]).texts)
    flags = [words for said in people.flags.values() for words in said]
    delivered = sum(
        call.ok for call in api.calls if call.method in ("sendMessage", "editMessageText")
    )
    return Result(
        kills=kills,
        acknowledged=len(acknowledged),
        lost_updates=sum(str(one) not in done for one in acknowledged),
        flags=len(flags),
        flags_not_stored=sum(words not in stored_words for words in flags),
        flags_coach_not_told=sum(words not in coach_read for words in flags),
        flags_unanswered=sum(
            len(api.chat(chat).said) < len(said) for chat, said in people.flags.items()
        ),
        checkins=len(chats.clients) - REPORTING,
        checkins_lost=sum(chat not in checkins for chat in chats.clients[REPORTING:]),
        messages=delivered,
        repeats=delivered - sent,
        complaints=_not_normal(api.complaints, kills),
        out_of_order=out_of_order,
    )


def _stored_out_of_order(unit: UnitOfWork) -> int:
    """Arrivals that stand in the inbox behind a later one of the same chat."""
    rows = unit.session.exec(select(InboxRow).order_by(col(InboxRow.id))).all()
    last: dict[str, int] = {}
    late = 0
    for row in rows:
        update = int(row.update_id)
        late += update < last.get(row.address, 0)
        last[row.address] = max(update, last.get(row.address, 0))
    return late


def _told_out_of_order(unit: UnitOfWork) -> int:
    """Words that stand in an alert behind words of a later text; texts are numbered."""
    late = 0
    for row in unit.session.exec(select(AlertRow)).all():
        words = " ".join(map(str, unit.encryption.decrypt_json(row.words_sealed)))
        numbers = [int(one) for one in re.findall(r"\(time (\d+)\)", words)]
        late += numbers != sorted(numbers)
    return late


def _updates_done(unit: UnitOfWork) -> set[str]:
    rows = unit.session.exec(select(InboxRow.update_id).where(InboxRow.status == "done"))
    return set(rows)


def words_of_alerts(unit: UnitOfWork) -> str:
    """All that stands in any alert."""
    rows = unit.session.exec(select(AlertRow)).all()
    # Beside people's words an alert holds reasons of ours.
    return "\n".join(
        str(words) for row in rows for words in unit.encryption.decrypt_json(row.words_sealed)
    )


def _finished_checkins(unit: UnitOfWork) -> set[int]:
    """Chats whose check-in is finished in the store; a name ends in its chat."""
    rows = unit.session.exec(
        select(CheckinRow, PersonRow)
        .join(PersonRow, col(PersonRow.id) == CheckinRow.client_id)
        .where(col(CheckinRow.finished_at).is_not(None))
    ).all()
    return {
        int(unit.encryption.decrypt(person.name_sealed).rpartition(" ")[2])
        for row, person in rows
        if set(SIX) <= unit.encryption.decrypt_json(row.answers_sealed).keys()
    }


def main() -> None:
    """Kill as often as asked, and print what became of everything."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--standby", action="store_true")
    given = parser.parse_args()
    with ExitStack() as stack:
        home = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        if given.standby:
            from tests.doubles.postgres import postgres, stop_shared

            stack.callback(stop_shared)
            address = stack.enter_context(postgres(migrated=True))
            works = kill_with_standby(home, address, given.kills, given.seed)
        else:
            works = kill_often(home, given.kills, given.seed)
        result = asyncio.run(works)
    print(json.dumps(asdict(result), indent=2))  # noqa: T201 - a command's output
    raise SystemExit(0 if result.nothing_lost else 1)


if __name__ == "__main__":
    main()
