"""What is said to a client about a warning sign."""

from collections.abc import Sequence
from typing import TypedDict

from bot.flows.facts import Alert, ClientRecord
from bot.flows.machine import Button, Say, rows_of
from bot.flows.safety.levels import Rules
from bot.flows.safety.opening import Heard, NumberHeard
from bot.messages import Kind
from core.red_flags.signs import FirstAction
from core.vocabulary import AlertLevel, Condition, Medicine, Sign

LONGEST_QUOTE = 120
"""Characters of a client's own words that a question repeats."""

TAPPED_SIGNS = (
    Sign.CHEST_PAIN,
    Sign.BREATHLESS_REST,
    Sign.FAINT,
    Sign.DIZZINESS,
    Sign.PALPITATIONS,
    Sign.STROKE,
)
"""What the check-in's sign button stands for, most dangerous first."""

CHEST_OR_UNNAMED = frozenset({Sign.CHEST_PAIN, Sign.CHEST_DISCOMFORT_GONE, Sign.UNSURE})
BREATH = frozenset({Sign.BREATHLESS_REST, Sign.BREATHLESS_EFFORT})
PLANS = {
    frozenset({Condition.ANGINA, Condition.HEART}): CHEST_OR_UNNAMED | BREATH,
    frozenset({Condition.ASTHMA, Condition.LUNG}): BREATH | {Sign.ASTHMA_SEVERE, Sign.UNSURE},
}
"""What a doctor's own plan is about, by condition; it says nothing on a stroke."""


def advice(
    level: AlertLevel,
    signs: Sequence[Sign],
    record: ClientRecord,
    rules: Rules,
    *,
    numbers: Sequence[NumberHeard] = (),
    for_other: bool = False,
    heard: Heard = Heard.ANSWER,
    earlier: bool = False,
    tongue: str = "",
) -> Say:
    """What to do now, the action first.

    Args:
        numbers: those that were told, to be repeated.
        for_other: the danger is somebody beside the client.
        heard: what became of the question.
        earlier: it has passed.
        tongue: the language (BCP 47) that was written in, "" for English.
    """
    values = {
        **advice_values(signs, record),
        "is_emergency": level is AlertLevel.EMERGENCY,
        "for_other": for_other,
        "heard": heard.value,
        "earlier": earlier,
        "tongue": tongue,
        "numbers": [_as_told(number) for number in numbers],
        "hospital": bool(signs) and all(_by_car(sign, rules) for sign in signs),
    }
    asks = level is AlertLevel.EMERGENCY and Sign.ABUSE not in signs
    rows = rows_of("called", "cannot") if asks else ()
    template = _template(signs, level, for_other=for_other)
    return Say(template, values, rows=rows, kind=Kind.SAFETY)


class AdviceValues(TypedDict):
    """The signs, the doctor's own plan where it is about them, and what else changes the advice."""

    signs: list[str]
    plan: str
    diabetic: bool
    thinner: bool


class NumberShown(TypedDict):
    """A number as a template names it: whole where it is, or what the meter showed instead."""

    kind: str
    values: list[int | float]
    off_scale: str


def _as_told(number: NumberHeard) -> NumberShown:
    return {
        "kind": number.kind.value,
        "values": [int(value) if value == int(value) else value for value in number.values],
        "off_scale": number.off_scale.value if number.off_scale else "",
    }


def advice_values(signs: Sequence[Sign], record: ClientRecord) -> AdviceValues:
    """What the advice depends on: the signs, and what is known of the client."""
    client = record.client
    planned = any(
        client.conditions & conditions and (not signs or about & set(signs))
        for conditions, about in PLANS.items()
    )
    return {
        "signs": [sign.value for sign in signs],
        "plan": record.doctor_plan if planned else "",
        "diabetic": Condition.DIABETES in client.conditions,
        "thinner": Medicine.BLOOD_THINNER in client.medicines,
    }


def _by_car(sign: Sign, rules: Rules) -> bool:
    """Whether the emergency department will do, where somebody can take the client there."""
    emergency = rules[sign].level is AlertLevel.EMERGENCY
    return sign is Sign.SUGAR_HIGH or (emergency and rules[sign].first_action in _TO_HOSPITAL)


_TO_HOSPITAL = frozenset({FirstAction.GO_TO_HOSPITAL, FirstAction.COOL_IT})


def question(signs: Sequence[Sign], about: str, *, again: bool = False, tongue: str = "") -> Say:
    """ "Is this happening now?", about these words.

    Args:
        about: the words that it is about; not repeated where the danger may read along.
        again: in other words, as an answer was not understood.
        tongue: the language (BCP 47) that was written in, "" for English.
    """
    lines = about.splitlines() if Sign.ABUSE not in signs else []
    values = {"about": [_shortened(line) for line in lines if line.strip()], "tongue": tongue}
    template = "safety/is_it_now_again" if again else "safety/is_it_now"
    rows = rows_of("now", "earlier", "no")
    return Say(template, values, rows=rows, slot="question", kind=Kind.SAFETY)


def _shortened(words: str) -> str:
    """A quote that leaves the question in sight."""
    return words if len(words) <= LONGEST_QUOTE else f"{words[: LONGEST_QUOTE - 1].rstrip()}…"


def which_sign() -> Say:
    """Which of the signs that the check-in's button stands for."""
    rows = tuple((Button(f"sign={sign.value}"),) for sign in TAPPED_SIGNS)
    return Say("safety/which_sign", rows=rows, slot="which", kind=Kind.SAFETY)


def which_unit() -> Say:
    """In which unit the sugar was told."""
    rows = rows_of("unit=mmol", "unit=mg")
    return Say("safety/which_unit", rows=rows, slot="which", kind=Kind.SAFETY)


HIGH_SUGAR = frozenset({Sign.SUGAR_HIGH, Sign.SUGAR_ILL, Sign.KETO_HIGH})


def true_now(signs: Sequence[Sign], before: Sequence[Sign]) -> tuple[Sign, ...]:
    """``signs`` and those of ``before`` that may still hold: a sugar is high or low, never both."""
    if Sign.HYPO in signs:
        before = [sign for sign in before if sign not in HIGH_SUGAR]
    elif HIGH_SUGAR & set(signs):
        before = [sign for sign in before if sign is not Sign.HYPO]
    return (*signs, *before)


def call_again(alert: Alert | None) -> tuple[Say, ...]:
    """ "Have you called?" once more, where it was asked and has no answer."""
    if alert is None or alert.level is not AlertLevel.EMERGENCY or alert.called:
        return ()
    if Sign.ABUSE in alert.signs:
        return ()
    rows = rows_of("called", "cannot")
    return (Say("safety/have_you_called", rows=rows, kind=Kind.SAFETY),)


def _template(signs: Sequence[Sign], level: AlertLevel, *, for_other: bool) -> str:
    if Sign.ABUSE in signs:
        return "safety/safe_at_home"
    if for_other:
        return "safety/for_somebody_else"
    if Sign.SELF_HARM in signs:
        return "safety/care"
    return f"safety/{level}"
