"""A client's doses with the coach's eyes: why this plan, and how each movement climbs."""

from collections.abc import Sequence

from bot.flows.changes import Audit
from bot.flows.coach.client.climb import climb_movement, climb_page, trained
from bot.flows.coach.client.why import shown_plan, why_movement, why_page
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.facts import ClientRecord, Facts
from bot.flows.forms import ASKED
from bot.flows.machine import (
    Begin,
    Button,
    Event,
    EventKind,
    PictureRequest,
    Rows,
    Say,
    State,
    Turn,
    in_twos,
    not_understood,
    rows_of,
)
from core.vocabulary import Family

NAME = "coach_doses"
SLOT = "doses"
PAGES = ("why", "climb")


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Opened with ``client`` and ``what`` ("why" or "climb"); its buttons stay good."""
    opening = event.kind is EventKind.BEGIN
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if opening:
        state = State(NAME, "begin", {"client": str(record.id)})
        page = "climb" if event.args.get("what") == "climb" else "why"
        return _page(state, page, record, facts)
    if event.kind is not EventKind.TAP:
        return not_understood(state)
    if event.value == "card":
        card = Begin("coach_client", {"client": str(record.id)})
        return Turn(state, begin=(card,), quiet=True)
    return _page(state, event.value, record, facts)


def _page(state: State, value: str, record: ClientRecord, facts: Facts) -> Turn:
    """One page; that it was read is written down."""
    page, _, code = value.partition(ASKED)
    say = None
    if page == "why":
        say = _why(code, record, facts)
    elif page == "climb":
        say = _climb(code, record, facts)
    if say is None:
        return not_understood(state)
    read = Audit(record.id, "card_read", value)
    return Turn(state.at("shown"), says=(say,), changes=(read,), quiet=True)


def _why(code: str, record: ClientRecord, facts: Facts) -> Say | None:
    shown = shown_plan(record, facts)
    items = shown.plan.prescriptions if shown is not None else ()
    if not code:
        rows = (*_movements("why", [one.family for one in items]), *_FOOT["why"])
        return Say("coach/why", why_page(record, shown), rows=rows, slot=SLOT)
    if shown is None or code not in {one.family for one in items}:
        return None
    values = why_movement(record, shown, Family(code), facts)
    return Say("coach/why_movement", values, rows=_BACK["why"], slot=SLOT)


def _climb(code: str, record: ClientRecord, facts: Facts) -> Say | None:
    if not code:
        values = climb_page(record, facts)
        named = [line["family"] for line in values["lines"]]
        rows = (*_movements("climb", named), *_FOOT["climb"])
        return Say("coach/climb", values, rows=rows, slot=SLOT)
    if code not in set(trained(record, facts)):
        return None
    args = {"client": int(record.id), "family": code}
    return Say(
        "coach/climb_movement",
        climb_movement(record, Family(code), facts),
        rows=_BACK["climb"],
        slot=SLOT,
        picture=PictureRequest(chart="movement_climb", args=args),
    )


def _movements(page: str, named: Sequence[str]) -> Rows:
    """A button for each movement, named by its family."""
    buttons = [Button(f"{page}{ASKED}{family}") for family in named]
    return in_twos(buttons)


_FOOT = {"why": rows_of("climb card"), "climb": rows_of("why card")}
_BACK = {"why": rows_of("why card"), "climb": rows_of("climb card")}
