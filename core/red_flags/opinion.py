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
class Thresholds:
    """How far an opinion moves a reading; probabilities, 0 to 1.

    ``ask_above``: nothing was found, yet ask. ``ask_above_cleared``: the same where signs were
    named and cleared. ``ask_above_unnamed``: the same where the opinion is sure of no one sign.
    ``quiet_below``: let go of a text that is merely suspicious. ``doubt_below``:
    ask instead of alerting. ``emergency_above``: an urgent text is asked about as an emergency.
    ``sure_above``: name the likeliest sign. ``act_above``: act, with no word of the lexicon, on a
    sign that may not be asked about.
    Chosen on the eighth of the labelled texts that training never sees (tests/bench/red_flags.py).
    """

    ask_above: float = 0.5
    ask_above_cleared: float = 0.8
    ask_above_unnamed: float = 0.95
    quiet_below: float = 0.1
    doubt_below: float = 0.5
    emergency_above: float = 0.6
    sure_above: float = 0.5
    act_above: float = 0.97
