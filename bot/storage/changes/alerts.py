"""Changes to alerts and holds; each function carries out the change of its name."""

import json
from datetime import timedelta

from sqlmodel import col, select

from bot.flows import changes as wanted
from bot.flows.safety.opening import SAFETY
from bot.json_values import JsonValue, to_json
from bot.storage.changes.applying import Applying
from bot.storage.conversations import close_flow, open_of, still_asks
from bot.storage.outbox import withdraw_milder
from bot.storage.tables import AlertRow, ClientRow, ConversationRow, HoldRow, SessionRow, WalkRow
from bot.storage.told import AlertTold, alert_told, change_alert, seal_alert
from bot.storage.unit import stored_id
from core.vocabulary import AlertId, AlertLevel, PersonId, Sign

SEEN_COUNTS_FOR = timedelta(minutes=30)
"""The same sign told again this long after the alert was seen is chased anew (common practice)."""

TRAINING_FLOWS = ("today", "checkin", "home_test", "walk")
"""Conversations that a hold ends: their timers and questions with them."""

FEELING = "feeling"
"""Conversation about what is wrong; a hold leaves it open."""

LOUDNESS = {AlertLevel.MENTION: 0, AlertLevel.URGENT: 1, AlertLevel.EMERGENCY: 2}


def raise_alert(change: wanted.RaiseAlert, applying: Applying) -> None:
    row = None if change.level is AlertLevel.MENTION else _open_alert(change.client_id, applying)
    if row is None:
        row = _new_alert(change, applying)
    else:
        _join_episode(row, change, applying)
    if change.level is not AlertLevel.MENTION:
        _stop_timers(change.client_id, applying)
        # No training while an alert is open: no session goes on, nor the watch over it.
        _end_session(change.client_id, applying)
        # What a chat's pace has held back would be the newest message, below the warning.
        withdraw_milder(applying.unit, change.client_id, applying.now)
    if change.holds:
        _hold(change.client_id, change.signs[0] if change.signs else "", row, applying)


def add_words(change: wanted.AddWords, applying: Applying) -> None:
    if change.alert_id is not None:
        _add_words(applying.unit.session.get_one(AlertRow, change.alert_id), change, applying)
        return
    row = _open_alert(change.client_id, applying)
    if row is None:
        # The client hears that they are passed on, however long ago the alert was closed.
        listed = wanted.RaiseAlert(
            change.client_id,
            AlertLevel.MENTION,
            change.signs,
            change.words,
            change.why,
            holds=False,
            passed_on=True,
        )
        _new_alert(listed, applying)
        return
    _add_words(row, change, applying)
    if change.gets_worse and row.seen_at is not None:
        applying.audit(change.client_id, f"alert_reopened_{row.level}", "worse")
        _reopen(row, applying)
        return
    # The coach reads them with the next message; whoever has seen it is told at once.
    applying.alerts_to_tell.append(AlertId(stored_id(row)))


def call_answer(change: wanted.CallAnswer, applying: Applying) -> None:
    row = _open_alert(change.client_id, applying)
    if row is None:
        return
    change_alert(applying.unit.encryption, row, called=change.answer)
    if change.answer == "cannot":
        _reopen(row, applying)
    else:
        applying.alerts_to_tell.append(AlertId(stored_id(row)))


def mark_seen(change: wanted.MarkSeen, applying: Applying) -> None:
    row = applying.unit.session.get_one(AlertRow, change.alert_id)
    if row.seen_at is None:
        row.seen_at, row.seen_by_id = applying.now, applying.actor
        row.chase_due_at = row.client_due_at = row.unseen_since = None
        applying.audit(PersonId(row.client_id), "alert_seen", str(change.alert_id))


def coach_did(change: wanted.CoachDid, applying: Applying) -> None:
    row = applying.unit.session.get_one(AlertRow, change.alert_id)
    applying.audit(PersonId(row.client_id), f"coach_{change.what}", str(change.alert_id))


def close_alert(change: wanted.CloseAlert, applying: Applying) -> None:
    row = applying.unit.session.get_one(AlertRow, change.alert_id)
    _close(row, applying)
    applying.audit(PersonId(row.client_id), "alert_closed", str(change.alert_id))


def place_hold(change: wanted.PlaceHold, applying: Applying) -> None:
    _hold(change.client_id, change.because, None, applying)


