"""How far the second opinion moves a reading, and the small encoder that gives it."""

import numpy as np

from bot.red_flag_data import load_lexicon, load_second_opinion, load_signs
from core.red_flags.opinion import Opinion, Thresholds
from core.red_flags.reader import Reader
from core.red_flags.reading import ReasonCode
from core.red_flags.second_opinion import Encoder, parse_weights
from core.red_flags.wordpieces import pieces, spoken
from core.vocabulary import Sign, TextLevel

LIMITS = Thresholds(
    ask_above=0.5, ask_above_cleared=0.8, quiet_below=0.1, doubt_below=0.1, emergency_above=0.6
)


def reader_with(lexicon, sign, emergency=0.0, likeliest=Sign.CHEST_PAIN, chance=0.9):
    """A reader whose second opinion always says the same."""
    opinion = Opinion(sign, emergency, likeliest, chance)
    return Reader(load_signs(), lexicon, lambda _: opinion, LIMITS)


def test_its_fear_turns_silence_into_a_question_with_its_sign(lexicon):
    reading = reader_with(lexicon, 0.9, 0.9).read("lovely weather")

    assert reading.level is TextLevel.ASK
    assert reading.signs == (Sign.CHEST_PAIN,)
    assert reading.if_unanswered is TextLevel.EMERGENCY
    assert reading.because.code is ReasonCode.SECOND_OPINION
    assert reading.because.opinion == 0.9


def test_a_fear_of_an_urgent_sign_becomes_urgent_when_unanswered(lexicon):
    reading = reader_with(lexicon, 0.9, 0.1, Sign.FALL).read("lovely weather")

    assert reading.if_unanswered is TextLevel.URGENT


def test_its_certain_fear_for_a_life_acts_without_a_question(lexicon):
    assert reader_with(lexicon, 0.9, 0.9, Sign.SELF_HARM).read("hello").level is TextLevel.ASK

    reading = reader_with(lexicon, 0.98, 0.9, Sign.SELF_HARM).read("lovely weather")

    assert reading.level is TextLevel.EMERGENCY
    assert reading.signs == (Sign.SELF_HARM,)


def test_a_fear_without_a_name_is_asked_about_and_never_acts(lexicon):
    assert reader_with(lexicon, 0.9, chance=0.2).read("lovely weather").level is TextLevel.NONE

    reading = reader_with(lexicon, 0.97, 0.9, Sign.SELF_HARM, chance=0.2).read("lovely weather")

    assert reading.level is TextLevel.ASK
    assert reading.signs == (Sign.UNSURE,)
    assert reading.if_unanswered is TextLevel.EMERGENCY


def test_what_scope_has_cleared_needs_more_fear(lexicon):
    assert reader_with(lexicon, 0.7).read("no chest pain today").level is TextLevel.NONE
    assert reader_with(lexicon, 0.9).read("no chest pain today").level is TextLevel.ASK


def test_its_calm_never_silences_an_asserted_sign(lexicon):
    reading = reader_with(lexicon, 0.0).read("I have a pain in my chest")

    assert reading.level is TextLevel.ASK
    assert reading.if_unanswered is TextLevel.EMERGENCY
    assert reading.because.code is ReasonCode.DOUBTED


def test_its_calm_lets_go_of_what_is_only_suspicious(lexicon):
    assert reader_with(lexicon, 0.0).read("angina").level is TextLevel.NONE


def test_its_calm_changes_nothing_about_asserted_thoughts_of_suicide(lexicon):
    assert reader_with(lexicon, 0.0).read("I want to die").level is TextLevel.EMERGENCY


def test_doubt_about_abuse_is_never_a_question(lexicon):
    assert reader_with(lexicon, 0.9).read("my husband hit me").level is TextLevel.URGENT
    assert reader_with(lexicon, 0.0).read("my husband hit me").level is TextLevel.NONE


def test_its_calm_asks_before_alerting_about_another(lexicon):
    reading = reader_with(lexicon, 0.0).read("my husband has collapsed, what do I do")

    assert reading.level is TextLevel.ASK
    assert reading.if_unanswered is TextLevel.EMERGENCY
    assert reading.for_other


