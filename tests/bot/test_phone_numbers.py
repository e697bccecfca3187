"""Phone numbers are read as a country dials them and written so that the reader can dial them.

Invented numbers come from ranges that are given to nobody: Ofcom's "Telephone numbers for drama
use" (London 020 7946 0000 to 0999, mobile 07700 900000 to 900999), the Australian regulator's list
for films and books (0491 570 156 among it), and 555-0100 to 555-0199 of the North American plan.
New Zealand has no such range. Notations with "+" and spaces: ITU-T E.123; what is kept: E.164.
"""

import pytest
from phonenumbers import PhoneMetadata

from bot.phone_numbers import ReadNumber, read_number, shown_to

LONDON = "+442079460123"


@pytest.mark.parametrize(
    ("digits", "country", "kept"),
    [
        pytest.param("02079460123", "GB", LONDON, id="as it is dialled at home"),
        pytest.param(LONDON, "NZ", LONDON, id="a foreign one with its plus"),
        pytest.param("0011442079460123", "AU", LONDON, id="as it is dialled from Australia"),
        pytest.param("442079460123", "GB", LONDON, id="without the plus"),
        pytest.param("442079460123", "NZ", LONDON, id="without the plus, from abroad"),
        pytest.param("0491570156", "AU", "+61491570156", id="an Australian mobile"),
        pytest.param("2025550123", "US", "+12025550123", id="an American one"),
        pytest.param("095550142", "NZ", "+6495550142", id="Auckland"),
    ],
)
def test_a_number_is_kept_so_that_the_world_can_read_it(digits: str, country: str, kept: str):
    assert read_number(digits, country) == ReadNumber(kept, plausible=True)


@pytest.mark.parametrize(
    ("digits", "country"),
    [
        pytest.param("0207946012", "GB", id="a digit too few"),
        pytest.param("020794601234", "GB", id="a digit too many"),
        pytest.param("5550123", "US", id="without its area"),
        pytest.param("07700900123", "GB", id="a range that nobody has"),
        pytest.param("+99912345678", "NZ", id="no such country"),
    ],
)
def test_what_cannot_be_in_use_is_not_plausible(digits: str, country: str):
    assert not read_number(digits, country).plausible


def test_without_a_country_a_number_cannot_be_judged():
    assert read_number("0207946012", "") == ReadNumber("0207946012", plausible=True)
    assert read_number(LONDON, "") == ReadNumber(LONDON, plausible=True)


@pytest.mark.parametrize(
    ("number", "home", "reader", "shown"),
    [
        pytest.param(LONDON, "GB", "GB", "020 7946 0123", id="at home"),
        pytest.param(LONDON, "GB", "NZ", "+44 20 7946 0123", id="to a coach abroad"),
        pytest.param(LONDON, "NZ", "NZ", "+44 20 7946 0123", id="a contact abroad, to the client"),
        pytest.param(LONDON, "GB", "", "+44 20 7946 0123", id="to nobody knows whom"),
        pytest.param("02079460123", "GB", "NZ", "+44 20 7946 0123", id="an older record"),
        pytest.param("07700900123", "GB", "NZ", "+44 7700 900123", id="insisted upon, abroad"),
        pytest.param("0207", "GB", "NZ", "0207", id="fits no plan"),
        pytest.param("02079460123", "", "NZ", "02079460123", id="of no known country"),
        pytest.param("", "GB", "NZ", "", id="not known"),
    ],
)
def test_a_number_is_shown_as_the_reader_dials_it(number: str, home: str, reader: str, shown: str):
    assert shown_to(number, home, reader) == shown


def test_every_country_s_numbers_are_loaded_when_the_program_starts():
    # A first number of a country would import its plan under a lock of the library's, which a
    # failed import (no file descriptor left, the package being replaced) never gives back.
    waiting = {
        place
        for places in (PhoneMetadata._region_available, PhoneMetadata._country_code_available)
        for place, loader in places.items()
        if loader is not None
    }
    assert waiting == set()
