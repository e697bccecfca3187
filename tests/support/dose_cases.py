"""Ladders, clients and histories for tests of the dose, made by hand and by Hypothesis."""

from collections.abc import Sequence
from datetime import date, timedelta

from hypothesis import strategies as st

from bot.cli.closed_loop_client import LoopClient
from core.client.client import Client, KitAtHome, Limits
from core.dose.day_order import DayOrder
from core.dose.history import SetDone, Unit
from core.dose.prescription import Prescription
from core.movements.ladder import LadderStep
from core.vocabulary import Aim, Band, Condition, Family, Kit, Spare

MONDAY = date(2026, 1, 5)
A_FULL_HOUSE = KitAtHome(chair=43, bench=90, table=75, step=18, bottle=1.5, band=Band.MEDIUM)


def ladder_of(
    demands: Sequence[float],
    family: Family = Family.SQUAT,
    *,
    needs: Sequence[tuple[Kit, ...]] = (),
    stresses: Sequence[frozenset[Spare]] = (),
) -> tuple[LadderStep, ...]:
    """One rung a demand, named r0, r1 ... from the easiest, holes marked over 12 %."""
    steps = []
    for place, demand in enumerate(demands):
        above = demands[place + 1] if place + 1 < len(demands) else demand
        steps.append(
            LadderStep(
                family=family,
                rung=f"r{place}",
                setting=(),
                demand=demand,
                unit="reps",
                needs=needs[place] if needs else (),
                stresses=stresses[place] if stresses else frozenset(),
                hole_above=above / demand if above > demand * 1.12 else None,
            )
        )
    return tuple(steps)


def fine_ladder(steps: int = 24, ratio: float = 1.08) -> tuple[LadderStep, ...]:
    """A ladder without holes."""
    return ladder_of([0.2 * ratio**place for place in range(steps)])


def client_of(aim: Aim = Aim.STRENGTH, **changes: object) -> Client:
    """A client with everything at home who gets down to the floor."""
    plain = {"name": "Ann", "birth_year": 1930, "kit": A_FULL_HOUSE, "floor_ok": True, "aim": aim}
    return Client(**{**plain, **changes})  # type: ignore[arg-type] # test values by name


def squat_set(
    demand: float,
    *,
    days: int = 0,
    amount: int = 10,
    left: int | None = 2,
    planned: int | None = 10,
    step_key: str = "r0",
    **changes: object,
) -> SetDone:
    """A logged squat set, ``days`` after the first Monday."""
    return SetDone(
        on=MONDAY + timedelta(days=days),
        family=Family.SQUAT,
        step_key=step_key,
        demand=demand,
        unit=Unit.REPS,
        amount=amount,
        left=left,
        planned=planned,
        **changes,  # type: ignore[arg-type] # test values by name
    )


def on_day(days: int, **changes: object) -> DayOrder:
    """The order of a day after the first Monday."""
    return DayOrder(MONDAY + timedelta(days=days), **changes)  # type: ignore[arg-type] # as above


@st.composite
def ladders(draw: st.DrawFn) -> tuple[LadderStep, ...]:
    """Ladders of any shape: holes, kit and joints at random."""
    ratios = draw(st.lists(st.sampled_from([1.02, 1.06, 1.1, 1.2, 1.28, 1.5]), max_size=14))
    demands = [draw(st.floats(0.1, 20.0))]
    for ratio in ratios:
        demands.append(demands[-1] * ratio)
    needs = [draw(st.sampled_from([(), (), (Kit.BAND,), (Kit.TABLE,)])) for _ in demands]
    joints = [
        draw(st.sampled_from([frozenset(), frozenset(), frozenset({Spare.KNEE})])) for _ in demands
    ]
    return ladder_of(demands, needs=needs, stresses=joints)


@st.composite
def clients(draw: st.DrawFn, ladder: Sequence[LadderStep]) -> Client:
    """Clients with any aim, kit, spares, conditions and limits."""
    ceiling = draw(st.none() | st.sampled_from([step.demand for step in ladder]))
    floor = draw(st.none() | st.sampled_from([step.demand for step in ladder]))
    limits = Limits(
        ceilings={} if ceiling is None else {Family.SQUAT: ceiling},
        floors={} if floor is None else {Family.SQUAT: floor},
        forbidden=draw(st.sampled_from([frozenset(), frozenset({"r1"}), frozenset({"r0", "r3"})])),
    )
    return client_of(
        draw(st.sampled_from(list(Aim))),
        limits=limits,
        kit=draw(st.sampled_from([A_FULL_HOUSE, KitAtHome()])),
        spares=draw(st.sampled_from([frozenset(), frozenset({Spare.KNEE})])),
        conditions=draw(st.sampled_from([frozenset(), frozenset({Condition.PRESSURE})])),
    )


def told_sets() -> st.SearchStrategy[tuple[int, int, bool, int, int]]:
    """What a client tells of a set: change of amount, left, slip, pain, days until the next."""
    return st.tuples(
        st.integers(-9, 3),
        st.integers(0, 5),
        st.sampled_from([False, False, False, True]),
        st.sampled_from([0, 0, 0, 0, 2, 4, 7]),
        st.sampled_from([0, 0, 1, 2, 2, 3, 15]),
    )


def live_through(
    client: Client,
    ladder: Sequence[LadderStep],
    told: Sequence[tuple[int, int, bool, int, int]],
    eased: Sequence[bool] = (),
) -> list[tuple[date, Prescription, LoopClient]]:
    """Every prescription of a client who trains, tells, and comes back some days later."""
    loop = LoopClient(client, {Family.SQUAT: ladder})
    found = []
    on = MONDAY
    for number, (change, left, slip, pain, days) in enumerate(told):
        ease_off = number < len(eased) and eased[number]
        if loop.on != on:
            loop.open_day(DayOrder(on, ease_off=ease_off))
        given = loop.next_set(Family.SQUAT)
        found.append((on, given, loop))
        loop.set_done(Family.SQUAT, max(0, given.amount + change), left, slip=slip, pain=pain)
        on += timedelta(days=days)
    return found
