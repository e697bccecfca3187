"""What a conversation may want changed, as values; ``bot/storage/changes`` carries them out.

Each is applied in the transaction that saves the conversation, in the order given.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from bot.flows.desk import Waits
from bot.flows.reasons import Reason
from bot.json_values import JsonValue
from core.dose.history import PainTold, SetDone
from core.dose.prescription import SessionPlan
from core.programme.walking import WalkDone
from core.readiness.reasons import DayReason
from core.vocabulary import (
    AlertId,
    AlertLevel,
    Family,
    PersonId,
    Role,
    SessionId,
    Sign,
    WalkId,
)


@dataclass(frozen=True, slots=True)
class SaveProfile:
    """Merge answers about a client (see :mod:`bot.flows.record.profile` for the keys)."""

    client_id: PersonId
    answers: Mapping[str, JsonValue]


@dataclass(frozen=True, slots=True)
class SetPerson:
    """Change what is known of a person; ``None`` keeps what is there."""

    person_id: PersonId
    name: str | None = None
    country: str | None = None
    zone: str | None = None


@dataclass(frozen=True, slots=True)
class FinishJoin:
    """The client has answered everything; the coach may now clear them."""

    client_id: PersonId


@dataclass(frozen=True, slots=True)
class ClearToStart:
    """The coach's tap: this client may train, from now."""

    client_id: PersonId
    until: date | None = None


@dataclass(frozen=True, slots=True)
class WithdrawClearance:
    """No plan until the coach has cleared the client again (a change in health)."""

    client_id: PersonId
    because: str


@dataclass(frozen=True, slots=True)
class SetSchedule:
    """Change when a client is asked and trains; ``None`` keeps what is there. Times "HH:MM".

    Attributes:
        week_word_day: ISO weekday of the word of the week; 0 for none.
    """

    client_id: PersonId
    checkin_at: str | None = None
    training_days: tuple[int, ...] | None = None
    quiet_from: str | None = None
    quiet_until: str | None = None
    week_word_day: int | None = None


@dataclass(frozen=True, slots=True)
class SetAway:
    """No prompts until this day; None means back now.

    Attributes:
        begins: the first day away; ``None`` for at once.
    """

    client_id: PersonId
    until: date | None
    begins: date | None = None


@dataclass(frozen=True, slots=True)
class HealthAsked:
    """The monthly question about changes in health was put on this day."""

    client_id: PersonId
    on: date


@dataclass(frozen=True, slots=True)
class SaveCheckin:
    """Keep the morning's answers; with ``finished`` also what was made of them.

    With ``reopened`` a finished one is under way again: what was made of it holds no longer.
    """

    client_id: PersonId
    on: date
    answers: Mapping[str, JsonValue]
    signs_asked: bool = False
    finished: bool = False
    reopened: bool = False
    score: float | None = None
    day_plan: str = ""
    certainty: float | None = None
    reasons: tuple[DayReason, ...] = ()


@dataclass(frozen=True, slots=True)
class SavePlan:
    """Keep today's planned session (replaces an earlier plan of the day that has not started)."""

    client_id: PersonId
    on: date
    plan: SessionPlan


@dataclass(frozen=True, slots=True)
class StartSession:
    """A planned session begins; its silence is watched from now."""

    session_id: SessionId


@dataclass(frozen=True, slots=True)
class TouchSession:
    """A sign of life in a running session; with ``plan`` the plan is replaced."""

    session_id: SessionId
    plan: SessionPlan | None = None


@dataclass(frozen=True, slots=True)
class LogWatchedSet:
    """A set that the coach stood beside: what she counted, and what she saw left."""

    client_id: PersonId
    done: SetDone


@dataclass(frozen=True, slots=True)
class UndoWatchedSet:
    """A set of a family that the coach kept at that moment was no such set."""

    client_id: PersonId
    family: Family
    at: datetime


@dataclass(frozen=True, slots=True)
class LogSet:
    """The sets of one movement were done; ``done`` is the last of ``sets`` alike."""

    session_id: SessionId
    client_id: PersonId
    done: SetDone
    sets: int = 1


