"""The page's promise: what was confirmed survives any end of the process, and alerts arrive."""

import asyncio
import random
import time
from dataclasses import dataclass, field
from pathlib import Path
from uuid import uuid4

import httpx
from sqlmodel import col, select

from bot.channels.page.channel import NAME
from bot.messages import Kind
from bot.storage.people import speakers
from bot.storage.tables import AlertRow, InboxRow, OutboxRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import AlertLevel
from tests.doubles.free_port import free_port
from tests.faults.page_process import COACH_PHONE, Running, Trial, new_trial, start

KILLS = 10
CLIENTS_A_ROUND = 3
LONGEST_LIFE = 0.5
"""Seconds after the first confirmation within which the process is killed."""

FIRST_WITHIN = 120.0

ALL_DONE_WITHIN = 120.0


ALARM = "my chest feels tight"


@dataclass
class Confirmed:
    """What people were told had arrived: update ids with their words or their phone."""

    words: dict[str, str] = field(default_factory=dict)
    alarms: dict[str, str] = field(default_factory=dict)
    first: asyncio.Event = field(default_factory=asyncio.Event)


async def keep_sending(page: httpx.AsyncClient, phone: str, confirmed: Confirmed) -> None:
    """A warning sign, then words after words, until the connection breaks."""
    update = await send(page, phone, ALARM)
    if not update:
        return
    confirmed.alarms[update] = phone
    confirmed.first.set()
    for number in range(500):
        text = f"good morning {number}"
        update = await send(page, phone, text)
        if not update:
            return
        confirmed.words[update] = text


async def send(page: httpx.AsyncClient, phone: str, text: str) -> str:
    """Send one text; gives its update id, or "" when it was not confirmed."""
    update = uuid4().hex
    body = {"phone": phone, "update": update, "kind": "text", "text": text}
    try:
        answer = await page.post("/send", json=body)
    except httpx.TransportError:
        return ""
    return update if answer.status_code == httpx.codes.OK else ""


async def disturb(begun: Running, phones: list[str], confirmed: Confirmed, life: float) -> None:
    """Let some clients write at once, and kill the process in the middle of it."""
    confirmed.first.clear()
    async with httpx.AsyncClient(base_url=begun.url, headers={"Origin": begun.url}) as page:
        sending = [asyncio.create_task(keep_sending(page, phone, confirmed)) for phone in phones]
        async with asyncio.timeout(FIRST_WITHIN):
            await confirmed.first.wait()
        await asyncio.sleep(life)
        await asyncio.to_thread(begun.kill)
        await asyncio.gather(*sending)


def still_open(unit: UnitOfWork) -> int:
    """Rows that are not worked off or not sent yet."""
    inbox = unit.session.exec(select(InboxRow).where(InboxRow.status == "waiting")).all()
    outbox = unit.session.exec(select(OutboxRow).where(OutboxRow.status == "waiting")).all()
    return len(inbox) + len(outbox)


def work_off(trial: Trial, port: int) -> None:
    """A last start that is left alone until nothing waits any more, then ended properly."""
    begun, store = start(trial, port), trial.store()
    deadline = time.monotonic() + ALL_DONE_WITHIN
    while store.run_now(still_open) and time.monotonic() < deadline:
        time.sleep(0.2)
    assert store.run_now(still_open) == 0
    store.close()
    begun.end()


async def killed_again_and_again(trial: Trial, seed: int) -> Confirmed:
    """Half of the kills on one trial, then a last start in peace."""
    port, chance, confirmed = free_port(), random.Random(seed), Confirmed()
    for number in range(KILLS // 2):
        phones = list(trial.phones[number * CLIENTS_A_ROUND :][:CLIENTS_A_ROUND])
        begun = await asyncio.to_thread(start, trial, port)
        await disturb(begun, phones, confirmed, chance.uniform(0.0, LONGEST_LIFE))
    await asyncio.to_thread(work_off, trial, port)
    return confirmed


async def test_what_was_confirmed_survives_ten_kills_and_every_alert_is_delivered(
    tmp_path: Path,
) -> None:
    trials = [new_trial(tmp_path / name, KILLS // 2 * CLIENTS_A_ROUND) for name in ("one", "other")]
    # Side by side, since most of the time goes into starting.
    ended = await asyncio.gather(
        *(killed_again_and_again(trial, seed) for seed, trial in enumerate(trials))
    )
    assert sum(len(confirmed.alarms) for confirmed in ended) >= KILLS
    assert any(confirmed.words for confirmed in ended)
    for trial, confirmed in zip(trials, ended, strict=True):
        store = trial.store()
        store.run_now(check, confirmed)
        store.close()


def check(unit: UnitOfWork, confirmed: Confirmed) -> None:
    arrived = {row.update_id: row for row in unit.session.exec(select(InboxRow))}
    for update, text in {**confirmed.words, **dict.fromkeys(confirmed.alarms, ALARM)}.items():
        assert update in arrived, f"confirmed and lost: {text}"
        assert unit.encryption.decrypt(arrived[update].text_sealed) == text
        assert arrived[update].status == "done", text
    for update, phone in confirmed.alarms.items():
        person = speakers(unit, NAME, phone)[0]
        alerts = unit.session.exec(select(AlertRow).where(AlertRow.client_id == person.id)).all()
        assert [alert.level for alert in alerts] == [AlertLevel.EMERGENCY], person.name
        assert ALARM in unit.encryption.decrypt_json(alerts[0].words_sealed)
        assert any(person.name in text and ALARM in text for text in seen_by_coach(unit))
        advice = unit.session.exec(
            select(OutboxRow).where(
                col(OutboxRow.dedupe_key).startswith(f"in:{NAME}:{update}:"),
                OutboxRow.kind == Kind.SAFETY,
            )
        ).all()
        assert [row.status for row in advice] == ["sent"], person.name


def seen_by_coach(unit: UnitOfWork) -> list[str]:
    """The alerts that reached the coach's phone."""
    rows = unit.session.exec(
        select(OutboxRow).where(
            OutboxRow.address == COACH_PHONE,
            col(OutboxRow.kind).in_((Kind.ALERT, Kind.NEW_ALERT)),
            OutboxRow.status == "sent",
        )
    )
    return [unit.encryption.decrypt_json(row.payload_sealed)["text"] for row in rows]
