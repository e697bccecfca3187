"""The signs table: one line for each sign, and the rules of safe coaching that it must keep."""

import re
from pathlib import Path

import pytest
import yaml

from bot.reference.red_flags import load_signs
from core.errors import LexiconError
from core.red_flags.signs import FirstAction, clinician_due, parse_signs
from core.vocabulary import AlertLevel, Condition, Sign, TextLevel

EMERGENCIES = [
    Sign.CHEST_PAIN, Sign.FAINT, Sign.BREATHLESS_REST, Sign.STROKE, Sign.THUNDERCLAP_HEADACHE,
    Sign.COUGHING_BLOOD, Sign.ASTHMA_SEVERE, Sign.CAUDA_EQUINA, Sign.VISION_LOSS, Sign.SELF_HARM,
    Sign.CARDIAC_ARREST, Sign.KETO_HIGH, Sign.SUGAR_ILL, Sign.SEPSIS, Sign.MENINGITIS,
    Sign.CHEMO_FEVER, Sign.CONFUSION_NEW, Sign.CHOKING, Sign.ANAPHYLAXIS, Sign.CO_GAS,
    Sign.OPIOID_SLEEPY, Sign.ICD_SHOCKS, Sign.AORTA, Sign.COLD_LIMB, Sign.PRIL_SWELLING,
    Sign.LOW_OXYGEN, Sign.FLOZIN_KETO, Sign.TIA, Sign.SIDE_LOST, Sign.SEIZURE, Sign.VOMIT_BLOOD,
    Sign.BLEED_WONT_STOP, Sign.LONG_LIE, Sign.FALL_STUCK, Sign.HIP_BREAK, Sign.HEAD_THINNER,
    Sign.JOINT_OUT, Sign.JOINT_INFECTED, Sign.EYE_PAIN, Sign.EYE_CURTAIN, Sign.HERNIA_STUCK,
    Sign.TESTICLE_PAIN, Sign.CANT_PEE, Sign.RHABDO, Sign.DRUG_HEAT_STIFF, Sign.HEAT_STROKE,
    Sign.HYPOTHERMIA, Sign.ELECTRIC_SHOCK, Sign.BURN,
]  # fmt: skip


@pytest.fixture(scope="module")
def signs():
    return load_signs()


def test_every_sign_has_its_line(signs):
    assert set(signs) == set(Sign)


def test_the_hazard_log_says_of_each_sign_once_where_its_advice_comes_from():
    log = (Path(__file__).parents[3] / "deploy" / "SAFETY.md").read_text(encoding="utf-8")
    section = log.split("## Where the advice on each sign comes from")[1].split("\n## ")[0]
    groups = section.split("\nFrom memory within rows")[0]

    assert sorted(re.findall(r"`(\w+)`", groups)) == sorted(Sign)


@pytest.mark.parametrize("sign", EMERGENCIES)
def test_emergencies_are_emergencies(signs, sign):
    assert signs[sign].level is AlertLevel.EMERGENCY
    assert signs[sign].text_level is TextLevel.EMERGENCY
    assert signs[sign].holds_training


def test_only_what_can_be_over_drops_from_emergency_when_answered_earlier(signs):
    dropped = {
        sign
        for sign, rule in signs.items()
        if rule.level is AlertLevel.EMERGENCY and rule.earlier_level is not AlertLevel.EMERGENCY
    }

    assert dropped == {
        Sign.CHEST_PAIN, Sign.BREATHLESS_REST, Sign.CHOKING, Sign.BLEED_WONT_STOP,
    }  # fmt: skip


@pytest.mark.parametrize("sign", [Sign.PALPITATIONS, Sign.DIZZINESS])
def test_palpitations_and_dizziness_are_urgent_when_earlier(signs, sign):
    assert signs[sign].earlier_level is AlertLevel.URGENT


@pytest.mark.parametrize(
    "sign",
    [
        Sign.CARDIAC_ARREST, Sign.CHOKING, Sign.ANAPHYLAXIS, Sign.CO_GAS, Sign.OPIOID_SLEEPY,
        Sign.FALL_STUCK,
    ],
)  # fmt: skip
def test_nothing_is_asked_first_where_minutes_kill(signs, sign):
    assert not signs[sign].asked


def test_thoughts_of_suicide_and_abuse_are_never_put_as_a_question(signs):
    assert not signs[Sign.SELF_HARM].asked
    assert not signs[Sign.ABUSE].asked


def test_fever_is_a_mention_that_rests_and_does_not_hold(signs):
    fever = signs[Sign.FEVER]

    assert fever.level is AlertLevel.MENTION
    assert fever.text_level is TextLevel.NONE
    assert fever.first_action is FirstAction.REST_TODAY
    assert not fever.holds_training


ALWAYS: frozenset[Condition] = frozenset(Condition)
OWN_WORD: frozenset[Condition] = frozenset()
HEART = frozenset(
    {
        Condition.HEART, Condition.HEART_FAILURE, Condition.ANGINA, Condition.RHYTHM,
        Condition.PACEMAKER, Condition.HEART_TRANSPLANT,
    }
)  # fmt: skip
REPLACED = frozenset({Condition.JOINT_REPLACEMENT})

