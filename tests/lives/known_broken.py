"""Laws that the product does not keep yet: what is wrong, in a sentence each.

``diaries.py`` has the shortest life for each. A law that holds again is taken off both.
"""

from collections.abc import Mapping

KNOWN_BROKEN: Mapping[str, str] = {
    "told_is_true": "“I have told the coach” of a mild pain is a line on her list, and no message.",
    "told_words_stand": (
        "“I have passed that on” is said of words after the hold was lifted, and they are lost."
    ),
    "the_client_is_told_too": "The coach reads that a client is told whose chat is closed.",
    "words_join_the_open_alert": "An hour after a sign, words are no part of the open alert.",
    "words_of_an_open_alert_are_sent": "An hour after a sign, words are sent to nobody.",
    "words_beside_a_question_are_kept": (
        "What was typed beside an open question is lost when a voice note follows."
    ),
    "open_alerts_stand_on_the_list": "The open alert of a client who has left is off the list.",
    "a_new_alert_goes_first": "More words of one client are sent before the alert of another.",
    "no_session_runs_with_an_alert_open": "A silent session goes on running after its alert.",
    "the_clock_is_quiet_on_hold": (
        "“All right?” is sent while an alert about somebody beside the client is open."
    ),
    "a_paused_client_is_not_fine_on_lists": "The card of a paused client says “as planned”.",
    "no_plan_before_clearance": (
        "Lifting a hold tells an uncleared client that they may train again."
    ),
    "a_clinician_has_cleared_it": "Any three words lift the hold after an emergency.",
    "two_easy_sessions_follow": "The sessions after a hold are as long and with as many sets.",
    "the_safety_reply_comes_first": "The reply to a severe pain is no safety reply.",
    "texts_are_whole": "Texts about a client who had their words erased have a gap for the name.",
    "a_second_tap_changes_nothing": "A double tap on “Back” goes back two questions.",
    "an_old_button_leaves_the_day_alone": (
        "A pain button of two days ago writes down a pain of today."
    ),
}
