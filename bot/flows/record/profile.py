"""A client's joining answers: their keys, and what the rules of ``core`` read out of them.

Answers are plain JSON values under these keys. A key that is missing keeps the cautious default.
"""

from datetime import date, time

from bot.flows.facts import Answers
from core.client.client import Clearance, Client, KitAtHome, Limits
from core.client.operations import operations_of
from core.client.own_aim import families_for
from core.client.set_week import SetWeek, WeekStart
from core.client.told import CHOICES, Told
from core.dose.prior import CoachWord
from core.vocabulary import Aim, Band, Condition, Family, Medicine, Sex, Spare, WalkingAid

MINUTES, FLOOR_WORK = "session_minutes", "floor_work"
WEEK, WEEK_BEFORE, WEEK_TOLD = "week", "week_before", "week_told_on"
"""Profile keys of the programme; ``week_before`` is what "undo" brings back, ``week_told_on`` the
day on which the client was last told that the coach has changed it."""

RESTART_DUE, RESTART_AT = "restart_due", "restart_at"
"""Profile keys: an operation or a stay in hospital ended the clearance; when it was given anew."""

DOCTOR_LETTER_ON = "doctor_letter_on"
"""Profile key: the day on which the client agreed to a letter for the doctor."""

REVIEWED_ON = "reviewed_on"
"""Profile key: the day on which the coach last had a review written."""

TOLD = "told"
"""Profile key of what the coach was told of conditions before she cleared."""

CAUTIOUS_BIRTH_YEAR = 1945
"""Used until the year is known: older is the careful guess."""


def client_of(
    answers: Answers,
    *,
    name: str,
    country: str,
    zone: str,
    checkin_at: time,
    training_days: tuple[int, ...],
) -> Client:
    """The client as the rules read them.

    Keys: ``birth_year``, ``sex`` ("f", "m"), ``stature_cm``, ``mass_kg``, ``conditions``,
    ``medicines``, ``spares``, ``replaced_joints``, ``pacemaker_on`` and ``medicine_changed_on``
    (ISO dates), ``floor`` (bool), ``falls`` (number), ``fears_falling`` and ``lives_alone``
    (bool), ``walking_aid`` (:class:`core.vocabulary.WalkingAid`), ``kit`` (by
    :class:`core.vocabulary.Kit` name, and ``cushion``, cm), ``aim``,
    ``limits`` (see ``limits_of``), ``cleared_by``, ``cleared_on``, ``cleared_until``.
    ``replaced_joints`` and ``operations`` (all others) hold values
    (:func:`core.client.operations.operation_json`), ``replaced_joints`` words in older profiles;
    ``floor_work`` (false: can, but does not want to be on the floor),
    ``session_minutes`` (0: no limit) and ``week`` (see ``week_set``) shape the programme;
    ``told`` holds answers by what was asked (:mod:`core.client.told`);
    ``own_aim``: the value of a :class:`core.client.own_aim.OwnAim`, or the client's own words.
    """
    return Client(
        name=name,
        country=country,
        zone=zone,
        birth_year=int(answers.get("birth_year") or CAUTIOUS_BIRTH_YEAR),
        sex=Sex(answers.get("sex") or Sex.FEMALE),
        stature_cm=answers.get("stature_cm"),
        mass_kg=answers.get("mass_kg"),
        conditions=frozenset(Condition(item) for item in answers.get("conditions", ())),
        medicines=frozenset(Medicine(item) for item in answers.get("medicines", ())),
        spares=frozenset(Spare(item) for item in answers.get("spares", ())),
        operations=operations_of(
            [*answers.get("replaced_joints", ()), *answers.get("operations", ())]
        ),
        pacemaker_on=_day(answers.get("pacemaker_on")),
        medicine_changed_on=_day(answers.get("medicine_changed_on")),
        floor_ok=bool(answers.get("floor", False)) and answers.get(FLOOR_WORK) is not False,
        falls=answers.get("falls"),
        fears_falling=answers.get("fears_falling"),
        walking_aid=WalkingAid(answers["walking_aid"]) if answers.get("walking_aid") else None,
        lives_alone=answers.get("lives_alone"),
        told=told_of(answers.get(TOLD) or {}),
        wished_families=families_for(str(answers.get("own_aim") or "")),
        kit=kit_of(answers.get("kit", {})),
        aim=Aim(answers.get("aim") or Aim.ENDURANCE),
        limits=limits_of(answers.get("limits", {})),
        clearance=_clearance_of(answers),
        checkin_at=checkin_at,
        training_days=training_days,
        session_minutes=answers.get(MINUTES),
        week=week_set(answers.get(WEEK) or {}),
    )


def told_of(told: Answers) -> Told:
    """Answers of the coach about conditions, by what was asked; unknown ones are left out."""
    return frozenset((ask, said) for ask, said in told.items() if said in CHOICES.get(ask, ()))


def week_set(week: Answers) -> SetWeek:
    """What the coach has set: ``start``; ``days`` and ``sets`` by weekday ("1" Monday)."""
    days, sets = week.get("days", {}), week.get("sets", {})
    return SetWeek(
        WeekStart(week.get("start") or WeekStart.GENERAL),
        {int(day): tuple(Family(one) for one in families) for day, families in days.items()},
        {int(day): {Family(one): int(n) for one, n in of.items()} for day, of in sets.items()},
    )


def coach_word_of(answers: Answers) -> CoachWord | None:
    """What the coach says of the client's strength (``fitness``), before there are sets."""
    told = answers.get("fitness")
    return CoachWord(told) if told else None


def kit_of(kit: Answers) -> KitAtHome:
    """Kit from its answers; what was not said is not there, except a chair, a wall and a mat."""
    band = kit.get("band")
    return KitAtHome(
        chair=kit.get("chair", KitAtHome().chair),
        bench=kit.get("bench"),
        table=kit.get("table"),
        step=kit.get("step"),
        bottle=kit.get("bottle"),
        band=Band(band) if band else None,
        wall=bool(kit.get("wall", True)),
        mat=bool(kit.get("mat", True)),
        cushion=kit.get("cushion"),
    )


def limits_of(limits: Answers) -> Limits:
    """The coach's limits: ``ceilings``, ``floors`` by family, ``forbidden``, ``overhead``, ..."""
    plain = Limits()
    return Limits(
        ceilings={Family(key): float(most) for key, most in limits.get("ceilings", {}).items()},
        floors={Family(key): float(least) for key, least in limits.get("floors", {}).items()},
        forbidden=frozenset(limits.get("forbidden", ())),
        overhead_allowed=bool(limits.get("overhead", False)),
        pulse_cap_percent=float(limits.get("pulse_cap", plain.pulse_cap_percent)),
        numbers_asked=frozenset(limits.get("numbers", ())),
        pulse_line=float(limits.get("pulse_line", plain.pulse_line)),
        pressure_calm_on=_day(limits.get("pressure_calm")),
        glucose_unit=str(limits.get("glucose_unit", plain.glucose_unit)),
        glucose_unit_fixed="glucose_unit" in limits,
    )


def _clearance_of(answers: Answers) -> Clearance | None:
    on = _day(answers.get("cleared_on"))
    if on is None:
        return None
    return Clearance(str(answers.get("cleared_by", "")), on, _day(answers.get("cleared_until")))


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None
