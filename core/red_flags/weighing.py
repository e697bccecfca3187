"""Weighing the lexicon's reading against the second opinion.

The opinion may raise silence to a question, soften an alert to a question, or let go of a mere
suspicion. Alone it never alerts, but for thoughts of suicide in a text that speaks of life.
"""

from dataclasses import replace

from core.red_flags.opinion import Evidence, Opinion, Thresholds
from core.red_flags.reading import LOUDNESS, Reading, TextReasonCode
from core.red_flags.scope import Status
from core.red_flags.signs import SignTable
from core.vocabulary import Sign, TextLevel

# Asserted in plain words these act unless the opinion holds them unlikely: minutes count.
_GRAVE = frozenset([Sign.CHEST_PAIN, Sign.STROKE, Sign.BREATHLESS_REST])


def weighed(
    reading: Reading,
    opinion: Opinion,
    evidence: Evidence,
    signs: SignTable,
    limits: Thresholds,
) -> Reading:
    """``reading`` after ``opinion``."""
    because = replace(reading.because, opinion=opinion.sign)
    reading = replace(reading, because=because)
    if _is_firm(reading):
        return reading
    if reading.level is TextLevel.NONE:
        limit = limits.to_ask(opinion, evidence, cleared=bool(reading.mentions))
        heard = opinion.sign >= limit
        return _raised(reading, opinion, evidence, signs, limits) if heard else reading
    loud = [sign for sign in reading.signs if LOUDNESS[signs[sign].text_level] > 1]
    if not all(signs[sign].asked for sign in loud):
        return _unaskable(reading, opinion, signs, limits)
    if reading.level is TextLevel.ASK:
        if opinion.sign < _quiet_bar(reading, limits):
            return _let_go(reading)
        if opinion.emergency >= limits.emergency_above:
            return replace(reading, if_unanswered=TextLevel.EMERGENCY)
        return reading
    bar = limits.grave_below if _is_grave(reading) else limits.doubt_below
    if opinion.sign < bar:
        doubted = replace(because, code=TextReasonCode.DOUBTED)
        return replace(reading, level=TextLevel.ASK, because=doubted)
    if reading.level is TextLevel.URGENT and opinion.emergency >= limits.emergency_above:
        worse = replace(because, code=TextReasonCode.PERHAPS_WORSE)
        return replace(
            reading, level=TextLevel.ASK, because=worse, if_unanswered=TextLevel.EMERGENCY
        )
    return reading


def _is_firm(reading: Reading) -> bool:
    """What decided is a number, or words of a kind that the opinion has never learnt."""
    return any(
        mention.firm
        and mention.status in (Status.ASSERTED, Status.GONE, Status.OTHER_NOW)
        and mention.level is reading.level
        for mention in reading.mentions
    )


def _is_grave(reading: Reading) -> bool:
    return any(
        mention.certain
        and mention.status is Status.ASSERTED
        and mention.level is TextLevel.EMERGENCY
        and mention.sign in _GRAVE
        for mention in reading.mentions
    )


def _quiet_bar(reading: Reading, limits: Thresholds) -> float:
    """Below which opinion a question is not asked: suspicious words, or a sign cleared doubtfully.

    An emergency in plain words, cleared only doubtfully, stays a question whatever the opinion;
    another's danger needs a surer one.
    """
    if any(
        mention.certain and mention.level is TextLevel.EMERGENCY and mention.status in _PERHAPS
        for mention in reading.mentions
    ):
        return 0.0
    for_other = any(mention.status is Status.OTHER_NOW for mention in reading.mentions)
    return limits.quiet_other_below if for_other else limits.quiet_below


_PERHAPS = frozenset(status for status in Status if status.value.endswith("_perhaps"))


def _unaskable(reading: Reading, opinion: Opinion, signs: SignTable, limits: Thresholds) -> Reading:
    """A sign that may not be asked about: it acts, and plain denial asks without naming it.

    Asserted thoughts of suicide always act: the care text does no harm. Veiled ones are an
    emergency when the opinion, too, hears them.
    """
    if (
        Sign.SELF_HARM in reading.signs
        and opinion.likeliest is Sign.SELF_HARM
        and opinion.chance >= limits.sure_above
        and opinion.sign >= limits.agree_above
    ):
        return replace(reading, level=TextLevel.EMERGENCY, if_unanswered=TextLevel.EMERGENCY)
    asserted = reading.because.code is not TextReasonCode.SUSPICIOUS
    if opinion.sign >= limits.quiet_other_below or (asserted and Sign.SELF_HARM in reading.signs):
        return reading
    return replace(
        reading,
        level=TextLevel.ASK,
        signs=(Sign.UNSURE,),
        because=replace(reading.because, code=TextReasonCode.DOUBTED),
        if_unanswered=signs[Sign.UNSURE].text_level,
    )


def _raised(
    reading: Reading,
    opinion: Opinion,
    evidence: Evidence,
    signs: SignTable,
    limits: Thresholds,
) -> Reading:
    """A question where the lexicon found nothing to ask.

    A fear without a name, and one that may not be named in a question, is asked about as unsure.
    """
    rule = signs[opinion.likeliest]
    sure = opinion.chance >= limits.sure_above
    act = sure and evidence.of_life and opinion.sign >= limits.act_above
    if not sure or (not rule.asked and not (act and rule.id is Sign.SELF_HARM)):
        rule = signs[Sign.UNSURE]
    if rule.id is Sign.CHEST_DISCOMFORT_GONE:
        # Whether it is over is what the question asks: until it is answered, it is not.
        rule = signs[Sign.CHEST_PAIN]
    if rule.text_level is TextLevel.NONE:
        return reading
    worse = opinion.emergency >= limits.emergency_above
    unanswered = TextLevel.EMERGENCY if worse else rule.text_level
    return replace(
        reading,
        level=TextLevel.ASK if rule.asked else rule.text_level,
        signs=(rule.id, *reading.signs),
        because=replace(reading.because, code=TextReasonCode.SECOND_OPINION),
        if_unanswered=unanswered if rule.asked else rule.text_level,
    )


def _let_go(reading: Reading) -> Reading:
    because = replace(reading.because, code=TextReasonCode.CLEARED)
    return replace(
        reading, level=TextLevel.NONE, signs=(), because=because, if_unanswered=TextLevel.NONE
    )
