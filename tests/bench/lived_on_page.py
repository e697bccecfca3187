"""Invented people live weeks on the trial page, by its own requests, as a browser would.

``python -m tests.bench.lived_on_page [NAME ...] [--weeks 8] [--port 8720]`` puts the people of
:mod:`tests.bench.eight_weeks` into a store, starts ``dayrung try`` on it, and for each of them
moves the page's clock, answers each morning well, taps through each session and walk, and prints
what the page said: each session's list as the client reads it, the last words, walks, and what the
coach was told. Only joining is not lived: the people are there at the start.
"""

import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Annotated, Any
from uuid import uuid4
from zoneinfo import ZoneInfo

import httpx
import typer
from rich.console import Console
from rich.progress import Progress

from bot.channels.page.channel import NAME
from bot.clock import SystemClock
from bot.schedule.due import reschedule
from bot.settings import Settings, load_key
from bot.storage import people
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.people import Address
from bot.storage.questions.due import set_handled_until
from bot.storage.tables import ClientRow, CoachRow, PersonRow
from bot.storage.unit import UnitOfWork
from bot.trial.practice import MADE
from bot.trial.trial import _trial_settings
from core.vocabulary import Role
from tests.bench.eight_weeks import PEOPLE, SINK_WEEKDAY
from tests.support.practice import ANSWERS, NEW_ZEALAND

CONSOLE = Console(highlight=False, width=150)
COACH = "phone-rua"
ZONE = ZoneInfo(NEW_ZEALAND)
PATIENCE = 120.0
MOST_TAPS = 150
GOOD = re.compile(r"(sleep|tiredness|soreness|stress|mood)=4")


def phone_of(name: str) -> str:
    """The address of somebody's phone on the page."""
    return f"phone-{name.lower()}"


def fill(unit: UnitOfWork, names: Sequence[str]) -> None:
    """A coach and these people, joined and cleared today; the practice counts as made."""
    now = SystemClock().now()
    today = now.date()
    coach = people.add_person(unit, Role.COACH, "Rua", now)
    unit.session.add(CoachRow(person_id=coach))
    found = [(coach, COACH)]
    for name in names:
        told = {**ANSWERS, **PEOPLE[name], "called": name, "cleared_on": today.isoformat()}
        days = str(told.pop("days"))
        told.pop("left")
        told.update(_dated(told, today))
        client = people.add_person(unit, Role.CLIENT, name, now)
        unit.session.add(
            ClientRow(
                person_id=client,
                coach_id=coach,
                profile_sealed=unit.encryption.encrypt_json(told),
                joined_at=now,
                cleared_at=now,
                checkin_at="07:00",
                training_days=days,
                quiet_until="06:00",
            )
        )
        found.append((client, phone_of(name)))
    for person, phone in found:
        row = unit.session.get_one(PersonRow, person)
        row.zone, row.country = NEW_ZEALAND, "NZ"
        people.bind(unit, person, Address(NAME, phone), now)
    unit.session.flush()
    for person, _ in found:
        reschedule(unit, person, now)
    set_handled_until(unit, MADE, now)
    unit.commit()


def _dated(told: Mapping[str, Any], today: date) -> dict[str, Any]:
    """Tests of yesterday, an operation three months ago."""
    tests = [
        {**one, "on": (today - timedelta(days=1)).isoformat()} for one in told.get("home_tests", ())
    ]
    operations = [
        {**one, "on": (today - timedelta(days=91)).isoformat()}
        for one in told.get("replaced_joints", ())
    ]
    return {"home_tests": tests, "replaced_joints": operations}


@contextmanager
def trial(names: Sequence[str], port: int) -> Iterator[str]:
    """``dayrung try`` with these people in a folder of its own; gives its address."""
    with tempfile.TemporaryDirectory() as folder:
        settings = _trial_settings(Settings(home=Path(folder), _env_file=None))  # type: ignore[call-arg]
        key, _ = load_key(settings)
        store = Database(settings.database_address, Encryption(key))
        store.migrate()
        store.run_now(fill, names)
        store.close()
        command = [sys.executable, "-c", "from bot.cli.start import main; main()", "try"]
        running = subprocess.Popen(
            [*command, "--port", str(port)],
            env={**os.environ, "DAYRUNG_HOME": folder},
            stdout=subprocess.DEVNULL,
        )
        try:
            yield f"http://127.0.0.1:{port}"
        finally:
            running.terminate()
            running.wait(60)


