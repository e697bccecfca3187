"""One thing that ``dayrung check`` looked at."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found, in one sentence."""

    level: Literal["ok", "warn", "bad"]
    text: str
