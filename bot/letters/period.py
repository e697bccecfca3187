"""What a record holds of one stretch of days, as a letter tells it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean
from typing import Any

from bot.flows.facts import Alert, Checkin, ClientRecord, Session
from bot.flows.record.told_to_coach import sugar_as_told
from bot.storage.facts import StoreFacts
from core.dose.history import PainTold
from core.programme.walking import WalkDone
from core.readiness.morning_questions import MorningQuestion
from core.vocabulary import AlertLevel, DayPlan, Sign

NEVER_TOLD = frozenset({Sign.ABUSE})
"""Whoever told of it is not safe from whoever reads the letter."""

WEEK = 7
LATEST = 3


@dataclass(frozen=True, slots=True)
class WeekTold:
    """A week of the period, from its first day on.

    Attributes:
        effort: mean over the rated sessions, 0 to 10; None without one.
        walked: minutes.
        mornings: finished check-ins.
        easy: of them, days eased or without training.
    """

    begins: date
    sessions: int
    minutes: int
    effort: float | None
    walked: int
    mornings: int
    easy: int


@dataclass(frozen=True, slots=True)
class NumberTold:
    """A number that the client told on a day; ``size`` is what it is sorted by."""

    on: date
    size: float
    value: str


@dataclass(frozen=True, slots=True)
class Measured:
    """One kind of number over the period, pressure by its upper value; ``latest``: newest last."""

    what: str
    times: int
    lowest: NumberTold
    highest: NumberTold
    latest: Sequence[NumberTold]


@dataclass(frozen=True, slots=True)
class Period:
    """The days from ``begins`` to ``ends``, and what was told and done in them, oldest first."""

    begins: date
    ends: date
    record: ClientRecord
    checkins: Sequence[Checkin]
    sessions: Sequence[Session]
    walks: Sequence[WalkDone]
    pains: Sequence[PainTold]
    alerts: Sequence[Alert]

    @property
    def weeks(self) -> list[WeekTold]:
        """Its weeks, oldest first; those before the first day of the record are left out."""
        found: list[WeekTold] = []
        begins = self.begins
        while begins <= self.ends:
            week = self._week(begins)
            if found or week.sessions or week.mornings or week.walked:
                found.append(week)
            begins += timedelta(days=WEEK)
        return found

    @property
    def measured(self) -> list[Measured]:
        """Pressures, sugars, resting pulses and weights that were told in the mornings."""
        unit = self.record.client.limits.glucose_unit
        shown: Mapping[MorningQuestion, tuple[str, Callable[[Any], str]]] = {
            MorningQuestion.PRESSURE: ("pressure", lambda told: f"{told} mmHg"),
            MorningQuestion.GLUCOSE: ("sugar", lambda told: sugar_as_told(float(told), unit)),
            MorningQuestion.PULSE: ("pulse", lambda told: f"{float(told):g} a minute"),
            MorningQuestion.WEIGHT: ("weight", lambda told: f"{float(told):g} kg"),
        }
        found: list[Measured] = []
        for question, (what, said) in shown.items():
            told = [
                NumberTold(
                    one.on, _size(one.answers[question.value]), said(one.answers[question.value])
                )
                for one in self.checkins
                if one.answers.get(question.value)
            ]
            if told:
                lowest = min(told, key=lambda one: one.size)
                highest = max(told, key=lambda one: one.size)
                found.append(Measured(what, len(told), lowest, highest, told[-LATEST:]))
        return found

    def _week(self, begins: date) -> WeekTold:
        ends = begins + timedelta(days=WEEK - 1)
        sessions = [one for one in self.sessions if begins <= one.on <= ends]
        efforts = [one.effort for one in sessions if one.effort is not None]
        mornings = [one for one in self.checkins if begins <= one.on <= ends]
        easy = [one for one in mornings if one.day_plan in (DayPlan.EASE_OFF, DayPlan.REST)]
        return WeekTold(
            begins,
            len(sessions),
            round(sum(one.minutes or 0.0 for one in sessions)),
            round(fmean(efforts), 1) if efforts else None,
            round(sum(walk.minutes for walk in self.walks if begins <= walk.on <= ends)),
            len(mornings),
            len(easy),
        )


def _size(told: str | float) -> float:
    """What a number is sorted by; of a pressure the upper value."""
    return float(str(told).partition("/")[0])


def period_of(facts: StoreFacts, record: ClientRecord, days: int) -> Period:
    """The last ``days`` days on the client's own calendar, today included."""
    ends = record.person.local(facts.now).date()
    begins = ends - timedelta(days=days - 1)
    sessions = [one for one in facts.sessions(record.id, days) if one.status == "finished"]
    alerts = [
        one
        for one in facts.alerts([record.id], days)
        if one.level is not AlertLevel.MENTION and not NEVER_TOLD & set(one.signs)
    ]
    return Period(
        begins,
        ends,
        record,
        [one for one in facts.checkins(record.id, days) if one.on >= begins],
        [one for one in sessions if one.on >= begins],
        [one for one in facts.walks(record.id, days) if one.on >= begins],
        sorted(
            (one for one in facts.history(record.id).pains if begins <= one.on <= ends),
            key=lambda one: one.on,
        ),
        alerts[::-1],
    )
