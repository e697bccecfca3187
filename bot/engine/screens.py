"""What a button sends back, and which screen it was on: taps that repeat, or come too late.

Each turn that moves a conversation on shows a new screen, and its buttons carry the number. So a
shaky thumb's second tap counts for the screen it was meant for, also where a message is edited in
place. Buttons without a number were sent before there were numbers; they are taken as they come.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.flows.facts import Facts
from bot.flows.machine import Button, Event, EventKind, Flow, Turn
from bot.storage.conversations import LASTING, Conversation
from bot.storage.server.generation import marked, unmarked

SEPARATOR = "."
MARK = "-"
DOUBLE_TAP = timedelta(seconds=30)
"""The same button tapped again within this time is a shaky thumb or a slow network (ours)."""

STILL_GOING = timedelta(hours=3)
"""What was touched so lately goes on over midnight; older than that it is another day's."""

MOST_REMEMBERED = 12
MOVES_ON = (EventKind.BEGIN, EventKind.TAP, EventKind.TEXT, EventKind.CONTACT)

ALWAYS_HEARD = frozenset({"stop", "hurts", "it_hurt", "unwell", "sign"})
"""Buttons that tell of something wrong: heard from an older screen, too."""


@dataclass(frozen=True, slots=True)
class Home:
    """What a button belongs to; ``screen`` is None on a button without a number."""

    conversation_id: int
    screen: int | None


def tap_value(button: Button, conversation: Conversation | None, generation: str = "") -> str:
    """What a button sends back: who answers it, about what, the value, and of which store."""
    return marked(_tap_value(button, conversation), generation)


def _tap_value(button: Button, conversation: Conversation | None) -> str:
    if button.handler:
        return SEPARATOR.join((button.handler, button.ref, button.value))
    if conversation is None:
        return SEPARATOR.join(("", "", button.value))
    ref = f"{conversation.id}{MARK}{conversation.screen}"
    return SEPARATOR.join((conversation.state.flow, ref, button.value))


def split_tap(tap: str) -> tuple[str, str, str]:
    """Handler or flow, reference, value; empty parts where the button is not one of ours."""
    handler, _, rest = unmarked(tap)[0].partition(SEPARATOR)
    ref, _, value = rest.partition(SEPARATOR)
    return handler, ref, value


def home_of(ref: str) -> Home | None:
    """The conversation and screen that a reference of a button names; None for anything else."""
    number, mark, screen = ref.partition(MARK)
    if not number.isdigit() or (mark and not screen.isdigit()):
        return None
    return Home(int(number), int(screen) if mark else None)


def is_repeat(conversation: Conversation, home: Home, value: str, now: datetime) -> bool:
    """Whether this very button has just been taken."""
    taken = _taken(home, value) in conversation.taken
    return taken and now - conversation.touched_at < DOUBLE_TAP


def is_too_late(
    conversation: Conversation, home: Home, value: str, flow: Flow | None, facts: Facts
) -> bool:
    """Whether the conversation, or the day, has moved on, where buttons do not say of what.

    A flow says so of itself: ``ONE_SCREEN``, only the newest screen counts; ``ONE_DAY``, only that
    of today; ``WAITS_AT``, the steps at which it waits for days all the same.
    """
    one_screen = getattr(flow, "ONE_SCREEN", False)
    if value in ALWAYS_HEARD or not (one_screen or getattr(flow, "ONE_DAY", False)):
        return False
    if is_of_another_day(conversation, flow, facts):
        return True
    return one_screen and home.screen is not None and home.screen < conversation.screen


def is_of_another_day(conversation: Conversation, flow: Flow | None, facts: Facts) -> bool:
    """Whether what is asked was left on an earlier day, and is nothing that waits for days."""
    on, today = (facts.me.local(at).date() for at in (conversation.touched_at, facts.now))
    waits = conversation.state.flow in LASTING or conversation.state.step in getattr(
        flow, "WAITS_AT", ()
    )
    return on != today and not waits and facts.now - conversation.touched_at > STILL_GOING


def move_on(conversation: Conversation, event: Event, turn: Turn, home: Home | None) -> None:
    """Count the screen that this turn shows, and remember the button that led to it.

    New buttons are a new screen even where the conversation stands at the same place: the plan
    under it may have changed.
    """
    shows = any(say.rows for say in turn.says)
    if event.kind not in MOVES_ON or (turn.state == conversation.state and not shows):
        return
    if home is not None and home.screen is not None:
        taken = _taken(home, event.value)
        conversation.taken = (*conversation.taken, taken)[-MOST_REMEMBERED:]
    conversation.screen += 1


def _taken(home: Home, value: str) -> str:
    return f"{home.screen}{MARK}{value}"
