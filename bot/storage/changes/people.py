"""Changes to persons and invitations; each function carries out the change of its name."""

from collections.abc import Callable, Collection, Mapping
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

from sqlmodel import select

from bot.flows import changes as wanted
from bot.flows.desk import (
    LISTED,
    NOTICE_OF,
    OF_THE_OLD_COACH,
    WAITING,
    Notice,
    Waits,
    waits_of,
)
from bot.json_values import JsonValue
from bot.storage.changes.alerts import end_all_on_the_way, end_training
from bot.storage.changes.applying import Applying, merged
from bot.storage.changes.erasing import erase_person
from bot.storage.common_queries import SAVE_PROFILE
from bot.storage.joining import end_new_phone_codes
from bot.storage.prepared import get
from bot.storage.tables import ClientRow, CoachRow, InvitationRow, NoteRow, PersonRow
from bot.storage.unit import UnitOfWork
from core.vocabulary import PersonId

INVITATION_LASTS = timedelta(days=7)
NEW_PHONE_LASTS = timedelta(hours=1)
"""Whoever has such a code gets a client's whole chat: it is typed while the two are together."""
LISTED_KEPT = timedelta(days=14)
"""A list that was not refused by then has come."""


def save_profile(change: wanted.SaveProfile, applying: Applying) -> None:
    encryption = applying.unit.encryption
    row = get(applying.unit, ClientRow, change.client_id)
    profile = merged(encryption.decrypt_json(row.profile_sealed), change.answers)
    SAVE_PROFILE.run(
        applying.unit, client_id=change.client_id, profile=encryption.encrypt_json(profile)
    )
    # What was read before in this turn is read anew.
    applying.unit.session.expire_all()
    applying.audit(change.client_id, "profile_changed", ",".join(sorted(change.answers)))


def set_person(change: wanted.SetPerson, applying: Applying) -> None:
    row = applying.unit.session.get_one(PersonRow, change.person_id)
    if change.name is not None:
        row.name_sealed = applying.unit.encryption.encrypt(change.name)
    if change.country is not None:
        row.country = change.country
    if change.zone is not None:
        row.zone = change.zone
        applying.rescheduled.append(change.person_id)


def finish_join(change: wanted.FinishJoin, applying: Applying) -> None:
    row = applying.unit.session.get_one(ClientRow, change.client_id)
    row.joined_at = row.joined_at or applying.now
    applying.rescheduled.append(change.client_id)


def clear_to_start(change: wanted.ClearToStart, applying: Applying) -> None:
    session, encryption = applying.unit.session, applying.unit.encryption
    row = session.get_one(ClientRow, change.client_id)
    coach = session.get_one(PersonRow, applying.actor)
    zone = ZoneInfo(session.get_one(PersonRow, change.client_id).zone)
    row.cleared_at = applying.now
    cleared = {
        "cleared_by": encryption.decrypt(coach.name_sealed),
        "cleared_on": applying.now.astimezone(zone).date().isoformat(),
        "cleared_until": change.until.isoformat() if change.until else None,
    }
    row.profile_sealed = encryption.encrypt_json(
        merged(encryption.decrypt_json(row.profile_sealed), cleared)
    )
    applying.audit(change.client_id, "cleared_to_start", cleared["cleared_until"] or "")
    applying.rescheduled.append(change.client_id)


def withdraw_clearance(change: wanted.WithdrawClearance, applying: Applying) -> None:
    row = applying.unit.session.get_one(ClientRow, change.client_id)
    row.cleared_at = None
    end_training(change.client_id, applying)
    applying.audit(change.client_id, "clearance_withdrawn", change.because)


def set_schedule(change: wanted.SetSchedule, applying: Applying) -> None:
    row = applying.unit.session.get_one(ClientRow, change.client_id)
    row.checkin_at = change.checkin_at or row.checkin_at
    if change.training_days is not None:
        row.training_days = ",".join(str(day) for day in sorted(change.training_days))
    row.quiet_from = change.quiet_from or row.quiet_from
    row.quiet_until = change.quiet_until or row.quiet_until
    if change.week_word_day is not None:
        row.week_word_day = change.week_word_day
    applying.audit(change.client_id, "schedule_changed")
    applying.rescheduled.append(change.client_id)


def set_away(change: wanted.SetAway, applying: Applying) -> None:
    row = applying.unit.session.get_one(ClientRow, change.client_id)
    row.away_from, row.away_until = change.begins, change.until
    applying.rescheduled.append(change.client_id)


