"""Today's session: which movements, which rung of each, how many sets, and why.

The answers to "easier", "harder", "hurts" and "no kit" are in :mod:`core.dose.adjustments`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from types import MappingProxyType
from typing import Final

from core.client.care import Care, is_careful
from core.client.client import Client, KitAtHome
from core.client.set_week import WeekStart
from core.client.steering import Steering, SteeringTable, cares_of, steering_of
from core.dose.bounds import never_offered
from core.dose.capacity import Capacity, after_set, open_day
from core.dose.day_order import DayOrder, day_order
from core.dose.dose_model import SECONDS_PER_LEFT
from core.dose.family_record import (
    FIRST_SESSIONS,
    FamilyRecord,
    family_record,
    joints_sore_in,
    sore_joints,
)
from core.dose.gap import NO_LOSS, GapLoss
from core.dose.history import History, Unit
from core.dose.pace import USUAL_REST_SECONDS, own_pace, set_seconds
from core.dose.prescribe import CAREFUL, prescribe, with_spares
from core.dose.prescription import (
    DoseCode,
    DoseReason,
    LeftOut,
    Prescription,
    SessionPlan,
)
from core.dose.prior import DOSED, starting_point, steps_ever
from core.dose.seated import within_start
from core.movements.catalogue import Catalogue
from core.movements.ladder import LadderStep, ladder
from core.readiness.readiness import Readiness
from core.vocabulary import DayPlan, Family

WHOLE_SESSION: Final = (
    Family.SQUAT,
    Family.PUSH,
    Family.PULL,
    Family.HINGE,
    Family.HEEL_RAISE,
    Family.BALANCE,
)
"""In the order to do them: large muscles first, balance while still fresh enough to be safe."""
INSTEAD_OF: Final[Mapping[Family, tuple[Family, ...]]] = {
    Family.SQUAT: (Family.BRIDGE, Family.STEP, Family.BRACE),
    Family.LUNGE: (Family.BRIDGE, Family.SQUAT, Family.BRACE),
    Family.PUSH: (Family.BRACE, Family.BRIDGE, Family.STEP, Family.SIDE_LIFT),
    Family.PULL: (Family.BRACE, Family.BRIDGE, Family.STEP),
    Family.SIDE_LIFT: (Family.BRIDGE, Family.BALANCE, Family.BRACE),
    Family.HINGE: (Family.BRIDGE, Family.BRACE, Family.SIDE_LIFT),
    Family.HEEL_RAISE: (Family.STEP, Family.BRIDGE, Family.BRACE),
    Family.STEP: (Family.HEEL_RAISE, Family.BRIDGE, Family.BRACE),
    Family.BRIDGE: (Family.STEP, Family.SIDE_LIFT, Family.SQUAT),
    Family.BRACE: (Family.BRIDGE, Family.STEP, Family.SIDE_LIFT),
    Family.CARRY: (Family.BRACE, Family.HINGE, Family.BRIDGE, Family.STEP),
    Family.GET_UP: (Family.LUNGE, Family.BRIDGE, Family.BRACE, Family.STEP),
    Family.BALANCE: (Family.SIDE_LIFT, Family.STEP, Family.BRIDGE, Family.BRACE),
    Family.OVERHEAD: (Family.PULL, Family.BRACE, Family.BRIDGE, Family.STEP, Family.SIDE_LIFT),
}
"""Families that take the place of one with nothing to offer, the likest first (ours)."""

TWIN_OF: Final[Mapping[Family, tuple[Family, ...]]] = {Family.HINGE: (Family.BRIDGE,)}
"""The one that also takes the place of a family that was hard yesterday or hurt."""

AWAY: Final = KitAtHome(chair=43.0, wall=True, mat=False)
"""What there is away from home: a firm chair and a wall."""

MINUTES_AFTER_HOLD: Final = 25
"""All of a session after a sign's hold, warm-up and cool-down included (ours: caution)."""

MOVEMENTS_BEFORE_LEAST: Final = 4
"""So many movements stay, by default, before the fewest sets of one are kept (ours)."""

