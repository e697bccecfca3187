"""All laws, by name."""

from collections.abc import Callable, Mapping

from tests.lives.laws import alerts, reactions, telling, texts, training
from tests.lives.step import Step

Law = Callable[[Step], list[str] | None]
"""Gives the faults of a step; ``None`` where the step has nothing that the law is about."""

LAWS: Mapping[str, Law] = {
    law.__name__: law
    for law in (
        telling.told_is_true,
        telling.told_words_stand,
        telling.a_note_is_left,
        telling.seen_is_seen,
        telling.the_client_is_told_too,
        alerts.words_are_never_overwritten,
        alerts.words_join_the_open_alert,
        alerts.words_of_an_open_alert_are_sent,
        alerts.words_beside_a_question_are_kept,
        alerts.a_question_is_open_two_minutes,
        alerts.silence_counts_as_yes,
        alerts.a_no_stands_on_the_list,
        alerts.a_yes_raises,
        alerts.only_a_coach_closes,
        alerts.unseen_alerts_are_chased_in_time,
        alerts.each_chase_is_a_message,
        alerts.open_alerts_stand_on_the_list,
        alerts.a_new_alert_goes_first,
        training.no_session_runs_on_hold,
        training.no_session_runs_with_an_alert_open,
        training.the_clock_is_quiet_on_hold,
        training.a_paused_client_reads_of_no_plan,
        training.a_paused_client_is_not_fine_on_lists,
        training.forbidden_rungs_are_not_shown,
        training.no_plan_before_clearance,
        training.a_clinician_has_cleared_it,
        training.two_easy_sessions_follow,
        texts.emergency_texts_name_the_own_number,
        texts.coaches_read_the_client_s_number,
        texts.the_safety_reply_comes_first,
        texts.nothing_fails,
        texts.texts_are_whole,
        texts.a_client_is_asked_one_thing,
        reactions.a_second_tap_changes_nothing,
        reactions.an_old_button_leaves_the_day_alone,
    )
}
