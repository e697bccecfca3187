"""The words of one language for where somebody is and for parts of the body."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class PlaceWords:
    """How places and parts of the body are told in one language (``words/places.yaml``)."""

    street: re.Pattern[str]
    somewhere: re.Pattern[str]
    sided_part: re.Pattern[str]
    part: re.Pattern[str]
    also_no_part: frozenset[str]

    @classmethod
    def from_yaml(cls, entries: Mapping[str, Any]) -> "PlaceWords":
        """The parsed file.

        Raises:
            KeyError: an entry is missing.
            re.error: an entry is no regular expression.
        """

        def pattern(name: str) -> re.Pattern[str]:
            return re.compile(str(entries[name]), re.IGNORECASE)

        return cls(
            street=pattern("street"),
            somewhere=pattern("somewhere"),
            sided_part=pattern("sided_part"),
            part=pattern("part"),
            also_no_part=frozenset(str(word) for word in entries["also_no_part"]),
        )
