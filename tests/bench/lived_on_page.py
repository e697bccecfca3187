"""Invented people live weeks on the trial page, by its own requests, as a browser would.

``python -m tests.bench.lived_on_page [--person Strong] [--weeks 8] [--port 8720]`` puts the people
of :mod:`tests.bench.eight_weeks`, or the one named, into a store, starts ``dayrung try`` on it, and
for each of them moves the page's clock, answers each morning well, taps through each session and
walk, and prints a table of the weeks, all that went wrong on the way, what the coach was told, and
day by day what the page said. Only joining is not lived: the people are there at the start. Thumb
has a body (:mod:`tests.support.invented_body`) and always tells the same number: what was truly
left is printed beside it, set by set. The store is read beside the page: for the plan behind a
session, and for whether all is answered.
"""

import os
import re
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import partial
from pathlib import Path
from statistics import median
from typing import Annotated, Any
from uuid import uuid4
from zoneinfo import ZoneInfo

import httpx
import typer
from rich.console import Console
from rich.progress import Progress
from rich.table import Table
from sqlalchemy import func
from sqlmodel import col, select

from bot.channels.page.channel import NAME
from bot.clock import SystemClock
from bot.schedule.due import reschedule
from bot.settings import Settings, load_key
from bot.storage import people
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.facts import StoreFacts
from bot.storage.people import Address
from bot.storage.questions.due import set_handled_until
from bot.storage.tables import ClientRow, CoachRow, InboxRow, OutboxRow, PersonRow
from bot.storage.unit import UnitOfWork
from bot.trial.practice import MADE
from bot.trial.trial import _trial_settings
from core.dose.history import Ended
from core.dose.prescription import SessionPlan
from core.vocabulary import PersonId, Role
from tests.bench.eight_weeks import PEOPLE, SINK_WEEKDAY, balance_minutes, told_plan
from tests.support.facts import reference
from tests.support.invented_body import InventedBody, SetLived
from tests.support.practice import ANSWERS, NEW_ZEALAND
from tests.support.programme_lives import minutes_taken

CONSOLE = Console(highlight=False, width=150)
COACH = "phone-rua"
ZONE = ZoneInfo(NEW_ZEALAND)
PATIENCE = 120.0
LOOK_EVERY_SECONDS = 0.02
ANSWERED_WITHIN = timedelta(minutes=2)
MOST_TAPS = 150
SHOWN_OF_A_DAY = 200
DAYS_OF_A_WEEK = 7
GOOD = re.compile(r"(sleep|tiredness|soreness|stress|mood)=4")
STUMBLES = re.compile(
    r"did not understand|may have missed|simple helper|cannot answer that|That button is from|"
    r"So I ask again"
)
"""What the page says where an answer or a tap was of no use."""
SLOWER: Mapping[str, float] = {"Frail": 1.25}
"""How much longer than reckoned sets and rests of a minute take somebody; 1 where not named."""


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
        for of_bench in ("left", "first_left"):
            told.pop(of_bench, None)
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
def trial(names: Sequence[str], port: int) -> Iterator[tuple[str, Database]]:
    """``dayrung try`` with these people in a folder of its own; its address and its store."""
    with tempfile.TemporaryDirectory() as folder:
        settings = _trial_settings(Settings(home=Path(folder), _env_file=None))  # type: ignore[call-arg]
        key, _ = load_key(settings)
        store = Database(settings.database_address, Encryption(key))
        store.migrate()
        store.run_now(fill, names)
        command = [sys.executable, "-c", "from bot.cli.start import main; main()", "try"]
        running = subprocess.Popen(
            [*command, "--port", str(port)],
            env={**os.environ, "DAYRUNG_HOME": folder},
            stdout=subprocess.DEVNULL,
        )
        try:
            yield f"http://127.0.0.1:{port}", store
        finally:
            running.terminate()
            running.wait(60)
            store.close()


