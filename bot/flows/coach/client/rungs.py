"""The coach sets a family's highest rung, or forbids rungs; opened with ``client`` and ``what``.

A ceiling is kept as demand: that of the hardest setting of the chosen rung on this client's ladder.
"""

from collections.abc import Sequence

from bot.flows.changes import Audit, SaveProfile
from bot.flows.coach.client.limit_questions import merged_limits
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.facts import ClientRecord, Facts
from bot.flows.forms import ASKED
from bot.flows.machine import (
    MOVEMENT_LABEL,
    Begin,
    Button,
    Event,
    EventKind,
    Rows,
    Say,
    State,
    Turn,
    in_twos,
    not_understood,
)
from bot.json_values import JsonValue
from core.movements.ladder import LadderStep, ladder
from core.vocabulary import Family

NAME = "coach_rungs"
SLOT = "rungs"
UNWEIGHED = (Family.WARM_UP, Family.COOL_DOWN, Family.MOBILITY, Family.BREATHING)
"""Families without a ladder to cap."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Choose the family, then the rung; back on the limits when done."""
    opening = event.kind is EventKind.BEGIN
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if opening:
        what = "ceiling" if event.args.get("what") == "ceiling" else "forbid"
        family = str(event.args.get("family", ""))
        at = "rung" if family in families(facts) else "family"
        answers = {"client": str(record.id), "what": what, "family": family}
        return _ask(State(NAME, at, answers), record, facts)
    if event.kind is not EventKind.TAP:
        if event.kind is EventKind.TEXT:
            return not_understood(state)
        return _ask(state, record, facts)
    asked, _, code = event.value.rpartition(ASKED)
    if code == "back" and asked == state.step:
        if state.step == "family":
            return Turn(None, begin=(_limits(record),))
        return _ask(state.at("family", family=""), record, facts)
    if asked == "family" and code in families(facts):
        return _ask(state.at("rung", family=code), record, facts)
    if asked == "rung" and state.step == "rung":
        return _chosen(state, code, record, facts)
    return not_understood(state)


def families(facts: Facts) -> list[str]:
    """The families whose rungs may be limited."""
    catalogue = facts.reference.catalogue
    return [family.value for family in catalogue.families if family not in UNWEIGHED]


def tops(record: ClientRecord, family: Family, facts: Facts) -> dict[str, float]:
    """The hardest demand of each rung on this client's ladder, easiest rung first."""
    found: dict[str, float] = {}
    for one in _steps(record, family, facts):
        found[one.rung] = max(found.get(one.rung, 0.0), one.demand)
    return dict(sorted(found.items(), key=lambda pair: pair[1]))


def lowest(record: ClientRecord, family: Family, rung: str, facts: Facts) -> float:
    """The easiest demand of a rung that is on this client's ladder."""
    return min(one.demand for one in _steps(record, family, facts) if one.rung == rung)


def _steps(record: ClientRecord, family: Family, facts: Facts) -> Sequence[LadderStep]:
    today = record.person.local(facts.now).date()
    return ladder(record.client, family, facts.reference.catalogue, today)


def ceiling_rung(record: ClientRecord, family: Family, facts: Facts) -> str:
    """The hardest rung that the ceiling allows as a whole, or ""."""
    ceiling = record.client.limits.ceilings.get(family)
    if ceiling is None:
        return ""
    allowed = [rung for rung, top in tops(record, family, facts).items() if top <= ceiling + 1e-9]
    return allowed[-1] if allowed else ""


def _ask(state: State, record: ClientRecord, facts: Facts) -> Turn:
    what, chosen = state.answers["what"], state.answers["family"]
    codes: list[str] = []
    ticked: list[str] = []
    highest = ""
    if state.step == "family":
        buttons = [Button(f"family{ASKED}{family}") for family in families(facts)]
        rows: Rows = in_twos(buttons)
        codes = families(facts)
    else:
        family = Family(chosen)
        if what == "ceiling":
            highest = ceiling_rung(record, family, facts)
            rungs = list(tops(record, family, facts))
        else:
            rungs = [rung.id for rung in facts.reference.catalogue.rungs(family)]
            ticked = [rung for rung in rungs if rung in record.client.limits.forbidden]
        rows = tuple((_rung_button(family, rung),) for rung in rungs)
        if what == "ceiling":
            rows = (*rows, (Button(f"rung{ASKED}no_ceiling"),))
    rows = (*rows, (Button(f"{state.step}{ASKED}back"),))
    values = {
        "name": record.person.name,
        "family": chosen,
        "codes": codes,
        "set": highest,
        "ticked": ticked,
    }
    return Turn(state, says=(Say(f"coach/{what}_{state.step}", values, rows=rows, slot=SLOT),))


def _rung_button(family: Family, rung: str) -> Button:
    return Button(f"rung{ASKED}{rung}", label=f"{MOVEMENT_LABEL}{family.value}/{rung}")


def _chosen(state: State, rung: str, record: ClientRecord, facts: Facts) -> Turn:
    family = Family(state.answers["family"])
    limits = record.client.limits
    if state.answers["what"] == "ceiling":
        ceilings = {one.value: top for one, top in limits.ceilings.items()}
        found = tops(record, family, facts)
        if rung == "no_ceiling":
            ceilings.pop(family.value, None)
        elif rung in found:
            ceilings[family.value] = found[rung]
        else:
            return not_understood(state)
        changed: dict[str, JsonValue] = {"ceilings": {**ceilings}}
        audit = Audit(record.id, "limit_changed", f"ceiling:{family.value}:{rung}")
        saved = SaveProfile(record.id, {"limits": merged_limits(record, changed)})
        return Turn(None, changes=(saved, audit), begin=(_limits(record),))
    if rung not in {one.id for one in facts.reference.catalogue.rungs(family)}:
        return not_understood(state)
    forbidden: dict[str, JsonValue] = {"forbidden": [*sorted(set(limits.forbidden) ^ {rung})]}
    saved = SaveProfile(record.id, {"limits": merged_limits(record, forbidden)})
    audit = Audit(record.id, "limit_changed", f"forbidden:{rung}")
    # Opened anew, the list shows what is written down by then.
    again = {"client": str(record.id), "what": "forbid", "family": family.value}
    begin = Begin(NAME, again)
    return Turn(None, changes=(saved, audit), begin=(begin,))


def _limits(record: ClientRecord) -> Begin:
    return Begin("coach_client", {"client": str(record.id), "page": "limits"})
