"""What is still open of a client's warning signs: a question without an answer, an emergency."""

from datetime import datetime, timedelta

from bot.flows.facts import Alert, Facts
from bot.flows.safety.levels import Rules, in_order, louder
from core.vocabulary import AlertLevel, PersonId, Sign

UNANSWERED_AFTER = timedelta(minutes=2)
"""No answer to "Is this happening now?" for this long counts as yes."""

ANSWER_MAY_CHANGE_FOR = timedelta(days=2)
"""For this long after a question its answer may be changed to "now"."""

EPISODE_LASTS = timedelta(hours=24)
"""For this long after a sign no advice is milder than that of the alert it belongs to."""


def as_question(signs: tuple[Sign, ...]) -> tuple[Sign, ...]:
    """``signs`` as they stand on the coach's list while the question is open."""
    return (*signs, Sign.UNSURE) if Sign.UNSURE not in signs else signs


def answered(signs: tuple[Sign, ...]) -> tuple[Sign, ...]:
    """The signs of a question without what marks it as one."""
    return tuple(sign for sign in signs if sign is not Sign.UNSURE)


def open_question(facts: Facts, client_id: PersonId | None = None) -> Alert | None:
    """What was asked and has no answer yet: it stands on the coach's list as unclear words.

    Args:
        client_id: the person who was asked; None means oneself.
    """
    return next(
        (
            one
            for one in facts.alerts([client_id or facts.me.id], 1)
            if one.level is AlertLevel.MENTION and Sign.UNSURE in one.signs and not one.closed
        ),
        None,
    )


def last_question(facts: Facts) -> Alert | None:
    """The newest question, answered or not, of the last two days: its answer may be changed."""
    return next(
        (
            one
            for one in facts.alerts([facts.me.id], ANSWER_MAY_CHANGE_FOR.days)
            if one.level is AlertLevel.MENTION and Sign.UNSURE in one.signs
        ),
        None,
    )


def asked_signs(question: Alert, rules: Rules) -> tuple[Sign, ...]:
    """What a question is about."""
    return in_order(answered(question.signs), rules) or (Sign.UNSURE,)


def question_level(question: Alert, rules: Rules) -> AlertLevel:
    """What silence makes of a question; a fear without a name counts as the worst."""
    named = answered(question.signs)
    if not named:
        return AlertLevel.EMERGENCY
    level = AlertLevel.URGENT
    for sign in named:
        level = louder(level.value, rules[sign].level.value)
    return level


def deadline(question: Alert) -> datetime:
    """When silence counts as yes."""
    return question.raised_at + UNANSWERED_AFTER


def own_words(alert: Alert) -> str:
    """What the client wrote, a line for each message."""
    return "\n".join(word for word in alert.words if isinstance(word, str))


def first_words(alert: Alert) -> str:
    """What the client wrote first: the words that a question is about."""
    return next((word for word in alert.words if isinstance(word, str)), "")


def episode(facts: Facts) -> Alert | None:
    """The alert that is on, while its newest sign is fresh: of an old one it may be minutes old."""
    alert = facts.open_alert(facts.me.id)
    fresh = alert is not None and facts.now - alert.newest_sign_at < EPISODE_LASTS
    return alert if fresh else None
