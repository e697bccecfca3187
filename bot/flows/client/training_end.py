"""The ends: why a set ended short; cool-down, effort out of ten, minutes; and breaking off."""

from typing import Final

from bot.flows.changes import Change, EndSession
from bot.flows.client.cards import BACK, SLOT, UNDO, noted_of
from bot.flows.client.encouragement import true_fact
from bot.flows.client.later_low import asked_later
from bot.flows.client.set_news import news_of_effort
from bot.flows.machine import Begin, Button, Rows, Say, State, Turn, rows_of
from bot.flows.parsing import read_choice
from bot.flows.record.planning import Training
from bot.flows.record.told_counts import button_told, effort_told
from core.answers.words import Understood
from core.dose.gentle import cool_down_moves
from core.dose.history import Ended, Unit
from core.dose.prescription import Prescription
from core.readiness.scales import MINUTES, SESSION_EFFORT_WORDED, UnusableAnswer, parse_number
from core.vocabulary import Family

ENDED_SHORT: Final = "short"
_WHY_SHORT: Final[Rows] = rows_of(
    "ended=told_to_stop", "ended=could_not", "it_hurt", "ended=other", "back stop"
)

STEPS = ("cool_down", "effort", "minutes", "stopping")
PART_MINUTES = 3
"""Warm-up and cool-down go in parts about this long, so that the watch on silence stays honest."""

EFFORTS: Rows = rows_of(
    "effort=0 effort=1 effort=2 effort=3",
    "effort=4 effort=5 effort=6 effort=7",
    "effort=8 effort=9 effort=10",
)
HARD_EFFORT = 8


def ended_short(item: Prescription, amount: int) -> bool:
    """Whether to ask why. A balance hold ends by a touch, which is told as such."""
    return amount < item.amount and item.family is not Family.BALANCE


def ask_why(state: State, item: Prescription, amount: int) -> Turn:
    """The question with its buttons.

    Args:
        amount: repetitions, or seconds, that were done.
    """
    values = {
        "amount": amount,
        "planned": item.amount,
        "seconds": item.unit is Unit.SECONDS,
        "stop_at": item.stop_at_left,
        "open_end": item.calibration,
    }
    say = Say("session/short", values, rows=_WHY_SHORT, slot=SLOT)
    return Turn(state.at(ENDED_SHORT, amount=amount), says=(say,))


def why_of(value: str) -> Ended | None:
    """The answer; ``None`` for what is none."""
    return next((why for why in Ended if value == f"ended={why.value}"), None)


def cool_down(
    state: State, training: Training, part: int, changes: tuple[Change, ...] = ()
) -> Turn:
    """A part of the cool-down."""
    parts = parts_of(training.plan.cool_down_minutes)
    undo = part == 0 and state.answers.get("undo")
    moves = cool_down_moves(
        training.sparing,
        training.facts.reference.catalogue,
        training.place.today,
        part,
        last=part + 1 == len(parts),
    )
    say = Say(
        "session/cool_down",
        {
            "moves": moves,
            "part": part + 1,
            "of": len(parts),
            "minutes": parts[part],
            "slow_stand_ups": training.plan.slow_stand_ups,
            "noted": noted_of(state) if part == 0 else None,
        },
        rows=(*rows_of("done", "stop"), *(rows_of(UNDO) if undo else ())),
        slot=SLOT,
    )
    return Turn(state.at("cool_down", part=part), says=(say,), changes=changes)


def cool_down_answer(state: State, value: str, training: Training) -> Turn:
    """Each "done" leads on, at last to the effort."""
    if "done" not in (value, button_told(value, "step_done", training.facts)):
        return Turn(state, understood=False)
    part = int(state.answers["part"]) + 1
    if part < len(parts_of(training.plan.cool_down_minutes)):
        return cool_down(state, training, part)
    return _ask_effort(state.at("effort", heard_effort=None))


def _ask_effort(state: State) -> Turn:
    values = {"heard": state.answers.get("heard_effort")}
    return Turn(state, says=(Say("session/effort", values, rows=EFFORTS, slot=SLOT),))


def effort_answer(state: State, value: str, training: Training) -> Turn:
    """The effort of the whole session, out of ten; then the minutes."""
    effort = parse_number(value.removeprefix("effort="), SESSION_EFFORT_WORDED, training.numbers)
    if isinstance(effort, UnusableAnswer):
        heard = state.answers.get("heard_effort")
        spoken = training.facts.reference.spoken["yes_no"]
        told = effort_told(value, training.facts)
        if heard is not None and read_choice(value, ("yes", "no"), spoken) == "yes":
            told = Understood(float(heard))
        if told is None:
            return Turn(state, understood=False)
        if not told.sure:
            return _ask_effort(state.at("effort", heard_effort=told.value))
        effort = told.value
    return _ask_minutes(state.at("minutes", effort=effort), training)


def minutes_answer(state: State, value: str, training: Training) -> Turn:
    """The minutes; the session is over."""
    if value == BACK:
        return _ask_effort(state.at("effort", heard_effort=None))
    minutes = parse_number(value.removeprefix("minutes="), MINUTES, training.numbers)
    if isinstance(minutes, UnusableAnswer):
        return Turn(state, understood=False)
    if training.session is None:
        return Turn(None, begin=(Begin("today"),))
    effort = float(state.answers["effort"])
    ended = EndSession(
        training.session.id,
        finished=True,
        effort=effort,
        effort_scale=SESSION_EFFORT_WORDED.id.value,
        minutes=float(minutes),
    )
    fact = true_fact(training.place.record, training.facts)
    values = {"hard": effort >= HARD_EFFORT, "fact": fact}
    said = Say("session/finished", values, slot=SLOT)
    later = asked_later(training.place.record)
    news = news_of_effort(training, effort)
    return Turn(None, says=(said,), changes=(ended, *news), begin=later)


def stopping(state: State) -> Turn:
    """Before a session is broken off: is anything wrong?"""
    say = Say("session/stopping", rows=rows_of("just_stop", "unwell", "go_on"), slot=SLOT)
    return Turn(state.at("stopping", before=state.step), says=(say,))


def again_ending(state: State, training: Training) -> Turn:
    """Ask again what a step of the end waits for."""
    if state.step == "cool_down":
        return cool_down(state, training, int(state.answers["part"]))
    if state.step == "effort":
        return _ask_effort(state)
    if state.step == "minutes":
        return _ask_minutes(state, training)
    return stopping(state.at(str(state.answers["before"])))


def parts_of(minutes: int) -> list[int]:
    """Minutes in parts of at most four: 5 -> 3, 2; 10 -> 3, 3, 4."""
    count = max(1, minutes // PART_MINUTES)
    parts = [PART_MINUTES] * count
    rest = minutes - PART_MINUTES * count
    if rest > 1:
        return [*parts, rest]
    parts[-1] += rest
    return parts


def _ask_minutes(state: State, training: Training) -> Turn:
    minutes = _minutes_so_far(training)
    around = sorted({max(5, minutes + more) for more in (-10, -5, 0, 5, 10)})
    buttons = tuple(Button(f"minutes={number}", label=str(number)) for number in around)
    say = Say("session/minutes", {"minutes": minutes}, rows=(buttons, *rows_of(BACK)), slot=SLOT)
    return Turn(state, says=(say,))


def _minutes_so_far(training: Training) -> int:
    now = training.facts.now
    started = training.session.started_at if training.session else None
    return max(5, round((now - (started or now)).total_seconds() / 60))