_WARM_UP_MINUTES, _LONG_WARM_UP_MINUTES = 5, 10
SHORT_SESSION_MINUTES: Final = 25
_SHORT_COOL_DOWN_MINUTES: Final = 3
"""Of a session of 25 minutes or less: with five, hardly four movements fit beside balance (four to
six: common practice; ours). Whoever has a condition that asks for care keeps five or ten."""
_SHORT_REST_SECONDS = 60.0
"""Between sets with little time, as the next movement is for other muscles. Else the rests are
those by which a client's own pace is reckoned: whoever takes as long as announced is not slow."""
_SHORT: Final = frozenset({DoseCode.SHORT_OF_TIME, DoseCode.KEPT_TO_TIME})
_ROUNDED_OFF = 0.49
_ROUNDING = 1.0 + 1e-9


@dataclass(frozen=True, slots=True)
class Today:
    """All that a decision of today rests on.

    Attributes:
        capacity: believed capacity with the history's sets in it and today open.
        lightest: only the easiest allowed step of each family, as after a sign's hold.
        pace: how much longer than reckoned this client takes (:mod:`core.dose.pace`).
        steering: what the facts of the client, with all that is spared today, add up to.
    """

    client: Client
    history: History
    order: DayOrder
    plan: DayPlan
    catalogue: Catalogue
    capacity: Capacity
    lightest: bool = False
    pace: float = 1.0
    steering: Steering | None = None
    _ladders: dict[tuple[Family, KitAtHome], tuple[LadderStep, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )

    def steps(self, family: Family) -> tuple[LadderStep, ...]:
        """The client's ladder of a family, easy to hard; of it one step where only that may be."""
        return self._easiest(self._ladder(family)) if self.lightest else self._ladder(family)

    def painless_steps(self, family: Family) -> tuple[LadderStep, ...]:
        """The same without what loads a joint that hurt in this family lately."""
        sore = joints_sore_in(self.history.pains, family, self.order.on)
        painless = tuple(step for step in self._ladder(family) if not step.stresses & sore)
        return self._easiest(painless) if self.lightest else painless

    def _ladder(self, family: Family) -> tuple[LadderStep, ...]:
        known = self._ladders.get((family, self.client.kit))
        if known is None:
            client = with_spares(self.client, self.order.spared)
            steps = ladder(client, family, self.catalogue, self.order.on, self.steering)
            known = within_start(client, steps, self.catalogue)
            self._ladders[family, self.client.kit] = known
        return known

    def may_offer(self, family: Family) -> bool:
        """Whether a step is left today that neither the coach nor a spared joint rules out."""
        client = with_spares(self.client, self.order.spared)
        never = never_offered(client, no_holds=self.order.no_holds)
        return any(never(step) is None for step in self.painless_steps(family))

    def _easiest(self, steps: Sequence[LadderStep]) -> tuple[LadderStep, ...]:
        """The first step that neither the coach nor a spared joint rules out."""
        client = with_spares(self.client, self.order.spared)
        never = never_offered(client, no_holds=self.order.no_holds)
        return next(((step,) for step in steps if never(step) is None), ())

    @property
    def sessions_before(self) -> int:
        """Days with more than balance, before today."""
        return sum(1 for day in self.history.days_worked() if day < self.order.on)

    def record(self, family: Family) -> FamilyRecord:
        """What the history means for a family today."""
        before = self.sessions_before
        pains = [pain for pain in self.history.pains if pain.family is family]
        return family_record(self.history.of_family(family), pains, before, self.order.on)


def believed_capacity(
    client: Client,
    history: History,
    catalogue: Catalogue,
    *,
    year: int,
    word: Mapping[Family, float] | None = None,
) -> Capacity:
    """Capacity worked out anew from start values and every set of the history.

    Args:
        year, word: as :func:`core.dose.prior.starting_point` takes them.
    """
    capacity = starting_point(client, catalogue, year=year, word=word)
    for done in history.telling():
        capacity = after_set(capacity, done)
    return capacity


def _covers(capacity: Capacity, client: Client, catalogue: Catalogue) -> bool:
    """Whether a capacity knows every family of this client: other kit may open another one."""
    missing = [family for family in DOSED if family not in capacity.families]
    return not any(steps_ever(client, family, catalogue) for family in missing)


def today_of(
    client: Client,
    history: History,
    readiness: Readiness,
    catalogue: Catalogue,
    on: date,
    capacity: Capacity | None = None,
    *,
    lightest: bool = False,
    gap: GapLoss = NO_LOSS,
) -> Today:
    """Bring together what today's decisions rest on.

    Args:
        lightest: only the easiest allowed step of each family.
        capacity: as :func:`believed_capacity` gives it, kept warm by the caller by
            :func:`core.dose.capacity.after_set`; worked out anew when left out, or when it lacks a
            family that this client could do.
        gap: what the time away before today is likely to have cost.
    """
    if capacity is None or not _covers(capacity, client, catalogue):
        first = history.sets[0].on if history.sets else on
        capacity = believed_capacity(client, history, catalogue, year=first.year)
    cares = cares_of(client, catalogue.steering)
    order = replace(day_order(readiness), on=on, cares=cares, gap=gap)
    sparing = with_spares(client, sore_joints(history.pains, on))
    return Today(
        sparing,
        history,
        order,
        readiness.plan,
        catalogue,
        open_day(capacity, on, order.expected_shift),
        lightest,
        own_pace(
            history,
            catalogue,
            on,
            around_minutes=around_minutes(client, catalogue.steering, _told_minutes(client)),
        ),
        steering_of(with_spares(sparing, order.spared), catalogue.steering, on),
    )


def plan_session(
    client: Client,
    history: History,
    readiness: Readiness,
    catalogue: Catalogue,
    on: date,
    families: Sequence[Family] | None = None,
    minutes: int | None = None,
    *,
    away: bool = False,
    lightest: bool = False,
    capacity: Capacity | None = None,
) -> SessionPlan:
    """Today's whole session.

    Args:
        families: which movements; the whole session by default.
        minutes: all the time there is today, warm-up and cool-down included.
        away: only a chair and a wall are there.
        lightest: after a sign's hold: the easiest allowed step of each, one set at the fewest of
            its range, three to four left, twenty-five minutes at most.
    """
    client = at_hand(client, away=away)
    today = today_of(client, history, readiness, catalogue, on, capacity, lightest=lightest)
    return session_of(today, families, SessionWish(minutes=minutes, away=away))


def at_hand(client: Client, *, away: bool) -> Client:
    """The client with what there is: at home, or away from it."""
    return replace(client, kit=AWAY) if away else client


@dataclass(frozen=True, slots=True)
class SessionWish:
    """What is wanted of a session beside its movements.

    Attributes:
        minutes: all the time there is today, warm-up and cool-down included.
        usual_minutes: the same of this client's every session; ``None`` for no limit.
        keep: families in the order in which they stay when time is short, the most wanted first;
            by default the order in which they are done.
        least_sets: fewest sets of a family, from the first session on, where there is time.
        before_least: so many movements stay before those fewest sets are kept.
        coach_sets: sets of a family as the coach has set them, as far as the record allows.
        lighter: why all sets are halved, without a step up; ``None`` where they are not.
        away: only a chair and a wall are there.
        why: what else is to be said of the session.
    """

    minutes: int | None = None
    usual_minutes: int | None = None
    keep: tuple[Family, ...] = ()
    least_sets: Mapping[Family, int] = field(default_factory=dict)
    before_least: int = MOVEMENTS_BEFORE_LEAST
    coach_sets: Mapping[Family, int] = field(default_factory=dict)
    lighter: DoseCode | None = None
    away: bool = False
    why: tuple[DoseReason, ...] = ()


def session_of(today: Today, families: Sequence[Family] | None, wanted: SessionWish) -> SessionPlan:
    """The session of a day.

    A rest day has none. A family that was hard yesterday is left out, or its stand-in taken.

    Args:
        families: which movements; the whole session by default.
    """
    if today.plan is DayPlan.REST:
        return _session(today, (), (), (DoseReason(DoseCode.REST_DAY),))
    lightest = today.lightest
    found: list[Prescription] = []
    left_out: list[LeftOut] = []
    for family in WHOLE_SESSION if families is None else families:
        prescription, why_not = _movement(today, family, lighter=wanted.lighter is not None)
        if prescription is None and families is None:
            prescription = _instead_of(today, family, why_not, [one.family for one in found])
        if prescription is not None:
            found.append(prescription)
            if prescription.calibration:
                # One family a session.
                today = replace(today, order=replace(today.order, may_calibrate=False))
        else:
            left_out.append(LeftOut(family, why_not))
    found = _second_sets_one_by_one(today, found)
    found = [_as_coach_set(today, each, wanted.coach_sets.get(each.family)) for each in found]
    if today.client.week.start is WeekStart.GENTLE:
        found = [replace(each, sets=1) for each in found]
    least = {} if lightest or today.order.ease_off else wanted.least_sets
    found = [replace(each, sets=max(each.sets, least.get(each.family, 1))) for each in found]
    reasons = [DoseReason(DoseCode.AWAY_FROM_HOME)] if wanted.away else []
    reasons.extend(wanted.why)
    keep = wanted.keep or tuple(each.family for each in found)
    if lightest:
        after_hold = DoseReason(DoseCode.AFTER_HOLD, {"minutes": MINUTES_AFTER_HOLD})
        lightest_of_all = [at_lightest(each) for each in found]
        found, dropped = _fit(today, lightest_of_all, after_hold, keep, rest=USUAL_REST_SECONDS)
        left_out += dropped
        reasons.append(after_hold)
    if wanted.minutes is not None:
        short = DoseReason(DoseCode.SHORT_OF_TIME, {"minutes": wanted.minutes})
        found, dropped = _fit_with_least(today, found, short, wanted, least)
        left_out += dropped
        reasons.append(short)
    elif wanted.usual_minutes is not None and not lightest:
        kept = DoseReason(DoseCode.KEPT_TO_TIME, {"minutes": wanted.usual_minutes})
        if _work_minutes(today, found, USUAL_REST_SECONDS) > _room(today, kept):
            found, dropped = _fit_with_least(today, found, kept, wanted, least)
            left_out += dropped
            reasons.append(kept)
    if wanted.lighter is not None:
        found = [at_half(each) for each in found]
        reasons.append(DoseReason(wanted.lighter))
    limit = None if lightest else wanted.minutes or wanted.usual_minutes
    return _session(today, tuple(found), tuple(left_out), tuple(reasons), limit)


def _movement(
    today: Today, family: Family, *, lighter: bool = False
) -> tuple[Prescription | None, DoseReason]:
    """The family's prescription today, and why there is none when there is none.

    Args:
        lighter: nothing above what was done before.
    """
    record = today.record(family)
    if record.hard_yesterday:
        return None, DoseReason(DoseCode.HARD_YESTERDAY)
    if record.stopped:
        return None, DoseReason(
            DoseCode.PAIN_NOT_SETTLED if record.not_settled else DoseCode.PAIN_STOP_MOVEMENT
        )
    steps = today.painless_steps(family)
    if lighter and record.base_demand is not None:
        known = tuple(step for step in steps if step.demand <= record.base_demand * _ROUNDING)
        steps = known or steps
    prescription = prescribe(
        today.client,
        steps,
        record,
        today.capacity,
        today.order,
        today.catalogue,
        turns=not (lighter or today.lightest),
    )
    return prescription, DoseReason(DoseCode.NOTHING_ALLOWED)


def _instead_of(
    today: Today, family: Family, why_not: DoseReason, taken: Sequence[Family]
) -> Prescription | None:
    """The likest other family with something to offer that the session does not hold anyway.

    For one that hurts or was hard yesterday only its twin: the others are told why it is left out.
    """
    nothing = why_not.code is DoseCode.NOTHING_ALLOWED
    others = INSTEAD_OF.get(family, ()) if nothing else TWIN_OF.get(family, ())
    for other in others:
        if other not in taken and other not in WHOLE_SESSION:
            prescription, _ = _movement(today, other)
            if prescription is not None:
                return prescription
    return None


def needs_long_warm_up(client: Client, table: SteeringTable) -> bool:
    """Whether a fact about the client asks for ten minutes of warm-up and cool-down."""
    return Care.LONG_WARM_UP in cares_of(client, table)


def warm_up_minutes(client: Client, table: SteeringTable) -> int:
    """Minutes of the warm-up."""
    return _LONG_WARM_UP_MINUTES if needs_long_warm_up(client, table) else _WARM_UP_MINUTES


def cool_down_minutes(client: Client, table: SteeringTable, minutes: int | None) -> int:
    """Minutes of the cool-down: those of the warm-up, less in a short session of who needs no care.

    Args:
        minutes: of the whole session; ``None`` where nothing limits it.
    """
    short = minutes is not None and minutes <= SHORT_SESSION_MINUTES
    cares = cares_of(client, table)
    if short and Care.LONG_WARM_UP not in cares and not is_careful(client, cares):
        return _SHORT_COOL_DOWN_MINUTES
    return warm_up_minutes(client, table)


def around_minutes(client: Client, table: SteeringTable, minutes: int | None) -> int:
    """Warm-up and cool-down of a session of so many minutes; ``None`` for no limit."""
    return warm_up_minutes(client, table) + cool_down_minutes(client, table, minutes)


def _set_seconds(today: Today, prescription: Prescription, rest: float) -> float:
    one = prescription
    return set_seconds(one.step.rung, one.amount, one.unit, today.catalogue) + rest


def _work_minutes(today: Today, prescriptions: Sequence[Prescription], rest: float) -> float:
    """Sets and the rests between them; the cool-down follows the last without a rest."""
    whole = sum(each.sets * _set_seconds(today, each, rest) for each in prescriptions)
    return max(0.0, whole - rest) * today.pace / 60.0


def _second_sets_one_by_one(today: Today, found: Sequence[Prescription]) -> list[Prescription]:
    """One movement more each session gets its further sets; the others stay at one for now.

    All at once would double the work from one session to the next. (Ours; that work should rise
    little by little is ACSM 2009, Med Sci Sports Exerc 41:687-708, who give no rule for sets.)
    """
    more = max(0, today.sessions_before - FIRST_SESSIONS + 1)
    return [*found[:more], *map(_one_set_for_now, found[more:])]


def _one_set_for_now(prescription: Prescription) -> Prescription:
    if prescription.sets == 1:
        return prescription
    reason = DoseReason(DoseCode.SETS_ONE_BY_ONE)
    return replace(prescription, sets=1, reasons=(*prescription.reasons, reason))


def _as_coach_set(today: Today, prescription: Prescription, wanted: int | None) -> Prescription:
    """The coach's number of sets: fewer always; more by one over what was done last.

    None more while new, after a gap, on an eased day or for a trial of strength (ours).
    """
    sets = prescription.sets
    if wanted is None or wanted == sets:
        return prescription
    if wanted > sets:
        record = today.record(prescription.family)
        new = record.first_sessions or record.first_time or record.after_gap
        if new or today.order.ease_off or prescription.calibration:
            return prescription
        before = [
            one
            for one in today.history.of_family(prescription.family)
            if one.on < today.order.on and not one.eased
        ]
        last = sum(one.on == before[-1].on for one in before) if before else 0
        wanted = max(sets, min(wanted, last + 1))
    if wanted == sets:
        return prescription
    reason = DoseReason(DoseCode.SETS_BY_COACH)
    kept = tuple(one for one in prescription.reasons if one.code is not DoseCode.SETS_ONE_BY_ONE)
    return replace(prescription, sets=wanted, reasons=(*kept, reason))


def at_half(prescription: Prescription) -> Prescription:
    """Half the sets, as in a lighter week; of one set the fewest. Balance stays."""
    if prescription.family is Family.BALANCE:
        return prescription
    if prescription.sets > 1:
        return replace(prescription, sets=prescription.sets // 2)
    return _at_fewest(prescription)


def _at_fewest(prescription: Prescription) -> Prescription:
    """The same with the fewest repetitions of its range; more is left in hand."""
    if prescription.calibration:
        # It ends where two are left, and not at a number.
        return prescription
    per_left = 1.0 if prescription.unit is Unit.REPS else SECONDS_PER_LEFT
    spared = (prescription.amount - prescription.low) / per_left
    left = prescription.predicted_left + spared
    return replace(prescription, amount=prescription.low, predicted_left=left)


def lighter_than(prescription: Prescription, eased: Prescription | None) -> Prescription:
    """A movement of a plan that was made before the day became one to ease off.

    Args:
        eased: what the eased day would give of the family; taken where it is no harder, with no
            more to do than before. Else one set less. What would be the same as before is done at
            the fewest of its range; a trial of strength is none any more.
    """
    if eased is None or eased.step.demand > prescription.step.demand * _ROUNDING:
        reasons = (DoseReason(DoseCode.EASE_OFF_DAY), *prescription.reasons)
        eased = replace(prescription, calibration=False, eased=True, reasons=reasons)
        return _at_fewest(replace(eased, sets=max(1, prescription.sets - 1)))
    lighter = replace(eased, sets=min(eased.sets, prescription.sets))
    same = lighter.step.key == prescription.step.key and lighter.sets == prescription.sets
    if same and lighter.amount >= prescription.amount:
        return _at_fewest(lighter)
    return lighter


def at_lightest(prescription: Prescription) -> Prescription:
    """One set of the fewest repetitions, stopping with three left, as after a sign's hold."""
    fewest = _at_fewest(_one_set_for_now(prescription))
    careful = max(CAREFUL.stop_at, fewest.stop_at_left)
    if careful == fewest.stop_at_left:
        return fewest
    return replace(fewest, stop_at_left=careful, left_target=CAREFUL.range)


def _told_minutes(client: Client) -> int | None:
    """Of every session, as told; a short one where nothing was."""
    return (
        SHORT_SESSION_MINUTES if client.session_minutes is None else client.session_minutes or None
    )


def _limit_of(reason: DoseReason) -> int | None:
    """The minutes that a reason keeps to; none after a hold, which keeps its whole cool-down."""
    return int(reason.numbers["minutes"]) if reason.code in _SHORT else None


def _room(today: Today, reason: DoseReason) -> float:
    """Minutes for sets and rests, where ``reason`` says how many there are in all."""
    # Minutes are said in whole numbers: less than half of one over still rounds to them.
    return (
        reason.numbers["minutes"]
        - around_minutes(today.client, today.catalogue.steering, _limit_of(reason))
        + _ROUNDED_OFF
    )


def _fit_with_least(
    today: Today,
    prescriptions: list[Prescription],
    reason: DoseReason,
    wanted: SessionWish,
    least: Mapping[Family, int],
) -> tuple[list[Prescription], list[LeftOut]]:
    """Keeps the fewest sets that are wanted of a family, less of them where others had to go."""
    stay = min(len(prescriptions), wanted.before_least)
    keep = wanted.keep or tuple(each.family for each in prescriptions)
    for fewer in range(max(least.values(), default=1)):
        floor = {family: max(1, sets - fewer) for family, sets in least.items()}
        kept, dropped = _fit(today, prescriptions, reason, keep, least=floor)
        if len(kept) >= stay:
            break
    return kept, dropped


def _fit(
    today: Today,
    prescriptions: list[Prescription],
    reason: DoseReason,
    keep: Sequence[Family],
    rest: float = _SHORT_REST_SECONDS,
    least: Mapping[Family, int] = MappingProxyType({}),
) -> tuple[list[Prescription], list[LeftOut]]:
    """Fewer sets first, then fewer movements; warm-up and cool-down are never cut.

    Args:
        reason: why time is short, with the "minutes" there are.
        keep: families, those that stay longest first.
        least: fewest sets of a family.
    """
    room = _room(today, reason)
    rank = {family: place for place, family in enumerate(keep)}
    kept = {each.family: each for each in prescriptions}
    last_first = sorted(kept, key=lambda family: rank.get(family, len(rank)), reverse=True)

    def too_long(families: Sequence[Family]) -> bool:
        return _work_minutes(today, [kept[one] for one in families], rest) > room

    for most_sets in (2, 1):
        for family in last_first:
            sets = max(most_sets, least.get(family, 1))
            if kept[family].sets > sets and too_long(last_first):
                kept[family] = replace(kept[family], sets=sets)
    if too_long(last_first[-2:]):
        # Two movements with fewer repetitions are worth more than one with many.
        kept = {family: _at_fewest(each) for family, each in kept.items()}
    stays: list[Family] = []
    for family in reversed(last_first):
        if not too_long([*stays, family]):
            stays.append(family)
    dropped = [LeftOut(family, reason) for family in reversed(last_first) if family not in stays]
    return [each for family, each in kept.items() if family in stays], dropped


def _session(
    today: Today,
    prescriptions: tuple[Prescription, ...],
    left_out: tuple[LeftOut, ...],
    reasons: tuple[DoseReason, ...],
    limit: int | None = None,
) -> SessionPlan:
    table = today.catalogue.steering
    warm_up = warm_up_minutes(today.client, table)
    cool_down = cool_down_minutes(today.client, table, limit)
    short = any(reason.code in _SHORT for reason in reasons)
    work = _work_minutes(today, prescriptions, _SHORT_REST_SECONDS if short else USUAL_REST_SECONDS)
    return SessionPlan(
        day=today.plan,
        prescriptions=prescriptions,
        left_out=left_out,
        reasons=reasons,
        minutes=round(work + warm_up + cool_down) if prescriptions else 0,
        warm_up_minutes=warm_up,
        cool_down_minutes=cool_down,
        slow_stand_ups=Care.SLOW_STAND_UPS in today.order.cares,
    )
