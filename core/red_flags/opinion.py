"""What a second reader says of a text, and how far it may move the first one's reading."""

from collections.abc import Callable
from dataclasses import dataclass

from core.vocabulary import Sign


@dataclass(frozen=True, slots=True)
class Opinion:
    """Probabilities, 0 to 1: that the text holds a sign, and that it is an emergency.

    ``likeliest`` is the sign it would be, ``chance`` the probability of that one.
    """

    sign: float
    emergency: float
    likeliest: Sign
    chance: float


# "Killing me", "hit the roof", "fell for it", "out like a light", "went black".
_BORROWED = frozenset([Sign.ABUSE, Sign.SELF_HARM, Sign.FALL, Sign.FAINT, Sign.VISION_LOSS])

SecondOpinion = Callable[[str], Opinion]


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the lexicon heard in a text beside its signs.

    ``telling``: a word for a part of the body, a feeling or a danger. ``of_life``: a word of living
    or dying. Words under a figure of speech do not count for these; ``figure``: there is one.
    """

    telling: bool
    of_life: bool
    figure: bool = False


@dataclass(frozen=True, slots=True)
class Thresholds:
    """How far an opinion moves a reading; probabilities, 0 to 1.

    The opinion is *sure* when the chance of its likeliest sign is ``sure_above``; then it names it.

    To ask about a text in which the lexicon found no sign, the opinion must reach one of these:
    ``ask_telling`` with a telling word in the text; ``ask_plain`` without; ``ask_cleared`` where
    signs were named and cleared; the same with ``_unsure`` where it is sure of no one sign;
    ``ask_figure`` where nothing but a figure of speech was heard (``ask_borrowed`` for the signs
    that figures of speech borrow most); ``ask_fall`` for a fall of which it is less sure than
    ``sure_of_fall`` (it takes flat tyres for one). On a short text without a telling word it must
    also reach ``firm_sign``, or be as sure as ``firm_chance``, or reach ``steady_above`` again when
    a greeting is put before the text.

    ``act_above``: act on thoughts of suicide that only the opinion found, when it is that sure and
    the text speaks of life. ``quiet_below``: let go of a text that is merely suspicious, and ask
    about any other sign. ``doubt_below``: ask instead of alerting. ``emergency_above``: an urgent
    text is asked about as an emergency.

    Chosen on the eighth of the labelled texts that training never sees, and on ordinary chat
    written for it (tests/bench/red_flags.py: held_out, own_chat).
    """

    ask_telling: float = 0.5
    ask_plain: float = 0.7
    ask_cleared: float = 0.8
    ask_telling_unsure: float = 0.95
    ask_plain_unsure: float = 0.96
    ask_cleared_unsure: float = 0.95
    ask_figure: float = 0.95
    ask_borrowed: float = 0.98
    ask_fall: float = 0.95
    firm_sign: float = 0.975
    firm_chance: float = 0.9
    steady_above: float = 0.85
    sure_of_fall: float = 0.85
    act_above: float = 0.97
    sure_above: float = 0.5
    quiet_below: float = 0.075
    doubt_below: float = 0.5
    emergency_above: float = 0.6

    def to_ask(self, opinion: Opinion, evidence: Evidence, cleared: bool) -> float:
        """What ``opinion.sign`` must reach to ask where the lexicon found no sign that stands."""
        sure = opinion.chance >= self.sure_above
        if cleared:
            return self.ask_cleared if sure else self.ask_cleared_unsure
        if evidence.figure and not evidence.telling:
            borrowed = opinion.likeliest in _BORROWED
            return self.ask_borrowed if borrowed else self.ask_figure
        if opinion.likeliest is Sign.FALL and self.sure_above <= opinion.chance < self.sure_of_fall:
            return self.ask_fall
        if evidence.telling:
            return self.ask_telling if sure else self.ask_telling_unsure
        return self.ask_plain if sure else self.ask_plain_unsure
