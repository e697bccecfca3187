"""What raises a sign by the printed advice on it, and what sounds like it and does not.

The sentences are ours. Sources, as listed in ``deploy/SAFETY.md``: MHRA 2015 (a flozin with a
normal sugar), AHA (pressure with back pain or numbness), NHS (smoke, electric shock, heat,
heart-failure and infection leaflets), Portsmouth NHS (worse confusion in dementia).
"""

import pytest

from core.vocabulary import Sign, TextLevel

E, U, ASK, NONE = TextLevel.EMERGENCY, TextLevel.URGENT, TextLevel.ASK, TextLevel.NONE

RAISED = [
    ("on a flozin, tummy pain, sugar is normal at 6", Sign.FLOZIN_KETO, E),
    ("stung by a bee and my tongue is swelling", Sign.ANAPHYLAXIS, E),
    ("bp 190/100 and my back hurts badly", Sign.HIGH_PRESSURE, E),
    ("bp 190/100 and my face is numb", Sign.HIGH_PRESSURE, E),
    ("pressure 88/50 and in a cold sweat", Sign.LOW_PRESSURE, E),
    ("I had my spleen out and have a fever of 38.4", Sign.FEVER, U),
    ("I take methotrexate and have a temperature of 38.5", Sign.FEVER, U),
    ("pus coming from my knee replacement scar and fever", Sign.JOINT_INFECTED, E),
    ("gran has dementia but is much more muddled since yesterday", Sign.CONFUSION_NEW, E),
    ("he doesn't notice his left side any more", Sign.SIDE_LOST, E),
    ("I had a seizure", Sign.SEIZURE, E),
    ("fell, and now my back hurts with thin bones", Sign.SPINE_BREAK, E),
    ("took two extra apixaban", Sign.DOSE_THINNER, E),
    ("everyone in the house has a headache, the dog too", Sign.CO_GAS, E),
    ("breathed in smoke from a fire in the kitchen", Sign.CO_GAS, E),
    ("got an electric shock from the kettle", Sign.ELECTRIC_SHOCK, E),
    ("temperature 40.2 in the heat", Sign.HEAT_STROKE, E),
    ("he locks me in at night", Sign.ABUSE, E),
    ("no food, no heating and no pills for days", Sign.SELF_NEGLECT, U),
    ("I take a statin and my muscles ache", Sign.RHABDO, ASK),
]

NOT_RAISED = [
    ("bp 190/100 but no chest pain and no numbness", U),
    ("bp 190/100, no back pain", U),
    ("I breathed in cigarette smoke", NONE),
    ("never had an electric shock", NONE),
    ("the dog is too fat, everyone is well", NONE),
    ("I had a seizure in 2012", NONE),
    ("I take a statin, muscles ache after squats as usual", NONE),
    ("I take a flozin and my sugar is normal", NONE),
    ("dementia talk at the hall, more muddled than ever about bingo rules", NONE),
]


@pytest.mark.parametrize(("text", "sign", "level"), RAISED)
def test_what_raises_a_sign_is_heard(reader, text, sign, level):
    reading = reader.read(text)

    assert sign in reading.signs
    assert reading.level is level


@pytest.mark.parametrize(("text", "level"), NOT_RAISED)
def test_what_only_sounds_like_it_raises_nothing(reader, text, level):
    assert reader.read(text).level is level


def test_a_slow_pulse_and_a_cold_body_are_no_fever(reader):
    for text in ("resting pulse is 38", "temperature 34.8 but I feel fine"):
        assert Sign.FEVER not in reader.read(text).signs
    assert Sign.FEVER in reader.read("temperature 38.2").signs
