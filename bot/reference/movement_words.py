"""How one movement of a plan is said: name, cues, setting, cautions."""

from collections.abc import Collection
from dataclasses import dataclass

from bot.errors import WordsError
from bot.reference.catalogue import MovementWords, say_dial
from core.movements.catalogue import Catalogue, DialValue, Rung, Setting
from core.movements.dials import told

PLAIN = ("none", "usual")
"""Values of dials that go without saying."""


@dataclass(frozen=True, slots=True)
class SpokenMovement:
    """What a client reads about one movement of today.

    Attributes:
        setting: the dials in words, a sentence each; "" when all are plain.
        cautions: sentences to say beside it.
    """

    name: str
    does: str
    setting: str
    cues: tuple[str, ...]
    slips: tuple[str, ...]
    breathing: str
    cautions: tuple[str, ...]
    picture_text: str
    each_side: bool


class Movements:
    """All movements in the words of one language."""

    def __init__(self, catalogue: Catalogue, words: MovementWords) -> None:
        """``words``: loaded and checked against ``catalogue``."""
        self._catalogue = catalogue
        self._words = words

    def spoken(
        self, rung_id: str, setting: Setting = (), also: Collection[str] = ()
    ) -> SpokenMovement:
        """The words of a rung with its dial settings, pairs of name and value.

        Args:
            also: dials that are said where they stand plain, too.

        Raises:
            WordsError: the catalogue has no such rung.
        """
        rung = self._catalogue.by_id.get(rung_id)
        if rung is None:
            raise WordsError(f"no words for the rung {rung_id}")
        words = self._words.rungs[rung_id]
        turned = told(rung, setting, also)
        said = [
            self._dial(rung, name, value)
            for name, value in turned
            if value not in PLAIN or name in also
        ]
        return SpokenMovement(
            name=words.name,
            does=words.does,
            setting=" ".join(f"{one[:1].upper()}{one[1:]}." for one in said),
            cues=words.cues,
            slips=words.slips,
            breathing=words.breathing,
            cautions=tuple(self._words.cautions[code] for code in rung.cautions),
            picture_text=words.picture_text,
            each_side=rung.each_side,
        )

    def caution(self, code: str) -> str:
        """The sentences of a caution.

        Raises:
            WordsError: it has none.
        """
        said = self._words.cautions.get(code)
        if said is None:
            raise WordsError(f"no words for the caution {code}")
        return said

    def _dial(self, rung: Rung, name: str, value: DialValue) -> str:
        try:
            return say_dial(self._words, rung, name, value)
        except (KeyError, ValueError) as error:
            raise WordsError(f"no words for the dial {name} at {value}") from error
