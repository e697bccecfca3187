"""How hard today may be, and the talk test; whatever else is open stays open."""

from bot.flows.facts import Facts
from bot.flows.machine import Button, Event, EventKind, Say, State, Turn, rows_of
from bot.flows.record.effort import guide_values
from bot.flows.record.planning import Gate, training_status
from core.intensity.effort_guide import TalkAnswer, answer_to_talk

NAME = "how_hard"
HOW_HARD = Button(NAME, handler="open", ref=NAME)
"""The button that asks; it stands wherever somebody is about to train."""

SHOWN = (Gate.OPEN, Gate.NO_CHECKIN, Gate.REST_DAY, Gate.SAID_UNWELL, Gate.NEWS_HEARD)


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Show the guide; a tap answers the talk test."""
    place = training_status(facts)
    if place.gate not in SHOWN:
        return Turn(None, says=(Say("today/closed", {"gate": place.gate.value}),))
    if event.kind is EventKind.BEGIN:
        rows = rows_of(*(f"talk={answer}" for answer in TalkAnswer))
        values = guide_values(place.record, place.checkin, facts)
        say = Say("today/how_hard", values, rows=rows)
        # Whatever is open, a session above all, stays on top.
        return Turn(state.at("shown"), says=(say,), quiet=True)
    answer = event.value.removeprefix("talk=")
    if event.kind is EventKind.TAP and answer in set(TalkAnswer):
        code = answer_to_talk(TalkAnswer(answer)).value
        return Turn(state, says=(Say("today/talk", {"code": code}),), quiet=True)
    return Turn(state, understood=False, quiet=True)
