"""What a flow may know: values about people, and the questions it may ask of the record.

The store answers these (``bot/storage/facts.py``); each answer is read at most once a turn.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from bot.flows.desk import Desk
from bot.flows.place_words import PlaceWords
from bot.flows.reasons import Reason
from bot.flows.typed_words import DateOrder, TypedWords
from bot.flows.walk_words import NO_WALKS, WalkWords
from bot.flows.wishes import NO_WISHES, WishWords
from core.answers.words import Phrases, SentenceWords
from core.client.client import Client
from core.dose.capacity import Capacity
from core.dose.history import History
from core.dose.prescription import SessionPlan
from core.movements.catalogue import Catalogue
from core.programme.walking import WalkDone
from core.readiness.morning_questions import Morning
from core.readiness.reasons import DayReason
from core.red_flags.signs import SignRule
from core.vocabulary import AlertId, AlertLevel, PersonId, Role, SessionId, Sign, WalkId

Answers = Mapping[str, Any]
"""Stored answers: plain JSON values by the key of their question, each of that question's type."""


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who talks to the bot."""

    id: PersonId
    role: Role
    name: str
    country: str
    zone: str
    left: bool = False

    def local(self, moment: datetime) -> datetime:
        """``moment`` on this person's own clock."""
        return moment.astimezone(ZoneInfo(self.zone))


@dataclass(frozen=True, slots=True)
class ClientRecord:
    """One client with everything around training that the rules do not need.

    Attributes:
        client: what the rules of ``core`` read.
        answers: the joining answers as given (see :mod:`bot.flows.record.profile`).
        phone, home, contact_name, contact_phone: for emergencies.
        doctor_plan: the doctor's own plan for angina or asthma, word for word.
        joined: all joining questions are answered.
        cleared: the coach has tapped "cleared to start".
        week_word_day: ISO weekday of the word of the week; 0 for none.
        erasing: has asked to be erased; what an open alert needs goes when it is closed.
    """

    person: Person
    coach_id: PersonId
    client: Client
    answers: Answers
    phone: str = ""
    home: str = ""
    contact_name: str = ""
    contact_phone: str = ""
    doctor_plan: str = ""
    joined: bool = False
    cleared: bool = False
    away_from: date | None = None
    away_until: date | None = None
    quiet_from: time = time(21, 0)
    quiet_until: time = time(7, 0)
    health_asked_on: date | None = None
    week_word_day: int = 7
    erasing: bool = False

    @property
    def id(self) -> PersonId:
        """The client's own id."""
        return self.person.id

    def is_away(self, on: date) -> bool:
        """Whether a day lies in the time away."""
        begun = self.away_from is None or self.away_from <= on
        return begun and self.away_until is not None and on <= self.away_until


@dataclass(frozen=True, slots=True)
class Checkin:
    """One morning as kept."""

    on: date
    answers: Answers
    finished: bool
    signs_asked_at: datetime | None
    score: float | None = None
    day_plan: str = ""
    certainty: float | None = None
    reasons: tuple[DayReason, ...] = ()


@dataclass(frozen=True, slots=True)
class Session:
    """A planned, running or ended session. ``plan``: None where it was erased or not read."""

    id: SessionId
    on: date
    plan: SessionPlan | None
    status: str
    started_at: datetime | None
    ended_at: datetime | None
    silence_stage: int = 0
    effort: float | None = None
    effort_scale: str = ""
    minutes: float | None = None


@dataclass(frozen=True, slots=True)
class RunningWalk:
    """A walk on its way; ``minutes`` are those planned."""

    id: WalkId
    on: date
    started_at: datetime
    minutes: int


HELP_TO = "send_help_to"
"""Code of the line of an alert that holds an address."""


@dataclass(frozen=True, slots=True)
class Alert:
    """A warning sign on record.

    ``words`` are the client's own words, and reasons beside them;
    ``newest_sign_at`` is when a sign was last told that belongs to it; ``backup_told``: whether the
    stand-in has been told of it while nobody had seen it.
    """

    id: AlertId
    client_id: PersonId
    level: AlertLevel
    signs: tuple[Sign, ...]
    words: tuple[str | Reason, ...]
    for_other: bool
    raised_at: datetime
    round: int
    chases: int
    called: str
    seen_at: datetime | None
    seen_by: str
    closed: bool
    newest_sign_at: datetime
    backup_told: bool = False

    @property
    def help_to(self) -> str:
        """The address that the client told with the alert, the newest one, or ""."""
        told = [
            str(word.numbers["address"])
            for word in self.words
            if isinstance(word, Reason) and word.code == HELP_TO
        ]
        return told[-1] if told else ""


