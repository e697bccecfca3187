"""Words without spaces, as thumbs and dictation leave them; all texts are our own."""

import pytest

from bot.reference.red_flags import load_lexicon, load_second_opinion, load_signs
from core.red_flags.reader import Reader
from core.red_flags.run_together import put_spaces
from core.red_flags.spelling import Speller
from core.vocabulary import TextLevel

SIGNS = (
    ("icantbreathe", "breathless_rest"),
    ("Ihavechestpainandicantbreathe", "chest_pain"),
    ("ifellinthekitchen", "fall"),
    ("myheartisracing", "palpitations"),
    ("theroomisspinning", "dizziness"),
    ("ifaintedthismorning", "faint"),
    ("myrightarmhasgonenumb", "stroke"),
    ("mycalfisswollenandhot", "calf_clot"),
    ("coughingupbloodsincelastnight", "coughing_blood"),
    ("worstheadacheofmylife", "thunderclap_headache"),
)

TALK = (
    "hadagoodsessiontoday",
    "cantwaitforthegrandchildrentovisit",
    "seeyouonthursday",
    "mylegsareabittired",
    "justfinishedmysquats",
    "nochestpaintoday",
    "notdizzyatall",
)

NAMES = (
    "Tauranga",
    "Constantinople",
    "hydrotherapy",
    "rheumatologist",
    "Wolverhampton",
    "Saskatoon",
)


@pytest.fixture(scope="module")
def reader() -> Reader:
    return Reader(load_signs(), load_lexicon(), load_second_opinion())


@pytest.fixture(scope="module")
def speller() -> Speller:
    lexicon = load_lexicon()
    return Speller(lexicon.repairable(), lexicon.common, lexicon.weights())


@pytest.mark.parametrize(("text", "sign"), SIGNS)
def test_a_sign_without_spaces_is_heard(reader: Reader, text: str, sign: str):
    reading = reader.read(text)

    assert reading.level in (TextLevel.EMERGENCY, TextLevel.URGENT)
    assert sign in [one.value for one in reading.signs]


@pytest.mark.parametrize("text", TALK)
def test_talk_without_spaces_is_let_go(reader: Reader, text: str):
    assert reader.read(text).level is TextLevel.NONE


@pytest.mark.parametrize("name", NAMES)
def test_a_name_or_a_trade_is_not_taken_apart(speller: Speller, name: str):
    assert put_spaces(f"my {name} appointment", speller) == f"my {name} appointment"


def test_the_words_around_a_run_stay_as_they_were(speller: Speller):
    assert put_spaces("Oh no! mychestfeelstight, Rua.", speller) == (
        "Oh no! my chest feels tight, Rua."
    )
