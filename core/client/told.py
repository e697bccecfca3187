"""What a coach is asked of a condition before she clears, with the answers that change something.

An answer is kept as a value; which one leaves out, limits or opens what stands in the table that
steers. Whatever was not told stays not known, and counts as the table has it.
"""

from collections.abc import Mapping
from typing import Final

Told = frozenset[tuple[str, str]]
"""Answers, as (what was asked, the answer)."""

CHOICES: Final[Mapping[str, tuple[str, ...]]] = {
    "bone": ("yes", "no"),
    "counts": ("low", "fine"),
    "feet": ("whole", "wound"),
    "fistula": ("yes", "no"),
    "follow_up": ("done", "to_come"),
    "fractures": ("back", "other", "no"),
    "freezing": ("yes", "no"),
    "goes_back": ("yes", "no"),
    "got_up": ("yes", "no"),
    "heat": ("yes", "no"),
    "keyhole_or_open": ("keyhole", "open"),
    "last_fit": ("over_year", "under_year"),
    "latex_free_band": ("yes", "no"),
    "neck": ("yes", "no"),
    "neglect": ("yes", "no"),
    "reconstruction": ("yes", "no"),
    "since_when": ("under_three_months", "longer"),
    "sores": ("yes", "no"),
    "until_when": ("over_half_year", "later"),
    "weeks": ("under_sixteen", "later", "after_birth"),
}
"""By what a row asks (:attr:`core.client.steering.Row.asks`)."""
