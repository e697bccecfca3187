"""Laws that the product does not keep yet: what is wrong, in a sentence each."""

from collections.abc import Mapping

KNOWN_BROKEN: Mapping[str, str] = {}