def lift_hold(change: wanted.LiftHold, applying: Applying) -> None:
    session = applying.unit.session
    open_alert = _open_alert(change.client_id, applying)
    holds = session.exec(
        select(HoldRow).where(
            HoldRow.client_id == change.client_id, col(HoldRow.lifted_at).is_(None)
        )
    ).all()
    for row in holds or _without_hold(open_alert, applying):
        row.lifted_at, row.lifted_by_id = applying.now, applying.actor
        row.cleared_kind_sealed = applying.unit.encryption.encrypt(change.cleared_kind)
        row.cleared_on = change.cleared_on
        row.cleared_by_sealed = applying.unit.encryption.encrypt(change.cleared_by)
        row.restart_easiest = change.restart_easiest
        session.add(row)
    if change.restart_easiest:
        # The client hears that it starts with the easiest: a plan made before is made anew.
        for planned in session.exec(
            select(SessionRow).where(
                SessionRow.client_id == change.client_id, SessionRow.status == "planned"
            )
        ):
            session.delete(planned)
        _end_session(change.client_id, applying)
    if open_alert is not None:
        _close(open_alert, applying)
    applying.audit(change.client_id, "hold_lifted", change.cleared_kind)


def _close(row: AlertRow, applying: Applying) -> None:
    """Nothing more is said of it; what was kept for it alone goes with the end of the turn."""
    row.closed_at = row.closed_at or applying.now
    row.chase_due_at = row.client_due_at = row.unseen_since = None
    applying.clients_closed.append(PersonId(row.client_id))
    if row.level != AlertLevel.MENTION:
        _wake_exchange(PersonId(row.client_id), applying)


def _wake_exchange(client_id: PersonId, applying: Applying) -> None:
    """The exchange about the alert wakes at once where a question waits behind it.

    Where nothing waits, words typed for a while yet are passed on to the coach. A question without
    an answer keeps its two minutes.
    """
    open_now = open_of(applying.unit, client_id)
    waiting = [
        one
        for one in open_now
        if one.state.flow != SAFETY and not one.quiet and still_asks(one, applying.now)
    ]
    if not waiting:
        return
    asked = {one.id for one in open_now if one.state.step == "asked"}
    for row in applying.unit.session.exec(
        select(ConversationRow).where(
            ConversationRow.person_id == client_id,
            ConversationRow.flow == SAFETY,
            col(ConversationRow.id).not_in(asked),
            col(ConversationRow.closed_at).is_(None),
            col(ConversationRow.due_at).is_not(None),
        )
    ):
        row.due_at = applying.now


def _without_hold(alert: AlertRow | None, applying: Applying) -> list[HoldRow]:
    """An alert that held nothing (a silent session): who decided that it is over is kept too."""
    if alert is None:
        return []
    encryption = applying.unit.encryption
    because = next(iter(alert_told(encryption, alert).signs), "")
    return [
        HoldRow(
            client_id=alert.client_id,
            alert_id=alert.id,
            because_sealed=encryption.encrypt(because),
            placed_at=alert.raised_at,
        )
    ]


def _open_alert(client_id: PersonId, applying: Applying) -> AlertRow | None:
    return applying.unit.session.exec(
        select(AlertRow)
        .where(
            AlertRow.client_id == client_id,
            AlertRow.level != AlertLevel.MENTION,
            col(AlertRow.closed_at).is_(None),
        )
        .order_by(col(AlertRow.id))
    ).first()


def _new_alert(change: wanted.RaiseAlert, applying: Applying) -> AlertRow:
    mention = change.level is AlertLevel.MENTION
    chased = not mention or change.passed_on or Sign.UNREAD in change.signs
    encryption = applying.unit.encryption
    row = AlertRow(
        client_id=change.client_id,
        level=change.level,
        told_sealed=seal_alert(encryption, AlertTold(change.signs, change.for_other)),
        words_sealed=encryption.encrypt_json(_told(change)),
        raised_at=applying.now,
        newest_sign_at=applying.now,
        chase_due_at=applying.now if chased else None,
        unseen_since=None if mention else applying.now,
    )
    applying.unit.session.add(row)
    applying.unit.session.flush()
    if chased:
        applying.alerts_to_tell.append(AlertId(stored_id(row)))
    signs = ",".join(sign.value for sign in change.signs)
    applying.audit(change.client_id, f"alert_raised_{change.level}", signs)
    return row


