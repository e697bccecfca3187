"""Too puffed to talk in a session: rest; with asthma or a lung disease the reliever, by name.

Breath that has not eased two minutes after it, and no answer, are a severe attack (ours, careful);
the words and times are those of :mod:`bot.flows.safety.treatment`.
"""

from dataclasses import replace
from datetime import datetime
from typing import TypedDict

from bot.flows.changes import RaiseAlert
from bot.flows.client.cards import SLOT, card
from bot.flows.client.training_end import cool_down
from bot.flows.facts import ClientRecord
from bot.flows.machine import Event, EventKind, Say, State, Turn, pressed, rows_of
from bot.flows.reasons import Reason
from bot.flows.record.planning import Training
from bot.flows.safety.opening import Heard, SafetyOpening, begin_safety
from bot.flows.safety.treatment import (
    ANSWER_WITHIN,
    ASKED_AFTER,
    GRAVE,
    Remedy,
    question_about,
    remedy_of,
)
from bot.messages import Kind
from core.vocabulary import AlertLevel, Condition, Medicine, Sign, TextLevel

TAKEN, EASED = "puffer_taken", "puffer_eased"
STEPS = (TAKEN, EASED)
_DUE = "puffer_due"


class PufferValues(TypedDict):
    """What ``session/puffed_reliever`` shows; ``plan``: the doctor's own, word for word, or ""."""

    plan: str
    asthma: bool
    reliever_known: bool


def puffed(state: State, training: Training) -> Turn:
    """The tap "too puffed to talk"."""
    record = training.place.record
    if remedy_of((Sign.BREATHLESS_EFFORT,), TextLevel.URGENT, record) is not Remedy.RELIEVER:
        return _and_on(state, training, Say("session/puffed"))
    return _wait(state, training)


def step_puffed(state: State, event: Event, training: Training) -> Turn:
    """What becomes of an event while the reliever works."""
    answer = pressed(event, "has_it_helped", training.facts)
    if event.kind is EventKind.DUE:
        if state.step == EASED:
            return _severe(training, "no_answer", Heard.SILENCE)
        return _ask(state, training)
    if event.kind is EventKind.RESUME:
        due_at = datetime.fromisoformat(str(state.answers[_DUE]))
        says: tuple[Say, ...] = (_rest(training),)
        if state.step == EASED:
            says = question_about(Remedy.RELIEVER, training.facts)
        return Turn(state, says=says, due_at=max(due_at, training.facts.now))
    if answer == "better":
        state = state.at("move")
        told = RaiseAlert(
            training.place.record.id,
            AlertLevel.MENTION,
            (Sign.BREATHLESS_EFFORT,),
            why=Reason("coach", f"treatment_{Remedy.RELIEVER}"),
            holds=False,
        )
        turn = _and_on(state, training, Say("session/puffed_eased"))
        return replace(turn, changes=(told, *turn.changes))
    if answer == "not_better":
        return _severe(training, "reliever_not_better", Heard.ANSWER)
    return Turn(state, understood=False)


def _and_on(state: State, training: Training, say: Say) -> Turn:
    """What is said, and the movement that is next; the cool-down where none is left."""
    if int(state.answers["at"]) >= len(training.items):
        turn = cool_down(state, training, 0)
    else:
        turn = Turn(state, says=(card(state, training),))
    return replace(turn, says=(say, *turn.says))


def _wait(state: State, training: Training) -> Turn:
    due_at = training.facts.now + ASKED_AFTER[Remedy.RELIEVER]
    say = _rest(training)
    state = state.at(TAKEN, **{_DUE: due_at.isoformat()})
    return Turn(state, says=(say,), due_at=due_at)


def _rest(training: Training) -> Say:
    return Say(
        "session/puffed_reliever",
        values_of(training.place.record),
        rows=rows_of("better", "not_better"),
        slot=SLOT,
        kind=Kind.SAFETY,
    )


def _ask(state: State, training: Training) -> Turn:
    due_at = training.facts.now + ANSWER_WITHIN[Remedy.RELIEVER]
    state = state.at(EASED, **{_DUE: due_at.isoformat()})
    return Turn(state, says=question_about(Remedy.RELIEVER, training.facts), due_at=due_at)


def _severe(training: Training, why: str, heard: Heard) -> Turn:
    opening = SafetyOpening(
        level=TextLevel.EMERGENCY,
        signs=(GRAVE[Remedy.RELIEVER],),
        heard=heard,
        why=Reason("coach", f"treatment_{why}"),
    )
    return Turn(None, begin=(begin_safety(opening),))


def values_of(record: ClientRecord) -> PufferValues:
    """The client's own plan, where asthma asks for one."""
    asthma = Condition.ASTHMA in record.client.conditions
    return {
        "plan": record.doctor_plan if asthma else "",
        "asthma": asthma,
        "reliever_known": Medicine.RELIEVER_INHALER in record.client.medicines,
    }
