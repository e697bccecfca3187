"""Twelve invented people from joining to their third session.

``python -m tests.bench.twelve_people`` prints, for each, the rows that hold, what the coach is to
ask, and the movements of three sessions; beside a movement the rows that leave out something of
its family for the same body and kit, and "in hand" where more is left in hand. Names after the
command choose people.
"""

import asyncio
import sys
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from bot.flows.record.steered import asks_of_coach, steering_today
from bot.storage import people
from bot.storage.facts import StoreFacts
from bot.storage.people import get_person
from bot.storage.unit import UnitOfWork
from core.client.care import is_careful
from core.client.client import Client
from core.client.steering import cares_of
from core.movements.ladder import LadderStep, ladder
from core.vocabulary import Family, PersonId, WalkingAid
from tests.support.facts import reference
from tests.support.generated_clients import broken_rows
from tests.support.joining import clears, joins
from tests.support.practice import CHANNEL, NEW_ZEALAND, Practice, practice
from tests.support.sessions import finish, tap, values

SESSIONS = 3
SOME: Mapping[str, Any] = {
    "medicines_any": "some",
    "medicines_heart": [],
    "medicines_breath": [],
    "medicines_other": [],
}
ALONE: Mapping[str, Any] = {"fears_falling": "yes", "lives_alone": "yes", "floor": "no"}
PEOPLE: Mapping[str, Mapping[str, Any]] = {
    "Ana": {},
    "Bert": {
        **SOME,
        "sex": "m",
        "birth_year": "1944",
        "conditions_heart": ["pressure"],
        "medicines_heart": ["ace_or_arb", "diuretic"],
    },
    "Cora": {
        "conditions_other": ["hip_knee_arthritis"],
        "replaced_joints": ["left knee"],
        "operation1_on": "2019",
        "operation1_limits": ["no_kneeling"],
        "operation1_until": "",
        "spares": ["knee"],
        "cushion": "6",
    },
    "Dora": {
        "replaced_joints": ["right hip"],
        "operation1_on": "this_month",
        "operation1_limits": ["bend", "weight"],
        "operation1_bend": "90",
        "operation1_weight": "5",
        "operation1_until": "12",
        "cushion": "10",
    },
    "Ewan": {"sex": "m", "replaced_joints": ["left hip"], "operation1_on": ""},
    "Fay": {
        **ALONE,
        "conditions_heart": ["stroke"],
        "conditions_other": ["thin_bones"],
        "falls": "2",
        "walking_aid": "stick",
    },
    "Gus": {
        **SOME,
        "sex": "m",
        "conditions_heart": ["heart_failure", "rhythm"],
        "medicines_heart": ["beta_blocker", "blood_thinner", "diuretic"],
    },
    "Hana": {
        **SOME,
        "conditions_other": ["diabetes", "nerve_loss"],
        "medicines_breath": ["insulin"],
    },
    "Ivan": {
        **SOME,
        "sex": "m",
        "birth_year": "1960",
        "conditions_other": ["asthma"],
        "medicines_breath": ["reliever_inhaler"],
        "doctor_plan": "Two puffs ten minutes before sport",
    },
    "Joan": {
        **ALONE,
        **SOME,
        "conditions_other": ["parkinson"],
        "falls": "1",
        "walking_aid": "frame",
        "medicines_other": ["levodopa"],
    },
    "Kiri": {"birth_year": "1988", "conditions_other": ["pregnancy"], "active": "yes"},
    "Lou": {
        **SOME,
        "sex": "m",
        "operations": ["chest", "left shoulder"],
        "operation1_on": "last_month",
        "operation1_limits": ["weight"],
        "operation1_weight": "2",
        "operation1_until": "12",
        "operation2_on": "2026",
        "operation2_limits": ["arm_chest"],
        "operation2_until": "12",
        "conditions_heart": ["heart"],
        "conditions_other": ["diabetes"],
        "medicines_heart": ["beta_blocker"],
        "medicines_breath": ["sulfonylurea"],
        "medicines_other": ["ssri"],
    },
}
COACH_SAYS: Mapping[str, Any] = {
    "operation1_on": "last_month",
    "operation1_approach": "posterior",
    "operation1_limits": ["bend"],
    "operation1_bend": "90",
    "operation1_until": "12",
    "operation2_limits": [],
}
MANY = 12
"""Questions before a session, at most."""


