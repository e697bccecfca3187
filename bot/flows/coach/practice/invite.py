"""A way in for a new client: a code and a link, for one person, for seven days."""

from datetime import timedelta

from bot.flows.changes import MakeInvitation
from bot.flows.facts import ClientRecord, Facts
from bot.flows.machine import Event, EventKind, Say, State, Turn, not_understood, rows_of
from bot.flows.parsing import Reask, read_words
from core.vocabulary import Role

NAME = "coach_invite"
LASTS = timedelta(days=7)
NEW_PHONE_LASTS = timedelta(hours=1)
"""As the store keeps them (``bot/storage/changes/people.py``)."""

LONGEST_NAME = 40


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Ask for the name, then give the code."""
    if facts.me.role is not Role.COACH:
        return Turn(None, understood=False)
    if event.kind is EventKind.TAP:
        if event.value == "cancel":
            return Turn(None, says=(Say("coach/nothing_done"),))
        return not_understood(state)
    if event.kind is EventKind.TEXT:
        name = read_words(event.value, LONGEST_NAME)
        if isinstance(name, Reask):
            return _ask(state, name)
        return invitation(name, None, facts)
    return _ask(state, None)


def _ask(state: State, again: Reask | None) -> Turn:
    values = {
        "again": again.why.value if again else "",
        "again_about": again.about if again else "",
    }
    say = Say("coach/invite", values, rows=rows_of("cancel"))
    return Turn(state.at("name"), says=(say,))


def invitation(name: str, rebinds: ClientRecord | None, facts: Facts) -> Turn:
    """A fresh code, shown once, with what to do with it."""
    code = facts.reference.new_code()
    made = MakeInvitation(
        code=code,
        role=Role.CLIENT,
        name=name,
        coach_id=rebinds.coach_id if rebinds else facts.me.id,
        rebinds_id=rebinds.id if rebinds else None,
    )
    values = {
        "name": name,
        "code": code,
        "link": facts.reference.invitation_link(code),
        "until": facts.me.local(facts.now + (NEW_PHONE_LASTS if rebinds else LASTS)),
        "new_phone": rebinds is not None,
    }
    return Turn(None, says=(Say("coach/invited", values),), changes=(made,))
