"""Laws that the product does not keep yet: what is wrong, in a sentence each.

``diaries.py`` has the shortest life for each. A law that holds again is taken off both.
"""

from collections.abc import Mapping

KNOWN_BROKEN: Mapping[str, str] = {
    "words_join_the_open_alert": "An hour after a sign, words are no part of the open alert.",
    "words_of_an_open_alert_are_sent": "An hour after a sign, words are sent to nobody.",
    "no_session_runs_with_an_alert_open": "A silent session goes on running after its alert.",
    "the_safety_reply_comes_first": "The reply to a severe pain is no safety reply.",
    "texts_are_whole": "Texts about a client who had their words erased have a gap for the name.",
    "a_second_tap_changes_nothing": "A double tap on “Back” goes back two questions.",
}