@dataclass
class Phone:
    """One phone on the page; ``most`` of its newest messages are looked at."""

    client: httpx.Client
    address: str
    store: Database
    most: int = 12

    def entries(self, most: int = 0) -> list[Mapping[str, Any]]:
        """What the phone shows, oldest first."""
        asked = {"phone": self.address, "most": str(most or self.most)}
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
        until = time.monotonic() + PATIENCE
        while not self.store.run_now(_all_answered):
            if time.monotonic() > until:
                raise TimeoutError(f"no answer to {parts}")
            time.sleep(LOOK_EVERY_SECONDS)
        return [text for _, text, _ in (one for one in _words(self.shown()) if one not in before)]

    def clock(self, to: str) -> datetime:
        """Move the page's clock."""
        moved = self.client.post("/clock", json={"to": to, "phone": self.address})
        moved.raise_for_status()
        return datetime.fromisoformat(moved.json()["now"])


def _words(shown: Sequence[Mapping[str, Any]]) -> list[tuple[str, str, str]]:
    return [(one["id"], one["text"], str(one["choices"])) for one in shown]


def _all_answered(unit: UnitOfWork) -> bool:
    """Whether nothing that arrived waits, nor any answer to it; what is due later may."""
    arrived = select(func.count(col(InboxRow.id))).where(col(InboxRow.status) == "waiting")
    newest = unit.session.scalar(select(func.max(col(InboxRow.received_at))))
    if newest is None or unit.session.scalar(arrived):
        return False
    answers = select(func.count(col(OutboxRow.id))).where(
        col(OutboxRow.channel) == NAME,
        col(OutboxRow.status) == "waiting",
        col(OutboxRow.due_at) <= newest + ANSWERED_WITHIN,
    )
    return not unit.session.scalar(answers)


@dataclass
class Day:
    """One day: what the page said of it, and the plan of its session."""

    on: date
    said: str = ""
    plan: SessionPlan | None = None
    walked: int = 0
    sink: str = ""
    word: str = ""
    sets: list[SetLived] = field(default_factory=list)
    stumbles: list[str] = field(default_factory=list)


def lived(phone: Phone, client: PersonId, name: str, weeks: int) -> Iterator[Day]:
    """Live so many weeks, a day at a time. A stumble is kept, and the next day goes on."""
    person = PEOPLE[name]
    days, left = str(person["days"]).split(","), int(person["left"])
    body = InventedBody(int(person["first_left"])) if "first_left" in person else None
    known: set[str] = set()
    for _ in range(DAYS_OF_A_WEEK * weeks):
        now = phone.clock("morning")
        day = Day(now.astimezone(ZONE).date())
        weekday = day.on.isoweekday()
        lasts = partial(_lasts, client=client, now=now, slower=SLOWER.get(name, 1.0))
        try:
            good_morning(phone)
            if str(weekday) in days:
                known_plan = partial(phone.store.run_now, _plan_of, client, now)
                lives = Lives(body, known_plan, day.sets) if body is not None else None
                day.said = session(phone, left, lasts, lives)
            else:
                day.said = easy_day(phone, day, sink=weekday == SINK_WEEKDAY)
        except (LookupError, TimeoutError, httpx.HTTPError) as error:
            day.stumbles.append(f"{type(error).__name__}: {_line(str(error))}")
        day.plan = phone.store.run_now(_plan_of, client, now)
        told = [one for one in phone.entries(SHOWN_OF_A_DAY) if one["id"] not in known]
        known.update(one["id"] for one in told)
        texts = [_line(one["text"]) for one in told if one["from"] == "bot"]
        day.stumbles += [text for text in texts if STUMBLES.search(text)]
        day.word = next((text for text in texts if _is_week_word(text)), "")
        yield day


def _is_week_word(text: str) -> bool:
    return text.startswith(("Your week,", "A quiet week,"))


