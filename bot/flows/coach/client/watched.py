"""The coach stood beside a set: she taps how many were clean and how many were left.

It shows how strong the client is, whatever the client feels and tells (:mod:`core.dose.capacity`).
Opened with ``client``; ends back on the card. For five minutes a tap takes the set back, whatever
was watched since, and asks for its numbers anew. Either way a plan of today that has not begun is
made anew, and the client told.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

from bot.flows.changes import Audit, Change, LogWatchedSet, SavePlan, UndoWatchedSet
from bot.flows.client.cards import UNDO
from bot.flows.client.today import planned_anew
from bot.flows.coach.client.why import shown_plan
from bot.flows.coach.rights import client_for_me, client_of_turn, not_yours
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
    not_understood,
    rows_of,
)
from bot.flows.parsing import Reask, read_number
from bot.json_values import JsonValue
from bot.messages import Kind
from core.dose.dose_model import SECONDS_PER_LEFT
from core.dose.history import MOST_LEFT_TOLD, SetDone, Unit
from core.vocabulary import Family, Role

NAME = "coach_watched"
SLOT = "watched"
MOST_REPS, MOST_SECONDS = 60, 300
BUTTONS_EACH_WAY = 4
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
UNDO_FOR = timedelta(minutes=5)
"""So long what the coach saw may be taken back, as a client's own set (ours)."""


@dataclass(frozen=True, slots=True)
class Watchable:
    """A step that can be done today: of today's plan, or the one done last.

    Attributes:
        amount: repetitions, or seconds, of the plan or of the last set.
    """

    family: Family
    step_key: str
    demand: float
    unit: Unit
    amount: int
    day_shift: float | None = None

    @property
    def rung(self) -> str:
        """The step's rung."""
        return self.step_key.partition("@")[0]

    def done(self, on: date, amount: int, left: int) -> SetDone:
        """The set as the coach saw it."""
        return SetDone(
            on=on,
            family=self.family,
            step_key=self.step_key,
            demand=self.demand,
            unit=self.unit,
            amount=amount,
            left=left,
            day_shift=self.day_shift,
            watched=True,
        )


def watchable(record: ClientRecord, facts: Facts) -> Mapping[Family, Watchable]:
    """What may be watched, by family; nothing of balance, which has no strength to show."""
    catalogue = facts.reference.catalogue.by_id
    last = {one.family: one for one in facts.history(record.id).sets}
    found = {
        one.family: Watchable(one.family, one.step_key, one.demand, one.unit, one.amount)
        for one in last.values()
    }
    shown = shown_plan(record, facts)
    if shown is not None and shown.on == record.person.local(facts.now).date():
        for item in shown.plan.prescriptions:
            step = item.step
            found[item.family] = Watchable(
                item.family, step.key, step.demand, item.unit, item.amount, item.day_shift
            )
    known = facts.capacity(record.id).families
    return {
        family: found[family]
        for family in Family
        if family in known and family in found and found[family].rung in catalogue
    }


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Which movement, how many clean ones, how many left."""
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    may = watchable(record, facts)
    if event.kind is EventKind.BEGIN:
        return _begin(event, record, may, facts)
    if event.kind in (EventKind.RESUME, EventKind.DUE):
        return _ask(state, record, may)
    asked, _, value = event.value.rpartition(ASKED)
    if value == "cancel":
        return Turn(None, begin=(_card(record),))
    if state.step == "family" and value in may:
        return _ask(state.at("amount", family=value), record, may)
    one = may.get(Family(state.answers["family"])) if state.answers.get("family") else None
    if one is None:
        return not_understood(state)
    if state.step == "amount" and asked in ("", "amount"):
        return _amount(state, value, one, record, facts)
    if state.step == "left" and asked in ("", "left"):
        return _left(state, value, one, record, facts)
    return not_understood(state)


def _begin(
    event: Event, record: ClientRecord, may: Mapping[Family, Watchable], facts: Facts
) -> Turn:
    """From the start; or after a set was kept or taken back, when the belief is the new one."""
    state = State(NAME, "family", {"client": str(record.id)})
    kept, undone = event.args.get("kept"), event.args.get("undone")
    if kept:
        return _follows(_noted(kept, record), record, facts)
    if undone:
        says = (Say("coach/watched_undone", {"name": record.person.name}, slot=SLOT),)
        asked = _ask(state.at("amount", family=undone), record, may)
        return _follows(replace(asked, says=(*says, *asked.says)), record, facts)
    if not may:
        say = Say("coach/watched_nothing", {"name": record.person.name}, slot=SLOT)
        return Turn(None, says=(say,), begin=(_card(record),))
    if len(may) == 1:
        state = state.at("amount", family=next(iter(may)).value)
    return _ask(state, record, may)


def _follows(turn: Turn, record: ClientRecord, facts: Facts) -> Turn:
    """With today's plan made anew, as long as its session has not begun."""
    plan = planned_anew(record, facts)
    if plan is None:
        return turn
    told = Say("today/coach_watched", {"coach_name": facts.me.name}, to=record.id, kind=Kind.PROMPT)
    today = record.person.local(facts.now).date()
    changes = (*turn.changes, SavePlan(record.id, today, plan))
    return replace(turn, says=(*turn.says, told), changes=changes)


