"""How far the client has come: each movement's climb, in words and as a picture."""

from datetime import date
from typing import Any

from bot.flows.facts import Facts
from bot.flows.machine import Event, EventKind, PictureWish, Say, State, Turn
from core.history import History
from core.vocabulary import Family

NAME = "progress"


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Show the climb, once."""
    if event.kind is not EventKind.BEGIN:
        return Turn(None, understood=False)
    history = facts.history(facts.me.id)
    climbs = climbs_of(history)
    today = facts.me.local(facts.now).date()
    values = {
        "climbs": climbs,
        "sessions": len(history.days_trained()),
        "this_month": _recent(history, today),
    }
    picture = PictureWish(chart="climb", args={"client": int(facts.me.id)}) if climbs else None
    return Turn(None, says=(Say("menu/progress", values, picture=picture),))


def climbs_of(history: History) -> list[dict[str, Any]]:
    """Percent more demand than at first, by family, as far as there are two days of it."""
    found = []
    for family in Family:
        done = history.of_family(family)
        if len({one.on for one in done}) > 1 and done[0].demand > 0:
            percent = round((done[-1].demand / done[0].demand - 1) * 100)
            found.append(
                {
                    "family": family.value,
                    "percent": percent,
                    "since": done[0].on,
                    "rung": done[-1].step_key.split("@")[0],
                }
            )
    return found


def _recent(history: History, today: date) -> int:
    return sum((today - day).days < 30 for day in history.days_trained())
