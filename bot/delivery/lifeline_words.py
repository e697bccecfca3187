"""What is said when the store fails, in final words."""

from collections.abc import Mapping

from bot.flows.facts import Country
from bot.messages import Outgoing
from bot.phone_numbers import shown_to
from bot.reference.words import Words
from bot.storage.directory import Listed
from core.red_flags.reading import Reading
from core.vocabulary import Sign


class LifelineWords:
    """Renders the few messages that need no record."""

    def __init__(self, words: Words, countries: Mapping[str, Country]) -> None:
        """``countries`` hold the emergency numbers."""
        self._words = words
        self._countries = countries

    def advice(self, reading: Reading, person: Listed | None, coach: str) -> Outgoing:
        """What to do about a sign. ``coach``: the name of who is being told, or ""."""
        return self._say("advice", person, {**_of(reading), "coach": coach})

    def trouble(self, person: Listed | None, *, stored: bool) -> Outgoing:
        """That nothing can be done just now. ``stored``: what was sent is on the disk."""
        return self._say("trouble", person, {"stored": stored})

    def for_coach(self, reading: Reading, client: Listed, words: str, *, shared: bool) -> Outgoing:
        """A sign that a client wrote of, in their own ``words``.

        Args:
            shared: it may have been another client, who uses the same phone.
        """
        values = {
            **_of(reading),
            "client_name": client.name,
            "words": words,
            # Whoever reads it may be in another country.
            "phone": shown_to(client.phone, client.country, ""),
            "contact_hidden": Sign.ABUSE in reading.signs,
            "shared": shared,
        }
        return self._say("for_coach", client, values)

    def _say(self, what: str, person: Listed | None, values: Mapping[str, object]) -> Outgoing:
        country = None if person is None else self._countries.get(person.country)
        everywhere = {"country": country, "emergency": country.emergency if country else ""}
        return Outgoing(self._words.render(f"lifeline/{what}", {**everywhere, **values}).text)


def _of(reading: Reading) -> dict[str, object]:
    return {
        "level": reading.level.value,
        "signs": [sign.value for sign in reading.signs],
        "for_other": reading.for_other,
        "perhaps_client": reading.perhaps_client,
    }
