"""The ladder command's work: reads kit and spares from its options, lays out rows and table.

The command itself is in the command line module; nothing here prints.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from rich.table import Table

from bot.reference.catalogue import MovementWords, say_setting
from core.client.client import Client, KitAtHome, Limits
from core.client.steering import steering_of
from core.mechanics.body import body_of
from core.movements.catalogue import Catalogue, DialValue, Rung
from core.movements.demand import weigh
from core.movements.dials import has_kit, told
from core.movements.ladder import LadderStep, ladder
from core.vocabulary import Band, Family, Sex, Spare

SURFACES = ("chair", "bench", "table", "step")
SURFACE_RANGE_CM = (5.0, 130.0)
BOTTLE_RANGE_KG = (0.1, 30.0)
KIT_KEYS = (*SURFACES, "cushion", "bottle", "band", "wall", "floor")


class LadderOptionError(ValueError):
    """An option of the ladder command cannot be used; the message says what would be."""


@dataclass(frozen=True, slots=True)
class LadderRow:
    """One line of the table.

    Attributes:
        demand: ``None`` where this body cannot take the pose or the kit is not there.
        placeable: whether it is on the ladder.
        told: the dial settings that a client is told.
        why_not: the reason where it is not: a refusal of the pose, or "kit".
        hole_above: ratio to the next step where that is over the largest step.
    """

    rung: str
    dial: dict[str, DialValue]
    demand: float | None
    needs: tuple[str, ...]
    stresses: tuple[str, ...]
    placeable: bool
    hole_above: float | None = None
    told: Mapping[str, DialValue] = field(default_factory=dict)
    why_not: str = ""

    def as_json(self) -> dict[str, object]:
        """The row as the command's ``--json`` prints it."""
        return {
            "rung": self.rung,
            "dial": self.dial,
            "demand": None if self.demand is None else round(self.demand, 4),
            "needs": list(self.needs),
            "stresses": list(self.stresses),
            "placeable": self.placeable,
            "hole_above": None if self.hole_above is None else round(self.hole_above, 4),
        }


def parse_kit(text: str) -> KitAtHome:
    """Kit from ``chair:43,bench:90,table:75,step:17,bottle:1.5,band:light``; empty is none.

    Wall and floor are always there; ``wall`` and ``floor`` may be named and change nothing.

    Raises:
        LadderOptionError: an unknown key (the message lists the known ones) or a bad value.
    """
    found: dict[str, float | Band] = {}
    for item in (part.strip() for part in text.split(",")):
        if not item:
            continue
        key, _, value = (piece.strip() for piece in item.partition(":"))
        if key not in KIT_KEYS:
            raise LadderOptionError(f"unknown kit {key!r}; known: {', '.join(KIT_KEYS)}")
        if key in ("wall", "floor"):
            continue
        found[key] = _band(value) if key == "band" else _measured(key, value)
    numbers = {key: value for key, value in found.items() if not isinstance(value, Band)}
    band = found.get("band")
    return KitAtHome(
        chair=numbers.get("chair"),
        bench=numbers.get("bench"),
        table=numbers.get("table"),
        step=numbers.get("step"),
        bottle=numbers.get("bottle"),
        cushion=numbers.get("cushion"),
        band=band if isinstance(band, Band) else None,
    )


def _band(value: str) -> Band:
    try:
        return Band(value)
    except ValueError:
        known = ", ".join(Band)
        raise LadderOptionError(f"band must be one of {known}, not {value!r}") from None


def _measured(key: str, value: str) -> float:
    low, high = BOTTLE_RANGE_KG if key == "bottle" else SURFACE_RANGE_CM
    unit = "kg" if key == "bottle" else "cm"
    try:
        number = float(value)
    except ValueError:
        number = float("nan")
    if not low <= number <= high:
        raise LadderOptionError(f"{key} must be from {low:g} to {high:g} {unit}, not {value!r}")
    return number


def parse_spares(text: str) -> frozenset[Spare]:
    """Joints and positions to spare from ``wrist,floor``.

    Raises:
        LadderOptionError: an unknown one; the message lists the known ones.
    """
    found = set()
    for item in (part.strip() for part in text.split(",")):
        if item == "wall":
            raise LadderOptionError("the wall cannot be spared; leave its rungs out by hand")
        if item:
            try:
                found.add(Spare(item))
            except ValueError:
                known = ", ".join(Spare)
                raise LadderOptionError(f"unknown spare {item!r}; known: {known}") from None
    return frozenset(found)


def ladder_client(
    *,
    stature_cm: float,
    mass_kg: float,
    sex: Sex,
    kit: KitAtHome,
    spares: frozenset[Spare] = frozenset(),
) -> Client:
    """An invented client for the command: floor and overhead allowed unless spared."""
    return Client(
        name="",
        sex=sex,
        stature_cm=stature_cm,
        mass_kg=mass_kg,
        kit=kit,
        spares=spares,
        floor_ok=Spare.FLOOR not in spares,
        limits=Limits(overhead_allowed=True),
    )


def ladder_rows(client: Client, family: Family, catalogue: Catalogue) -> list[LadderRow]:
    """Rows easy to hard, then the rungs that cannot be done here; spared rungs are left out."""
    steps = ladder(client, family, catalogue)
    rows = [_row(step, catalogue.by_id[step.rung]) for step in steps]
    spared = steering_of(client, catalogue.steering).effects.stresses
    for rung in catalogue.rungs(family):
        if rung.stresses & spared or rung.id in client.limits.forbidden:
            continue
        why = _why_not(client, rung)
        if why:
            rows.append(_unplaceable(rung, why))
    return rows


def _why_not(client: Client, rung: Rung) -> str:
    """Why no setting of a rung can be done, or "" where one can."""
    if not has_kit(client.kit, rung.needs):
        return "kit"
    weighed = weigh(body_of(client), rung, client.kit)
    if not weighed.settings:
        return "kit"
    refusals = weighed.refused.tolist()
    return "" if "" in refusals else str(refusals[0])


def _row(step: LadderStep, rung: Rung) -> LadderRow:
    return LadderRow(
        rung=step.rung,
        dial=dict(step.dial),
        demand=step.demand,
        needs=tuple(step.needs),
        stresses=tuple(sorted(step.stresses)),
        placeable=True,
        hole_above=step.hole_above,
        told=dict(told(rung, step.setting)),
    )


def _unplaceable(rung: Rung, why: str) -> LadderRow:
    return LadderRow(
        rung=rung.id,
        dial={},
        demand=None,
        needs=tuple(rung.needs),
        stresses=tuple(sorted(rung.stresses)),
        placeable=False,
        why_not=why,
    )


def _how(row: LadderRow, words: MovementWords, catalogue: Catalogue) -> list[str]:
    return say_setting(words, catalogue.by_id[row.rung], row.told)


def ladder_table(rows: Iterable[LadderRow], words: MovementWords, catalogue: Catalogue) -> Table:
    """A table for the terminal, easy to hard."""
    table = Table("demand", "step", "rung", "how", "needs", "stresses", "hole above")
    before: float | None = None
    for row in rows:
        table.add_row(
            "-" if row.demand is None else f"{row.demand:.2f}",
            f"x{row.demand / before:.2f}" if row.demand and before else "",
            words.rungs[row.rung].name,
            row.why_not.replace("_", " ") or "; ".join(_how(row, words, catalogue)),
            " ".join(row.needs),
            " ".join(row.stresses),
            f"x{row.hole_above:.2f}" if row.hole_above else "",
        )
        before = row.demand
    return table