@dataclass(frozen=True, slots=True)
class Hold:
    """A pause in training. ``signs`` are those of the alert behind it.

    Attributes:
        lifted_by: name of the coach who lifted it, at ``lifted_at``.
        cleared_kind, cleared_by, cleared_on: who had cleared the client (doctor, nurse ...), by
            name, and on which day; "own" and no name where the coach decided herself.
    """

    because: str
    placed_at: datetime
    signs: tuple[Sign, ...] = ()
    lifted_at: datetime | None = None
    restart_easiest: bool = False
    lifted_by: str = ""
    cleared_kind: str = ""
    cleared_by: str = ""
    cleared_on: date | None = None


@dataclass(frozen=True, slots=True)
class Note:
    """Words for the record.

    Attributes:
        by_id: who wrote it: the client (a message to the coach), or a coach.
        to_client: a coach's words that were said to the client; else hers are a note.
    """

    at: datetime
    by_name: str
    text: str
    id: int = 0
    by_id: PersonId | None = None
    to_client: bool = False
    pinned: bool = False
    edited_at: datetime | None = None

    def is_message(self, client_id: PersonId) -> bool:
        """Whether it is part of what client and coach wrote to each other."""
        return self.to_client or self.by_id == client_id


@dataclass(frozen=True, slots=True)
class OpenInvitation:
    """A way in that nobody has used yet."""

    id: int
    name: str
    made_at: datetime
    until: datetime


@dataclass(frozen=True, slots=True)
class Country:
    """Numbers to call in one country.

    Attributes:
        emergency: the number as dialled, or "" where we know none for certain.
        health_line: advice that is not an emergency, or "".
        crisis_lines: for thoughts of suicide; may be empty.
        zones: (larger town, time zone), one for each different clock.
        mainland: the clock of every place but those that ``zones`` names with another, or "".
        units: what people write for height and weight: "metric", "imperial" or "stone".
        glucose_unit: the usual unit of blood sugar.
        dates: how a date in figures is written.
        also: other names that people type.
        common: offered as a button.
    """

    code: str
    name: str
    emergency: str = ""
    health_line: str = ""
    crisis_lines: tuple[str, ...] = ()
    zones: tuple[tuple[str, str], ...] = ()
    mainland: str = ""
    units: str = "metric"
    glucose_unit: str = "mmol/L"
    dates: DateOrder = DateOrder.OPEN
    also: tuple[str, ...] = ()
    common: bool = False


@dataclass(frozen=True, slots=True)
class Reference:
    """Data that never changes while the program runs, loaded once.

    Attributes:
        words: in typed times, dates, sizes, numbers and lists.
        sentences: in answers of whole sentences.
        questions: what clients ask in own words.
        spoken: what may be typed for a choice: group -> plain words -> code.
        answers: what may be typed in place of a button: question -> plain words -> its value.
        wishes: how clients ask for a movement to be changed.
        walks: how clients tell of a walk.
        safety_answers: what is typed to the questions about a warning sign: group -> plain words.
        places: how a place or a part of the body is told.
        who_left: what a client is called who has left and whose name is erased.
    """

    catalogue: Catalogue
    signs: Mapping[Sign, SignRule]
    countries: Mapping[str, Country]
    zones_by_town: Mapping[str, str]
    words: TypedWords
    sentences: SentenceWords
    questions: Phrases
    health_news: Phrases
    places: PlaceWords
    commands: Mapping[str, str] = field(default_factory=dict)
    spoken: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    answers: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    wishes: WishWords = NO_WISHES
    walks: WalkWords = NO_WALKS
    safety_answers: Mapping[str, frozenset[str]] = field(default_factory=dict)
    who_left: str = ""
    new_code: Callable[[], str] = str
    invitation_link: Callable[[str], str] = str


