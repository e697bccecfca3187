"""How far the client has come: each movement's climb, in words and as pictures."""

from collections.abc import Container
from datetime import date
from typing import TypedDict

from bot.flows.facts import Facts
from bot.flows.machine import (
    Button,
    Event,
    EventKind,
    PictureRequest,
    Rows,
    Say,
    State,
    Turn,
    not_understood,
)
from core.dose.history import History
from core.vocabulary import Family

NAME = "progress"
SEE = "see="


class Climb(TypedDict):
    """One movement's change since its first day.

    Attributes:
        percent: more demand than then.
        rungs: the first and the last, once where they are one; none that is gone.
        then: key of the first step.
        changed: there are two pictures to show.
    """

    family: str
    percent: int
    since: date
    rungs: list[str]
    then: str
    changed: bool


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Show the climb; its buttons show a movement then and now, and stay good."""
    history = facts.history(facts.me.id)
    if event.kind is EventKind.BEGIN:
        return _whole(state, history, facts)
    if event.kind is EventKind.TAP and event.value.startswith(SEE):
        return _then_and_now(state, event.value.removeprefix(SEE), history, facts)
    return not_understood(state)


def _whole(state: State, history: History, facts: Facts) -> Turn:
    climbs = climbs_of(history, facts.reference.catalogue.by_id)
    today = facts.me.local(facts.now).date()
    values = {
        "climbs": climbs,
        "sessions": len(history.days_trained()),
        "this_month": _recent(history, today),
        "own_aim": str(facts.client(facts.me.id).answers.get("own_aim") or ""),
    }
    picture = PictureRequest(chart="climb", args={"client": int(facts.me.id)}) if climbs else None
    buttons = [Button(f"{SEE}{climb['family']}") for climb in climbs if climb["changed"]]
    rows: Rows = tuple(tuple(buttons[at : at + 2]) for at in range(0, len(buttons), 2))
    say = Say("menu/progress", values, rows=rows, picture=picture)
    return Turn(state.at("shown") if rows else None, says=(say,), quiet=True)


def _then_and_now(state: State, code: str, history: History, facts: Facts) -> Turn:
    """Two pictures of one movement, the first above the present one."""
    climbs = climbs_of(history, facts.reference.catalogue.by_id)
    climb = next((one for one in climbs if one["family"] == code and one["changed"]), None)
    if climb is None:
        return not_understood(state)
    done = history.of_family(Family(code))
    picture = PictureRequest(
        step_key=done[-1].step_key, args={"family": code, "then": climb["then"]}
    )
    return Turn(
        state, says=(Say("menu/then_and_now", {"climb": climb}, picture=picture),), quiet=True
    )


def climbs_of(history: History, known: Container[str]) -> list[Climb]:
    """Each movement's change since its first day, as far as there are two days of it.

    Args:
        known: ids of the rungs that the catalogue still has.
    """
    found: list[Climb] = []
    for family in Family:
        done = history.of_family(family)
        if len({one.on for one in done}) > 1 and done[0].demand > 0:
            percent = round((done[-1].demand / done[0].demand - 1) * 100)
            rungs = first_and_last(history, family, known)
            found.append(
                {
                    "family": family.value,
                    "percent": percent,
                    "since": done[0].on,
                    "rungs": rungs,
                    "then": done[0].step_key,
                    "changed": bool(rungs) and done[0].step_key != done[-1].step_key,
                }
            )
    return found


def first_and_last(history: History, family: Family, known: Container[str]) -> list[str]:
    """The rung done first and the one done last, once where they are one; none that is gone."""
    done = history.of_family(family)
    rungs = dict.fromkeys(one.step_key.partition("@")[0] for one in (done[0], done[-1]))
    return list(rungs) if all(rung in known for rung in rungs) else []


def _recent(history: History, today: date) -> int:
    return sum((today - day).days < 30 for day in history.days_trained())