def _ask(state: State, record: ClientRecord, may: Mapping[Family, Watchable]) -> Turn:
    """The question of this step; from the start where its movement is not there any more."""
    chosen = may.get(Family(state.answers["family"])) if state.answers.get("family") else None
    if chosen is None:
        buttons = [_movement(one) for one in may.values()]
        rows: Rows = (*((button,) for button in buttons), *_CANCEL)
        say = Say("coach/watched_family", {"name": record.person.name}, rows=rows, slot=SLOT)
        return Turn(state.at("family", family=""), says=(say,))
    values = {
        "name": record.person.name,
        "rung": chosen.rung,
        "seconds": chosen.unit is Unit.SECONDS,
        "amount": state.answers.get("amount"),
    }
    rows = _amounts(chosen) if state.step == "amount" else _LEFT
    say = Say(f"coach/watched_{state.step}", values, rows=(*rows, *_CANCEL), slot=SLOT)
    return Turn(state, says=(say,))


def _movement(one: Watchable) -> Button:
    return Button(f"family{ASKED}{one.family}", label=f"{MOVEMENT_LABEL}{one.family}/{one.rung}")


def _amounts(one: Watchable) -> Rows:
    """Amounts around the plan; any other is typed."""
    grain = 1 if one.unit is Unit.REPS else int(SECONDS_PER_LEFT)
    first = max(grain, one.amount - BUTTONS_EACH_WAY * grain)
    amounts = [first + grain * number for number in range(2 * BUTTONS_EACH_WAY + 2)]
    buttons = [Button(f"amount{ASKED}{amount}", label=str(amount)) for amount in amounts]
    return tuple(tuple(buttons[at : at + 5]) for at in range(0, len(buttons), 5))


def _amount(state: State, value: str, one: Watchable, record: ClientRecord, facts: Facts) -> Turn:
    most = MOST_REPS if one.unit is Unit.REPS else MOST_SECONDS
    amount = read_number(value, 1, most, facts.reference.words.numbers)
    if isinstance(amount, Reask):
        return not_understood(state)
    return _ask(state.at("left", amount=int(amount)), record, {one.family: one})


def _left(state: State, value: str, one: Watchable, record: ClientRecord, facts: Facts) -> Turn:
    left = read_number(value, 0, MOST_REPS, facts.reference.words.numbers)
    if isinstance(left, Reask):
        return not_understood(state)
    today = record.person.local(facts.now).date()
    done = one.done(today, int(state.answers["amount"]), min(int(left), MOST_LEFT_TOLD))
    kept: dict[str, JsonValue] = {
        "family": one.family.value,
        "rung": one.rung,
        "seconds": one.unit is Unit.SECONDS,
        "amount": done.amount,
        "left": done.left,
        "at": facts.now.isoformat(),
    }
    changes = (LogWatchedSet(record.id, done), Audit(record.id, "set_watched", one.family.value))
    return Turn(None, changes=changes, begin=(_again(record, kept=kept),))


def _noted(kept: Mapping[str, JsonValue], record: ClientRecord) -> Turn:
    """What was kept, with the way to take it back; the card is open on top of it."""
    told = {key: kept[key] for key in ("rung", "seconds", "amount", "left")}
    at = (datetime.fromisoformat(str(kept["at"])) - EPOCH) // timedelta(microseconds=1)
    ref = ASKED.join((str(record.id), str(kept["family"]), str(at)))
    rows = ((Button(UNDO, handler=WatchedHandler.NAME, ref=ref),),)
    said = Say("coach/watched_kept", {"name": record.person.name, **told}, rows=rows)
    return Turn(None, says=(said,), begin=(_card(record),))


class WatchedHandler:
    """Takes a watched set back while it is fresh, and asks for its numbers anew.

    ``ref``: the client, the family, and when it was kept, in microseconds.
    """

    NAME = "watched"
    ROLE = Role.COACH

    def tap(self, ref: str, value: str, facts: Facts) -> Turn:
        """The set of that moment, whatever was watched since."""
        client, family, kept_at = (*ref.split(ASKED), "", "")[:3]
        record = client_for_me(client, facts)
        if record is None:
            return not_yours()
        if value != UNDO or family not in [*Family] or not kept_at.isdigit():
            return Turn(None, says=(Say("engine/stale_button"),))
        at = EPOCH + timedelta(microseconds=int(kept_at))
        if facts.now > at + UNDO_FOR:
            say = Say("coach/watched_stays", {"name": record.person.name})
            return Turn(None, says=(say,), begin=(_card(record),))
        changes: tuple[Change, ...] = (
            UndoWatchedSet(record.id, Family(family), at),
            Audit(record.id, "watched_set_undone", family),
        )
        return Turn(None, changes=changes, begin=(_again(record, undone=family),))


def _again(record: ClientRecord, **args: JsonValue) -> Begin:
    """This conversation once more, when the change is in the record."""
    return Begin(NAME, {"client": str(record.id), **args})


def _card(record: ClientRecord) -> Begin:
    return Begin("coach_client", {"client": str(record.id)})


_CANCEL = rows_of("cancel")
_LEFT = rows_of("left~0 left~1 left~2", "left~3 left~4 left~5")