def _lasts(unit: UnitOfWork, client: PersonId, now: datetime, slower: float) -> int:
    """How many minutes the session of the day truly takes somebody."""
    plan = _plan_of(unit, client, now)
    if plan is None:
        raise LookupError("no session runs")
    around = plan.warm_up_minutes + plan.cool_down_minutes
    return round(around + slower * (minutes_taken(plan, reference().catalogue) - around))


def _plan_of(unit: UnitOfWork, client: PersonId, now: datetime) -> SessionPlan | None:
    """The plan behind the session of the day; ``None`` on a day without one."""
    me = people.get_person(unit, client)
    session = StoreFacts(unit, me, now, reference()).session(client, me.local(now).date())
    return session.plan if session is not None and session.status != "planned" else None


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


@dataclass
class Lives:
    """A session that a body lives: the plan as it is now, and the sets so far."""

    body: InventedBody
    plan: Callable[[], SessionPlan | None]
    sets: list[SetLived]

    def at(self, card: str) -> SetLived | None:
        """The set of the movement that a card shows; ``None`` where it shows no strength."""
        place, plan = re.search(r"^(\d+) of \d", card, re.MULTILINE), self.plan()
        if place is None or plan is None:
            return None
        lived_set = self.body.does(plan.prescriptions[int(place[1]) - 1])
        if lived_set is not None:
            self.sets.append(lived_set)
        return lived_set


def session(
    phone: Phone, left: int, lasts: Callable[[UnitOfWork], int], lives: Lives | None = None
) -> str:
    """The day's session by its buttons; its list, and the last words.

    Args:
        lasts: the minutes that it took, read at its end.
        lives: whose body decides what is done; all is done as planned where there is none.
    """
    listed = phone.types("/today")[-1]
    if "About" not in listed:
        return f"NO SESSION: {listed}"
    phone.taps("start")
    if lives is not None:
        lives.body.new_day()
    said: list[str] = []
    done: SetLived | None = None
    for _ in range(MOST_TAPS):
        offered = phone.values()
        planned = [value for value in offered if value.startswith("did=")]
        if "ended=told_to_stop" in offered:
            failed = done is not None and done.ended is Ended.COULD_NOT
            said = phone.taps("ended=could_not" if failed else "ended=told_to_stop")
        elif f"left={left}" in offered:
            said = phone.taps(f"left={left}")
        elif "ready" in offered:
            said = phone.taps("ready")
        elif planned:
            shown = phone.shown()[-1]["text"]
            done = lives.at(shown) if lives is not None else None
            if done is not None:
                said = phone.types(str(done.amount)) if done.amount else phone.taps("leave_out")
                continue
            said = phone.taps(planned[-1] if "as many" in shown else planned[2])
        elif "done" in offered:
            said = phone.taps("done")
        elif "effort=4" in offered:
            said = phone.taps("effort=4")
        elif any(value.startswith("minutes=") for value in offered):
            said = phone.types(str(phone.store.run_now(lasts)))
            break
        else:
            raise LookupError(f"the session does not go on: {said} {offered}")
    return f"{_line(listed)}\n      > {_line(said[-1])}"


def easy_day(phone: Phone, day: Day, *, sink: bool) -> str:
    """A walk; on one day of the week balance at the sink before it."""
    told = []
    if sink:
        day.sink = _line(phone.types("/balance")[-1])
        told.append(day.sink)
        if "steady" in phone.values():
            phone.taps("steady")
    told.append(_line(phone.types("/walk")[-1]))
    if "talked" in phone.values():
        told.append(_line(phone.taps("talked")[-1]))
        walked = re.search(r"(\d+) minute", told[-1])
        day.walked = int(walked[1]) if walked else 0
    return " | ".join(told)


def _line(text: str) -> str:
    return " ".join(text.split())


