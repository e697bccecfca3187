"""For each law that is known as broken, the shortest life that breaks it."""

from collections.abc import Mapping

from tests.lives.acts import Act, Morning, Says, Tap, Wait
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
    "words_join_the_open_alert": (
        MARY,
        (CHEST, Wait(61), Says("mary", "it comes and goes since breakfast")),
    ),
    "words_of_an_open_alert_are_sent": (
        MARY,
        (CHEST, Wait(61), Says("mary", "it comes and goes since breakfast")),
    ),
    "no_session_runs_with_an_alert_open": (
        MARY,
        (*A_GOOD_MORNING, *A_SESSION_BEGINS, Wait(16)),
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
}
