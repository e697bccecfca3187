"""The tables.

Columns that end in ``_sealed`` hold encrypted text (see :mod:`bot.storage.encryption`): words, and
every answer about health. A chat's address is sealed so that it can be looked up (``chat()``). What
is open, and why, is listed in ``tests/bot/storage/open_columns.py``.

Times are aware UTC; dates are in the person's own zone. ``due_at`` and its kin are the truth about
the future: the sweeps look for rows whose moment has come.
"""

from datetime import date, datetime

from sqlalchemy import Index, UniqueConstraint
from sqlmodel import Field, SQLModel, col

from bot.storage.columns import chat, moment, text


class PersonRow(SQLModel, table=True):
    """Somebody who may talk to the bot.

    ``role`` is what they are first; a coach who tests as her own client has two rows.
    """

    __tablename__ = "person"
    id: int | None = Field(default=None, primary_key=True)
    role: str = Field(index=True)
    name_sealed: str = Field(default="", sa_column=text())
    country: str = ""
    zone: str = "UTC"
    created_at: datetime = Field(sa_column=moment(nullable=False))
    left_at: datetime | None = Field(default=None, sa_column=moment())


class AddressRow(SQLModel, table=True):
    """A chat that speaks for a person."""

    __tablename__ = "address"
    __table_args__ = (UniqueConstraint("channel", "address", "person_id"),)
    id: int | None = Field(default=None, primary_key=True)
    channel: str
    address: str = Field(sa_column=chat(index=True))
    person_id: int = Field(foreign_key="person.id", index=True)
    bound_at: datetime = Field(sa_column=moment(nullable=False))
    used_at: datetime = Field(sa_column=moment(nullable=False))
    blocked_at: datetime | None = Field(default=None, sa_column=moment())
    unbound_at: datetime | None = Field(default=None, sa_column=moment())


class CoachRow(SQLModel, table=True):
    """What only coaches have."""

    __tablename__ = "coach"
    person_id: int = Field(primary_key=True, foreign_key="person.id")
    backup_id: int | None = Field(default=None, foreign_key="person.id")
    digest_at: str = "07:00"
    # Office hours, days away, and which messages come when (bot/flows/desk.py).
    desk_sealed: str = Field(default="", sa_column=text())
    digest_due_at: datetime | None = Field(default=None, sa_column=moment(index=True))


class ClientRow(SQLModel, table=True):
    """What only clients have; ``profile_sealed`` is the joined answers, limits and clearance."""

    __tablename__ = "client"
    person_id: int = Field(primary_key=True, foreign_key="person.id")
    coach_id: int = Field(foreign_key="person.id", index=True)
    profile_sealed: str = Field(default="", sa_column=text())
    joined_at: datetime | None = Field(default=None, sa_column=moment())
    cleared_at: datetime | None = Field(default=None, sa_column=moment())
    checkin_at: str = "08:00"
    training_days: str = "1,3,5"
    quiet_from: str = "21:00"
    quiet_until: str = "07:00"
    away_from: date | None = None
    away_until: date | None = None
    checkin_due_at: datetime | None = Field(default=None, sa_column=moment(index=True))
    reminder_due_at: datetime | None = Field(default=None, sa_column=moment(index=True))
    # ISO weekday of the word of the week; 0 for none.
    week_word_day: int = 7
    week_word_due_at: datetime | None = Field(default=None, sa_column=moment(index=True))
    health_asked_on: date | None = None
    # The client has asked to be erased; what an open alert needs goes when it is closed.
    erase_asked_at: datetime | None = Field(default=None, sa_column=moment())


class InvitationRow(SQLModel, table=True):
    """A single-use way in. Only a hash of the code is kept, which needs the key."""

    __tablename__ = "invitation"
    id: int | None = Field(default=None, primary_key=True)
    code_hash: str = Field(unique=True)
    role: str
    name_sealed: str = Field(default="", sa_column=text())
    coach_id: int | None = Field(default=None, foreign_key="person.id")
    rebinds_id: int | None = Field(default=None, foreign_key="person.id")
    made_at: datetime = Field(sa_column=moment(nullable=False))
    expires_at: datetime = Field(sa_column=moment(nullable=False))
    used_at: datetime | None = Field(default=None, sa_column=moment())
    used_by_id: int | None = Field(default=None, foreign_key="person.id")