def health_asked(change: wanted.HealthAsked, applying: Applying) -> None:
    applying.unit.session.get_one(ClientRow, change.client_id).health_asked_on = change.on


def make_invitation(change: wanted.MakeInvitation, applying: Applying) -> None:
    lasts = INVITATION_LASTS
    if change.rebinds_id is not None:
        lasts = NEW_PHONE_LASTS
        end_new_phone_codes(applying.unit, {change.rebinds_id}, applying.now)
    applying.unit.session.add(
        InvitationRow(
            code_hash=applying.code_hash(change.code),
            role=change.role,
            name_sealed=applying.unit.encryption.encrypt(change.name),
            coach_id=change.coach_id,
            rebinds_id=change.rebinds_id,
            made_at=applying.now,
            expires_at=applying.now + lasts,
        )
    )
    applying.audit(change.rebinds_id, "invitation_made", change.role)


def withdraw_invitation(change: wanted.WithdrawInvitation, applying: Applying) -> None:
    row = applying.unit.session.get(InvitationRow, change.invitation_id)
    if row is not None and row.coach_id == applying.actor and row.used_at is None:
        row.expires_at = min(row.expires_at, applying.now)
        applying.audit(None, "invitation_withdrawn", str(change.invitation_id))


def bring_back(change: wanted.BringBack, applying: Applying) -> None:
    applying.unit.session.get_one(PersonRow, change.client_id).left_at = None
    applying.unit.session.get_one(ClientRow, change.client_id).cleared_at = None
    applying.audit(change.client_id, "brought_back")
    applying.rescheduled.append(change.client_id)


def set_backup(change: wanted.SetBackup, applying: Applying) -> None:
    session = applying.unit.session
    session.get_one(CoachRow, change.coach_id).backup_id = change.backup_id
    hers = session.exec(select(ClientRow.person_id).where(ClientRow.coach_id == change.coach_id))
    end_new_phone_codes(applying.unit, {PersonId(one) for one in hers}, applying.now)
    applying.audit(change.coach_id, "backup_changed")


def set_digest(change: wanted.SetDigest, applying: Applying) -> None:
    applying.unit.session.get_one(CoachRow, change.coach_id).digest_at = change.at
    applying.rescheduled.append(change.coach_id)


def add_note(change: wanted.AddNote, applying: Applying) -> None:
    applying.unit.session.add(
        NoteRow(
            client_id=change.client_id,
            author_id=applying.actor,
            at=applying.now,
            text_sealed=applying.unit.encryption.encrypt(change.text),
            to_client=change.to_client,
        )
    )
    if change.to_client:
        applying.audit(change.client_id, "client_written_to")


def change_note(change: wanted.ChangeNote, applying: Applying) -> None:
    row = _own_note(change, applying)
    if row is None:
        return
    if change.text is not None:
        row.text_sealed = applying.unit.encryption.encrypt(change.text)
        row.edited_at = applying.now
        applying.audit(change.client_id, "note_edited", str(change.note_id))
    if change.pinned is not None:
        row.pinned = change.pinned


def delete_note(change: wanted.DeleteNote, applying: Applying) -> None:
    row = _own_note(change, applying)
    if row is not None:
        applying.unit.session.delete(row)
        applying.audit(change.client_id, "note_deleted", str(change.note_id))


def _own_note(change: wanted.ChangeNote | wanted.DeleteNote, applying: Applying) -> NoteRow | None:
    """A note that may be changed: hers, and one that nobody was told."""
    row = applying.unit.session.get(NoteRow, change.note_id)
    if row is None or row.client_id != change.client_id or row.to_client:
        return None
    return row if row.author_id == applying.actor else None


def set_desk(change: wanted.SetDesk, applying: Applying) -> None:
    _merge_desk(change.coach_id, lambda _: change.answers, applying)
    applying.audit(change.coach_id, "desk_changed", ",".join(sorted(change.answers)))
    applying.rescheduled.append(change.coach_id)


def keep_for_list(change: wanted.KeepForList, applying: Applying) -> None:
    one: JsonValue = {
        "what": change.what,
        "client": int(change.client_id),
        "at": applying.now.isoformat(),
    }
    _merge_desk(
        change.coach_id, lambda kept: {WAITING: [*(kept.get(WAITING) or ()), one]}, applying
    )


