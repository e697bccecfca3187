"""What is said about effort: talk first, the pulse only where it can be believed."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from core.client.client import Client, Limits
from core.client.medicines import PulseUse
from core.intensity.bands import PulseTarget, pulse_target
from core.intensity.effort_guide import (
    IntensityCode,
    TalkAnswer,
    answer_to_talk,
    effort_guide,
    pulse_display,
)
from core.vocabulary import Condition, Medicine, Sex

NOW = datetime(2026, 3, 10, 9, 0, tzinfo=UTC)
MAN = Client("A", birth_year=1956, sex=Sex.MALE)
WOMAN = Client("B", birth_year=1956)


def taking(*medicines):
    return replace(MAN, medicines=frozenset(medicines))


def test_a_new_client_of_seventy_aims_at_half_to_seventy_percent_under_seventy_six():
    """Lowest maximum of a man of 70 is 150 (Fox 1971): 75, 105 and 114."""
    assert pulse_target(MAN, 2026) == PulseTarget(75, 105, 114)


def test_a_woman_of_seventy_has_the_lower_maximum():
    """Gulati 2010: 144.4, rounded down."""
    assert pulse_target(WOMAN, 2026) == PulseTarget(72, 101, 109)


@pytest.mark.parametrize(
    ("resting", "expected"),
    [
        (60, PulseTarget(75, 105, 113)),
        (80, PulseTarget(80, 105, 114)),
        (35, PulseTarget(75, 102, 102)),
        (34, PulseTarget(75, 105, 114)),
        (100, PulseTarget(100, 105, 114)),
        (101, None),
        (105, None),
        (110, None),
        (111, PulseTarget(75, 105, 114)),
    ],
)
def test_a_resting_pulse_limits_to_under_sixty_percent_of_reserve(resting, expected):
    """Karvonen 1957 at 59 percent: 60 -> 113.1, 35 -> 102.85; outside 35 to 110 not believed."""
    assert pulse_target(MAN, 2026, resting) == expected


@pytest.mark.parametrize(
    ("cap", "expected"),
    [
        (60, PulseTarget(75, 90, 90)),
        (76, PulseTarget(75, 105, 114)),
        (77, PulseTarget(75, 115, 115)),
        (85, PulseTarget(75, 127, 127)),
        (99, PulseTarget(75, 141, 141)),
        (50, None),
    ],
)
def test_the_coach_moves_the_cap_but_never_into_the_near_maximal_band(cap, expected):
    client = replace(MAN, limits=Limits(pulse_cap_percent=cap))
    assert pulse_target(client, 2026) == expected


def test_a_raised_cap_stays_under_the_near_maximal_reserve():
    """84 percent of reserve: 60 + .84 x 90 = 135.6."""
    client = replace(MAN, limits=Limits(pulse_cap_percent=94))
    assert pulse_target(client, 2026, 60) == PulseTarget(75, 135, 135)


@pytest.mark.parametrize(("resting", "room"), [(87, False), (100, False), (60, False), (50, True)])
def test_a_resting_pulse_at_or_over_the_maximum_leaves_no_room(resting, room):
    """Brawner 2004 at 110 years: 87."""
    old = replace(MAN, birth_year=1916, medicines=frozenset({Medicine.BETA_BLOCKER}))
    assert (pulse_target(old, 2026, resting) is not None) is room


@pytest.mark.parametrize(
    ("client", "code"),
    [
        (taking(Medicine.BETA_BLOCKER), IntensityCode.PULSE_HIDDEN_MEDICINE),
        (taking(Medicine.DIGOXIN, Medicine.RELIEVER_INHALER), IntensityCode.PULSE_HIDDEN_MEDICINE),
        (taking(Medicine.UNKNOWN), IntensityCode.PULSE_HIDDEN_UNKNOWN),
        (
            replace(MAN, conditions=frozenset({Condition.PACEMAKER})),
            IntensityCode.PULSE_HIDDEN_PACEMAKER,
        ),
        (
            replace(MAN, conditions=frozenset({Condition.RHYTHM})),
            IntensityCode.PULSE_HIDDEN_RHYTHM,
        ),
        (
            replace(MAN, conditions=frozenset({Condition.HEART_TRANSPLANT})),
            IntensityCode.PULSE_HIDDEN_TRANSPLANT,
        ),
    ],
)
def test_the_pulse_is_hidden_where_it_would_mislead(client, code):
    display = pulse_display(client, NOW)
    assert (display.use, display.code, display.target) == (PulseUse.HIDDEN, code, None)


def test_the_pulse_is_hidden_where_no_room_is_left():
    display = pulse_display(MAN, NOW, resting=108)
    assert (display.use, display.code) == (PulseUse.HIDDEN, IntensityCode.PULSE_NO_ROOM)


@pytest.mark.parametrize(
    ("client", "use", "code"),
    [
        (MAN, PulseUse.SHOWN, IntensityCode.PULSE_SHOWN),
        (taking(Medicine.ACE_OR_ARB), PulseUse.WITH_CARE, IntensityCode.PULSE_WITH_CARE),
        (taking(Medicine.SNRI), PulseUse.READS_HIGH, IntensityCode.PULSE_READS_HIGH),
        (
            taking(Medicine.RELIEVER_INHALER),
            PulseUse.READS_HIGH,
            IntensityCode.PULSE_AFTER_RELIEVER,
        ),
        (
            replace(MAN, conditions=frozenset({Condition.PRESSURE})),
            PulseUse.SHOWN,
            IntensityCode.PULSE_SHOWN,
        ),
    ],
)
def test_the_pulse_shows_with_its_caution(client, use, code):
    display = pulse_display(client, NOW)
    assert (display.use, display.code) == (use, code)
    assert display.target == pulse_target(client, 2026)
    assert display.until is None


def test_after_a_reliever_the_pulse_reads_high_for_three_hours():
    """Back after about 138 minutes (JMIR Cardio 2024)."""
    client = taking(Medicine.RELIEVER_INHALER)
    puff = NOW - timedelta(hours=2)
    display = pulse_display(client, NOW, reliever_at=puff)
    assert display.code is IntensityCode.PULSE_READS_HIGH_UNTIL
    assert display.until == puff + timedelta(hours=3)
    worn_off = pulse_display(client, NOW, reliever_at=NOW - timedelta(hours=3))
    assert worn_off.code is IntensityCode.PULSE_WITH_CARE
    assert worn_off.until is None
    assert worn_off.target == pulse_target(MAN, 2026)


def test_a_class_that_never_wears_off_reads_high_all_day():
    client = taking(Medicine.RELIEVER_INHALER, Medicine.THEOPHYLLINE)
    display = pulse_display(client, NOW, reliever_at=NOW - timedelta(hours=5))
    assert display.code is IntensityCode.PULSE_READS_HIGH


def test_not_sure_counts_as_no():
    """Foster 2008: errors lean toward passing while truly above the threshold."""
    assert answer_to_talk(TalkAnswer.YES) is IntensityCode.TALK_KEEP
    assert answer_to_talk(TalkAnswer.NOT_SURE) is IntensityCode.TALK_SLOW_DOWN
    assert answer_to_talk(TalkAnswer.NO) is IntensityCode.TALK_SLOW_DOWN


def test_new_clients_work_one_stage_below_and_a_raised_cap_allows_shorter_sentences():
    """Foster 2009: the stage before the last passed."""
    assert effort_guide(MAN, NOW).talk is IntensityCode.TALK_FULL_SENTENCES
    raised = replace(MAN, limits=Limits(pulse_cap_percent=77))
    assert effort_guide(raised, NOW).talk is IntensityCode.TALK_SHORTER_SENTENCES


def test_effort_is_light_to_moderate_on_the_session_scale():
    assert effort_guide(MAN, NOW).effort == (2, 4)


@pytest.mark.parametrize(
    ("medicines", "cautions"),
    [
        ((), ()),
        ((Medicine.DIURETIC,), (IntensityCode.STAND_UP_SLOWLY,)),
        ((Medicine.NITRATE,), (IntensityCode.STAND_UP_SLOWLY, IntensityCode.LONG_COOL_DOWN)),
        ((Medicine.INSULIN,), (IntensityCode.LOW_SUGAR_MAY_COME,)),
        (
            (Medicine.INSULIN, Medicine.BETA_BLOCKER),
            (
                IntensityCode.STAND_UP_SLOWLY,
                IntensityCode.LOW_SUGAR_MAY_COME,
                IntensityCode.LOW_SUGAR_MAY_HIDE,
            ),
        ),
    ],
)
def test_cautions_by_medicine(medicines, cautions):
    assert effort_guide(taking(*medicines), NOW).cautions == cautions


@pytest.mark.parametrize(
    ("days", "medicine", "cautions", "eased"),
    [
        (0, Medicine.SSRI, [IntensityCode.STAND_UP_SLOWLY, IntensityCode.DOSE_CHANGED], True),
        (13, Medicine.LEVOTHYROXINE, [IntensityCode.DOSE_CHANGED], True),
        (14, Medicine.LEVOTHYROXINE, [IntensityCode.THYROID_DOSE_CHANGED], False),
        (41, Medicine.LEVOTHYROXINE, [IntensityCode.THYROID_DOSE_CHANGED], False),
        (42, Medicine.LEVOTHYROXINE, [], False),
        (14, Medicine.INSULIN, [IntensityCode.LOW_SUGAR_MAY_COME], False),
    ],
)
def test_a_changed_dose_eases_for_two_weeks(days, medicine, cautions, eased):
    changed = date(2026, 3, 10) - timedelta(days=days)
    guide = effort_guide(taking(medicine), NOW, medicine_changed_on=changed)
    assert list(guide.cautions) == cautions
    assert guide.ease_off is eased


def test_the_guide_passes_on_what_it_knows_of_the_pulse():
    client = taking(Medicine.RELIEVER_INHALER)
    guide = effort_guide(client, NOW, resting=60, reliever_at=NOW)
    assert guide.pulse == pulse_display(client, NOW, resting=60, reliever_at=NOW)
    assert not effort_guide(client, NOW).ease_off
