"""Phone numbers: read as a country dials them, written so that whoever reads them can dial them.

What is plausible is what the numbering plans say (library phonenumbers): a digit too few or too
many is noticed, and so is a range that is given to nobody.
"""

from dataclasses import dataclass

import phonenumbers
from phonenumbers import PhoneMetadata, PhoneNumber, PhoneNumberFormat

# All countries at once, when the program starts (about .1 s). The library would import each at
# its first number, holding a lock that it never gives back when that import fails (too many open
# files, a package that is being replaced): everything that writes a number would wait for ever.
PhoneMetadata.load_all()


@dataclass(frozen=True, slots=True)
class ReadNumber:
    """A number as it is kept.

    Attributes:
        number: as E.164 writes it ("+64211234567") wherever its country is known; else its digits.
        plausible: such a number can be in use, or cannot be judged for want of a country.
    """

    number: str
    plausible: bool


def read_number(digits: str, country: str) -> ReadNumber:
    """``digits``, perhaps after a "+", as somebody in ``country`` (ISO 3166, or "") dials them.

    A number with its country's code but without "+" is understood too: platforms send them so.
    """
    found = _parsed(digits, country)
    if found is None:
        known = digits.startswith("+") or country in phonenumbers.SUPPORTED_REGIONS
        return ReadNumber(digits, plausible=not known)
    number = phonenumbers.format_number(found, PhoneNumberFormat.E164)
    return ReadNumber(number, plausible=phonenumbers.is_valid_number(found))


def shown_to(number: str, home: str, reader: str) -> str:
    """A kept number as somebody in the country ``reader`` dials it.

    In national form where it belongs to the reader's country, in international form elsewhere
    and where that country is not known (""). A number that fits no plan stays as it is.

    Args:
        home: country of whose number it is: older records hold numbers without their country.
    """
    found = _parsed(number, home)
    if found is None:
        return number
    near = found.country_code == phonenumbers.country_code_for_region(reader)
    form = PhoneNumberFormat.NATIONAL if near else PhoneNumberFormat.INTERNATIONAL
    return phonenumbers.format_number(found, form)


def _parsed(digits: str, country: str) -> PhoneNumber | None:
    """The number that is meant: one that can be in use, else one of a possible length."""
    region = country if country in phonenumbers.SUPPORTED_REGIONS else None
    ways = [(digits, region)]
    if not digits.startswith("+"):
        ways.append((f"+{digits}", None))
    found = [one for one in (_try(text, where) for text, where in ways) if one is not None]
    in_use = next((one for one in found if phonenumbers.is_valid_number(one)), None)
    if in_use is not None or not found or (region is None and not digits.startswith("+")):
        return in_use
    reason = phonenumbers.is_possible_number_with_reason(found[0])
    return found[0] if reason == phonenumbers.ValidationResult.IS_POSSIBLE else None


def _try(text: str, region: str | None) -> PhoneNumber | None:
    try:
        return phonenumbers.parse(text, region)
    except phonenumbers.NumberParseException:
        return None