@dataclass
class Phone:
    """One phone on the page; ``most`` of its newest messages are looked at."""

    client: httpx.Client
    address: str
    most: int = 12

    def entries(self) -> list[Mapping[str, Any]]:
        """What the phone shows, oldest first."""
        asked = {"phone": self.address, "most": str(self.most)}
        state = self.client.get("/state", params=asked).json()
        return state["chats"][self.address]["entries"]

    def shown(self) -> list[Mapping[str, Any]]:
        """The messages to it."""
        return [one for one in self.entries() if one["from"] == "bot"]

    def buttons(self) -> tuple[str, list[str]]:
        """The newest message with buttons, and what these send."""
        for one in reversed(self.shown()):
            values = [choice[1] for row in one["choices"] for choice in row]
            if values:
                return one["messageId"], values
        return "", []

    def values(self) -> list[str]:
        """The same without the conversation that they belong to."""
        return [value.rpartition(".")[2] for value in self.buttons()[1]]

    def types(self, text: str) -> list[str]:
        """Send words; gives what is said to them."""
        return self._send(kind="text", text=text)

    def taps(self, value: str) -> list[str]:
        """Tap the newest button that sends ``value``, if need be behind "More"."""
        if value not in self.values() and "more" in self.values():
            self.taps("more")
        message, values = self.buttons()
        found = [one for one in values if one.rpartition(".")[2] == value]
        if not found:
            raise LookupError(f"no {value!r} among {values}: {self.shown()[-1]['text']}")
        return self._send(kind="tap", tap=found[0], message=message)

    def _send(self, **parts: str) -> list[str]:
        before = _words(self.shown())
        body = {"phone": self.address, "update": str(uuid4()), **parts}
        self.client.post("/send", json=body).raise_for_status()
        until, known = time.monotonic() + PATIENCE, before
        while time.monotonic() < until:
            time.sleep(0.1)
            now = _words(self.shown())
            # Once it has changed and then stood still.
            if now != before and now == known:
                return [text for _, text, _ in now if (_, text, _) not in before]
            known = now
        raise TimeoutError(f"nothing was said to {parts}")

    def clock(self, to: str) -> datetime:
        """Move the page's clock."""
        moved = self.client.post("/clock", json={"to": to, "phone": self.address})
        moved.raise_for_status()
        return datetime.fromisoformat(moved.json()["now"])


def _words(shown: Sequence[Mapping[str, Any]]) -> list[tuple[str, str, str]]:
    return [(one["id"], one["text"], str(one["choices"])) for one in shown]


def lived(phone: Phone, person: Mapping[str, Any], weeks: int) -> Iterator[str]:
    """Live so many weeks; a line or more for each day."""
    days, left = str(person["days"]).split(","), int(person["left"])
    for _ in range(7 * weeks):
        now = phone.clock("morning")
        weekday = now.astimezone(ZONE).isoweekday()
        good_morning(phone)
        if str(weekday) in days:
            done = session(phone, left)
        else:
            done = easy_day(phone, sink=weekday == SINK_WEEKDAY)
        yield f"{now.astimezone(ZONE):%a %d %b}: {done}"


def good_morning(phone: Phone) -> None:
    """The six taps of a good day; the check-in is asked for where something else came after it."""
    if "trouble=nothing" not in phone.values():
        phone.types("check-in")
    phone.taps("trouble=nothing")
    for _ in range(MOST_TAPS):
        fours = [value for value in phone.values() if GOOD.fullmatch(value)]
        if not fours:
            return
        phone.taps(fours[0])


def session(phone: Phone, left: int) -> str:
    """The day's session by its buttons; its list, and the last words."""
    listed = phone.types("/today")[-1]
    told = re.search(r"About (\d+) minutes", listed)
    if told is None:
        return f"NO SESSION: {listed}"
    phone.taps("start")
    said: list[str] = []
    for _ in range(MOST_TAPS):
        offered = phone.values()
        planned = [value for value in offered if value.startswith("did=")]
        if "ended=told_to_stop" in offered:
            said = phone.taps("ended=told_to_stop")
        elif f"left={left}" in offered:
            said = phone.taps(f"left={left}")
        elif "ready" in offered:
            said = phone.taps("ready")
        elif planned:
            shown = phone.shown()[-1]["text"]
            said = phone.taps(planned[-1] if "as many" in shown else planned[2])
        elif "done" in offered:
            said = phone.taps("done")
        elif "effort=4" in offered:
            said = phone.taps("effort=4")
        elif any(value.startswith("minutes=") for value in offered):
            said = phone.types(told[1])
            break
        else:
            raise LookupError(f"the session does not go on: {said} {offered}")
    return f"{_line(listed)}\n      > {_line(said[-1])}"


def easy_day(phone: Phone, *, sink: bool) -> str:
    """A walk; on one day of the week balance at the sink before it."""
    told = []
    if sink:
        told.append(_line(phone.types("/balance")[-1]).partition(".")[0])
        if "steady" in phone.values():
            phone.taps("steady")
    told.append(_line(phone.types("/walk")[-1]))
    if "talked" in phone.values():
        told.append(_line(phone.taps("talked")[-1]))
    return " | ".join(told)


def _line(text: str) -> str:
    return " ".join(text.split())


def main(
    names: Annotated[list[str] | None, typer.Argument()] = None,
    weeks: Annotated[int, typer.Option()] = 8,
    port: Annotated[int, typer.Option()] = 8720,
) -> None:
    """Live the weeks of all, or of those named, one after the other on one page."""
    chosen = names or list(PEOPLE)
    for name in chosen:
        with trial([name], port) as url, _browser(url) as client:
            _wait(client)
            phone = Phone(client, phone_of(name))
            CONSOLE.rule(name)
            with Progress(console=Console(stderr=True)) as progress:
                bar = progress.add_task(name, total=7 * weeks)
                for line in lived(phone, PEOPLE[name], weeks):
                    CONSOLE.print(line)
                    progress.advance(bar)
            CONSOLE.print("What the coach's phone shows:")
            for one in Phone(client, COACH, most=500).shown():
                CONSOLE.print("  " + _line(one["text"])[:300])


def _browser(url: str) -> httpx.Client:
    """What a browser says of a request of the page's own."""
    return httpx.Client(base_url=url, timeout=PATIENCE, headers={"Origin": url})


def _wait(client: httpx.Client) -> None:
    """Until the practice's page stands in the place of the waiting one."""
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        try:
            if client.get("/state").status_code == httpx.codes.OK:
                return
        except httpx.TransportError:
            pass
        time.sleep(0.3)
    raise TimeoutError("the page does not come up")


if __name__ == "__main__":
    typer.run(main)
