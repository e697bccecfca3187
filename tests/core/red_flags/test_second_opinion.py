"""How far the second opinion moves a reading, and the small encoder that gives it."""

from pathlib import Path

import numpy as np
import pytest

from bot.reference import red_flags as red_flag_data
from bot.reference.red_flags import load_lexicon, load_reader, load_second_opinion, load_signs
from core.errors import LexiconError
from core.red_flags import second_opinion
from core.red_flags.excerpt import MOST_CHARS
from core.red_flags.opinion import Opinion, Thresholds
from core.red_flags.reader import Reader
from core.red_flags.reading import TextReasonCode
from core.red_flags.second_opinion import Encoder, Linear, parse_weights
from core.red_flags.wordpieces import pieces, spoken
from core.vocabulary import Sign, TextLevel

LIMITS = Thresholds(
    ask_sure=0.7,
    ask_cleared=0.8,
    ask_unsure=0.95,
    ask_silent=0.85,
    certain_above=0.8,
    ask_vague=0.97,
    ask_figure=0.98,
    act_above=0.97,
    quiet_below=0.1,
    quiet_other_below=0.05,
    grave_below=0.1,
    doubt_below=0.5,
    emergency_above=0.6,
)
SIGNS = load_signs()
PLAIN, TELLING = "lovely weather", "my heart this morning"


def reader_with(lexicon, sign, emergency=0.0, likeliest=Sign.CHEST_PAIN, chance=0.9):
    """A reader whose second opinion always says the same."""
    opinion = Opinion(sign, emergency, likeliest, chance)
    return Reader(SIGNS, lexicon, lambda _: opinion, LIMITS)


def test_its_fear_turns_silence_into_a_question_with_its_sign(lexicon):
    reading = reader_with(lexicon, 0.9, 0.9).read(PLAIN)

    assert reading.level is TextLevel.ASK
    assert reading.signs == (Sign.CHEST_PAIN,)
    assert reading.if_unanswered is TextLevel.EMERGENCY
    assert reading.because.code is TextReasonCode.SECOND_OPINION
    assert reading.because.opinion == 0.9


def test_a_fear_of_an_urgent_sign_becomes_urgent_when_unanswered(lexicon):
    reading = reader_with(lexicon, 0.9, 0.1, Sign.FALL).read("lovely weather")

    assert reading.if_unanswered is TextLevel.URGENT


def test_its_certain_fear_for_a_life_acts_only_where_the_text_speaks_of_life(lexicon):
    fearful = reader_with(lexicon, 0.98, 0.9, Sign.SELF_HARM)

    for silent in ("hello", PLAIN):
        assert fearful.read(silent).level is TextLevel.ASK
        assert fearful.read(silent).signs == (Sign.UNSURE,)

    reading = fearful.read("it would be simpler for them without me")

    assert reading.level is TextLevel.EMERGENCY
    assert reading.signs == (Sign.SELF_HARM,)


@pytest.mark.parametrize("sign", [sign for sign in Sign if sign is not Sign.SELF_HARM])
@pytest.mark.parametrize("text", [PLAIN, "what a breath of fresh air", "no chest pain today"])
def test_it_never_alerts_where_nothing_telling_stands_uncleared(lexicon, sign, text):
    reading = reader_with(lexicon, 0.999, 0.999, sign, 0.999).read(text)

    assert reading.level in (TextLevel.ASK, TextLevel.NONE)


def test_sure_of_an_emergency_it_does_not_ask_first(lexicon):
    reading = reader_with(lexicon, 0.97, 0.95).read(TELLING)

    assert reading.level is TextLevel.EMERGENCY
    assert reading.signs == (Sign.CHEST_PAIN,)
    assert reading.because.code is TextReasonCode.OPINION_SURE


@pytest.mark.parametrize(
    ("sign", "emergency", "likeliest", "chance"),
    [
        (0.8, 0.95, Sign.CHEST_PAIN, 0.9),
        (0.97, 0.45, Sign.CHEST_PAIN, 0.9),
        (0.97, 0.95, Sign.CHEST_PAIN, 0.35),
        (0.97, 0.95, Sign.FALL, 0.9),
    ],
)
def test_less_sure_it_asks(lexicon, sign, emergency, likeliest, chance):
    reading = reader_with(lexicon, sign, emergency, likeliest, chance).read(TELLING)

    assert reading.level is TextLevel.ASK


