"""Emergencies in the mother tongue are heard; ordinary talk in it, and English, are not.

The phrases are from memory; no native speaker has checked them.
"""

from pathlib import Path

import pytest

from bot.reference.red_flags import load_reader
from core.errors import LexiconError
from core.red_flags.mother_tongues import parse_tongues
from core.red_flags.reader import Reader
from core.vocabulary import TextLevel

TEXTS = Path(__file__).parents[2] / "redflags"

LOUD = {
    "es": ["Me duele mucho el pecho", "no puedo respirar", "Llame una ambulancia por favor"],
    "pt": ["dor forte no peito", "Não consigo respirar", "acho que é um AVC"],
    "fr": ["J'ai très mal à la poitrine", "je n'arrive plus à respirer", "appelez le SAMU"],
    "de": ["Schmerzen in der Brust", "Ich kriege keine Luft!", "gestürzt, komme nicht hoch"],
    "it": ["ho un forte dolore al petto", "non riesco a respirare", "credo sia un ictus"],
    "pl": ["bardzo boli mnie w klatce piersiowej", "Nie mogę oddychać", "wezwijcie karetkę"],
    "hi": ["seene mein bahut tez dard", "साँस नहीं आ रही", "gir gayi, uth nahi rahi"],
    "ar": ["أشعر بألم شديد في صدري", "لا أستطيع التنفس", "اتصلوا بالإسعاف"],
    "zh": ["我胸口很痛", "我喘不过气来", "快叫救護車"],
    "tl": ["masakit po ang dibdib ko", "Hindi ako makahinga", "nadulas ako, hindi ako makatayo"],
    "sm": ["e tigā tele lo'u fatafata", "e lē mafai ona ou mānava"],
    "mi": ["kei te tino mamae taku uma", "kāore au e taea te hā", "waea atu ki te waka tūroro"],
}  # fmt: skip
HELP = {
    "es": "ayúdenme", "pt": "Socorro, preciso de ajuda", "fr": "Au secours !", "de": "Hilfe",
    "it": "aiutatemi", "pl": "Ratunku!", "hi": "बचाओ", "ar": "النجدة", "zh": "救命啊",
    "tl": "Saklolo po", "sm": "fesoasoani mai", "mi": "Āwhina mai",
}  # fmt: skip
DENIED = {
    "es": "No, ya no me duele el pecho", "fr": "non non, je n'ai pas mal à la poitrine",
    "de": "nein, keine Schmerzen in der Brust", "it": "oggi nessun dolore al petto",
    "pl": "dzisiaj nie boli mnie w klatce", "pt": "hoje sem dor no peito",
}  # fmt: skip
ORDINARY = (
    "Buenos días, hoy estoy muy contenta", "gracias, hasta mañana", "obrigada, até amanhã",
    "Bonjour, il fait beau aujourd'hui", "merci beaucoup", "Guten Morgen, alles gut",
    "ich habe heute keine Zeit", "grazie mille, a domani", "dzień dobry, wszystko dobrze",
    "namaste, aaj mausam achha hai", "आज मैं ठीक हूँ", "صباح الخير، أنا بخير", "今天很好，谢谢",
    "magandang umaga po, ayos lang ako", "talofa lava, manuia le aso", "kia ora, kei te pai ahau",
    "Ka kite anō, thanks for the mahi", "my mate did a stroke of the pool", "salamat sa tulong",
)  # fmt: skip


@pytest.fixture(scope="module")
def reader() -> Reader:
    """The reader as the service has it, without the second opinion, which knows English only."""
    return load_reader(without_second_opinion=True)


@pytest.mark.parametrize("tongue", LOUD)
def test_an_emergency_in_the_mother_tongue_is_one_at_once(reader: Reader, tongue: str) -> None:
    readings = {text: reader.read(text) for text in LOUD[tongue]}
    assert {text: one.level for text, one in readings.items()} == dict.fromkeys(
        readings, TextLevel.EMERGENCY
    )
    assert {one.tongue for one in readings.values()} == {tongue}


@pytest.mark.parametrize("tongue", HELP)
def test_a_call_for_help_is_asked_about(reader: Reader, tongue: str) -> None:
    reading = reader.read(HELP[tongue])
    assert (reading.level, reading.tongue) == (TextLevel.ASK, tongue)


@pytest.mark.parametrize("tongue", DENIED)
def test_what_is_denied_there_is_a_question_at_most(reader: Reader, tongue: str) -> None:
    assert reader.read(DENIED[tongue]).level in (TextLevel.ASK, TextLevel.NONE)


@pytest.mark.parametrize("text", ORDINARY)
def test_ordinary_talk_says_nothing(reader: Reader, text: str) -> None:
    assert reader.read(text).level is TextLevel.NONE


def test_every_language_is_tried_here() -> None:
    assert len(LOUD) == 12
    assert set(LOUD) == set(HELP)


def test_english_is_never_taken_for_another_language(reader: Reader) -> None:
    """Ordinary English by writers who knew nothing of these phrases."""
    texts = (TEXTS / "own_chat.txt").read_text("utf-8").splitlines()
    assert len(texts) > 300
    assert [text for text in texts if reader.read(text).tongue] == []


def test_a_sign_that_does_not_exist_is_refused() -> None:
    with pytest.raises(LexiconError, match="no_such_sign"):
        parse_tongues({"es": {"no_such_sign": ["ay"]}})
