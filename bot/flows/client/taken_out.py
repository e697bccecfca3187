"""A limit that comes in the middle: what it forbids is never the next screen."""

from dataclasses import dataclass, replace

from bot.flows.changes import Change
from bot.flows.client.cards import card, keep_plan
from bot.flows.client.hurting import STEPS as HURTING
from bot.flows.client.training_end import cool_down
from bot.flows.machine import Event, EventKind, Say, State, Turn, pressed
from bot.flows.record.limits_now import within_limits
from bot.flows.record.planning import Training
from core.vocabulary import Family

SET_DONE = ("left", "set_where", "set_pain", *HURTING)
"""Steps that ask about a set, or a pain, that has been: these are told to their end."""


@dataclass(frozen=True, slots=True)
class Kept:
    """Where a conversation stands once the limits of this moment are heeded.

    Attributes:
        changes: what keeps the plan as it is now; empty where nothing had to go.
        families: the movements that went.
        gone: what was shown is gone: nothing may be done with it.
    """

    state: State
    training: Training
    changes: tuple[Change, ...] = ()
    families: tuple[Family, ...] = ()
    gone: bool = False


def heed_limits(state: State, event: Event, training: Training) -> Kept:
    """Take out of the plan what may not be done any more."""
    told = state.answers.get("at")
    at = None if told is None else int(told)
    keep = (at,) if at is not None and _is_over(state, event, training) else ()
    plan, out = within_limits(training.plan, training.place.record, keep)
    if not out:
        return Kept(state, training)
    running = bool(state.answers.get("running"))
    families = tuple(training.items[place].family for place in out)
    left = replace(training, plan=plan)
    gone = not running if state.step in ("list", "card") else state.step == "move" and at in out
    if at is not None:
        state = state.at(state.step, at=at - sum(place < at for place in out))
    return Kept(state, left, (keep_plan(plan, left, running=running),), families, gone)


def next_allowed(kept: Kept) -> Turn:
    """Say what went, and show what comes instead of it in a running session."""
    state, training = kept.state, kept.training
    if int(state.answers["at"]) >= len(training.items):
        turn = cool_down(state, training, 0)
    else:
        state = state.at("move", instead="", slip=False, pain=0)
        turn = Turn(state, says=(card(state, training.plan),))
    return replace(turn, says=(taken_out(kept), *turn.says))


def taken_out(kept: Kept) -> Say:
    """Which movements went."""
    return Say("session/taken_out", {"families": list(kept.families)})


def _is_over(state: State, event: Event, training: Training) -> bool:
    """Whether what the client tells now is about a set that has been done, or a pain."""
    said = pressed(event, "session", training.facts)
    done = said.startswith("did=") or said == "hurts" or said.rstrip("+").isdigit()
    answers = event.kind in (EventKind.TAP, EventKind.TEXT)
    return state.step in SET_DONE or (state.step == "move" and answers and done)
