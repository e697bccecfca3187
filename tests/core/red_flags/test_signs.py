"""The signs table: one line for each sign, and the rules of safe coaching that it must keep."""

import pytest
import yaml

from bot.red_flag_data import load_signs
from core.errors import LexiconError
from core.red_flags.signs import FirstAction, parse_signs
from core.vocabulary import AlertLevel, Sign, TextLevel

EMERGENCIES = [
    Sign.CHEST_PAIN, Sign.FAINT, Sign.BREATHLESS_REST, Sign.STROKE, Sign.THUNDERCLAP_HEADACHE,
    Sign.COUGHING_BLOOD, Sign.ASTHMA_SEVERE, Sign.CAUDA_EQUINA, Sign.VISION_LOSS, Sign.SELF_HARM,
]  # fmt: skip


@pytest.fixture(scope="module")
def signs():
    return load_signs()


def test_every_sign_has_its_line(signs):
    assert set(signs) == set(Sign)


@pytest.mark.parametrize("sign", EMERGENCIES)
def test_emergencies_are_emergencies(signs, sign):
    assert signs[sign].level is AlertLevel.EMERGENCY
    assert signs[sign].text_level is TextLevel.EMERGENCY
    assert signs[sign].holds_training


def test_only_chest_and_breath_drop_from_emergency_when_answered_earlier(signs):
    dropped = {
        sign
        for sign, rule in signs.items()
        if rule.level is AlertLevel.EMERGENCY and rule.earlier_level is not AlertLevel.EMERGENCY
    }

    assert dropped == {Sign.CHEST_PAIN, Sign.BREATHLESS_REST}


@pytest.mark.parametrize("sign", [Sign.PALPITATIONS, Sign.DIZZINESS])
def test_palpitations_and_dizziness_are_urgent_when_earlier(signs, sign):
    assert signs[sign].earlier_level is AlertLevel.URGENT


def test_thoughts_of_suicide_and_abuse_are_never_put_as_a_question(signs):
    assert not signs[Sign.SELF_HARM].asked
    assert not signs[Sign.ABUSE].asked


def test_fever_is_a_mention_that_rests_and_does_not_hold(signs):
    fever = signs[Sign.FEVER]

    assert fever.level is AlertLevel.MENTION
    assert fever.text_level is TextLevel.NONE
    assert fever.first_action is FirstAction.REST_TODAY
    assert not fever.holds_training


@pytest.mark.parametrize("sign", [*EMERGENCIES, Sign.CALF_CLOT, Sign.PALPITATIONS])
def test_lifting_a_hold_needs_clearance_after_emergencies_clots_and_palpitations(signs, sign):
    assert signs[sign].needs_clearance


def test_a_missing_sign_is_named():
    with pytest.raises(LexiconError, match="chest_pain"):
        parse_signs({})


def test_an_unknown_level_is_named(signs):
    rows = {
        sign.value: {
            "level": "loud" if sign is Sign.FALL else rule.level.value,
            "first_action": rule.first_action.value,
            "holds_training": rule.holds_training,
            "needs_clearance": rule.needs_clearance,
            "past_after_days": rule.past_after_days,
            "earlier": rule.earlier_level.value,
            "asked": rule.asked,
        }
        for sign, rule in signs.items()
    }

    with pytest.raises(LexiconError, match="fall"):
        parse_signs(yaml.safe_load(yaml.safe_dump(rows)))
