"""Countries, towns and typed words as they are loaded from the data files."""

from zoneinfo import ZoneInfo

import pytest

from bot.errors import WordsError
from bot.reference.spoken import load_answers, load_countries, load_spoken, load_towns


@pytest.mark.parametrize(
    ("code", "number"),
    [
        ("NZ", "111"), ("AU", "000"), ("GB", "999"), ("IE", "112"), ("US", "911"), ("CA", "911"),
        ("DE", "112"), ("AT", "144"), ("CH", "144"), ("NO", "113"), ("SE", "112"), ("IN", "112"),
        ("SG", "995"), ("HK", "999"), ("JP", "119"), ("KR", "119"), ("IL", "101"), ("BR", "192"),
    ],
)  # fmt: skip
def test_emergency_numbers_are_those_of_the_national_services(code: str, number: str):
    """National health services' pages; 112 in the European Union."""
    assert load_countries()[code].emergency == number


@pytest.mark.parametrize("code", ["MX", "PH", "FJ", "AR"])
def test_a_number_that_was_not_checked_is_not_there(code: str):
    assert load_countries()[code].emergency == ""


def test_northern_ireland_has_no_health_line_of_great_britain():
    """The health line 111 serves England, Scotland and Wales (National Health Service)."""
    assert load_countries()["GB"].health_line == "111"
    assert load_countries()["GB-NIR"].health_line == ""


def test_every_country_has_a_name_and_a_clock_that_exists():
    for country in load_countries().values():
        assert country.name
        assert country.zones
        for _town, zone in country.zones:
            ZoneInfo(zone)


def test_towns_that_share_a_clock_are_offered_once():
    assert len(load_countries()["AR"].zones) == 1
    assert load_towns(load_countries())["wellington"] == "Pacific/Auckland"


def test_no_word_means_two_things_within_a_group():
    spoken = load_spoken()

    assert spoken["form"]["back"] == "go_back"
    assert spoken["spare"]["back"] == "back"
    assert spoken["medicine"]["bisoprolol"] == "beta_blocker"
    assert spoken["condition"]["copd"] == "lung"


def test_a_bare_no_in_a_list_of_answers_is_refused_with_its_place(tmp_path):
    """YAML 1.1 reads an unquoted no as false (yaml.org/type/bool)."""
    words = tmp_path / "words"
    words.mkdir()
    (words / "answers.yaml").write_text('sign_now:\n  "no": [no, nope]\n')

    with pytest.raises(WordsError, match=r"answers\.yaml, sign_now"):
        load_answers(tmp_path)


def test_an_answer_that_means_two_things_at_one_question_is_refused(tmp_path):
    words = tmp_path / "words"
    words.mkdir()
    (words / "answers.yaml").write_text("sign_now:\n  now: [still]\n  earlier: [Still.]\n")

    with pytest.raises(WordsError, match="two things"):
        load_answers(tmp_path)