def test_a_feared_emergency_asks_about_an_urgent_sign(lexicon):
    reading = reader_with(lexicon, 0.9, 0.9, Sign.HEAD_INJURY).read("I banged my head")

    assert reading.level is TextLevel.ASK
    assert reading.if_unanswered is TextLevel.EMERGENCY
    assert reading.because.code is ReasonCode.PERHAPS_WORSE


def test_emoji_are_spoken_by_name():
    assert spoken("Chest 🔥 Café") == "chest  fire  cafe"


def test_an_unknown_word_is_cut_into_known_pieces():
    ids = {"[CLS]": 0, "[SEP]": 1, "[UNK]": 2, "diz": 3, "##zz": 4, "##y": 5, "!": 6}

    assert pieces("Dizzzy!", ids, most=10) == [0, 3, 4, 5, 6, 1]
    assert pieces("dizzzy xq", ids, most=10) == [0, 3, 4, 5, 2, 1]


def test_pieces_never_exceed_the_most():
    ids = {"[CLS]": 0, "[SEP]": 1, "[UNK]": 2, "a": 3}

    assert pieces("a " * 50, ids, most=8) == [0, 3, 3, 3, 3, 3, 3, 1]


def random_arrays(rng: np.random.Generator, width: int = 24, layers: int = 2) -> dict:
    """Weights of the right shapes and no meaning."""
    listed = "[CLS]\n[SEP]\n[UNK]\nchest\npain\n##s\nno"
    arrays: dict = {
        "pieces": np.frombuffer(listed.encode(), np.uint8),
        "signs": np.frombuffer(b"chest_pain\nfall", np.uint8),
        "words": rng.integers(-127, 127, (7, width)).astype(np.int8),
        "words_scale": np.full(7, 0.01, np.float32),
        "positions": rng.normal(size=(96, width)).astype(np.float16),
        "norm_gain": np.ones(width, np.float16),
        "norm_offset": np.zeros(width, np.float16),
        "layer_count": np.int32(layers),
        "heads": np.int32(4),
        "head": rng.normal(size=(2 * width, 4)).astype(np.float32),
        "head_bias": np.zeros(4, np.float32),
    }
    shapes = {"qkv": (width, 3 * width), "attention_out": (width, width)}
    shapes |= {"widen": (width, 4 * width), "narrow": (4 * width, width)}
    for index in range(layers):
        for name, shape in shapes.items():
            arrays[f"layer{index}_{name}"] = rng.integers(-127, 127, shape).astype(np.int8)
            arrays[f"layer{index}_{name}_scale"] = np.full(shape[1], 0.002, np.float32)
            arrays[f"layer{index}_{name}_bias"] = np.zeros(shape[1], np.float16)
        for norm in ("norm1", "norm2"):
            arrays[f"layer{index}_{norm}_gain"] = np.ones(width, np.float16)
            arrays[f"layer{index}_{norm}_offset"] = np.zeros(width, np.float16)
    return arrays


def test_the_encoder_answers_with_probabilities_and_a_sign_it_knows():
    encoder = Encoder(parse_weights(random_arrays(np.random.default_rng(0))))

    opinion = encoder("no chest pains")

    assert 0 <= opinion.sign <= 1
    assert 0 <= opinion.emergency <= 1
    assert opinion.likeliest in (Sign.CHEST_PAIN, Sign.FALL)
    assert encoder("no chest pains") == opinion


def test_the_order_of_words_counts():
    encoder = Encoder(parse_weights(random_arrays(np.random.default_rng(0))))

    assert encoder("pain no chest").sign != encoder("no chest pain").sign


def test_a_long_text_is_read_in_windows_and_its_loudest_part_counts():
    encoder = Encoder(parse_weights(random_arrays(np.random.default_rng(1))))

    long = encoder("no " * 200 + "chest pain")

    assert long.sign >= encoder("no " * 60).sign - 0.2


def test_the_shipped_second_opinion_tells_plain_from_plain():
    opinion = load_second_opinion()

    assert opinion is not None
    assert opinion("my heart keeps doing cartwheels and I feel faint").sign > 0.5
    assert opinion("lovely walk with the dog, see you on Friday").sign < 0.5


def test_the_whole_reader_agrees_with_its_lexicon_on_plain_reports(whole_reader):
    assert whole_reader.read("I have a pain in my chest").level is TextLevel.EMERGENCY
    assert load_lexicon().common
