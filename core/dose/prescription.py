"""What dose answers: prescriptions, answers to "easier" and the like, and why, as plain values."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from core.dose.history import Ended, SetDone, Unit
from core.movements.ladder import LadderStep
from core.vocabulary import DayPlan, Family


class DoseCode(StrEnum):
    """Why a dose is as it is. One sentence each in ``templates/en/reasons/dose.yaml``."""

    # What moved today's choice.
    FITS_TODAY = "fits_today"
    FIRST_TIME = "first_time"
    FIRST_SESSIONS = "first_sessions"
    SETS_ONE_BY_ONE = "sets_one_by_one"
    AFTER_GAP = "after_gap"
    AFTER_ILLNESS = "after_illness"
    AFTER_SILENCE = "after_silence"
    EASE_OFF_DAY = "ease_off_day"
    REST_DAY = "rest_day"
    CAREFUL_CONDITION = "careful_condition"
    HARD_YESTERDAY = "hard_yesterday"
    CALIBRATION = "calibration"
    FURTHER_STEP = "further_step"
    WAY_BACK = "way_back"
    PLATEAU = "plateau"
    STEP_UP = "step_up"
    STEP_UP_HOLE = "step_up_hole"
    HELD_FOR_GOOD_SESSIONS = "held_for_good_sessions"
    DOWN_AFTER_SLIP = "down_after_slip"
    DOWN_AFTER_PAIN = "down_after_pain"
    DOWN_AFTER_NONE_LEFT = "down_after_none_left"
    FEWER_AFTER_NONE_LEFT = "fewer_after_none_left"
    DOWN_AFTER_NONE_ONCE = "down_after_none_once"
    DOWN_AFTER_COULD_NOT = "down_after_could_not"
    PAIN_NOT_SETTLED = "pain_not_settled"
    LOW_DAY = "low_day"
    GOOD_DAY = "good_day"
    TOUCHED_SUPPORT = "touched_support"
    HELD_STEADY = "held_steady"
    SHORT_OF_TIME = "short_of_time"
    KEPT_TO_TIME = "kept_to_time"
    LIGHTER_WEEK = "lighter_week"
    EFFORT_OVER_CEILING = "effort_over_ceiling"
    KEEPS_FAILING = "keeps_failing"
    TRAINED_TODAY = "trained_today"
    REST_OF_TODAY = "rest_of_today"
    BESIDE_SINK = "beside_sink"
    IN_TURN = "in_turn"
    FOR_A_CHANGE = "for_a_change"
    QUICK_RISE = "quick_rise"
    AFTER_HOLD = "after_hold"
    AWAY_FROM_HOME = "away_from_home"
    FIXED_BY_COACH = "fixed_by_coach"
    DAY_BY_COACH = "day_by_coach"
    SETS_BY_COACH = "sets_by_coach"
    # Why a step was not taken.
    OVER_CEILING = "over_ceiling"
    UNDER_FLOOR = "under_floor"
    FORBIDDEN = "forbidden"
    SPARED = "spared"
    NO_KIT = "no_kit"
    STEP_TOO_LARGE = "step_too_large"
    ACROSS_HOLE = "across_hole"
    ONE_STEP_A_SESSION = "one_step_a_session"
    TOO_HARD_TODAY = "too_hard_today"
    TOO_EASY_TODAY = "too_easy_today"
    LESS_LIKELY = "less_likely"
    STEADY_FIRST = "steady_first"
    HELD_BREATH_PRESSURE = "held_breath_pressure"
    # Answers to what a client asks.
    MADE_EASIER = "made_easier"
    ALREADY_LOWEST = "already_lowest"
    MADE_HARDER = "made_harder"
    ALREADY_HIGHEST = "already_highest"
    NOT_HARDER_TODAY = "not_harder_today"
    PAIN_SUBSTITUTE = "pain_substitute"
    PAIN_EASIER = "pain_easier"
    PAIN_STOP_MOVEMENT = "pain_stop_movement"
    PAIN_WATCH = "pain_watch"
    PAIN_STOP_SHARP = "pain_stop_sharp"
    KIT_SUBSTITUTE = "kit_substitute"
    NOTHING_WITHOUT_KIT = "nothing_without_kit"
    NOTHING_ALLOWED = "nothing_allowed"


class EffortWords(StrEnum):
    """How hard it should feel; words are templates."""

    LIGHT = "light"
    SOMEWHAT_TIRING = "somewhat_tiring"
    TIRING = "tiring"


class TalkTest(StrEnum):
    """How speech should go along with it, easiest first; words are templates."""

    SINGING = "singing"
    FULL_SENTENCES = "full_sentences"
    SHORTER_SENTENCES = "shorter_sentences"


@dataclass(frozen=True, slots=True)
class DoseReason:
    """Why, with the numbers and ids that the sentence may show."""

    code: DoseCode
    numbers: Mapping[str, int | float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Considered:
    """A candidate step, and why it was not chosen; None means that it was."""

    step_key: str
    demand: float
    ruled_out: DoseReason | None
    predicted_left: float | None = None


@dataclass(frozen=True, slots=True)
class Prescription:
    """One movement today.

    Attributes:
        sets: how many sets.
        low, high: range of repetitions (or seconds) of the aim.
        amount: repetitions or seconds to do today, within the range.
        stop_at_left: "stop when this many clean ones are left".
        left_target: range of left in hand aimed at; a set is good from its lower end on.
        predicted_left: expected left in hand after ``amount``.
        day_shift: expected change of log capacity from readiness; goes into the set's record.
        eased: belongs to an ease-off day, or is easier on purpose: no measure of what comes next.
        reasons: what decided, most important first.
        considered: all steps looked at.
        tell_coach: the coach hears of it (a step across a hole).
        calibration: "as many clean ones as you can, stop with two left", to find a strong client.
    """

    family: Family
    step: LadderStep
    sets: int
    low: int
    high: int
    amount: int
    unit: Unit
    stop_at_left: int
    left_target: tuple[int, int]
    predicted_left: float
    effort: EffortWords
    talk_test: TalkTest
    reasons: tuple[DoseReason, ...]
    considered: tuple[Considered, ...] = ()
    day_shift: float | None = None
    eased: bool = False
    tell_coach: bool = False
    calibration: bool = False

    def done(
        self,
        on: date,
        amount: int,
        left: int | None,
        *,
        slip: bool = False,
        pain: int = 0,
        ended: Ended | None = None,
    ) -> SetDone:
        """The record of a set of this prescription, as the client logged it."""
        return SetDone(
            on=on,
            family=self.family,
            step_key=self.step.key,
            demand=self.step.demand,
            unit=self.unit,
            amount=amount,
            left=left,
            slip=slip,
            pain=pain,
            planned=self.amount,
            stop_at_left=self.stop_at_left,
            lowest_good_left=self.left_target[0],
            eased=self.eased,
            day_shift=self.day_shift,
            planned_top=self.high,
            ended=ended,
            calibration=self.calibration,
            quick=self.eased and any(why.code is DoseCode.QUICK_RISE for why in self.reasons[:1]),
        )


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A family that is not in today's session, and why."""

    family: Family
    reason: DoseReason


