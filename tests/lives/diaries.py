"""For each law that is known as broken, the shortest life that breaks it."""

from collections.abc import Mapping

from tests.lives.acts import Act, Block, Morning, Says, Tap, Together, Voice, Wait
from tests.lives.life import Setting

MARY = Setting(("mary",), with_stand_in=True)
MARY_AND_HEMI = Setting(("mary", "hemi"), with_stand_in=True)
AROHA = Setting(("aroha",), with_stand_in=True)
"""Aroha is not cleared to start."""

CHEST = Says("mary", "my chest feels tight")
A_GOOD_MORNING: tuple[Act, ...] = (
    Morning("07:00"),
    Tap("mary", "None of these"),
    *(Tap("mary", "4") for _ in range(5)),
)
A_SESSION_BEGINS: tuple[Act, ...] = (
    Says("mary", "/today"),
    Tap("mary", "Start the session"),
    Tap("mary", "I am ready"),
)
A_DOUBT = Says("mary", "felt something odd in my chest")
LIFTED: tuple[Act, ...] = (Tap("rua", "Lift the hold"), Says("rua", "Dr Singh, 3 March"))

DIARIES: Mapping[str, tuple[Setting, tuple[Act, ...]]] = {
    "told_is_true": (
        MARY,
        (Says("mary", "it hurts"), Tap("mary", "Hip"), Tap("mary", "3")),
    ),
    "told_words_stand": (
        MARY,
        (CHEST, *LIFTED, Says("mary", "what do you think of the weather")),
    ),
    "the_client_is_told_too": (
        MARY,
        (CHEST, Block("mary"), Tap("mary", "I can't"), Tap("rua", "I have seen")),
    ),
    "words_join_the_open_alert": (
        MARY,
        (CHEST, Wait(61), Says("mary", "it comes and goes since breakfast")),
    ),
    "words_of_an_open_alert_are_sent": (
        MARY,
        (CHEST, Wait(61), Says("mary", "it comes and goes since breakfast")),
    ),
    "words_beside_a_question_are_kept": (
        MARY,
        (A_DOUBT, Says("mary", "I slept like a log"), Voice("mary"), Tap("mary", "No")),
    ),
    "open_alerts_stand_on_the_list": (
        MARY,
        (
            CHEST,
            Says("mary", "my data"),
            Tap("mary", "Leave"),
            Tap("mary", "Yes"),
            Says("rua", "/alerts"),
        ),
    ),
    "a_new_alert_goes_first": (
        MARY_AND_HEMI,
        (
            CHEST,
            Together(
                (
                    Says("mary", "the front door is open"),
                    Says("hemi", "I feel dizzy when I stand up"),
                )
            ),
        ),
    ),
    "no_session_runs_with_an_alert_open": (
        MARY,
        (*A_GOOD_MORNING, *A_SESSION_BEGINS, Wait(16)),
    ),
    "the_clock_is_quiet_on_hold": (
        MARY,
        (
            *A_GOOD_MORNING,
            *A_SESSION_BEGINS,
            Says("mary", "my wife has collapsed on the floor"),
            Wait(11),
        ),
    ),
    "a_paused_client_is_not_fine_on_lists": (
        MARY,
        (*A_GOOD_MORNING, CHEST, Says("rua", "Mary"), Tap("rua", "Notes"), Tap("rua", "Card")),
    ),
    "no_plan_before_clearance": (
        AROHA,
        (Says("aroha", "my chest feels tight"), *LIFTED),
    ),
    "a_clinician_has_cleared_it": (
        MARY,
        (CHEST, Tap("rua", "Lift the hold"), Says("rua", "she says it was nothing")),
    ),
    "two_easy_sessions_follow": (
        MARY,
        (CHEST, *LIFTED, *A_GOOD_MORNING, *A_SESSION_BEGINS),
    ),
    "the_safety_reply_comes_first": (
        MARY,
        (
            Says("mary", "I feel unwell"),
            Tap("mary", "Pain in a joint"),
            Tap("mary", "Hip"),
            Tap("mary", "9"),
        ),
    ),
    "texts_are_whole": (
        MARY,
        (
            CHEST,
            Says("mary", "my data"),
            Tap("mary", "Leave and erase"),
            Tap("mary", "Yes"),
            Tap("rua", "I have seen"),
        ),
    ),
    "a_second_tap_changes_nothing": (
        MARY,
        (*A_GOOD_MORNING[:4], Tap("mary", "Back", twice=True)),
    ),
    "an_old_button_leaves_the_day_alone": (
        MARY,
        (
            Says("mary", "it hurts"),
            Tap("mary", "Hip"),
            Wait(60 * 49),
            Tap("mary", "3", old="How bad is it"),
        ),
    ),
}