class Facts(Protocol):
    """What a flow may ask, about ``me`` or (for a coach) about her clients."""

    now: datetime
    me: Person
    reference: Reference

    def person(self, person_id: PersonId) -> Person: ...

    def client(self, client_id: PersonId) -> ClientRecord: ...

    def clients(self) -> Sequence[ClientRecord]:
        """The clients of this coach, and those she stands in for, by name.

        Whoever has left stays among them until their alert is closed.
        """
        ...

    def left_clients(self) -> Sequence[ClientRecord]:
        """My clients who have left and were not erased, by name."""
        ...

    def open_invitations(self) -> Sequence[OpenInvitation]:
        """My invitations for new clients that are good still, newest first."""
        ...

    def is_coach_of(self, client_id: PersonId) -> bool: ...

    def backup_of(self, coach_id: PersonId) -> Person | None: ...

    def reaches(self, person_id: PersonId) -> bool:
        """Whether a person has a chat that can be written to."""
        ...

    def told_of(self, client_id: PersonId) -> Person | None:
        """Who hears of a client now: the coach, or her stand-in while she is away or out of reach.

        ``None``: nobody.
        """
        ...

    def coaches(self) -> Sequence[Person]: ...

    def digest_at(self) -> time:
        """When my morning list comes, on my own clock (for a coach)."""
        ...

    def desk(self, coach_id: PersonId) -> Desk:
        """What a coach has set for her own days."""
        ...

    def checkin(self, client_id: PersonId, on: date) -> Checkin | None: ...

    def checkins(self, client_id: PersonId, days: int) -> Sequence[Checkin]:
        """The finished ones of the last ``days`` days, oldest first."""
        ...

    def begun_checkins(self, client_id: PersonId, days: int) -> Sequence[Checkin]:
        """Those of the last ``days`` days, finished or not, oldest first."""
        ...

    def mornings(self, client_id: PersonId) -> Sequence[Morning]:
        """Finished check-ins of the last 60 days before today, oldest first."""
        ...

    def history(self, client_id: PersonId) -> History: ...

    def capacity(self, client_id: PersonId) -> Capacity:
        """What is believed that a client can do, with all logged sets in it."""
        ...

    def session(self, client_id: PersonId, on: date) -> Session | None:
        """The latest session of that day."""
        ...

    def running_session(self, client_id: PersonId) -> Session | None: ...

    def sessions(self, client_id: PersonId, days: int) -> Sequence[Session]:
        """Those of the last ``days`` days, oldest first, without their plans."""
        ...

    def walks(self, client_id: PersonId, days: int) -> Sequence[WalkDone]:
        """Those done in the last ``days`` days, oldest first."""
        ...

    def walk_told_at(self, client_id: PersonId) -> datetime | None:
        """When the walk was told that was told last, if any was."""
        ...

    def running_walk(self, client_id: PersonId) -> RunningWalk | None:
        """The walk that has been started and not ended, if any."""
        ...

    def watched(self, client_id: PersonId) -> str:
        """Over what of a client silence is watched now: session, walk, test, unwell; or ""."""
        ...

    def says_unwell(self, client_id: PersonId) -> bool:
        """Whether a client has said that something is wrong, and not yet what it is."""
        ...

    def news_waits(self, client_id: PersonId) -> bool:
        """Whether news of a client's health was heard, and not yet whether it was heard right."""
        ...

    def alert(self, alert_id: AlertId) -> Alert | None: ...

    def open_alert(self, client_id: PersonId) -> Alert | None:
        """The client's open alert of level urgent or emergency."""
        ...

    def alerts(self, client_ids: Sequence[PersonId], days: int) -> Sequence[Alert]:
        """All alerts and mentions of the last days, newest first."""
        ...

    def hold(self, client_id: PersonId) -> Hold | None:
        """The pause that is on, if any."""
        ...

    def last_lift(self, client_id: PersonId) -> Hold | None:
        """The pause that was lifted last, if any."""
        ...

    def lifts(self, client_id: PersonId, days: int) -> Sequence[Hold]:
        """The pauses that were lifted in the last ``days`` days, newest first."""
        ...

    def notes(self, client_id: PersonId) -> Sequence[Note]: ...

    def said(self, row_id: int) -> str:
        """What I said in a stored message, or "" when it was not mine."""
        ...

    def was_tapped(self, tap: str, row_id: int) -> bool:
        """Whether a button about a stored message has been answered in that chat before.

        Args:
            tap: what the button sends back, whole.
        """
        ...