def _join_episode(row: AlertRow, change: wanted.RaiseAlert, applying: Applying) -> None:
    """One alert an episode: more words join it; more danger makes it unseen again."""
    row.newest_sign_at = applying.now
    told = alert_told(applying.unit.encryption, row)
    new = [sign for sign in change.signs if sign not in told.signs]
    louder = LOUDNESS[change.level] > LOUDNESS[AlertLevel(row.level)]
    if louder:
        row.level = change.level
    somebody_else = told.for_other != change.for_other
    change_alert(
        applying.unit.encryption,
        row,
        signs=(*told.signs, *new),
        for_other=told.for_other and change.for_other,
    )
    _add_words(row, change, applying)
    long_seen = row.seen_at is not None and applying.now - row.seen_at >= SEEN_COUNTS_FOR
    # Without words there is nothing to pass on: the alert itself goes out again.
    if louder or new or somebody_else or long_seen or not _told(change):
        applying.audit(change.client_id, f"alert_reopened_{row.level}", ",".join(new))
        _reopen(row, applying)
    else:
        applying.alerts_to_tell.append(AlertId(stored_id(row)))


def _reopen(row: AlertRow, applying: Applying) -> None:
    """Unseen again, and chased anew; who was told while nobody had seen it goes on being told."""
    if row.seen_at is not None:
        row.unseen_since, row.client_due_at = applying.now, None
        # A stand-in who has seen it has it in hand: she hears of what is new at once.
        coach_id = applying.unit.session.get_one(ClientRow, row.client_id).coach_id
        row.backup_told = row.seen_by_id != coach_id
    row.chases = row.client_told = 0
    row.seen_at, row.seen_by_id = None, None
    row.round, row.chase_due_at = row.round + 1, applying.now
    applying.alerts_to_tell.append(AlertId(stored_id(row)))


def _add_words(
    row: AlertRow, change: wanted.RaiseAlert | wanted.AddWords, applying: Applying
) -> None:
    encryption = applying.unit.encryption
    told = _told(change)
    if told:
        before = encryption.opened(row.words_sealed)
        if row.words_sealed and not before:
            # Damaged: of what comes now nothing has been told yet.
            row.told_upto = 0
        row.words_sealed = encryption.encrypt_json([*json.loads(before or "[]"), *told])


def _told(change: wanted.RaiseAlert | wanted.AddWords) -> list[JsonValue]:
    """What is said of an alert: the person's own words, and a reason as code and numbers."""
    said: list[JsonValue] = [change.words] if change.words else []
    return said if change.why is None else [*said, to_json(change.why)]


def _stop_timers(client_id: PersonId, applying: Applying) -> None:
    """No nudge of a session while an alert is on."""
    for row in applying.unit.session.exec(
        select(ConversationRow).where(
            ConversationRow.person_id == client_id,
            col(ConversationRow.flow).in_(TRAINING_FLOWS),
            col(ConversationRow.closed_at).is_(None),
        )
    ):
        row.due_at = None


def _hold(client_id: PersonId, because: str, alert: AlertRow | None, applying: Applying) -> None:
    """Pause training, once; a running session ends with it."""
    session = applying.unit.session
    on = session.exec(
        select(HoldRow).where(HoldRow.client_id == client_id, col(HoldRow.lifted_at).is_(None))
    ).first()
    if on is None:
        session.add(
            HoldRow(
                client_id=client_id,
                alert_id=alert.id if alert is not None else None,
                because_sealed=applying.unit.encryption.encrypt(because),
                placed_at=applying.now,
            )
        )
        applying.audit(client_id, "hold_placed", because)
    _end_session(client_id, applying)
    close_flow(applying.unit, client_id, TRAINING_FLOWS, applying.now)


def end_all_on_the_way(client_id: PersonId, applying: Applying) -> None:
    """Whoever leaves does nothing here any more, and is asked about nothing but a sign."""
    _end_session(client_id, applying)
    close_flow(applying.unit, client_id, (*TRAINING_FLOWS, FEELING), applying.now)


def end_training(client_id: PersonId, applying: Applying) -> None:
    """Nothing that was begun goes on; a check-in and what it asks stay."""
    _end_session(client_id, applying)
    flows = [flow for flow in TRAINING_FLOWS if flow != "checkin"]
    close_flow(applying.unit, client_id, flows, applying.now)


def _end_session(client_id: PersonId, applying: Applying) -> None:
    """A running session or walk is over, and so is the watch over its silence."""
    for running in applying.unit.session.exec(
        select(SessionRow).where(SessionRow.client_id == client_id, SessionRow.status == "running")
    ):
        running.status, running.ended_at, running.silence_due_at = "stopped", applying.now, None
    for walk in applying.unit.session.exec(
        select(WalkRow).where(WalkRow.client_id == client_id, WalkRow.status == "running")
    ):
        walk.status, walk.ended_at = "stopped", applying.now