class GuessRow(SQLModel, table=True):
    """A wrong invitation code; which one is not kept."""

    __tablename__ = "guess"
    id: int | None = Field(default=None, primary_key=True)
    channel: str
    address: str = Field(sa_column=chat())
    at: datetime = Field(sa_column=moment(nullable=False, index=True))


class InboxRow(SQLModel, table=True):
    """An arrival; committed before the platform gets its confirmation."""

    __tablename__ = "inbox"
    __table_args__ = (UniqueConstraint("channel", "update_id"),)
    id: int | None = Field(default=None, primary_key=True)
    channel: str
    update_id: str
    address: str = Field(sa_column=chat(index=True))
    person_id: int | None = Field(default=None, foreign_key="person.id")
    # Clients whom the answer told of (erasing/about.py); None: not known (older rows).
    about: str | None = None
    kind: str
    text_sealed: str = Field(default="", sa_column=text())
    tap_sealed: str = Field(default="", sa_column=text())
    message_id: str = ""
    received_at: datetime = Field(sa_column=moment(nullable=False))
    # waiting -> done | failed
    status: str = Field(default="waiting", index=True)
    # The red-flag transaction has been committed for this row.
    read: bool = False
    attempts: int = 0
    last_error: str = ""


class ConversationRow(SQLModel, table=True):
    """An open or ended conversation: one open per person and flow."""

    __tablename__ = "conversation"
    __table_args__ = (Index("ix_conversation_open", "person_id", "closed_at"),)
    id: int | None = Field(default=None, primary_key=True)
    person_id: int = Field(foreign_key="person.id")
    flow: str
    answers_sealed: str = Field(default="", sa_column=text())
    # The step, and slot -> id of the outbox row that shows it; taps that moved it on.
    standing_sealed: str = Field(default="", sa_column=text())
    version: int = 0
    quiet: bool = False
    channel: str = ""
    address: str = Field(default="", sa_column=chat())
    opened_at: datetime = Field(sa_column=moment(nullable=False))
    touched_at: datetime = Field(sa_column=moment(nullable=False))
    due_at: datetime | None = Field(default=None, sa_column=moment(index=True))
    closed_at: datetime | None = Field(default=None, sa_column=moment())


class OutboxRow(SQLModel, table=True):
    """A message in final words, waiting for a channel or handed over."""

    __tablename__ = "outbox"
    __table_args__ = (
        Index("ix_outbox_due", "channel", "status", "due_at"),
        Index("ix_outbox_chat", "channel", "address", "kind", "status"),
        # Each edit looks for older edits of its message, which else means reading all ever sent.
        Index("ix_outbox_edits", "edits_id"),
    )
    id: int | None = Field(default=None, primary_key=True)
    dedupe_key: str = Field(unique=True)
    person_id: int | None = Field(default=None, foreign_key="person.id")
    # Other clients of whom it tells (erasing/about.py); None: not known (older rows).
    about: str | None = None
    channel: str
    address: str = Field(sa_column=chat())
    kind: int
    payload_sealed: str = Field(default="", sa_column=text())
    # What the person is shown again when this row is edited in place.
    edits_id: int | None = Field(default=None, foreign_key="outbox.id")
    created_at: datetime = Field(sa_column=moment(nullable=False))
    due_at: datetime = Field(sa_column=moment(nullable=False))
    # waiting -> sent | refused | replaced
    status: str = "waiting"
    # Its words go once it is sent: somebody of whom it tells is erased.
    forgets: bool = False
    attempts: int = 0
    sent_at: datetime | None = Field(default=None, sa_column=moment())
    platform_id: str = ""
    last_error: str = ""


