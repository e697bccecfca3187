"""The morning questions: their order, which follow, what may be skipped, and the finished answers.

One question on anything wrong, first, so that a warning sign is told before all else; then five
items (the item list of McLean 2010, each 1 to 5 with 5 good): six taps on a good day. Follow-ups
come only when an answer calls for one, optional numbers only when the coach turned them on.
Answers are plain values (numbers, codes), so that a half finished check-in can be stored and taken
up again.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from core.client.client import Client
from core.client.operations import Joint, Place, Side
from core.number_words import NumberWords
from core.readiness.scales import (
    MORNING,
    PAIN,
    PULSE,
    UnusableAnswer,
    UnusableReason,
    parse_glucose,
    parse_number,
    parse_pressure,
    parse_weight,
)


class MorningItem(StrEnum):
    """What is rated each morning, 1 worst to 5 best (5 of tiredness: not tired at all)."""

    SLEEP = "sleep"
    TIREDNESS = "tiredness"
    SORENESS = "soreness"
    STRESS = "stress"
    MOOD = "mood"


class Trouble(StrEnum):
    """The first tap: is anything wrong today?"""

    NOTHING = "nothing"
    WARNING_SIGN = "warning_sign"
    ILL = "ill"
    PAIN = "pain"
    ILL_AND_PAIN = "ill_and_pain"
    SOMETHING_ELSE = "something_else"


class IllKind(StrEnum):
    """What kind of illness; above the neck is a runny nose or sore throat and nothing more."""

    NONE = "none"
    ABOVE_NECK = "above_neck"
    BELOW_NECK = "below_neck"
    FEVER = "fever"


class PainPlace(StrEnum):
    """Where it hurts, in the taps' words."""

    NECK = "neck"
    SHOULDER = "shoulder"
    ELBOW = "elbow"
    WRIST = "wrist"
    BACK = "back"
    HIP = "hip"
    KNEE = "knee"
    CALF = "calf"
    ANKLE = "ankle"
    CHEST = "chest"
    HEAD = "head"
    BELLY = "belly"
    ELSEWHERE = "elsewhere"


JOINTS_MEANT: Mapping[PainPlace, frozenset[Joint]] = {
    PainPlace.NECK: frozenset({Joint.SPINE}),
    PainPlace.SHOULDER: frozenset({Joint.SHOULDER}),
    PainPlace.ELBOW: frozenset({Joint.ELBOW}),
    PainPlace.WRIST: frozenset({Joint.WRIST, Joint.HAND}),
    PainPlace.BACK: frozenset({Joint.SPINE}),
    PainPlace.HIP: frozenset({Joint.HIP}),
    PainPlace.KNEE: frozenset({Joint.KNEE}),
    PainPlace.ANKLE: frozenset({Joint.ANKLE, Joint.FOOT}),
    PainPlace.ELSEWHERE: frozenset({Joint.HAND, Joint.FOOT}),
}
"""Where a pain in a joint is told: the small joints have no answer of their own."""


def read_pain_place(text: str) -> tuple[PainPlace, Side | None] | None:
    """A place by its code, with a side where one is said: "ankle", "left ankle", "knee right".

    A side is kept where a joint can be meant; ``None`` for words that are no such answer.
    """
    words = text.casefold().split()
    places = [PainPlace(word) for word in words if word in set(PainPlace)]
    sides = [Side(word) for word in words if word in set(Side)]
    if len(places) != 1 or len(sides) > 1 or len(words) != len(places) + len(sides):
        return None
    side = sides[0] if sides and places[0] in JOINTS_MEANT else None
    return places[0], side


class PainSince(StrEnum):
    """Since when it hurts."""

    TODAY = "today"
    DAYS = "days"
    WEEKS = "weeks"
    LONGER = "longer"


class CalfSigns(StrEnum):
    """Whether a pain in the calf is in one leg that is swollen or warm, as with a clot."""

    YES = "yes"
    NO = "no"


class Settled(StrEnum):
    """Whether yesterday's soreness or pain has gone by this morning."""

    YES = "yes"
    PARTLY = "partly"
    NO = "no"