def test_a_fear_without_a_name_is_asked_about_and_never_acts(lexicon):
    assert reader_with(lexicon, 0.9, chance=0.2).read(PLAIN).level is TextLevel.NONE

    reading = reader_with(lexicon, 0.98, 0.9, Sign.SELF_HARM, chance=0.2).read(PLAIN)

    assert reading.level is TextLevel.ASK
    assert reading.signs == (Sign.UNSURE,)
    assert reading.if_unanswered is TextLevel.EMERGENCY


@pytest.mark.parametrize(
    ("text", "sign", "chance", "enough"),
    [
        (TELLING, Sign.CHEST_PAIN, 0.9, 0.7),
        (TELLING, Sign.CHEST_PAIN, 0.2, 0.95),
        (PLAIN, Sign.CHEST_PAIN, 0.9, 0.85),
        (PLAIN, Sign.CHEST_PAIN, 0.7, 0.97),
        (PLAIN, Sign.FALL, 0.2, 0.97),
        ("what a breath of fresh air", Sign.CHEST_PAIN, 0.9, 0.98),
        ("a breath of fresh air for my heart", Sign.CHEST_PAIN, 0.9, 0.7),
    ],
)
def test_how_much_fear_it_takes_to_ask_depends_on_what_was_heard(
    lexicon, text, sign, chance, enough
):
    below = reader_with(lexicon, enough - 0.01, 0.0, sign, chance)
    above = reader_with(lexicon, enough + 0.01, 0.0, sign, chance)

    assert below.read(text).level is TextLevel.NONE
    assert above.read(text).level is TextLevel.ASK


def test_what_scope_has_cleared_needs_more_fear(lexicon):
    assert reader_with(lexicon, 0.7).read("no chest pain today").level is TextLevel.NONE
    assert reader_with(lexicon, 0.9).read("no chest pain today").level is TextLevel.ASK


@pytest.mark.parametrize(
    "text", ["I have a pain in my chest", "my speech is slurred", "can't breathe"]
)
def test_its_doubt_softens_no_grave_sign_said_in_plain_words(lexicon, text):
    assert reader_with(lexicon, 0.2).read(text).level is TextLevel.EMERGENCY


def test_its_doubt_softens_another_sign_to_a_question(lexicon):
    reading = reader_with(lexicon, 0.2).read("I fainted this morning")

    assert reading.level is TextLevel.ASK
    assert reading.because.code is TextReasonCode.DOUBTED


@pytest.mark.parametrize("text", ["I have a pain in my chest", "I fainted this morning"])
def test_its_calm_never_silences_an_asserted_sign(lexicon, text):
    reading = reader_with(lexicon, 0.0).read(text)

    assert reading.level is TextLevel.ASK
    assert reading.if_unanswered is TextLevel.EMERGENCY
    assert reading.because.code is TextReasonCode.DOUBTED


def test_its_calm_lets_go_of_what_is_only_suspicious(lexicon):
    assert reader_with(lexicon, 0.0).read("angina").level is TextLevel.NONE


def test_its_calm_lets_go_of_no_emergency_in_plain_words(lexicon):
    reading = reader_with(lexicon, 0.0).read("I'm seeing double, hilarious")

    assert reading.level is TextLevel.ASK
    assert reading.because.code is TextReasonCode.PERHAPS_CLEARED


def test_an_emergency_in_plain_words_that_is_perhaps_anothers_is_always_asked_about(lexicon):
    text = "Margaret's colleague lost the sight in one eye"

    assert reader_with(lexicon, 0.07).read(text).level is TextLevel.ASK
    assert reader_with(lexicon, 0.0).read(text).level is TextLevel.ASK