# The order in which the sender takes rows.
Index(
    "ix_outbox_next",
    col(OutboxRow.channel),
    col(OutboxRow.status),
    col(OutboxRow.kind).desc(),
    col(OutboxRow.id),
)


class CheckinRow(SQLModel, table=True):
    """One morning of one client."""

    __tablename__ = "checkin"
    __table_args__ = (UniqueConstraint("client_id", "on_date"),)
    id: int | None = Field(default=None, primary_key=True)
    client_id: int = Field(foreign_key="person.id", index=True)
    on_date: date
    answers_sealed: str = Field(default="", sa_column=text())
    signs_asked_at: datetime | None = Field(default=None, sa_column=moment())
    started_at: datetime = Field(sa_column=moment(nullable=False))
    finished_at: datetime | None = Field(default=None, sa_column=moment())
    # Score, day plan, certainty, reasons (bot/storage/told.py).
    result_sealed: str = Field(default="", sa_column=text())


class SessionRow(SQLModel, table=True):
    """A training session: planned, running, finished or stopped."""

    __tablename__ = "session"
    id: int | None = Field(default=None, primary_key=True)
    client_id: int = Field(foreign_key="person.id", index=True)
    on_date: date
    plan_sealed: str = Field(default="", sa_column=text())
    # planned -> running -> finished | stopped
    status: str = "planned"
    started_at: datetime | None = Field(default=None, sa_column=moment())
    touched_at: datetime | None = Field(default=None, sa_column=moment())
    # When a silent session is next looked at, and how far that has gone (0, 1 asked, 2 alerted).
    silence_due_at: datetime | None = Field(default=None, sa_column=moment(index=True))
    silence_stage: int = 0
    ended_at: datetime | None = Field(default=None, sa_column=moment())
    # Effort, its scale, minutes (bot/storage/told.py).
    effort_sealed: str = Field(default="", sa_column=text())


class SetRow(SQLModel, table=True):
    """One logged set; one that the coach watched belongs to no session."""

    __tablename__ = "set"
    id: int | None = Field(default=None, primary_key=True)
    session_id: int | None = Field(default=None, foreign_key="session.id", index=True)
    client_id: int = Field(foreign_key="person.id", index=True)
    on_date: date
    at: datetime = Field(sa_column=moment(nullable=False))
    # What was done and how it went (bot/storage/told.py).
    done_sealed: str = Field(default="", sa_column=text())


class WalkRow(SQLModel, table=True):
    """A walk, or another steady activity: on its way, or done."""

    __tablename__ = "walk"
    id: int | None = Field(default=None, primary_key=True)
    client_id: int = Field(foreign_key="person.id", index=True)
    on_date: date
    # running -> done | stopped; one told afterwards is done at once; taken back: undone.
    status: str
    started_at: datetime | None = Field(default=None, sa_column=moment())
    ended_at: datetime | None = Field(default=None, sa_column=moment())
    # Minutes, breath, and whether it steers (bot/storage/told.py); on its way the planned minutes.
    told_sealed: str = Field(default="", sa_column=text())


class PainRow(SQLModel, table=True):
    """A pain told with the "hurts" button or in the morning."""

    __tablename__ = "pain"
    id: int | None = Field(default=None, primary_key=True)
    client_id: int = Field(foreign_key="person.id", index=True)
    on_date: date
    # Where, how much, and what became of it (bot/storage/told.py).
    told_sealed: str = Field(default="", sa_column=text())


