"""How loud a warning sign is: what is over by now, what two of them make together."""

from collections.abc import Mapping, Sequence

from core.red_flags.signs import SignRule
from core.vocabulary import AlertLevel, Sign, TextLevel

DROPS_WHEN_OVER = frozenset(
    {
        Sign.CHEST_PAIN,
        Sign.CHEST_DISCOMFORT_GONE,
        Sign.BREATHLESS_REST,
        Sign.BREATHLESS_EFFORT,
        Sign.PALPITATIONS,
        Sign.DIZZINESS,
        Sign.CHOKING,
        Sign.BLEED_WONT_STOP,
    }
)
"""Chest, breath, palpitations and dizziness, a bleed that stopped and a throat that is free again:
urgent when over. All others stay what they were."""

LOUDNESS = {
    AlertLevel.MENTION.value: 0,
    TextLevel.NONE.value: 0,
    TextLevel.ASK.value: 0,
    AlertLevel.URGENT.value: 1,
    AlertLevel.EMERGENCY.value: 2,
}

Rules = Mapping[Sign, SignRule]


def louder(one: str, other: str) -> AlertLevel:
    """The louder of two levels, as a level of an alert."""
    loudest = max(one, other, key=LOUDNESS.__getitem__)
    return AlertLevel(loudest) if LOUDNESS[loudest] else AlertLevel.MENTION


def earlier_level(signs: Sequence[Sign], unanswered: AlertLevel, rules: Rules) -> AlertLevel:
    """What becomes of ``signs`` when they happened earlier and not now.

    Args:
        unanswered: the level that silence would have given.
    """
    staying = [sign for sign in signs if sign not in DROPS_WHEN_OVER]
    dropping = [sign for sign in signs if sign in DROPS_WHEN_OVER]
    if unanswered is not AlertLevel.EMERGENCY or not dropping:
        return unanswered
    if any(rules[sign].earlier_level is AlertLevel.EMERGENCY for sign in staying):
        return AlertLevel.EMERGENCY
    explained = any(rules[sign].level is AlertLevel.EMERGENCY for sign in dropping)
    # An emergency that none of the dropping signs accounts for comes from one that stays.
    return AlertLevel.URGENT if explained or not staying else AlertLevel.EMERGENCY


def in_order(signs: Sequence[Sign], rules: Rules) -> tuple[Sign, ...]:
    """Each sign once, the most serious first, otherwise as told."""
    once = list(dict.fromkeys(signs))
    return tuple(sorted(once, key=lambda sign: -LOUDNESS[rules[sign].level.value]))