@pytest.mark.parametrize(
    "text", ["the TV shows two newsreaders tonight", "there's two of everyone", "lips blue, haha"]
)
def test_its_calm_lets_go_of_no_emergency_that_is_only_perhaps_ordinary(lexicon, text):
    assert reader_with(lexicon, 0.0).read(text).level is TextLevel.ASK


def test_its_calm_silences_no_danger_to_another(lexicon):
    text = "my neighbour is dizzy, what do I do"

    assert reader_with(lexicon, 0.07).read(text).level is TextLevel.ASK
    assert reader_with(lexicon, 0.07).read(text).for_other


def test_its_calm_changes_nothing_about_asserted_thoughts_of_suicide(lexicon):
    assert reader_with(lexicon, 0.0).read("I want to die").level is TextLevel.EMERGENCY


def test_veiled_thoughts_of_suicide_are_an_emergency_when_it_hears_them_too(lexicon):
    text = "I keep giving my things away"
    deaf = reader_with(lexicon, 0.95, 0.9, Sign.FALL)
    hearing = reader_with(lexicon, 0.95, 0.9, Sign.SELF_HARM)

    assert deaf.read(text).level is TextLevel.URGENT
    assert hearing.read(text).level is TextLevel.EMERGENCY
    assert hearing.read(text).signs == (Sign.SELF_HARM,)


def test_doubt_about_abuse_is_never_a_question_that_names_it(lexicon):
    assert reader_with(lexicon, 0.9).read("my husband hit me").level is TextLevel.URGENT

    doubted = reader_with(lexicon, 0.0).read("my husband hit me")

    assert doubted.level is TextLevel.ASK
    assert doubted.signs == (Sign.UNSURE,)
    assert doubted.if_unanswered is TextLevel.URGENT
    assert doubted.because.code is TextReasonCode.DOUBTED


def test_its_calm_asks_before_alerting_about_another(lexicon):
    reading = reader_with(lexicon, 0.0).read("my husband has collapsed, what do I do")

    assert reading.level is TextLevel.ASK
    assert reading.if_unanswered is TextLevel.EMERGENCY
    assert reading.for_other


def test_a_feared_emergency_asks_about_an_urgent_sign(lexicon):
    reading = reader_with(lexicon, 0.9, 0.9, Sign.HEAD_INJURY).read("I banged my head")

    assert reading.level is TextLevel.ASK
    assert reading.if_unanswered is TextLevel.EMERGENCY
    assert reading.because.code is TextReasonCode.PERHAPS_WORSE


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

    assert opinion("my heart keeps doing cartwheels and I feel faint").sign > 0.5
    assert opinion("lovely walk with the dog, see you on Friday").sign < 0.5


def test_the_whole_reader_agrees_with_its_lexicon_on_plain_reports(whole_reader):
    assert whole_reader.read("I have a pain in my chest").level is TextLevel.EMERGENCY
    assert load_lexicon().common


def read_by_the_opinion(lexicon, text):
    """The part of ``text`` that the second opinion is given."""
    given = []

    def noting(part):
        given.append(part)
        return Opinion(0.0, 0.0, Sign.FALL, 0.0)

    Reader(load_signs(), lexicon, noting).read(text)
    return given[0]


def test_a_short_text_is_read_whole(lexicon):
    assert read_by_the_opinion(lexicon, "Lovely day, all done! 👍") == "Lovely day, all done! 👍"


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("Plapitations woke me at 3", "palpitations woke me at 3"),
        ("cannae get ma breth, oot o puff", "cant get my breath, out of puff"),
        ("i cant breatheproperly", "i cant breathe properly"),
        ("Could not sleep. Café at 10:30 😀", "Could not sleep. Café at 10:30 😀"),
    ],
)
def test_it_is_given_words_as_they_were_meant(lexicon, written, meant):
    assert read_by_the_opinion(lexicon, written) == meant
    assert Reader(load_signs(), lexicon).for_second_opinion(written) == meant


def test_slips_in_a_long_text_are_mended_too(lexicon):
    talk = "We went to the garden centre and bought a bag of compost. "
    part = read_by_the_opinion(lexicon, talk * 8 + "My haert felt od and ftuttery. " + talk * 8)

    assert "My heart felt" in part