class AlertRow(SQLModel, table=True):
    """A warning sign that somebody must hear of: raised, seen, closed."""

    __tablename__ = "alert"
    id: int | None = Field(default=None, primary_key=True)
    client_id: int = Field(foreign_key="person.id", index=True)
    level: str
    # Signs, whether they are somebody else's, the answer about a call (bot/storage/told.py).
    told_sealed: str = Field(default="", sa_column=text())
    words_sealed: str = Field(default="", sa_column=text())
    raised_at: datetime = Field(sa_column=moment(nullable=False))
    # When a sign was last told that joined this alert.
    newest_sign_at: datetime | None = Field(default=None, sa_column=moment())
    # Counts re-openings: a higher level or a new sign makes the alert unseen again.
    round: int = 1
    # How often it went out since the newest sign, and when it goes out next.
    chases: int = 0
    chase_due_at: datetime | None = Field(default=None, sa_column=moment(index=True))
    # Since when nobody has seen it: raised, or opened again after somebody had.
    unseen_since: datetime | None = Field(default=None, sa_column=moment())
    # The stand-in has been told since then.
    backup_told: bool = False
    # How many of its words have been said to a coach.
    told_upto: int = 0
    # What was last to be said of it reached nobody: it is said once somebody can be reached.
    untold: bool = False
    # How often the client has heard that nobody has seen it, and when that is said next.
    client_told: int = 0
    client_due_at: datetime | None = Field(default=None, sa_column=moment(index=True))
    seen_at: datetime | None = Field(default=None, sa_column=moment())
    seen_by_id: int | None = Field(default=None, foreign_key="person.id")
    closed_at: datetime | None = Field(default=None, sa_column=moment())


class HoldRow(SQLModel, table=True):
    """Training is paused until the coach lifts it."""

    __tablename__ = "hold"
    id: int | None = Field(default=None, primary_key=True)
    client_id: int = Field(foreign_key="person.id", index=True)
    alert_id: int | None = Field(default=None, foreign_key="alert.id")
    because_sealed: str = Field(default="", sa_column=text())
    placed_at: datetime = Field(sa_column=moment(nullable=False))
    lifted_at: datetime | None = Field(default=None, sa_column=moment())
    lifted_by_id: int | None = Field(default=None, foreign_key="person.id")
    # Who cleared the client: kind (bot/flows/coach/alerts/lift_questions.py), name, day of it.
    cleared_kind_sealed: str = Field(default="", sa_column=text())
    cleared_by_sealed: str = Field(default="", sa_column=text())
    cleared_on: date | None = None
    restart_easiest: bool = False


class NoteRow(SQLModel, table=True):
    """Words kept for the coach: a client's message to her, or her own note."""

    __tablename__ = "note"
    id: int | None = Field(default=None, primary_key=True)
    client_id: int = Field(foreign_key="person.id", index=True)
    author_id: int = Field(foreign_key="person.id")
    at: datetime = Field(sa_column=moment(nullable=False))
    text_sealed: str = Field(default="", sa_column=text())
    # The coach's words went to the client; else her note, or the client's message to her.
    to_client: bool = False
    pinned: bool = False
    edited_at: datetime | None = Field(default=None, sa_column=moment())


class AuditRow(SQLModel, table=True):
    """Who read or changed what. The words themselves are not repeated here."""

    __tablename__ = "audit"
    id: int | None = Field(default=None, primary_key=True)
    at: datetime = Field(sa_column=moment(nullable=False))
    actor_id: int | None = Field(default=None)
    subject_id: int | None = Field(default=None, index=True)
    what: str
    detail_sealed: str = Field(default="", sa_column=text())


class RoundRow(SQLModel, table=True):
    """Up to when a sweep has handled what was due."""

    __tablename__ = "round"
    name: str = Field(primary_key=True)
    handled_until: datetime = Field(sa_column=moment(nullable=False))


class PictureRow(SQLModel, table=True):
    """A platform's file id of a picture that was uploaded once."""

    __tablename__ = "picture"
    content_id: str = Field(primary_key=True)
    channel: str = Field(primary_key=True)
    platform_file: str


class KeyProofRow(SQLModel, table=True):
    """A known word encrypted with the key: a wrong key is noticed before it encrypts anything."""

    __tablename__ = "key_proof"
    id: int = Field(default=1, primary_key=True)
    # The name of the key (bot/storage/encryption.py), of that of chats, and since when it is new.
    key_name: str = ""
    chats_name: str = ""
    changed_at: datetime | None = Field(default=None, sa_column=moment())
    # What buttons carry since the store was last brought back from a backup; "" before that.
    generation: str = ""
    word_sealed: str = Field(default="", sa_column=text())
