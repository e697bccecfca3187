"""What a client has done: sets, sessions and pains as plain values, oldest first.

Everything dose decides can be worked out again from a history; nothing here is a judgement.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from core.vocabulary import Family, Spare

MOST_LEFT_TOLD = 5
"""Left in hand is told as 0 to 4, or "5 or more", stored as 5."""


class Unit(StrEnum):
    """What a set is counted in."""

    REPS = "reps"
    SECONDS = "seconds"


class Ended(StrEnum):
    """Why a set ended where it did, as the client told it."""

    AS_PLANNED = "as_planned"
    TOLD_TO_STOP = "told_to_stop"
    COULD_NOT = "could_not"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class SetDone:
    """One set as logged.

    Attributes:
        on: the client's local date.
        step_key: which step of the ladder (:attr:`core.movements.ladder.LadderStep.key`).
        demand: the step's demand, in the family's own unit.
        amount: clean repetitions, or seconds held.
        left: clean repetitions still in hand as the client told it, 5 for "5 or more"; for a hold,
            blocks of five seconds; ``None`` when not asked or not answered.
        slip: form slipped, or in a balance hold the hand touched the support.
        pain: worst pain of the set, 0 to 10.
        planned: the amount asked for; ``None`` for a set outside a plan.
        stop_at_left: the client was told to stop with this many left; 3 or fewer is hard work.
        lowest_good_left: lower end of the range aimed at, from which the set counts as good.
        eased: the set belonged to an ease-off day.
        day_shift: expected change of log capacity from the morning's readiness; ``None`` without
            a check-in.
        planned_top: the most repetitions the aim allowed, for the rule of holes in a ladder.
        ended: why it ended; ``None`` where nobody was asked, so that it has to be inferred.
        calibration: it was meant to go as far as two are left, to see how far that is.
        watched: the coach stood beside, counted, and judged what was left.
        quick: light and quick in place of harder work: no measure of strength, nor of what is next.
        sets: how many alike were done, of which this is the last: they take time and are counted in
            minutes, but are no further measure of strength.
    """

    on: date
    family: Family
    step_key: str
    demand: float
    unit: Unit
    amount: int
    left: int | None
    slip: bool = False
    pain: int = 0
    planned: int | None = None
    stop_at_left: int = 1
    lowest_good_left: int = 1
    eased: bool = False
    day_shift: float | None = None
    planned_top: int | None = None
    ended: Ended | None = None
    calibration: bool = False
    watched: bool = False
    quick: bool = False
    sets: int = 1

    @property
    def ended_short(self) -> bool:
        """Whether fewer were done than planned."""
        return self.planned is not None and self.amount < self.planned


@dataclass(frozen=True, slots=True)
class SessionDone:
    """A finished session: effort by the session scale (0 to 10) and minutes, where told."""

    on: date
    effort: int | None = None
    minutes: int | None = None


@dataclass(frozen=True, slots=True)
class PainTold:
    """A pain outside the count of a set, told with the "hurts" button or in the morning.

    Attributes:
        family: the movement that hurt; ``None`` when not tied to one.
        where: the joint, where it is one that rungs can spare.
        how_much: 0 to 10.
        settled: the next morning's answer; ``None`` until asked.
    """

    on: date
    family: Family | None
    where: Spare | None
    how_much: int
    sharp: bool = False
    settled: bool | None = None


@dataclass(frozen=True, slots=True)
class History:
    """All that a client has done, each tuple oldest first.

    Attributes:
        watched: sets that the coach saw and judged. They tell how strong a client is, and are no
            work of their own: she logs the same sets herself, which the rules go by.
    """

    sets: tuple[SetDone, ...] = ()
    sessions: tuple[SessionDone, ...] = ()
    pains: tuple[PainTold, ...] = ()
    watched: tuple[SetDone, ...] = ()

    def telling(self) -> tuple[SetDone, ...]:
        """Sets that tell of strength, oldest day first; of a day those that were watched last."""
        if not self.watched:
            return self.sets
        return tuple(sorted((*self.sets, *self.watched), key=lambda done: done.on))

    def of_family(self, family: Family) -> tuple[SetDone, ...]:
        """The family's sets, oldest first."""
        return tuple(done for done in self.sets if done.family == family)

    def sets_on(self, day: date) -> tuple[SetDone, ...]:
        """The sets of one date."""
        return tuple(done for done in self.sets if done.on == day)

    def days_trained(self) -> tuple[date, ...]:
        """Each date with at least one set, oldest first: the sessions as far as doses count."""
        return tuple(dict.fromkeys(done.on for done in self.sets))

    def days_worked(self) -> tuple[date, ...]:
        """The same without days of balance alone, unless balance is all there ever was."""
        worked = dict.fromkeys(done.on for done in self.sets if done.family is not Family.BALANCE)
        return tuple(worked) or self.days_trained()

    def by(self, today: date) -> "History":
        """The same, with what lies on a later day than today as of today.

        Whoever flies over the date line, or has a town corrected, did it an hour ago.
        """
        days = (
            *(one.on for one in self.sets),
            *(one.on for one in self.sessions),
            *(one.on for one in self.pains),
            *(one.on for one in self.watched),
        )
        if all(day <= today for day in days):
            return self
        return replace(
            self,
            sets=tuple(replace(one, on=min(one.on, today)) for one in self.sets),
            sessions=tuple(replace(one, on=min(one.on, today)) for one in self.sessions),
            pains=tuple(replace(one, on=min(one.on, today)) for one in self.pains),
            watched=tuple(replace(one, on=min(one.on, today)) for one in self.watched),
        )

    def before(self, day: date) -> "History":
        """What was known when ``day`` was planned: with pains told that morning, without its sets.

        A pain tied to a movement was told in the session itself; one told in the morning is not.
        """
        return History(
            tuple(done for done in self.sets if done.on < day),
            tuple(session for session in self.sessions if session.on < day),
            tuple(
                pain
                for pain in self.pains
                if pain.on < day or (pain.on == day and pain.family is None)
            ),
            tuple(done for done in self.watched if done.on < day),
        )


def by_day(sets: tuple[SetDone, ...]) -> Iterator[tuple[SetDone, ...]]:
    """Sets grouped by date, oldest day first; expects them in order of date."""
    day: list[SetDone] = []
    for done in sets:
        if day and done.on != day[0].on:
            yield tuple(day)
            day = []
        day.append(done)
    if day:
        yield tuple(day)