def table_of(name: str, days: Sequence[Day]) -> Table:
    """Week by week, as a trainer could read it."""
    table = Table(title=f"{name}: weeks lived on the page", show_lines=True)
    columns = ("week", "minutes", "families: rung, sets x number; left out", "balance", "walks")
    for column in columns:
        table.add_column(column)
    table.add_column("the word of the week")
    for first in range(0, len(days), DAYS_OF_A_WEEK):
        week = days[first : first + DAYS_OF_A_WEEK]
        trained = [(one.on, one.plan) for one in week if one.plan and not one.sink]
        codes = {reason.code.value for _, plan in trained for reason in plan.reasons}
        sink = [found[1] for one in week if (found := re.search(r"About (\d+)", one.sink))]
        walks = [one.walked for one in week if one.walked]
        table.add_row(
            f"{first // DAYS_OF_A_WEEK + 1}{' lighter' if 'lighter_week' in codes else ''}",
            " ".join(str(plan.minutes) for _, plan in trained),
            "\n".join(f"{on:%a}: {told_plan(plan)}" for on, plan in trained),
            " ".join(f"{balance_minutes(plan):.0f}" for _, plan in trained)
            + "".join(f" sink {minutes}" for minutes in sink),
            f"{sum(walks)}: {' '.join(map(str, walks))}",
            "\n".join(one.word for one in week if one.word),
        )
    return table


def _tell(name: str, days: Sequence[Day], coach: Sequence[Mapping[str, Any]]) -> None:
    CONSOLE.print(table_of(name, days))
    stumbles = [f"{day.on:%a %d %b}: {text}" for day in days for text in day.stumbles]
    CONSOLE.print(f"Went wrong on the way: {len(stumbles)}")
    for line in stumbles:
        CONSOLE.print(f"  {line}")
    _tell_of_body(days)
    CONSOLE.print("What the coach's phone shows:")
    for one in coach:
        CONSOLE.print("  " + _line(one["text"])[:300])
    CONSOLE.print("Day by day:")
    for day in days:
        CONSOLE.print(f"{day.on:%a %d %b}: {day.said}")


def _tell_of_body(days: Sequence[Day]) -> None:
    """Of who has a body: what was truly left, by week and set by set."""
    told = int(PEOPLE["Thumb"]["left"])
    for first in range(0, len(days), DAYS_OF_A_WEEK):
        week = days[first : first + DAYS_OF_A_WEEK]
        sets = [one for day in week for one in day.sets]
        if not sets:
            continue
        left = [one.left for one in sets]
        within = sum(1 <= one <= 3 for one in left) / len(left)
        ends = Counter(one.ended.value for one in sets)
        CONSOLE.print(
            f"Week {first // DAYS_OF_A_WEEK + 1}: told {told}, truly left median {median(left):g} "
            f"({min(left)} to {max(left)}), 1 to 3 left {within:.2f}, "
            + ", ".join(f"{end} {times}" for end, times in ends.items())
        )
        for one in sets:
            CONSOLE.print(
                f"  {one.step_key}: {one.amount} of {one.planned}, told {told}, truly {one.left}"
                + (" (as many as she can)" if one.calibration else "")
            )


def main(
    person: Annotated[str, typer.Option(help="one of them; all, where none is named")] = "",
    weeks: Annotated[int, typer.Option()] = 8,
    port: Annotated[int, typer.Option()] = 8720,
) -> None:
    """Live the weeks of one, or of all one after the other, each on a page of their own."""
    for name in [person] if person else list(PEOPLE):
        began = time.monotonic()
        with trial([name], port) as (url, store), _browser(url) as client:
            _wait(client)
            phone = Phone(client, phone_of(name), store)
            days: list[Day] = []
            with Progress(console=Console(stderr=True)) as progress:
                bar = progress.add_task(name, total=DAYS_OF_A_WEEK * weeks)
                for day in lived(phone, store.run_now(_id_of, name), name, weeks):
                    days.append(day)
                    progress.advance(bar)
            _tell(name, days, Phone(client, COACH, store, most=500).shown())
        CONSOLE.print(f"{name} took {time.monotonic() - began:.0f} seconds")


def _id_of(unit: UnitOfWork, name: str) -> PersonId:
    (found,) = people.speakers(unit, NAME, phone_of(name))
    return found.id


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
