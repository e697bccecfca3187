"""What a conversation is: a state, an event, and the turn that follows.

A flow is a module with ``NAME`` and ``step(state, event, facts) -> Turn``: a pure function. What it
wants changed it lists as values of :mod:`bot.flows.changes`; what it wants said it lists as ``Say``
by template name. The engine (:mod:`bot.engine.conversation`) stores, renders and sends.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum
from typing import Any, Protocol, runtime_checkable

from bot.flows.changes import Change
from bot.flows.facts import Facts
from bot.flows.parsing import read_answer
from bot.messages import Kind
from core.red_flags.reading import Reading
from core.vocabulary import PersonId


class EventKind(StrEnum):
    """Why a flow is called."""

    BEGIN = "begin"  # the conversation opens; ``args`` say with what
    TAP = "tap"  # a button of this conversation; ``value`` is the button's
    TEXT = "text"  # words typed while this conversation is on top
    CONTACT = "contact"  # a shared phone number in ``value``
    DUE = "due"  # the moment this conversation asked to be woken at
    RESUME = "resume"  # another conversation on top of it has ended: ask again


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened to a conversation.

    Attributes:
        value: the button's value, the words typed, or the phone number shared.
        args: what the conversation was opened with.
        holds_sign: a coach's words in which the reader found a warning sign.
        cause: names what set this off (channel and update id, or the sweep): for dedupe keys.
    """

    kind: EventKind
    value: str = ""
    args: Mapping[str, Any] = field(default_factory=dict)
    cause: str = ""
    holds_sign: bool = False


@dataclass(frozen=True, slots=True)
class State:
    """Where a conversation stands; stored as a row. ``answers`` must be plain JSON values."""

    flow: str
    step: str
    answers: Mapping[str, Any] = field(default_factory=dict)

    def at(self, step: str, **answers: Any) -> "State":
        """The same conversation at another step, with some answers added or replaced."""
        return replace(self, step=step, answers={**self.answers, **answers})


SEPARATOR = "."
"""Stands between the parts of what a button sends back: who answers it, about what, the value."""

MOVEMENT_LABEL = "movement:"
"""A label that starts so names a rung, "movement:squat/squat_to_chair", and is said in words."""


@dataclass(frozen=True, slots=True)
class Button:
    """A button. Without a label, the template's own list of labels names it by ``value``.

    Attributes:
        value: what comes back as ``Event.value`` (short: 64 bytes with its prefix).
        label: words that are data (a client's name, a number), never a sentence.
        handler: "" for this conversation; else the name of the ``CallbackHandler`` that answers it.
        ref: what the handler is asked about (an id).
        copies: text that a tap puts into the clipboard; nothing comes back then.
    """

    value: str
    label: str = ""
    handler: str = ""
    ref: str = ""
    copies: str = ""


Rows = tuple[tuple[Button, ...], ...]


@dataclass(frozen=True, slots=True)
class PictureRequest:
    """A picture of a rung; the engine turns it into a content id.

    Attributes:
        step_key: key of the ladder step (:class:`core.movements.ladder.LadderStep`).
        chart: instead of a rung: name of a chart ("readiness", "load", "climb").
        args: what the chart shows.
    """

    step_key: str = ""
    chart: str = ""
    args: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Say:
    """Something to be said, by template.

    Attributes:
        template: name below ``templates/<language>``, without ``.j2``.
        values: what the template needs.
        rows: buttons, row by row.
        slot: messages of one slot replace each other in place when a button of it was tapped.
        to: the person; ``None`` means the one this conversation is with.
        kind: why it goes out.
        picture: a picture above it.
        document: content id of a file to hand over.
        asks_contact: the chat may offer to share the person's own phone number.
    """

    template: str
    values: Mapping[str, Any] = field(default_factory=dict)
    rows: Rows = ()
    slot: str = ""
    to: PersonId | None = None
    kind: Kind = Kind.REPLY
    picture: PictureRequest | None = None
    document: str = ""
    asks_contact: bool = False


@dataclass(frozen=True, slots=True)
class Begin:
    """Open another conversation right after this turn."""

    flow: str
    args: Mapping[str, Any] = field(default_factory=dict)
    person: PersonId | None = None


@dataclass(frozen=True, slots=True)
class Turn:
    """What a step decides.

    Attributes:
        state: where the conversation stands now; ``None`` ends it.
        says: in order.
        changes: applied in order, in the same transaction.
        begin: conversations to open next, in order.
        due_at: when the conversation times out with a ``DUE`` event; None means no time-out.
        understood: False when typed words meant nothing here; the engine then tries the commands
            and, failing those, says so and asks again.
        quiet: the state is kept, but the conversation is not on top any more (words typed next
            are commands, not answers).
        resumes: what was open before asks again.
        unasked: it ends as quietly as it waited: it came between nothing that would ask again.
    """

    state: State | None
    says: tuple[Say, ...] = ()
    changes: tuple[Change, ...] = ()
    begin: tuple[Begin, ...] = ()
    due_at: datetime | None = None
    understood: bool = True
    quiet: bool = False
    resumes: bool = False
    unasked: bool = False


class Flow(Protocol):
    """A conversation, as a module."""

    NAME: str

    def step(self, state: State, event: Event, facts: Facts) -> Turn:
        """What follows when ``event`` happens at ``state``. A new one opens at step ``begin``."""
        ...


@runtime_checkable
class AnsweredPlainly(Flow, Protocol):
    """A conversation whose question may have an answer that belongs to nothing else."""

    def plainly_answers(self, state: State, text: str, facts: Facts) -> bool:
        """Whether typed words can be nothing but the answer to what it asks at ``state``."""
        ...


@runtime_checkable
class AsksOfHealth(Flow, Protocol):
    """A conversation whose question may be answered in words that read like a warning sign."""

    def tells_what_was_asked(self, state: State, text: str, reading: Reading, facts: Facts) -> bool:
        """Whether ``reading`` found no more in the text than ``state`` asks for."""
        ...


@runtime_checkable
class AnsweredInPart(AsksOfHealth, Protocol):
    """A conversation whose answer may stand beside a warning sign in one text."""

    def beside_the_answer(self, state: State, text: str, facts: Facts) -> str:
        """What of an answer at ``state`` is to be read once more by itself; "" for nothing."""
        ...


class CallbackHandler(Protocol):
    """Answers buttons that outlive any conversation (an alert's "seen"), as a module."""

    NAME: str

    def tap(self, ref: str, value: str, facts: Facts) -> Turn:
        """What follows when button ``value`` about ``ref`` is tapped; the state is ``None``."""
        ...


def not_understood(state: State) -> Turn:
    """Words that mean nothing at this step; nothing changes."""
    return Turn(state, understood=False)


def rows_of(*rows: str) -> Rows:
    """Rows of buttons from strings of values: ``rows_of("1 2 3", "back")``."""
    return tuple(tuple(Button(value) for value in row.split()) for row in rows)


def in_twos(buttons: Sequence[Button]) -> Rows:
    """Buttons two beside each other, as they fit a phone."""
    return tuple(tuple(buttons[at : at + 2]) for at in range(0, len(buttons), 2))


def pressed(event: Event, question: str, facts: Facts) -> str:
    """The value of the button that was tapped or typed; other words as they were typed.

    Args:
        question: an entry of ``templates/<language>/words/answers.yaml``.
    """
    said = event.value.strip()
    if event.kind is not EventKind.TEXT:
        return said
    return read_answer(said, facts.reference.answers[question]) or said
