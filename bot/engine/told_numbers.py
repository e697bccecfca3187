"""Numbers told in free words: read with what is known of who told them, and kept."""

from collections.abc import Sequence
from datetime import timedelta

from bot.flows.client.told_numbers import answers_of, sugar_unit
from bot.flows.facts import Facts
from bot.flows.machine import State
from bot.flows.parsing import plain_words, read_answer
from bot.flows.reasons import Reason
from bot.flows.record.planning import morning_of_answers
from bot.flows.record.told_to_coach import told_rule
from bot.flows.safety.opening import NumberHeard
from core.readiness.absolute_rules import absolute_rules
from core.readiness.morning_questions import MorningQuestion
from core.readiness.told_numbers import unit_matters
from core.red_flags.reader import Reader, Writer
from core.red_flags.reading import Reading, TextReasonCode
from core.told_number import ToldNumber, When
from core.vocabulary import AlertLevel, Sign

EFFORT_FADES = timedelta(minutes=10)
"""So long after exertion a pulse is none at rest."""

SUGAR_ASKED = {
    "checkin": MorningQuestion.GLUCOSE.value,
    "today": "sugar",
    "walk": "sugar",
    "balance": "sugar",
}
"""Where a sugar is asked for: conversation -> step."""

COUNTS_ASKED = {
    "today": ("move", "minutes"),
    "walk": ("log", "now_minutes"),
    "home_test": ("count",),
}
"""Where minutes, seconds or repetitions are asked for: conversation -> steps."""
COUNT_DIGITS = 2
"""So many at most: a count of minutes or repetitions. A pressure or a pulse has more."""

MOST_NAMED = 3
"""The first numbers of a message are repeated; more would push the advice out of sight."""


def writer_of(facts: Facts) -> Writer:
    """What is known of the client who writes."""
    unit, _ = sugar_unit(facts)
    return Writer(unit, facts.client(facts.me.id).client.conditions, is_after_effort(facts))


def meter_says(text: str, state: State, facts: Facts) -> str:
    """What a meter shows beyond its scale ("LO"), as a sentence that the reader knows; else "".

    Only as the answer to a sugar that is asked for: elsewhere "hi" is a greeting.
    """
    if SUGAR_ASKED.get(state.flow) != state.step:
        return ""
    return read_answer(text, facts.reference.answers["meter"]) or ""


def is_count_asked_for(text: str, state: State, facts: Facts) -> bool:
    """Whether a bare number, or one with "minutes", answers a question for a count.

    A session of 38 minutes is no fever of 38.
    """
    number, *unit = plain_words(text).split() or [""]
    bare = number.isascii() and number.isdigit() and len(number) <= COUNT_DIGITS
    counted = set(unit) <= set(facts.reference.walks.minutes)
    return bare and counted and state.step in COUNTS_ASKED.get(state.flow, ())


def read_again(reader: Reader, text: str, reading: Reading, facts: Facts) -> Reading:
    """``reading`` of a client's words with what is known of the client, where numbers call for it.

    Without numbers nothing of that matters.
    """
    return reader.read(text, writer_of(facts)) if reading.numbers else reading


def asks_unit(reading: Reading, facts: Facts) -> bool:
    """Whether a sugar was told whose unit must be asked for."""
    if not any(unit_matters(one) and one.when is When.NOW for one in reading.numbers):
        return False
    unit, fixed = sugar_unit(facts)
    # Even of a client who tells mg/dL a 24 may be in the other unit.
    return not fixed or unit == "mg/dL"


def is_after_effort(facts: Facts) -> bool:
    """Whether a session or a walk goes on, or a session ended within the last ten minutes."""
    me = facts.me.id
    if facts.running_session(me) is not None or facts.running_walk(me) is not None:
        return True
    today = facts.session(facts.me.id, facts.me.local(facts.now).date())
    ended = today.ended_at if today is not None else None
    return ended is not None and facts.now - ended < EFFORT_FADES


def pulse_waits(before: Reading, after: Reading) -> bool:
    """Whether a pulse was only fast because of exertion, and words told of nothing else."""
    heard = after.because.code is not TextReasonCode.SECOND_OPINION
    return before.signs == (Sign.FAST_PULSE,) and not (after.signs and heard)


def why(numbers: Sequence[ToldNumber], facts: Facts) -> Reason | None:
    """The client's own numbers as an alert says them, where the day's rules call for one."""
    told = answers_of(numbers, facts)
    if not told:
        return None
    morning = morning_of_answers(facts.me.local(facts.now).date(), told)
    for rule in absolute_rules(morning, facts.client(facts.me.id).client):
        if rule.alert in (AlertLevel.URGENT, AlertLevel.EMERGENCY):
            return told_rule(rule, told, facts)
    return None


def named(numbers: Sequence[ToldNumber]) -> tuple[NumberHeard, ...]:
    """The numbers of now that the advice repeats."""
    of_now = [one for one in numbers if one.when is When.NOW]
    return tuple(NumberHeard(one.kind, one.values, one.off_scale) for one in of_now[:MOST_NAMED])
