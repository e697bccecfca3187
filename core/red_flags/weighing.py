"""Weighing the lexicon's reading against the second opinion.

The opinion may raise silence to a question, soften an alert to a question, or let go of a mere
suspicion. It turns a question into an emergency only when it is sure of both the sign and its
danger, the lexicon heard something telling, and nothing in the text clears it.
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
        return _worse(reading, opinion, evidence, signs, limits, limits.firm_emergency_above)
    if reading.level is TextLevel.NONE:
        limit = limits.to_ask(opinion, evidence, cleared=bool(reading.mentions))
        if opinion.sign < limit:
            return reading
        raised = _raised(reading, opinion, evidence, signs, limits)
        return _at_once(raised, opinion, evidence, signs, limits)
    loud = [sign for sign in reading.signs if LOUDNESS[signs[sign].text_level] > 1]
    if not all(signs[sign].asked for sign in loud):
        return _unaskable(reading, opinion, signs, limits)
    if reading.level is TextLevel.ASK:
        if opinion.sign < _quiet_bar(reading, limits):
            return _let_go(reading)
        if opinion.emergency >= limits.emergency_above:
            worse = replace(reading, if_unanswered=TextLevel.EMERGENCY)
            return _at_once(worse, opinion, evidence, signs, limits)
        return reading
    bar = limits.grave_below if _is_grave(reading) else limits.doubt_below
    if opinion.sign < bar:
        doubted = replace(because, code=TextReasonCode.DOUBTED)
        return replace(reading, level=TextLevel.ASK, because=doubted)
    return _worse(reading, opinion, evidence, signs, limits, limits.emergency_above)


def _worse(
    reading: Reading,
    opinion: Opinion,
    evidence: Evidence,
    signs: SignTable,
    limits: Thresholds,
    above: float,
) -> Reading:
    """An urgent reading, asked about as an emergency where the opinion of one is ``above``."""
    askable = all(signs[sign].asked for sign in reading.signs)
    if reading.level is not TextLevel.URGENT or not askable or opinion.emergency < above:
        return reading
    worse = replace(reading.because, code=TextReasonCode.PERHAPS_WORSE)
    asked = replace(reading, level=TextLevel.ASK, because=worse, if_unanswered=TextLevel.EMERGENCY)
    return _at_once(asked, opinion, evidence, signs, limits)


def _at_once(
    reading: Reading,
    opinion: Opinion,
    evidence: Evidence,
    signs: SignTable,
    limits: Thresholds,
) -> Reading:
    """An emergency without a question first, where the opinion leaves hardly a doubt.

    Not where the lexicon heard nothing telling, where a figure of speech stands, where anything
    named was cleared, or where the likeliest sign is no emergency by itself.
    """
    if (
        reading.level is not TextLevel.ASK
        or reading.if_unanswered is not TextLevel.EMERGENCY
        or evidence.figure
        or not (evidence.telling or reading.mentions)
        or not all(mention.status in _STANDING for mention in reading.mentions)
        or signs[opinion.likeliest].text_level is not TextLevel.EMERGENCY
        or opinion.sign < limits.at_once_sign
        or opinion.emergency < limits.at_once_emergency
        or opinion.chance < limits.at_once_chance
    ):
        return reading
    named = tuple(dict.fromkeys((opinion.likeliest, *reading.signs)))
    return replace(
        reading,
        level=TextLevel.EMERGENCY,
        signs=tuple(sign for sign in named if sign is not Sign.UNSURE),
        because=replace(reading.because, code=TextReasonCode.OPINION_SURE),
    )


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

    An emergency in plain words, cleared only doubtfully, and firm words stay a question whatever
    the opinion; another's danger needs a surer one.
    """
    if any(
        (mention.certain and mention.level is TextLevel.EMERGENCY and mention.status in _PERHAPS)
        or (mention.firm and mention.status in _STANDING)
        for mention in reading.mentions
    ):
        return 0.0
    for_other = any(mention.status is Status.OTHER_NOW for mention in reading.mentions)
    return limits.quiet_other_below if for_other else limits.quiet_below


_STANDING = frozenset((Status.ASSERTED, Status.OTHER_NOW))
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