@dataclass(frozen=True, slots=True)
class UndoSet:
    """The newest set of a session was told by mistake, and counts as not done."""

    session_id: SessionId


@dataclass(frozen=True, slots=True)
class LogPain:
    """A pain was told."""

    client_id: PersonId
    pain: PainTold


@dataclass(frozen=True, slots=True)
class PainWasSharp:
    """The newest pain of that day, kept when its number was told, is a sharp one."""

    client_id: PersonId
    on: date


@dataclass(frozen=True, slots=True)
class PainSettled:
    """The answer to "has yesterday's pain settled?", for all pains not yet asked about."""

    client_id: PersonId
    settled: bool


@dataclass(frozen=True, slots=True)
class EndSession:
    """A session is over; ``finished`` is False when it was broken off."""

    session_id: SessionId
    finished: bool
    effort: float | None = None
    effort_scale: str = ""
    minutes: float | None = None


@dataclass(frozen=True, slots=True)
class StartWalk:
    """A planned walk begins; ``minutes`` are those planned."""

    client_id: PersonId
    on: date
    minutes: int


@dataclass(frozen=True, slots=True)
class LogWalk:
    """A walk was done; ``walk_id``: the one on its way that it ends."""

    client_id: PersonId
    walk: WalkDone
    walk_id: WalkId | None = None


@dataclass(frozen=True, slots=True)
class UndoWalk:
    """The walk that was told last was told by mistake, and counts as not done."""

    client_id: PersonId


@dataclass(frozen=True, slots=True)
class StopWalk:
    """A walk on its way is over without having been told of."""

    walk_id: WalkId


@dataclass(frozen=True, slots=True)
class RaiseAlert:
    """Tell the coach; joins an open alert of the same client (an episode).

    Attributes:
        level: how loud. A mention is only listed.
        signs: what was found.
        words: the person's own words.
        why: what else is to be said of it.
        holds: training stops until the coach lifts it.
        for_other: the danger is somebody beside the client.
        passed_on: the client hears that it is passed on: also a mention is said to the coach.
    """

    client_id: PersonId
    level: AlertLevel
    signs: tuple[Sign, ...]
    words: str = ""
    why: Reason | None = None
    holds: bool = True
    for_other: bool = False
    passed_on: bool = False


@dataclass(frozen=True, slots=True)
class AddWords:
    """More words to the client's open alert; where none is open, a message to the coach.

    Attributes:
        signs: what the client told before, for who reads a message of its own.
        alert_id: the line on the coach's list that they belong to, while a question is open.
        gets_worse: an alert that somebody has seen is unseen again, and chased.
    """

    client_id: PersonId
    words: str = ""
    why: Reason | None = None
    signs: tuple[Sign, ...] = ()
    alert_id: AlertId | None = None
    gets_worse: bool = False


@dataclass(frozen=True, slots=True)
class CallAnswer:
    """The client's answer to "Have you called?": "yes" or "cannot"."""

    client_id: PersonId
    answer: str


@dataclass(frozen=True, slots=True)
class MarkSeen:
    """A coach has seen the alert; the chasing ends and the client is told."""

    alert_id: AlertId


@dataclass(frozen=True, slots=True)
class CoachDid:
    """What a coach says she did about an alert ("called", "sent_to_doctor")."""

    alert_id: AlertId
    what: str


@dataclass(frozen=True, slots=True)
class CloseAlert:
    """The episode is over."""

    alert_id: AlertId


@dataclass(frozen=True, slots=True)
class PlaceHold:
    """Training is paused until the coach lifts it."""

    client_id: PersonId
    because: str


@dataclass(frozen=True, slots=True)
class LiftHold:
    """The coach lifts the pause.

    Attributes:
        cleared_kind: who cleared the client, a code of
            :mod:`bot.flows.coach.alerts.lift_questions`.
        cleared_by: their name; "" where the coach decided herself.
        cleared_on: the day of it, in the client's zone.
        restart_easiest: the next sessions start at the easiest rungs.
    """

    client_id: PersonId
    cleared_kind: str
    cleared_by: str
    cleared_on: date
    restart_easiest: bool