class MorningQuestion(StrEnum):
    """Each question of the morning, in the order in which they may come."""

    TROUBLE = "trouble"
    ILL_KIND = "ill_kind"
    PAIN_PLACE = "pain_place"
    CALF_SIGNS = "calf_signs"
    PAIN_LEVEL = "pain_level"
    PAIN_SINCE = "pain_since"
    SLEEP = "sleep"
    TIREDNESS = "tiredness"
    SORENESS = "soreness"
    STRESS = "stress"
    MOOD = "mood"
    SETTLED = "settled"
    PULSE = "pulse"
    PULSE_AGAIN = "pulse_again"
    PRESSURE = "pressure"
    GLUCOSE = "glucose"
    WEIGHT = "weight"


AnswerValue = int | float | str | None
"""A stored answer; ``None`` is a skipped question. A pressure is stored as "142/88"."""

Answers = Mapping[MorningQuestion, AnswerValue]

_CHOICES: Mapping[MorningQuestion, tuple[str, ...]] = {
    MorningQuestion.TROUBLE: tuple(Trouble),
    MorningQuestion.ILL_KIND: (IllKind.ABOVE_NECK, IllKind.BELOW_NECK, IllKind.FEVER),
    MorningQuestion.PAIN_PLACE: tuple(PainPlace),
    MorningQuestion.CALF_SIGNS: tuple(CalfSigns),
    MorningQuestion.PAIN_SINCE: tuple(PainSince),
    MorningQuestion.SETTLED: tuple(Settled),
}
_ITEM_QUESTIONS = tuple(MorningQuestion(item.value) for item in MorningItem)
_NUMBER_QUESTIONS = (
    MorningQuestion.PULSE,
    MorningQuestion.PRESSURE,
    MorningQuestion.GLUCOSE,
    MorningQuestion.WEIGHT,
)
_NEVER_SKIPPED = frozenset({MorningQuestion.TROUBLE})
_SORE_ENOUGH_TO_ASK, _PAIN_ENOUGH_TO_ASK = 2, 1


@dataclass(frozen=True, slots=True)
class PainReport:
    """A pain told this morning: where, how much (0 to 10) and since when, as far as answered.

    Attributes:
        clot_signs: a calf that is swollen or warm, in one leg; not answered counts as yes.
    """

    where: PainPlace
    how_much: int | None = None
    since: PainSince | None = None
    side: Side | None = None
    clot_signs: bool = True

    @property
    def place(self) -> Place:
        """Where it hurts, as the joints that can be meant."""
        return Place(JOINTS_MEANT.get(self.where, frozenset()), self.side)

    def may_be_where(self, other: "PainReport") -> bool:
        """Whether both can be the same place: a side that was not said may be either."""
        sides = {self.side, other.side}
        return self.where is other.where and (None in sides or len(sides) == 1)


# Looked up once: a season of mornings is gone through for every judgement.
_ITEM_FIELDS = tuple((item, item.value) for item in MorningItem)


@dataclass(frozen=True, slots=True)
class Morning:
    """One morning's answers; ``None`` is not answered.

    Attributes:
        sleep, tiredness, soreness, stress, mood: 1 worst to 5 best.
        settled: whether yesterday's soreness or pain has gone; asked only when there was some.
        warning_sign: the client tapped that a warning sign is there; ``None`` when not asked.
        pulse, pulse_again: at rest, beats a minute; the second five minutes after a fast first.
        systolic, diastolic: mmHg.
        glucose_mmol: mmol/L, whatever unit the client uses.
        weight_kg: kg.
    """

    on: date
    sleep: int | None = None
    tiredness: int | None = None
    soreness: int | None = None
    stress: int | None = None
    mood: int | None = None
    ill: IllKind | None = None
    new_pain: PainReport | None = None
    settled: Settled | None = None
    warning_sign: bool | None = None
    pulse: int | None = None
    pulse_again: int | None = None
    systolic: int | None = None
    diastolic: int | None = None
    glucose_mmol: float | None = None
    weight_kg: float | None = None

    @property
    def is_ill(self) -> bool:
        """Whether any illness was told."""
        return self.ill not in (None, IllKind.NONE)

    def items(self) -> dict[MorningItem, int]:
        """The items that were answered."""
        return {
            item: value for item, name in _ITEM_FIELDS if (value := getattr(self, name)) is not None
        }


