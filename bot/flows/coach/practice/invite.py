"""A way in for a new client: a code and a link, for one person, for seven days."""

from datetime import timedelta

from bot.flows.changes import MakeInvitation, WithdrawInvitation
from bot.flows.commands import command_of
from bot.flows.facts import ClientRecord, Facts
from bot.flows.forms import ASKED
from bot.flows.machine import (
    Begin,
    Button,
    Event,
    EventKind,
    Say,
    State,
    Turn,
    not_understood,
    rows_of,
)
from bot.flows.parsing import Reask, plain_words, read_words
from core.answers.names import read_name
from core.vocabulary import Role

NAME = "coach_invite"
LASTS = timedelta(days=7)
NEW_PHONE_LASTS = timedelta(hours=1)
"""As the store keeps them (``bot/storage/changes/people.py``)."""

LONGEST_NAME = 40
MOST_OPEN = 8


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Ask for the name, then give the code; what is open can be withdrawn."""
    if facts.me.role is not Role.COACH:
        return Turn(None, understood=False)
    if event.kind is EventKind.TAP:
        return _tapped(state, event.value, facts)
    if event.kind is EventKind.TEXT:
        if command_of(event.value, Role.COACH, {}) is not None:
            return not_understood(state)
        typed = read_words(event.value, LONGEST_NAME)
        if isinstance(typed, Reask):
            return _ask(state, facts, typed)
        read = read_name(typed, facts.reference.sentences)
        if read is not None and not read.sure:
            # A code is for one person: a name taken out of a sentence is shown before it is made.
            names = {"name": read.value, "typed": typed}
            rows = rows_of("read", "typed", "cancel")
            return Turn(
                state.at("read", **names), says=(Say("coach/invite_read", names, rows=rows),)
            )
        return _named(state, typed, facts)
    return _ask(state, facts, None)


def _named(state: State, name: str, facts: Facts) -> Turn:
    if _known(name, facts):
        say = Say("coach/invite_known", {"name": name}, rows=rows_of("sure", "cancel"))
        return Turn(state.at("known", name=name), says=(say,))
    return invitation(name, None, facts)


def _tapped(state: State, value: str, facts: Facts) -> Turn:
    if value == "cancel":
        return Turn(None, says=(Say("coach/nothing_done"),))
    if value == "sure" and state.step == "known":
        return invitation(str(state.answers["name"]), None, facts)
    if value in ("read", "typed") and state.step == "read":
        return _named(state, str(state.answers["name" if value == "read" else value]), facts)
    asked, _, ref = value.partition(ASKED)
    open_now = {str(one.id): one for one in facts.open_invitations()}
    if asked == "withdraw" and ref in open_now:
        gone = Say("coach/invite_withdrawn", {"name": open_now[ref].name})
        changes = (WithdrawInvitation(open_now[ref].id),)
        return Turn(None, says=(gone,), changes=changes, begin=(Begin(NAME),))
    return not_understood(state)


def _known(name: str, facts: Facts) -> bool:
    """Whether a client of mine, or somebody invited, is called so."""
    names = [record.person.name for record in facts.clients() if record.coach_id == facts.me.id]
    names += [one.name for one in facts.open_invitations()]
    return plain_words(name) in {plain_words(one) for one in names}


def _ask(state: State, facts: Facts, again: Reask | None) -> Turn:
    waiting = [
        {
            "id": f"{one.id}",
            "name": one.name,
            "made": facts.me.local(one.made_at),
            "until": facts.me.local(one.until),
        }
        for one in facts.open_invitations()[:MOST_OPEN]
    ]
    values = {
        "again": again.why.value if again else "",
        "again_about": again.about if again else "",
        "waiting": waiting,
    }
    rows = tuple((Button(f"withdraw{ASKED}{one['id']}"),) for one in waiting)
    say = Say("coach/invite", values, rows=(*rows, *rows_of("cancel")))
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
    link = facts.reference.invitation_link(code)
    values = {
        "name": name,
        "code": code,
        "link": link,
        "until": facts.me.local(facts.now + (NEW_PHONE_LASTS if rebinds else LASTS)),
        "new_phone": rebinds is not None,
    }
    copy = (Button("copy_link", copies=link),) if link else (Button("copy_code", copies=code),)
    return Turn(None, says=(Say("coach/invited", values, rows=(copy,)),), changes=(made,))
