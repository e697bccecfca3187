"""Why a day is judged as it is, as a code with numbers. Words are templates."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class DayReasonCode(StrEnum):
    """Why a day is judged so. One sentence each in ``templates/en/reasons/readiness.yaml``."""

    AS_USUAL = "as_usual"
    NO_USUAL_YET = "no_usual_yet"
    BETTER_THAN_USUAL = "better_than_usual"
    GOOD_BUT_LESS = "good_but_less"
    NO_ANSWER = "no_answer"
    YESTERDAY_LOW = "yesterday_low"
    SLEEP_LOW = "sleep_low"
    TIREDNESS_LOW = "tiredness_low"
    SORENESS_LOW = "soreness_low"
    STRESS_LOW = "stress_low"
    MOOD_LOW = "mood_low"
    SLEEP_WORST = "sleep_worst"
    TIREDNESS_WORST = "tiredness_worst"
    SORENESS_WORST = "soreness_worst"
    STRESS_WORST = "stress_worst"
    MOOD_WORST = "mood_worst"
    TWO_POOR = "two_poor"
    ILL_ABOVE_NECK = "ill_above_neck"
    ILL_BELOW_NECK = "ill_below_neck"
    FEVER = "fever"
    FEVER_JOINT = "fever_joint"
    WARNING_SIGN = "warning_sign"
    PAIN_CHEST = "pain_chest"
    PAIN_CALF = "pain_calf"
    PAIN_HEAD_SUDDEN = "pain_head_sudden"
    PAIN_STOP = "pain_stop"
    PAIN_STOP_CAREFUL = "pain_stop_careful"
    PAIN_RISING = "pain_rising"
    PAIN_EASIER = "pain_easier"
    PAIN_WATCH = "pain_watch"
    NOT_SETTLED = "not_settled"
    DOSE_CHANGED = "dose_changed"
    PULSE_REPEAT = "pulse_repeat"
    PULSE_FAST = "pulse_fast"
    PULSE_VERY_FAST = "pulse_very_fast"
    PULSE_SLOW = "pulse_slow"
    PRESSURE_HOLD = "pressure_hold"
    PRESSURE_LIGHT = "pressure_light"
    PRESSURE_LOW = "pressure_low"
    SUGAR_LOW = "sugar_low"
    SUGAR_VERY_LOW = "sugar_very_low"
    SUGAR_EAT_FIRST = "sugar_eat_first"
    SUGAR_HIGH = "sugar_high"
    SUGAR_VERY_HIGH = "sugar_very_high"
    WEIGHT_UP = "weight_up"
    OVERLOAD_WATCH = "overload_watch"
    OVERLOAD_DAY_OFF = "overload_day_off"
    OVERLOAD_SEE_DOCTOR = "overload_see_doctor"
    COACH_EASED = "coach_eased"
    COACH_PUT_BACK = "coach_put_back"


@dataclass(frozen=True, slots=True)
class DayReason:
    """Why, with the numbers that the sentence may show.

    Attributes:
        numbers: by the name that the template uses.
        weight: how much it counted; lists of reasons are sorted by it, largest first.
    """

    code: DayReasonCode
    numbers: Mapping[str, int | float] = field(default_factory=dict)
    weight: float = 0.0
