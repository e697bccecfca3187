"""How far the client has come: what each movement allows now, in words and as pictures."""

from datetime import date

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
    in_twos,
    not_understood,
)
from bot.flows.record.gains import Gain, gains_of
from core.dose.history import History

NAME = "progress"
SEE = "see="


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Show what was gained; its buttons show a movement then and now, and stay good."""
    if event.kind is EventKind.BEGIN:
        return _whole(state, facts)
    if event.kind is EventKind.TAP and event.value.startswith(SEE):
        return _then_and_now(state, event.value.removeprefix(SEE), facts)
    return not_understood(state)


def _whole(state: State, facts: Facts) -> Turn:
    record = facts.client(facts.me.id)
    history, gains = facts.history(record.id), gains_of(record, facts)
    values = {
        "gains": gains,
        "sessions": len(history.days_trained()),
        "this_month": _recent(history, facts.me.local(facts.now).date()),
        "own_aim": str(record.answers.get("own_aim") or ""),
    }
    known = any(gain["percent"] is not None for gain in gains)
    picture = PictureRequest(chart="climb", args={"client": int(record.id)}) if known else None
    buttons = [Button(f"{SEE}{gain['family']}") for gain in gains if gain["changed"]]
    rows: Rows = in_twos(buttons)
    say = Say("menu/progress", values, rows=rows, picture=picture)
    return Turn(state.at("shown") if rows else None, says=(say,), quiet=True)


def _then_and_now(state: State, code: str, facts: Facts) -> Turn:
    """Two pictures of one movement, the first above the present one."""
    gains = gains_of(facts.client(facts.me.id), facts)
    gain = next((one for one in gains if one["family"] == code and one["changed"]), None)
    if gain is None:
        return not_understood(state)
    say = Say("menu/then_and_now", {"gain": gain}, picture=pictures_of(gain))
    return Turn(state, says=(say,), quiet=True)


def pictures_of(gain: Gain) -> PictureRequest:
    """A movement then and now, one picture above the other."""
    return PictureRequest(
        step_key=gain["now"], args={"family": gain["family"], "then": gain["then"]}
    )


def _recent(history: History, today: date) -> int:
    return sum((today - day).days < 30 for day in history.days_trained())
