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

    To ask about a text in which the lexicon found no sign, the opinion must reach one of these.
    Where something telling was heard: ``ask_cleared`` when signs were named and cleared, else
    ``ask_sure`` when it names a sign and ``ask_unsure`` when it names none. Where nothing telling
    was: ``ask_silent`` when the chance of its likeliest sign is ``certain_above``, else
    ``ask_vague``; ``ask_figure`` where a figure of speech was heard. Higher bars spare questions
    and cost recall.

    ``act_above``: act on thoughts of suicide that only the opinion found, when it is that sure and
    the text speaks of life; ``agree_above``: take veiled ones, which the lexicon heard too, for an
    emergency. ``quiet_below``: let go of a text that is merely suspicious, or cleared doubtfully;
    ``quiet_other_below``: the same where another is in danger, and for signs that may not be asked
    about. ``at_once_sign``, ``at_once_emergency``, ``at_once_chance``: what ``sign``,
    ``emergency`` and ``chance`` must reach, all three, for an emergency without a question.
    ``doubt_below``: ask instead of alerting; ``grave_below``: the same for chest pain, stroke signs
    and breathlessness at rest said in plain words. ``emergency_above``: an urgent text is asked
    about as an emergency; ``firm_emergency_above``: the same where a number, or words that no
    opinion doubts, made it urgent.

    Chosen on the eighth of the labelled texts that training never sees, on ordinary chat written
    for it (tests/bench/red_flags.py: held_out, own_chat), and on the sets and chats of five
    writers, each read by weights trained without that writer: with the lexicon, and with one from
    before they wrote.
    """

    ask_sure: float = 0.6
    ask_cleared: float = 0.6
    ask_unsure: float = 0.85
    ask_silent: float = 0.7
    certain_above: float = 0.8
    ask_vague: float = 0.88
    ask_figure: float = 0.97
    act_above: float = 0.97
    agree_above: float = 0.9
    sure_above: float = 0.5
    quiet_below: float = 0.06
    quiet_other_below: float = 0.025
    grave_below: float = 0.3
    doubt_below: float = 0.7
    emergency_above: float = 0.35
    firm_emergency_above: float = 0.5
    at_once_sign: float = 0.85
    at_once_emergency: float = 0.5
    at_once_chance: float = 0.4

    def to_ask(self, opinion: Opinion, evidence: Evidence, cleared: bool) -> float:
        """What ``opinion.sign`` must reach to ask where the lexicon found no sign that stands."""
        if not evidence.telling:
            if evidence.figure:
                return self.ask_figure
            return self.ask_silent if opinion.chance >= self.certain_above else self.ask_vague
        if cleared:
            return self.ask_cleared
        return self.ask_sure if opinion.chance >= self.sure_above else self.ask_unsure
