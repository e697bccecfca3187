"""In which unit a client tells blood sugar."""

from bot.flows.facts import Facts


def sugar_unit(facts: Facts) -> tuple[str, bool]:
    """My unit ("mmol/L" or "mg/dL"), and whether my coach has fixed it.

    Where she has not, it is the usual one of the country.
    """
    limits = facts.client(facts.me.id).client.limits
    if limits.glucose_unit_fixed:
        return limits.glucose_unit, True
    country = facts.reference.countries.get(facts.me.country)
    return (country.glucose_unit if country else "mmol/L"), False
