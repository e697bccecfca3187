"""What people do, and the clock: plain values that can be done again and read as a diary."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from bot.messages import Incoming, IncomingKind
from tests.lives.chats import Chats
from tests.support.practice import CHANNEL, Practice

OLD_BEGINS = 40
"""Letters by which an older message is found again."""


@dataclass(frozen=True, slots=True)
class Tap:
    """Somebody taps a button.

    Attributes:
        label: of the button, or its beginning.
        old: beginning of an older message that it is on; "" for the newest with buttons.
        twice: once more right after, as thick thumbs do.
    """

    who: str
    label: str
    old: str = ""
    twice: bool = False


@dataclass(frozen=True, slots=True)
class Says:
    """Somebody types words."""

    who: str
    text: str


@dataclass(frozen=True, slots=True)
class Voice:
    """Somebody sends a voice note."""

    who: str


@dataclass(frozen=True, slots=True)
class Together:
    """Several people type at the same moment."""

    said: tuple[Says, ...]


@dataclass(frozen=True, slots=True)
class Joins:
    """Somebody types the newest code that a coach was given."""

    who: str


@dataclass(frozen=True, slots=True)
class Wait:
    """Time goes on."""

    minutes: float


@dataclass(frozen=True, slots=True)
class Morning:
    """Time goes on to the next time that clocks show this."""

    local: str


@dataclass(frozen=True, slots=True)
class Restart:
    """The process dies and starts again."""


@dataclass(frozen=True, slots=True)
class Block:
    """A chat takes no messages any more, or takes them again."""

    who: str
    opens: bool = False


Act = Tap | Says | Voice | Together | Joins | Wait | Morning | Restart | Block


def diary_line(act: Act) -> str:
    """One act as a sentence."""
    match act:
        case Tap(who, label, old, twice):
            on = f" on the older message “{old} …”" if old else ""
            return f"{who} taps “{label}”{on}{', twice' if twice else ''}"
        case Says(who, text):
            return f"{who} types “{text}”"
        case Voice(who):
            return f"{who} sends a voice note"
        case Together(said):
            return "at the same moment: " + "; ".join(diary_line(one) for one in said)
        case Joins(who):
            return f"{who} types the newest code"
        case Wait(minutes):
            return f"{minutes:g} minutes pass"
        case Morning(local):
            return f"time goes on to {local}"
        case Restart():
            return "the process dies and starts again"
        case Block(who, opens):
            return f"{who}'s chat {'is open again' if opens else 'is closed'}"


def typed_by(act: Act) -> list[Says]:
    """The words that are typed in an act."""
    match act:
        case Says():
            return [act]
        case Together(said):
            return list(said)
    return []


def passes_time(act: Act) -> bool:
    """Whether nobody does anything in an act."""
    return isinstance(act, Wait | Morning)


async def perform(
    act: Act,
    practice: Practice,
    chats: Chats,
    seen: Callable[[], None],
    between: Callable[[], None],
) -> bool:
    """Do it; gives False where it cannot be done (a button that is not there).

    Args:
        seen: called after each moment at which something fell due on the way.
        between: called between the two taps of a double tap.
    """
    match act:
        case Tap(who, _label, _old, twice):
            found = chats.button(who, act.label, act.old)
            if found is None:
                return False
            await practice.taps_value(who, found.value, found.message_id)
            if twice:
                between()
                await practice.taps_value(who, found.value, found.message_id)
        case Says(who, text):
            await practice.says(who, text)
        case Voice(who):
            await practice.sends_voice(who)
        case Together(said):
            batch = [
                Incoming(
                    CHANNEL,
                    one.who,
                    f"together-{practice.clock.now().timestamp()}-{number}-{len(chats)}",
                    IncomingKind.TEXT,
                    one.text,
                    "",
                    "",
                    practice.clock.now(),
                )
                for number, one in enumerate(said)
            ]
            await practice.app.engine.accept(batch)
            await practice.app.settle()
        case Joins(who):
            code = chats.newest_code()
            if not code:
                return False
            await practice.says(who, code)
        case Wait(minutes):
            await practice.goes_on(minutes, seen)
        case Morning(local):
            until = practice.next_at(local) - practice.clock.now()
            await practice.goes_on(until.total_seconds() / 60, seen)
        case Restart():
            await practice.restart()
        case Block(who, opens):
            (practice.channel.open_chat if opens else practice.channel.close_chat)(who)
    return True


def shorter_waits(act: Act) -> list[Act]:
    """Simpler acts that may do as well."""
    match act:
        case Wait(minutes) if minutes > 3:
            return [replace(act, minutes=minutes / 2)]
        case Together(said) if len(said) > 1:
            return [*said]
        case Tap(twice=True):
            return [replace(act, twice=False)]
    return []
