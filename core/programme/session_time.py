"""How long a session may be, and how many movements that is."""

from typing import Final

from core.client.client import Client
from core.client.set_week import WeekStart
from core.client.steering import SteeringTable
from core.dose.session import SHORT_SESSION_MINUTES, around_minutes, needs_long_warm_up

CHOICES: Final = (15, 25, 40, 0)
"""What a client may say, minutes; 0 for no limit. Shorter sessions are kept to (Simek 2012)."""

USUAL_MINUTES: Final = SHORT_SESSION_MINUTES
USUAL_MINUTES_LONG_WARM_UP: Final = 40
"""Of who has said nothing. Twenty of the forty are warm-up and cool-down."""

MOST_MOVEMENTS: Final = 6
MOST_OF_A_GENTLE_WEEK: Final = 4
MINUTES_A_MOVEMENT: Final = 2.5
"""One set with its rest, about; the session itself is reckoned from its own sets."""


def minutes_of(client: Client, table: SteeringTable) -> int | None:
    """Minutes of every session, warm-up and cool-down included; ``None`` for no limit."""
    if client.session_minutes is None:
        return USUAL_MINUTES_LONG_WARM_UP if needs_long_warm_up(client, table) else USUAL_MINUTES
    return client.session_minutes or None


def choices_for(client: Client, table: SteeringTable) -> tuple[int, ...]:
    """What this client may say: what leaves time for a movement beside warm-up and cool-down."""
    return tuple(one for one in CHOICES if not one or movements_in(client, table, one))


def movements_in(client: Client, table: SteeringTable, minutes: int | None) -> int:
    """How many movements there is time for beside warm-up and cool-down, 0 to 6."""
    gentle = client.week.start is WeekStart.GENTLE
    most = MOST_OF_A_GENTLE_WEEK if gentle else MOST_MOVEMENTS
    if minutes is None:
        return most
    left = minutes - around_minutes(client, table, minutes)
    return max(0, min(most, int(left / MINUTES_A_MOVEMENT)))