LIFTED_BY_A_CLINICIAN = {
    # Rule of the practice: every sign of emergency level.
    **dict.fromkeys(EMERGENCIES, ALWAYS),
    # Rule of the practice, each by name.
    Sign.CHEST_DISCOMFORT_GONE: ALWAYS,
    Sign.CALF_CLOT: ALWAYS,
    Sign.PALPITATIONS: ALWAYS,
    Sign.HEAD_INJURY: ALWAYS,
    Sign.JOINT_REPLACEMENT: ALWAYS,
    Sign.HIGH_PRESSURE: ALWAYS,  # as a reason to hold it is 180/110 and over only
    Sign.FEVER: REPLACED,
    Sign.ANKLE_SWELLING: HEART,
    # From memory (infection of a replaced joint; a racing pulse at rest is a doctor's to explain):
    # stricter than the rule.
    Sign.HOT_JOINT: REPLACED,
    Sign.FAST_PULSE: ALWAYS,
    # A doctor or a specialist team has to have seen these; a clinician has yet to sign them.
    **dict.fromkeys(
        [
            Sign.ICD_SHOCK,
            Sign.GUT_BLEED,
            Sign.SPINE_BREAK,
            Sign.CLOT_AFTER_OP,
            Sign.HF_WORSE,
            Sign.GCA,
            Sign.DOSE_INSULIN,
            Sign.DOSE_THINNER,
            Sign.DOSE_HEART,
            Sign.SLOW_PULSE,
            Sign.LOW_PRESSURE,
        ],
        ALWAYS,
    ),
    Sign.HEARING_SUDDEN: OWN_WORD,
    Sign.SELF_NEGLECT: OWN_WORD,
    # The rule leaves these to the coach, once the client is well.
    Sign.DIZZINESS: OWN_WORD,
    Sign.BREATHLESS_EFFORT: OWN_WORD,
    Sign.SUGAR_HIGH: OWN_WORD,
    Sign.HYPO: OWN_WORD,  # but see the emergency level below
    Sign.FALL: OWN_WORD,
    Sign.ABUSE: OWN_WORD,
    Sign.NEW_PAIN: OWN_WORD,
    Sign.SILENT_SESSION: OWN_WORD,
    Sign.UNREAD: OWN_WORD,
    Sign.UNSURE: OWN_WORD,
}
"""Sign -> the conditions with which nobody's word but a clinician's lifts its hold."""


@pytest.mark.parametrize("sign", Sign)
def test_whose_word_lifts_the_hold_of_a_sign(signs, sign):
    due = LIFTED_BY_A_CLINICIAN[sign]

    for condition in Condition:
        said = clinician_due([sign], AlertLevel.URGENT, {condition}, signs)
        assert said is (condition in due), condition
    assert clinician_due([sign], None, set(), signs) is (due == ALWAYS)


@pytest.mark.parametrize("sign", Sign)
def test_after_an_alert_of_emergency_level_only_a_clinician_lifts(signs, sign):
    assert clinician_due([sign], AlertLevel.EMERGENCY, set(), signs)


def test_an_alert_of_emergency_level_without_a_sign_needs_a_clinician_too(signs):
    assert clinician_due([], AlertLevel.EMERGENCY, set(), signs)
    assert not clinician_due([], AlertLevel.URGENT, set(Condition), signs)


def test_one_sign_that_needs_a_clinician_among_others_is_enough(signs):
    assert clinician_due([Sign.FALL, Sign.HEAD_INJURY], AlertLevel.URGENT, set(), signs)


WRONG_LIFTS: list[object] = [
    "nurse",
    None,
    {},
    {"clinician_if": []},
    {"clinician_if": ["heartburn"]},
    {"if": []},
]


def rows_of(signs, **changed):
    """The table as it would be read from the file, with one column of one sign changed."""
    rows = {
        sign.value: {
            "level": rule.level.value,
            "first_action": rule.first_action.value,
            "holds_training": rule.holds_training,
            "past_after_days": rule.past_after_days,
            "earlier": rule.earlier_level.value,
            "asked": rule.asked,
            "lift": "clinician" if rule.lift.always else "coach",
        }
        for sign, rule in signs.items()
    }
    for name, column in changed.items():
        rows[name] |= column
    return yaml.safe_load(yaml.safe_dump(rows))


@pytest.mark.parametrize("lift", WRONG_LIFTS)
def test_a_wrong_word_on_who_lifts_is_named(signs, lift):
    with pytest.raises(LexiconError, match="fall"):
        parse_signs(rows_of(signs, fall={"lift": lift}))


def test_an_emergency_cannot_be_left_to_the_coach(signs):
    with pytest.raises(LexiconError, match=r"stroke.*clinician"):
        parse_signs(rows_of(signs, stroke={"lift": {"clinician_if": ["heart"]}}))


def test_a_missing_sign_is_named():
    with pytest.raises(LexiconError, match="chest_pain"):
        parse_signs({})


def test_an_unknown_level_is_named(signs):
    with pytest.raises(LexiconError, match="fall"):
        parse_signs(rows_of(signs, fall={"level": "loud"}))