@dataclass(frozen=True, slots=True)
class MakeInvitation:
    """A way in for one person, single use, for seven days. ``code`` is shown once."""

    code: str
    role: Role
    name: str
    coach_id: PersonId | None = None
    rebinds_id: PersonId | None = None


@dataclass(frozen=True, slots=True)
class WithdrawInvitation:
    """A way in that nobody has used is good no more; only who made it may."""

    invitation_id: int


@dataclass(frozen=True, slots=True)
class BringBack:
    """A client who left is here again; before a plan goes out the coach clears them anew."""

    client_id: PersonId


@dataclass(frozen=True, slots=True)
class HandOver:
    """A client is another coach's from now on, with the whole record."""

    client_id: PersonId
    to: PersonId


@dataclass(frozen=True, slots=True)
class SuspendCoach:
    """No chat speaks for a colleague any more: her phone is lost."""

    coach_id: PersonId


@dataclass(frozen=True, slots=True)
class SetBackup:
    """Who is told when this coach does not answer."""

    coach_id: PersonId
    backup_id: PersonId | None


@dataclass(frozen=True, slots=True)
class SetDigest:
    """When the coach's morning list comes, "HH:MM"."""

    coach_id: PersonId
    at: str


@dataclass(frozen=True, slots=True)
class AddNote:
    """Words for the record: a message between client and coach, or the coach's own note.

    Attributes:
        to_client: the coach's words, and they are said to the client in the same turn.
    """

    client_id: PersonId
    text: str
    to_client: bool = False


@dataclass(frozen=True, slots=True)
class ChangeNote:
    """The coach edits, pins or unpins a note of her own; ``None`` keeps what is there."""

    client_id: PersonId
    note_id: int
    text: str | None = None
    pinned: bool | None = None


@dataclass(frozen=True, slots=True)
class DeleteNote:
    """The coach takes a note of her own away for good."""

    client_id: PersonId
    note_id: int


@dataclass(frozen=True, slots=True)
class SetDesk:
    """Merge what a coach has set for her own days (:mod:`bot.flows.desk`); None takes one out."""

    coach_id: PersonId
    answers: Mapping[str, JsonValue]


@dataclass(frozen=True, slots=True)
class KeepForList:
    """Something waits for a coach's list; ``what``: the name of the template that tells of it."""

    coach_id: PersonId
    client_id: PersonId
    what: str


@dataclass(frozen=True, slots=True)
class TakeOffList:
    """These things that waited for a coach's list have been told.

    Attributes:
        by_list: the moment at which the list was due that is on its way with them, as a Unix time;
            one that never arrives gives them back. None: no list tells of them.
    """

    coach_id: PersonId
    told: tuple[Waits, ...]
    by_list: int | None = None


@dataclass(frozen=True, slots=True)
class Leave:
    """The client stops; prompts end, the record is kept until it is erased."""

    client_id: PersonId


@dataclass(frozen=True, slots=True)
class Erase:
    """Remove all words of a person; that alerts were raised, and by whom seen, stays."""

    person_id: PersonId


@dataclass(frozen=True, slots=True)
class Audit:
    """Write down who looked at or changed what."""

    subject_id: PersonId
    what: str
    detail: str = field(default="")


Change = (
    SaveProfile
    | SetPerson
    | FinishJoin
    | ClearToStart
    | WithdrawClearance
    | SetSchedule
    | SetAway
    | HealthAsked
    | SaveCheckin
    | SavePlan
    | StartSession
    | TouchSession
    | LogSet
    | UndoSet
    | UndoWatchedSet
    | UndoWalk
    | LogWatchedSet
    | LogPain
    | PainWasSharp
    | PainSettled
    | EndSession
    | StartWalk
    | LogWalk
    | StopWalk
    | RaiseAlert
    | AddWords
    | CallAnswer
    | MarkSeen
    | CoachDid
    | CloseAlert
    | PlaceHold
    | LiftHold
    | MakeInvitation
    | WithdrawInvitation
    | BringBack
    | HandOver
    | SuspendCoach
    | SetBackup
    | SetDigest
    | AddNote
    | ChangeNote
    | DeleteNote
    | SetDesk
    | KeepForList
    | TakeOffList
    | Leave
    | Erase
    | Audit
)
