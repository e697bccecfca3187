"""Erasing what a person has said, at once or, what an open alert needs, when that is closed."""

from sqlmodel import col, or_, select

from bot.storage.changes.applying import Applying
from bot.storage.tables import (
    AddressRow,
    AlertRow,
    CheckinRow,
    ClientRow,
    ConversationRow,
    HoldRow,
    InboxRow,
    InvitationRow,
    NoteRow,
    OutboxRow,
    PersonRow,
    SessionRow,
)
from bot.storage.unit import stored_id
from core.vocabulary import AlertLevel, PersonId, Sign

HELP_NEEDS = (
    "phone",
    "home",
    "contact_name",
    "contact_phone",
    "conditions",
    "medicines",
    "replaced_joints",
    "operations",
)
"""Answers that an alert names: kept, with the name, until it is closed."""

SAFETY_FLOW = "safety"


def erase_person(person_id: PersonId, applying: Applying) -> None:
    """Words go, the fact of each alert (level, signs, by whom seen) stays.

    While an alert or a question about a sign is open, the name, its words and what help needs stay;
    :func:`finish_erasures` takes them when it is closed.
    """
    waits = _is_open(person_id, applying)
    session, encryption = applying.unit.session, applying.unit.encryption
    client = session.get(ClientRow, person_id)
    _erase_talk(person_id, applying, waits=waits)
    for checkin in session.exec(select(CheckinRow).where(CheckinRow.client_id == person_id)):
        checkin.answers_sealed, checkin.reasons, checkin.score = "", "[]", None
    for training in session.exec(select(SessionRow).where(SessionRow.client_id == person_id)):
        training.plan_sealed = ""
    for note in session.exec(select(NoteRow).where(NoteRow.client_id == person_id)):
        session.delete(note)
    for alert in session.exec(select(AlertRow).where(AlertRow.client_id == person_id)):
        if alert.closed_at is not None or not waits:
            alert.words_sealed = ""
            _erase_alert_messages(stored_id(alert), applying)
    for hold in session.exec(select(HoldRow).where(HoldRow.client_id == person_id)):
        hold.cleared_by_sealed = ""
    for invitation in session.exec(
        select(InvitationRow).where(
            or_(InvitationRow.used_by_id == person_id, InvitationRow.rebinds_id == person_id)
        )
    ):
        invitation.name_sealed = ""
    if not waits:
        session.get_one(PersonRow, person_id).name_sealed = ""
    if client is not None:
        given = encryption.decrypt_json(client.profile_sealed) if waits else {}
        kept = {key: value for key, value in given.items() if key in HELP_NEEDS}
        client.profile_sealed = encryption.encrypt_json(kept) if waits else ""
        client.erase_asked_at = client.erase_asked_at or applying.now
    applying.unit.forget_words()
    applying.audit(person_id, "erase_waits_for_alert" if waits else "erased")


def finish_erasures(applying: Applying) -> None:
    """Take what was kept for an alert of somebody who wanted to be erased, now that it is closed.

    An alert that takes the place of a question in the same turn keeps it on.
    """
    for person_id in dict.fromkeys(applying.clients_closed):
        client = applying.unit.session.get(ClientRow, person_id)
        waiting = client is not None and client.erase_asked_at is not None
        if waiting and not _is_open(person_id, applying):
            erase_person(person_id, applying)
    applying.unit.session.flush()


def _is_open(person_id: PersonId, applying: Applying) -> bool:
    """Whether an alert of this client is open, or a question about a sign without an answer."""
    rows = applying.unit.session.exec(
        select(AlertRow).where(
            AlertRow.client_id == person_id,
            col(AlertRow.closed_at).is_(None),
            or_(
                AlertRow.level != AlertLevel.MENTION,
                col(AlertRow.signs).contains(f'"{Sign.UNSURE.value}"'),
            ),
        )
    )
    return rows.first() is not None


def _erase_alert_messages(alert_id: int, applying: Applying) -> None:
    """What coaches were sent of an alert quotes its words and names phone and address."""
    key = col(OutboxRow.dedupe_key)
    for outbox in applying.unit.session.exec(
        # A range of the unique index: ";" follows ":".
        select(OutboxRow).where(
            key >= f"alert:{alert_id}:", key < f"alert:{alert_id};", OutboxRow.status == "sent"
        )
    ):
        outbox.payload_sealed = ""


def _erase_talk(person_id: PersonId, applying: Applying, *, waits: bool) -> None:
    """What was typed and what was answered; a conversation about an open sign goes on."""
    session = applying.unit.session
    for conversation in session.exec(
        select(ConversationRow).where(ConversationRow.person_id == person_id)
    ):
        if waits and conversation.flow == SAFETY_FLOW and conversation.closed_at is None:
            continue
        conversation.answers_sealed = ""
        conversation.closed_at = conversation.closed_at or applying.now
        conversation.due_at = None
    for inbox in session.exec(
        select(InboxRow).where(InboxRow.person_id == person_id, col(InboxRow.status) != "waiting")
    ):
        inbox.text_sealed = ""
    addresses = {
        row.address
        for row in session.exec(select(AddressRow).where(AddressRow.person_id == person_id))
    }
    for outbox in session.exec(
        select(OutboxRow).where(OutboxRow.status == "sent", col(OutboxRow.address).in_(addresses))
    ):
        outbox.payload_sealed = ""
