"""The invented people of the trial: who they are, and how they answer on a given day."""

import random
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import yaml

from bot.reference.catalogue import TEMPLATES

ITEMS = ("sleep", "tiredness", "soreness", "stress", "mood")
NOISE = (-1, 0, 0, 0, 0, 1)
LOWEST_BY_CHANCE = 2
LEAST_LEFT, MOST_LEFT = 0, 5
SURPRISE_FADES_AFTER = 8
"""Sessions in which the program comes to know a client's strength."""


@dataclass(frozen=True, slots=True)
class InventedCoach:
    """A coach, her phone, and how she answers when joining."""

    name: str
    phone: str
    answers: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class InventedClient:
    """A client of the trial; see ``templates/trial/practice.yaml`` for what the parts mean."""

    name: str
    phone: str
    since: int | None
    cleared: bool
    doctor: str
    answers: Mapping[str, Any]
    usual: Mapping[str, int]
    strength: float
    skips: float
    days: Mapping[int | str, Mapping[str, Any]]

    def zone(self, default: Mapping[str, str]) -> ZoneInfo:
        """Her time zone; ``default``: the one of each country with a single zone."""
        return ZoneInfo(self.answers.get("zone") or default[self.answers["country"]])

    @property
    def checkin_at(self) -> time:
        """When she is asked in the morning."""
        at = str(self.answers["checkin_at"])
        return time(int(at[:2]), int(at[2:]))

    def trains_on(self, day: date) -> bool:
        """Whether this is one of her training days."""
        return str(day.isoweekday()) in str(self.answers["days"])

    def joining_answers(self, today: date) -> dict[str, Any]:
        """Answers by question, days made into dates."""
        answers = {"consent": "agree", "country_right": "yes", "called": "keep", **self.answers}
        said = answers.get("doctor_said")
        if isinstance(said, int):
            answers["doctor_said"] = (today - timedelta(days=said)).isoformat()
        return answers

    def morning(self, chance: random.Random, different: Mapping[str, Any]) -> dict[str, str]:
        """The answers of one morning, by question."""
        answers: dict[str, Any] = {"trouble": "nothing", "settled": "partly"}
        for item in ITEMS:
            by_chance = self.usual[item] + chance.choice(NOISE)
            answers[item] = min(5, max(LOWEST_BY_CHANCE, by_chance))
        return {key: str(value) for key, value in {**answers, **different}.items()}

    def left_in_hand(self, chance: random.Random, expected: float, sessions: int) -> int:
        """What is left after a set: what was expected, and a surprise that fades."""
        surprise = self.strength / (1 + sessions / SURPRISE_FADES_AFTER)
        left = round(expected + surprise + chance.gauss(0, 0.6))
        return min(MOST_LEFT, max(LEAST_LEFT, left))


@dataclass(frozen=True, slots=True)
class InventedPractice:
    """Everybody."""

    coach: InventedCoach
    backup: InventedCoach
    clients: tuple[InventedClient, ...]


def load_practice() -> InventedPractice:
    """Read the invented practice."""
    data = yaml.safe_load((TEMPLATES / "trial" / "practice.yaml").read_text(encoding="utf-8"))
    return InventedPractice(
        coach=InventedCoach(**data["coach"]),
        backup=InventedCoach(**data["backup"]),
        clients=tuple(_client(part) for part in data["clients"]),
    )


def _client(part: Mapping[str, Any]) -> InventedClient:
    since = part["since"]
    return InventedClient(
        name=part["name"],
        phone=part["phone"],
        since=None if since == "all" else int(since),
        cleared=bool(part.get("cleared", True)),
        doctor=part.get("doctor", ""),
        answers=part["answers"],
        usual=part["usual"],
        strength=float(part["strength"]),
        skips=float(part["skips"]),
        days=part["days"],
    )
