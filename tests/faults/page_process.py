"""``dayrung try`` as a process that can be killed, with a coach and many clients."""

import os
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from multiprocessing.process import BaseProcess
from pathlib import Path

import httpx
from cryptography.fernet import Fernet

from bot.channels.page.channel import NAME
from bot.settings import write_keys
from bot.storage import people
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.people import Address
from bot.storage.tables import ClientRow, CoachRow, PersonRow, RoundRow
from bot.storage.unit import UnitOfWork
from bot.trial.practice import MADE
from core.vocabulary import PersonId, Role
from tests.doubles import forked_program

STARTS_WITHIN = 180
COACH_PHONE = "phone-coach"


@dataclass(frozen=True)
class Trial:
    """The folder of a trial, and the phones of its clients."""

    home: Path
    key: str
    phones: tuple[str, ...]

    def store(self) -> Database:
        """Its database; for looking at it while no process runs."""
        path = self.home / "trial" / "dayrung.sqlite3"
        return Database(f"sqlite:///{path}", Encryption(self.key.encode("ascii")))


def new_trial(home: Path, clients: int) -> Trial:
    """A trial whose practice is made already: one coach, and clients who may train."""
    phones = tuple(f"phone-client-{number}" for number in range(clients))
    trial = Trial(home, Fernet.generate_key().decode("ascii"), phones)
    (home / "trial").mkdir(parents=True)
    write_keys(home / "trial" / "key", [trial.key])
    store = trial.store()
    store.migrate()
    store.run_now(_open, phones)
    store.close()
    return trial


def _open(unit: UnitOfWork, phones: Sequence[str]) -> None:
    now = datetime.now(UTC)
    coach = _person(unit, Role.COACH, "Huia Marsden", COACH_PHONE, now)
    unit.session.add(CoachRow(person_id=coach))
    for number, phone in enumerate(phones):
        client = _person(unit, Role.CLIENT, f"Client {number:02}", phone, now)
        profile = {"phone": f"+64 9 555 01{number:02}", "cleared_on": "2026-01-05"}
        row = ClientRow(person_id=client, coach_id=coach, joined_at=now, cleared_at=now)
        row.profile_sealed = unit.encryption.encrypt_json(profile)
        unit.session.add(row)
    unit.session.add(RoundRow(name=MADE, handled_until=now))
    unit.commit()


def _person(unit: UnitOfWork, role: Role, name: str, phone: str, now: datetime) -> PersonId:
    person = people.add_person(unit, role, name, now)
    row = unit.session.get_one(PersonRow, person)
    row.zone, row.country = "Pacific/Auckland", "NZ"
    people.bind(unit, person, Address(NAME, phone), now)
    return person


@dataclass
class Running:
    """A process and the address of its page."""

    process: BaseProcess
    url: str

    def kill(self) -> None:
        """End it as a power cut would: SIGKILL."""
        self.process.kill()
        self.process.join()

    def end(self) -> None:
        """End it as the operator would: SIGTERM."""
        self.process.terminate()
        self.process.join(30)
        assert self.process.exitcode == 0


def start(trial: Trial, port: int) -> Running:
    """Start the trial's page and wait until it answers."""
    environment = {
        **{name: value for name, value in os.environ.items() if not name.startswith("DAYRUNG_")},
        "DAYRUNG_HOME": str(trial.home),
        "DAYRUNG_KEY": trial.key,
    }
    output = trial.home / "output.txt"
    process = forked_program.start(("try", "--port", str(port)), environment, output, trial.home)
    begun = Running(process, f"http://127.0.0.1:{port}")
    try:
        _wait_for(begun, output)
    except BaseException:
        begun.kill()
        raise
    return begun


def _wait_for(begun: Running, output: Path) -> None:
    deadline = time.monotonic() + STARTS_WITHIN
    with httpx.Client(base_url=begun.url) as page:
        while time.monotonic() < deadline and begun.process.is_alive():
            try:
                if page.get("/health").status_code == httpx.codes.OK:
                    return
            except httpx.TransportError:
                time.sleep(0.05)
    raise AssertionError(f"the page did not start:\n{output.read_text()[-2000:]}")