def take_off_list(change: wanted.TakeOffList, applying: Applying) -> None:
    def without(kept: dict[str, Any]) -> Mapping[str, JsonValue]:
        left, _ = _parted(kept, lambda one: one in change.told)
        if change.by_list is None:
            return {WAITING: left}
        told = [one for one in kept.get(WAITING) or () if waits_of(one) in change.told]
        oldest = change.by_list - LISTED_KEPT.total_seconds()
        lately = [one for one in kept.get(LISTED) or () if one.get("list", 0) > oldest]
        new = [{**_as_kept(one), "list": change.by_list} for one in told]
        return {WAITING: left, LISTED: [*lately, *new] or None}

    _merge_desk(change.coach_id, without, applying)


def list_never_came(
    unit: UnitOfWork, coach_id: PersonId, lists: Collection[int], *, is_open: bool
) -> bool:
    """What stood on these lists of hers waits again.

    Args:
        lists: the moments at which they were due, as Unix times.
        is_open: her chat is open, and did not get them all the same.

    Returns:
        Whether clients' words are among it that no other list shall tell.
    """
    words: list[bool] = []

    def with_listed(kept: dict[str, Any]) -> Mapping[str, JsonValue]:
        listed = kept.get(LISTED) or ()
        # What an older program put there names no list.
        back = [one for one in listed if one.get("list") in (None, *lists)]
        again: list[JsonValue] = []
        for one in back:
            failed = is_open and NOTICE_OF.get(one["what"]) is Notice.WORDS
            words.append(failed)
            again.append({**_as_kept(one), **({"list_failed": True} if failed else {})})
        stays = [one for one in listed if one not in back]
        return {WAITING: [*again, *(kept.get(WAITING) or ())] or None, LISTED: stays or None}

    _merge_desk_of(unit, coach_id, with_listed)
    return any(words)


def _as_kept(one: Mapping[str, Any]) -> dict[str, JsonValue]:
    return {key: value for key, value in one.items() if key != "list"}


def move_waiting(
    unit: UnitOfWork, source: PersonId, target: PersonId, clients: Collection[PersonId]
) -> None:
    """What waited for one coach's list of these clients waits for another's."""
    moved: list[JsonValue] = []

    def without(kept: dict[str, Any]) -> Mapping[str, JsonValue]:
        left, told = _parted(
            kept,
            lambda one: (
                one.client_id in clients and one.what.rpartition("/")[2] not in OF_THE_OLD_COACH
            ),
        )
        moved.extend(told or ())
        return {WAITING: left}

    _merge_desk_of(unit, source, without)
    if moved:
        _merge_desk_of(unit, target, lambda kept: {WAITING: [*(kept.get(WAITING) or ()), *moved]})


def _parted(
    kept: Mapping[str, Any], goes: Callable[[Waits], bool]
) -> tuple[list[JsonValue] | None, list[JsonValue] | None]:
    """What waits, in what stays and what goes; ``None`` for none."""
    waiting = kept.get(WAITING) or ()
    stays = [one for one in waiting if not goes(waits_of(one))]
    return stays or None, [one for one in waiting if goes(waits_of(one))] or None


def _merge_desk(
    coach_id: PersonId,
    answers_from: Callable[[dict[str, Any]], Mapping[str, JsonValue]],
    applying: Applying,
) -> None:
    _merge_desk_of(applying.unit, coach_id, answers_from)


def _merge_desk_of(
    unit: UnitOfWork,
    coach_id: PersonId,
    answers_from: Callable[[dict[str, Any]], Mapping[str, JsonValue]],
) -> None:
    """The row is locked first: many clients may leave something for one coach at once."""
    row = unit.session.get_one(CoachRow, coach_id, with_for_update=True, populate_existing=True)
    encryption = unit.encryption
    kept = encryption.decrypt_json(row.desk_sealed) if row.desk_sealed else {}
    row.desk_sealed = encryption.encrypt_json(merged(kept, answers_from(kept)))


def leave(change: wanted.Leave, applying: Applying) -> None:
    session = applying.unit.session
    session.get_one(PersonRow, change.client_id).left_at = applying.now
    client = session.get_one(ClientRow, change.client_id)
    client.cleared_at = client.checkin_due_at = client.reminder_due_at = None
    end_all_on_the_way(change.client_id, applying)
    end_new_phone_codes(applying.unit, {change.client_id}, applying.now)
    applying.audit(change.client_id, "left")


def erase(change: wanted.Erase, applying: Applying) -> None:
    erase_person(change.person_id, applying)