def _seen(village: Practice, who: str) -> tuple[Client, list[str], list[str], Sequence[LadderStep]]:
    """The client, rows that hold, what is open for the coach, and today's movements."""

    def ask(unit: UnitOfWork) -> tuple[Client, list[str], list[str], Sequence[LadderStep]]:
        person = village.ids[who]
        me = get_person(unit, person)
        facts = StoreFacts(unit, me, village.clock.now(), reference())
        today = me.local(village.clock.now()).date()
        client = facts.client(person).client
        rows = [row.id for row in steering_today(client, facts, today).rows]
        session = facts.session(person, today)
        plan = session.plan if session is not None else None
        items = plan.prescriptions if plan is not None else ()
        return client, rows, asks_of_coach(client, facts, today), [one.step for one in items]

    return village.app.database.run_now(ask)


async def _session(village: Practice, who: str) -> None:
    """The plan that is shown, done as planned, with the questions that come before it."""
    await tap(village, "start", who)
    for _ in range(MANY):
        offered = values(village, who)
        if any(value.startswith("did=") for value in offered):
            break
        answer = next((one for one in ("ready", "none", "not_used", "done") if one in offered), "")
        if answer:
            await village.wait(3)
            await tap(village, answer, who)
        else:
            await village.says(who, "7.5")
    await finish(village, who)


async def _walk(name: str) -> None:
    told, who = PEOPLE[name], name.lower()
    start = datetime(2026, 3, 2, 18, 0, tzinfo=ZoneInfo(NEW_ZEALAND))
    with tempfile.TemporaryDirectory() as folder:
        async with practice(Path(folder), start) as village:
            await village.coach("Rua")
            week = {"days": "own", "training_days": list("1234567")}
            await joins(village, name, **{**told, **week})
            await clears(village, name, **COACH_SAYS)
            with village.app.database.unit() as unit:
                village.ids[who] = _id_of(unit, who)
            for number in range(SESSIONS):
                await village.at("07:00", days=1 if number else 0)
                await village.good_morning(who)
                if "sugar" in village.last_to(who):
                    await village.says(who, "7.5")
                await village.says(who, "/today")
                client, rows, asks, steps = _seen(village, who)
                if not number:
                    _print(f"## {name}: {', '.join(rows) or 'no row'}")
                    _print(f"   to ask: {', '.join(asks) or 'nothing'}")
                today = village.clock.now().date()
                for step in steps:
                    why = ", ".join(_shaped_by(client, step.family, today))
                    _print(f"   {number + 1}. {step.key:55} {why}")
                await _session(village, who)


def _shaped_by(client: Client, family: Family, today: date) -> list[str]:
    """Rows that leave out something of a family for this body and kit; "in hand" for more of it."""
    catalogue = reference().catalogue
    sound = replace(
        client,
        conditions=frozenset(),
        medicines=frozenset(),
        spares=frozenset(),
        operations=(),
        falls=0,
        fears_falling=False,
        walking_aid=WalkingAid.NONE,
        lives_alone=False,
        floor_ok=True,
        told=frozenset(),
    )
    all_there = ladder(sound, family, catalogue, today)
    broken = {row for row, _ in broken_rows(client, catalogue, all_there, today)}
    words = sorted(broken - {"all together"})
    if broken and client.protected:
        words.append("spared: " + " ".join(sorted(client.protected)))
    return [
        *words,
        *(["in hand"] if is_careful(client, cares_of(client, catalogue.steering)) else []),
    ]


def _id_of(unit: UnitOfWork, who: str) -> PersonId:
    (person,) = people.speakers(unit, CHANNEL, who)
    return person.id


def _print(text: str) -> None:
    print(text, flush=True)  # noqa: T201 # it is a command


async def _all(names: Sequence[str]) -> None:
    for name in names:
        await _walk(name)


if __name__ == "__main__":
    asyncio.run(_all(sys.argv[1:] or list(PEOPLE)))