def test_of_a_long_text_the_telling_sentences_are_read(lexicon):
    talk = "We went to the garden centre and bought a bag of compost. "
    text = talk * 12 + "My heart felt odd on the way home. " + talk * 12

    part = read_by_the_opinion(lexicon, text)

    assert "My heart felt odd on the way home" in part
    assert len(part) <= MOST_CHARS


def test_of_a_long_text_without_telling_words_the_end_is_read(lexicon):
    text = "We went to the garden centre and bought compost. " * 12 + "Then home by bus."

    assert read_by_the_opinion(lexicon, text).endswith("Then home by bus")


def test_a_sentence_longer_than_the_excerpt_is_cut(lexicon):
    part = read_by_the_opinion(lexicon, "compostcompost" * 60 + " and home")

    assert 0 < len(part) <= MOST_CHARS


def test_missing_weights_are_named_and_nothing_goes_on_without_them(monkeypatch, tmp_path):
    monkeypatch.setattr(red_flag_data, "_folder", lambda: tmp_path)

    with pytest.raises(LexiconError, match=r"second_opinion\.npz"):
        load_second_opinion()


def test_a_reader_without_a_second_opinion_must_be_asked_for(monkeypatch):
    def missing():
        raise LexiconError("second_opinion.npz is missing")

    monkeypatch.setattr(red_flag_data, "load_second_opinion", missing)

    assert load_reader(without_second_opinion=True).read("chest pain").level is TextLevel.EMERGENCY
    with pytest.raises(LexiconError):
        load_reader()


def test_damaged_weights_are_named(monkeypatch, tmp_path):
    (tmp_path / "second_opinion.npz").write_bytes(b"PK not weights")
    monkeypatch.setattr(red_flag_data, "_folder", lambda: tmp_path)

    with pytest.raises(LexiconError, match=r"second_opinion\.npz"):
        load_second_opinion()


def test_a_matrix_kept_in_eight_bits_maps_as_the_widened_one():
    rng = np.random.default_rng(3)
    matrix = rng.integers(-127, 128, (24, 40)).astype(np.int8)
    scale, bias = (rng.normal(size=40).astype(np.float32) for _ in range(2))
    x = rng.normal(size=(5, 24)).astype(np.float32)
    room = np.full(2000, np.nan, np.float32)

    mapped = Linear(matrix, scale, bias)(x, room)

    np.testing.assert_allclose(mapped, x @ (matrix * scale) + bias, rtol=1e-4, atol=1e-3)


def shipped_weights():
    """The weights that ship, parsed."""
    with np.load(Path(second_opinion.__file__).with_name("second_opinion.npz")) as stored:
        return parse_weights({name: stored[name] for name in stored.files})


def test_the_shipped_weights_stay_in_eight_bits_when_loaded():
    for layer in shipped_weights().layers:
        for linear in (layer.qkv, layer.attention_out, layer.widen, layer.narrow):
            assert linear.matrix.dtype == np.int8


def test_the_shipped_weights_name_every_sign_that_words_may_raise():
    never_by_words = {Sign.NEW_PAIN, Sign.SILENT_SESSION, Sign.UNREAD, Sign.UNSURE}

    assert set(shipped_weights().signs) == set(Sign) - never_by_words


@pytest.mark.parametrize(
    ("text", "sign"),
    [
        ("The comb hurts on one side and my jaw is worn out by half a slice of toast", Sign.GCA),
        ("That ear was fine at bedtime and this morning not a sound in it", Sign.HEARING_SUDDEN),
        (
            "My water is brown like stout since your lunges and the thighs are like wood",
            Sign.RHABDO,
        ),
        ("We both get a bad head by the stove and it lifts out in the yard", Sign.CO_GAS),
    ],
)
def test_the_shipped_second_opinion_names_rarer_signs_told_by_their_effects(text, sign):
    opinion = load_second_opinion()(text)

    limits = Thresholds()
    assert opinion.sign > limits.ask_sure
    assert opinion.chance > limits.sure_above
    assert opinion.likeliest is sign