def questions(
    client: Client, answers: Answers, yesterday: Morning | None, *, hurt_lately: bool = False
) -> list[MorningQuestion]:
    """All questions of this morning, as far as the answers so far tell, in order.

    A warning sign ends the check-in at once: the caller goes on with the red-flag flow.

    Args:
        hurt_lately: a pain told in training waits for this question
            (:func:`core.dose.family_record.waits_for_settling`).
    """
    trouble = answers.get(MorningQuestion.TROUBLE)
    wanted = [MorningQuestion.TROUBLE]
    if trouble == Trouble.WARNING_SIGN:
        return wanted
    if trouble in (Trouble.ILL, Trouble.ILL_AND_PAIN):
        wanted.append(MorningQuestion.ILL_KIND)
    if trouble in (Trouble.PAIN, Trouble.ILL_AND_PAIN):
        wanted.append(MorningQuestion.PAIN_PLACE)
        if answers.get(MorningQuestion.PAIN_PLACE) == PainPlace.CALF:
            wanted.append(MorningQuestion.CALF_SIGNS)
        # Pain in the chest is not measured first; it starts the red-flag flow.
        if answers.get(MorningQuestion.PAIN_PLACE) != PainPlace.CHEST:
            wanted += [MorningQuestion.PAIN_LEVEL, MorningQuestion.PAIN_SINCE]
    wanted += _ITEM_QUESTIONS
    if hurt_lately or was_sore_or_hurt(yesterday):
        wanted.append(MorningQuestion.SETTLED)
    for question in _NUMBER_QUESTIONS:
        if question.value in client.limits.numbers_asked:
            wanted.append(question)
            pulse = answers.get(MorningQuestion.PULSE)
            if question is MorningQuestion.PULSE and _is_fast(pulse, client):
                wanted.append(MorningQuestion.PULSE_AGAIN)
    return wanted


def was_sore_or_hurt(yesterday: Morning | None) -> bool:
    """Whether yesterday's answers call for asking if it has settled."""
    if yesterday is None:
        return False
    sore = yesterday.soreness is not None and yesterday.soreness <= _SORE_ENOUGH_TO_ASK
    pain = yesterday.new_pain
    hurt = pain is not None and (pain.how_much is None or pain.how_much >= _PAIN_ENOUGH_TO_ASK)
    return sore or hurt


def _is_fast(pulse: AnswerValue, client: Client) -> bool:
    return isinstance(pulse, int | float) and pulse >= client.resting_pulse_line


def may_skip(question: MorningQuestion) -> bool:
    """Whether "skip" is offered; never for the question that holds the warning signs."""
    return question not in _NEVER_SKIPPED


def choices(question: MorningQuestion) -> tuple[str, ...]:
    """Codes of the taps offered, in order; empty where a number is typed."""
    if question in _ITEM_QUESTIONS:
        return tuple(str(value) for value in range(int(MORNING.high), int(MORNING.low) - 1, -1))
    if question is MorningQuestion.PAIN_LEVEL:
        return tuple(str(value) for value in range(int(PAIN.low), int(PAIN.high) + 1))
    return tuple(str(code) for code in _CHOICES.get(question, ()))


