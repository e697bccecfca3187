"""Clients who have joined, as their answers stand in the record."""

from tests.support.facts import BOB, Record

PLAIN = {
    "consented_on": "2026-05-01",
    "called": "Bob",
    "phone": "021555123",
    "home": "12 Hill Road, Napier",
    "contact_name": "Tom, my son",
    "contact_phone": "021555999",
    "birth_year": 1948,
    "sex": "m",
    "conditions": ["heart", "pressure"],
    "medicines": ["beta_blocker"],
    "screening_signs": [],
    "active": False,
    "doctor_said": "never",
    "spares": ["knee"],
    "floor": True,
    "kit": {"chair": 43.0, "bench": 90.0, "table": None, "step": 17.0, "wall": True, "mat": True},
}


def with_bob(facts: Record) -> Record:
    """Bob has answered everything; Ann has not begun."""
    facts.save(BOB, **PLAIN)
    facts.joined(BOB)
    return facts
