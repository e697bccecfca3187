"""What a phone on the trial page shows, worked out from its chat: pure.

Each entry is a plain JSON value. Words about entries ("Alert", "said 3 times") are the page's own
and stand in ``templates/page/index.html``.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from bot.messages import IncomingKind, Kind, Outgoing, ReplyButton
from bot.storage.shown import Chat, Phone, Received, Schedule, Sent
from core.slots import next_moment
from core.vocabulary import Role

ALERTS = (Kind.ALERT, Kind.NEW_ALERT)
QUOTE = re.compile("“.*?”", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Repeats:
    """A message that was said several times.

    Attributes:
        last: the newest, which is shown.
        count: how often it was said since the person last did something.
        first_at: when it was said first.
    """

    last: Received
    count: int
    first_at: datetime


def entries(chat: Chat) -> list[dict[str, Any]]:
    """Everything in a chat in the order in which it happened, repeats of one alert as one line."""
    received = {one.message_id: one for one in chat.received}
    sent = [one for one in chat.sent if not _needs_no_line(one, received)]
    repeats = collapse(chat.received, [one.at for one in sent])
    # What a person sent comes before what was answered in the same moment.
    shown = [
        *(((one.at, 0, one.row_id), _sent_entry(one, received)) for one in sent),
        *(((one.last.at, 1, one.last.row_id), _received_entry(one)) for one in repeats),
    ]
    shown.sort(key=lambda pair: pair[0])
    return [entry for _, entry in shown]


def collapse(received: Sequence[Received], own_acts: Sequence[datetime]) -> list[Repeats]:
    """Fold alerts that say the same again into one, until the person does something.

    Two alerts are about the same when their first line and their buttons are the same; one whose
    quoted words do not all stand in the later one is never hidden by it.
    """
    acts = sorted(own_acts)
    folded: list[Repeats] = []
    places: dict[tuple[str, ...], int] = {}
    done = 0
    for one in received:
        while done < len(acts) and acts[done] <= one.at:
            done += 1
            places.clear()
        if one.kind not in ALERTS:
            folded.append(Repeats(one, 1, one.at))
            continue
        about = _about(one.outgoing)
        place = places.get(about)
        if place is None or not _quoted(folded[place].last) <= _quoted(one):
            places[about] = len(folded)
            folded.append(Repeats(one, 1, one.at))
        else:
            before = folded[place]
            folded[place] = Repeats(one, before.count + 1, before.first_at)
    return folded


def phone_value(phone: Phone, now: datetime) -> dict[str, Any]:
    """A phone for the list of people, with the moments that the clock can be moved to."""
    person = phone.person
    morning, session = next_moments(phone.schedule, ZoneInfo(person.zone), now)
    return {
        "address": phone.address,
        "name": person.name,
        "role": _role_of(phone),
        "zone": person.zone,
        "state": _state_of(phone),
        "lastTold": phone.last_received,
        "nextMorning": _iso(morning),
        "nextSession": _iso(session),
    }


def next_moments(
    schedule: Schedule | None, zone: ZoneInfo, now: datetime
) -> tuple[datetime | None, datetime | None]:
    """A client's next check-in, and the next one on a training day; ``None`` for coaches.

    The session belongs to the morning: its plan is made from that day's check-in.
    """
    if schedule is None:
        return None, None
    at = time.fromisoformat(schedule.checkin_at)
    due = schedule.checkin_due_at
    morning = due if due is not None and due > now else next_moment(zone, at, now)
    return morning, next_moment(zone, at, now, schedule.training_days)


def _needs_no_line(one: Sent, received: Mapping[str, Received]) -> bool:
    """A tap that changed its own message, or whose message is gone."""
    if one.kind is not IncomingKind.TAP:
        return False
    target = received.get(one.message_id)
    return target is None or (target.changed_at is not None and target.changed_at >= one.at)


def _sent_entry(one: Sent, received: Mapping[str, Received]) -> dict[str, Any]:
    return {
        "id": f"sent-{one.row_id}",
        "from": "person",
        "kind": one.kind.value,
        "at": one.at.isoformat(),
        "text": _label_of(one, received) if one.kind is IncomingKind.TAP else one.text,
    }


def _label_of(one: Sent, received: Mapping[str, Received]) -> str:
    """What the tapped button says, "" when its message has been changed or is long gone."""
    target = received.get(one.message_id)
    rows = () if target is None else target.outgoing.choices
    return next((c.label for row in rows for c in row if c.value == one.tap), "")


def _received_entry(repeats: Repeats) -> dict[str, Any]:
    one = repeats.last
    return {
        "id": f"received-{one.row_id}",
        "from": "bot",
        "kind": (Kind.ALERT if one.kind in ALERTS else one.kind).name.lower(),
        "at": one.at.isoformat(),
        "firstAt": repeats.first_at.isoformat(),
        "times": repeats.count,
        "messageId": one.message_id,
        "text": one.outgoing.text,
        "choices": [[_choice(c) for c in row] for row in one.outgoing.choices],
        "picture": one.outgoing.picture,
        "pictureText": one.outgoing.picture_text,
        "document": one.outgoing.document,
    }


def _choice(button: ReplyButton) -> list[str]:
    """Label and value; a third where the button copies a text."""
    return [button.label, button.value, *([button.copies] if button.copies else [])]


def _quoted(one: Received) -> set[str]:
    """What a message says in somebody's own words."""
    return set(QUOTE.findall(one.outgoing.text))


def _about(outgoing: Outgoing) -> tuple[str, ...]:
    values = (choice.value for row in outgoing.choices for choice in row)
    return (outgoing.text.partition("\n")[0], *values)


def _role_of(phone: Phone) -> str:
    if phone.person.role is Role.CLIENT:
        return "client"
    return "backup" if phone.stands_in else "coach"


def _state_of(phone: Phone) -> str:
    """The one thing worth knowing about a person in a list, most pressing first."""
    if phone.unseen_alert:
        return "alert"
    if phone.on_hold:
        return "hold"
    if not phone.joined:
        return "joining"
    return "ready" if phone.cleared else "uncleared"


def _iso(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat()