@dataclass(frozen=True, slots=True)
class SessionPlan:
    """Today's session.

    Attributes:
        day: readiness's plan of the day.
        prescriptions: in the order to do them; on a rest day empty.
        left_out: families left out today, and why.
        minutes: expected length, warm-up and cool-down included.
        warm_up_minutes, cool_down_minutes: both 10 with a medicine or condition of pressure.
        slow_stand_ups: stand up slowly at the end (medicines that lower pressure).
        asked: the lighter movements that the client asked for in another plan of this day.
    """

    day: DayPlan
    prescriptions: tuple[Prescription, ...]
    left_out: tuple[LeftOut, ...]
    reasons: tuple[DoseReason, ...]
    minutes: int
    warm_up_minutes: int
    cool_down_minutes: int
    slow_stand_ups: bool
    asked: Mapping[Family, Prescription] = field(default_factory=dict)


class Instead(StrEnum):
    """What else to do when no step is left to offer; words are templates."""

    FEWER_REPS = "fewer_reps"
    REST_BETWEEN = "rest_between"
    LEAVE_OUT = "leave_out"
    MOBILITY = "mobility"


@dataclass(frozen=True, slots=True)
class DoseChoice:
    """The answer to "easier", "harder", "hurts" or "no kit".

    Attributes:
        prescription: what to do now; ``None`` when the movement is left out today.
        reason: the one sentence to say.
        instead: what else to do, when nothing strictly easier (or other) exists.
        tell_coach: the coach hears of it.
    """

    prescription: Prescription | None
    reason: DoseReason
    instead: Instead | None = None
    tell_coach: bool = False