def read_answer(
    question: MorningQuestion,
    text: str,
    client: Client,
    words: NumberWords,
    *,
    confirmed: bool = False,
) -> AnswerValue | UnusableAnswer:
    """The value of a tapped code or a typed text, or why it must be asked again.

    Args:
        words: the client's number words.
        confirmed: the client was asked about the unit and stays with the fixed one.
    """
    if question in _ITEM_QUESTIONS:
        return parse_number(text, MORNING, words)
    if question is MorningQuestion.PAIN_LEVEL:
        return parse_number(text, PAIN, words)
    if question in (MorningQuestion.PULSE, MorningQuestion.PULSE_AGAIN):
        return parse_number(text, PULSE, words)
    if question is MorningQuestion.WEIGHT:
        return parse_weight(text, client.mass_kg, words, confirmed=confirmed)
    if question is MorningQuestion.GLUCOSE:
        return parse_glucose(text, client.limits.glucose_unit, words, confirmed=confirmed)
    if question is MorningQuestion.PRESSURE:
        pressure = parse_pressure(text, words)
        if isinstance(pressure, UnusableAnswer):
            return pressure
        return f"{pressure.systolic}/{pressure.diastolic}"
    if question is MorningQuestion.PAIN_PLACE:
        told = read_pain_place(text)
        if told is None:
            return UnusableAnswer(UnusableReason.NOT_A_CHOICE)
        where, side = told
        return f"{side.value} {where.value}" if side else where.value
    code = text.strip().casefold()
    return code if code in choices(question) else UnusableAnswer(UnusableReason.NOT_A_CHOICE)


def morning_from(on: date, answers: Answers) -> Morning:
    """The finished morning from stored answers; an unfinished one gives what was answered."""
    trouble = answers.get(MorningQuestion.TROUBLE)
    systolic, diastolic = _pair(answers.get(MorningQuestion.PRESSURE))
    settled = answers.get(MorningQuestion.SETTLED)
    glucose, weight = answers.get(MorningQuestion.GLUCOSE), answers.get(MorningQuestion.WEIGHT)
    return Morning(
        on=on,
        sleep=_whole(answers.get(MorningQuestion.SLEEP)),
        tiredness=_whole(answers.get(MorningQuestion.TIREDNESS)),
        soreness=_whole(answers.get(MorningQuestion.SORENESS)),
        stress=_whole(answers.get(MorningQuestion.STRESS)),
        mood=_whole(answers.get(MorningQuestion.MOOD)),
        ill=_ill(answers),
        new_pain=_pain(answers),
        settled=None if settled is None else Settled(str(settled)),
        warning_sign=None if trouble is None else trouble == Trouble.WARNING_SIGN,
        pulse=_whole(answers.get(MorningQuestion.PULSE)),
        pulse_again=_whole(answers.get(MorningQuestion.PULSE_AGAIN)),
        systolic=systolic,
        diastolic=diastolic,
        glucose_mmol=None if glucose is None else float(glucose),
        weight_kg=None if weight is None else float(weight),
    )


def _ill(answers: Answers) -> IllKind | None:
    trouble = answers.get(MorningQuestion.TROUBLE)
    if trouble in (None, Trouble.WARNING_SIGN, Trouble.SOMETHING_ELSE):
        return None
    if trouble not in (Trouble.ILL, Trouble.ILL_AND_PAIN):
        return IllKind.NONE
    kind = answers.get(MorningQuestion.ILL_KIND)
    # Ill, and the kind skipped: the kind that asks for rest is the careful reading.
    return IllKind.BELOW_NECK if kind is None else IllKind(str(kind))


def _pain(answers: Answers) -> PainReport | None:
    if answers.get(MorningQuestion.TROUBLE) not in (Trouble.PAIN, Trouble.ILL_AND_PAIN):
        return None
    told, since = answers.get(MorningQuestion.PAIN_PLACE), answers.get(MorningQuestion.PAIN_SINCE)
    where, side = (told and read_pain_place(str(told))) or (PainPlace.ELSEWHERE, None)
    return PainReport(
        where=where,
        how_much=_whole(answers.get(MorningQuestion.PAIN_LEVEL)),
        since=None if since is None else PainSince(str(since)),
        side=side,
        clot_signs=answers.get(MorningQuestion.CALF_SIGNS) != CalfSigns.NO,
    )


def _whole(value: AnswerValue) -> int | None:
    return None if value is None else int(value)


def _pair(value: AnswerValue) -> tuple[int | None, int | None]:
    if value is None:
        return None, None
    upper, lower = str(value).split("/")
    return int(upper), int(lower)
