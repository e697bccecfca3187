"""Carrying out what a conversation wants changed, in its own transaction."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from bot.flows import changes as wanted
from bot.flows.changes import Change
from bot.storage.changes import alerts, people, staff, training
from bot.storage.changes.applying import Applying
from bot.storage.changes.erasing import finish_erasures


def _audit(change: wanted.Audit, applying: Applying) -> None:
    applying.audit(change.subject_id, change.what, change.detail)


# Each function takes just the change beside which it stands; a type cannot say that of a table.
CARRIED_OUT_BY: Mapping[type[Change], Callable[[Any, Applying], None]] = {
    wanted.Audit: _audit,
    wanted.RaiseAlert: alerts.raise_alert,
    wanted.AddWords: alerts.add_words,
    wanted.CallAnswer: alerts.call_answer,
    wanted.MarkSeen: alerts.mark_seen,
    wanted.CoachDid: alerts.coach_did,
    wanted.CloseAlert: alerts.close_alert,
    wanted.PlaceHold: alerts.place_hold,
    wanted.LiftHold: alerts.lift_hold,
    wanted.SaveProfile: people.save_profile,
    wanted.SetPerson: people.set_person,
    wanted.FinishJoin: people.finish_join,
    wanted.ClearToStart: people.clear_to_start,
    wanted.WithdrawClearance: people.withdraw_clearance,
    wanted.SetSchedule: people.set_schedule,
    wanted.SetAway: people.set_away,
    wanted.HealthAsked: people.health_asked,
    wanted.MakeInvitation: people.make_invitation,
    wanted.WithdrawInvitation: people.withdraw_invitation,
    wanted.BringBack: people.bring_back,
    wanted.HandOver: staff.hand_over,
    wanted.SuspendCoach: staff.suspend_colleague,
    wanted.SetBackup: people.set_backup,
    wanted.SetDigest: people.set_digest,
    wanted.AddNote: people.add_note,
    wanted.ChangeNote: people.change_note,
    wanted.DeleteNote: people.delete_note,
    wanted.SetDesk: people.set_desk,
    wanted.KeepForList: people.keep_for_list,
    wanted.TakeOffList: people.take_off_list,
    wanted.Leave: people.leave,
    wanted.Erase: people.erase,
    wanted.SaveCheckin: training.save_checkin,
    wanted.SavePlan: training.save_plan,
    wanted.StartSession: training.start_session,
    wanted.TouchSession: training.touch_session,
    wanted.LogSet: training.log_set,
    wanted.UndoSet: training.undo_set,
    wanted.UndoWalk: training.undo_walk,
    wanted.LogWatchedSet: training.log_watched_set,
    wanted.UndoWatchedSet: training.undo_watched_set,
    wanted.LogPain: training.log_pain,
    wanted.PainWasSharp: training.pain_was_sharp,
    wanted.PainSettled: training.pain_settled,
    wanted.EndSession: training.end_session,
    wanted.StartWalk: training.start_walk,
    wanted.LogWalk: training.log_walk,
    wanted.StopWalk: training.stop_walk,
}


def apply_all(applying: Applying, changes: Iterable[Change]) -> None:
    """Carry out all changes, in order."""
    for change in changes:
        CARRIED_OUT_BY[type(change)](change, applying)
        applying.unit.session.flush()
    finish_erasures(applying)
