"""A reason that is said beside people's own words: which sentence, and what it shows."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from core.dose.prescription import DoseReason


@dataclass(frozen=True, slots=True)
class Reason:
    """Why, as one sentence of ``templates/<language>/reasons/<group>.yaml``.

    Attributes:
        code: the sentence.
        numbers: what the sentence shows, by name; a sentence may quote why a dose was changed.
    """

    group: str
    code: str
    numbers: Mapping[str, int | float | str | DoseReason] = field(default_factory=dict)
