"""A sign from a phone that several clients use, where nobody knows who of them wrote it."""

from collections.abc import Sequence
from dataclasses import replace

from bot.flows.changes import AddWords, Change, RaiseAlert
from bot.flows.reasons import Reason
from bot.flows.safety.opening import SafetyOpening
from core.vocabulary import PersonId, Sign

TOLD_QUIETLY = frozenset({Sign.ABUSE, Sign.SELF_HARM})
"""Told on a phone that others may read: nothing else that is said there speaks of them."""

_EACH = Reason("coach", "shared_phone")
_ONCE = Reason("coach", "shared_phone_quietly")


def why_told(opening: SafetyOpening) -> Reason | None:
    """What else the coach must know; on a phone of several clients, that it may be another."""
    if not opening.others or opening.for_other or opening.why is not None:
        return opening.why
    return _ONCE if TOLD_QUIETLY.intersection(opening.signs) else _EACH


def of_others(others: Sequence[PersonId], raised: RaiseAlert) -> Sequence[Change]:
    """The alerts of the other clients who may have written it: each is told of and held alike.

    Danger at home and despair are told of once: whoever reads along must not learn of them, and
    the coach must not ring the one who hits.

    Args:
        raised: the alert of who is taken to have written it.
    """
    quiet = TOLD_QUIETLY.intersection(raised.signs)
    signs = tuple(sign for sign in raised.signs if sign not in quiet)
    if not others or raised.for_other or (quiet and not signs):
        return ()
    alike = replace(raised, signs=signs, words="" if quiet else raised.words, why=_EACH)
    # A number may stand where the reason would.
    said = () if raised.why in (_EACH, _ONCE) else (AddWords(raised.client_id, why=_EACH),)
    return (*said, *(replace(alike, client_id=one) for one in others))
