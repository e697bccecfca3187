"""Every safety text, for each sign, level, circumstance, kind of client and country."""

import re
from collections.abc import Collection, Iterable
from dataclasses import replace
from functools import cache
from itertools import combinations, product

import pytest
import textstat

from bot.delivery.lifeline_words import LifelineWords
from bot.flows.safety.advice import advice, advice_values
from core.red_flags.reading import Reading, TextReason, TextReasonCode
from core.vocabulary import AlertLevel, Condition, Sign, TextLevel
from tests.bot.flows.safety.texts import (
    ADVISED,
    CLIENTS,
    LOUD,
    PLAN,
    Text,
    advices,
    facts_for,
    others,
    record_for,
)
from tests.support.talk import rendered
from tests.support.talk import words as final_words

LOCAL = "your local emergency number, or 112"
NUMBERS = {"NZ": "111", "GB": "999", "US": "911", "MX": LOCAL, "": LOCAL}
"""Emergency numbers: Ministry of Health NZ, NHS, FCC; where none was checked, ITU-T E.161.1."""

HIGHEST_GRADE, LONGEST_SENTENCE = 5.0, 15
LIFELESS = (Sign.CARDIAC_ARREST, Sign.CHOKING, Sign.OPIOID_SLEEPY, Sign.ICD_SHOCKS)
AT_REST = ("sit", "lie", "stay", "do not wait")


@cache
def single() -> tuple[Text, ...]:
    """The advice on each sign alone, and on none."""
    return tuple(advices((), *((sign,) for sign in ADVISED)))


@cache
def everything() -> Collection[Text]:
    """One text for each wording, whoever gets it for what."""
    return {text.outgoing.text: text for text in (*single(), *others())}.values()


def own(level: AlertLevel, *signs: Sign) -> Iterable[Text]:
    """The advice to the client for their own sake, without those who get quiet or caring words."""
    return [t for t in single() if t.level is level and t.signs == signs and "some" not in t.when]


def plain(level: AlertLevel) -> list[Text]:
    return [t for t in single() if t.template == f"safety/{level}"]


def first_line(text: Text) -> str:
    return text.outgoing.text.splitlines()[0]


def one(sign: Sign, level: AlertLevel, client: str = "well", country: str = "NZ") -> str:
    return next(
        t.outgoing.text
        for t in single()
        if (t.signs, t.level, t.client.name, t.country, t.when)
        == ((sign,), level, client, country, "")
    )


def sentences(text: str) -> list[str]:
    """Sentences of a text; a phone number counts as one word."""
    joined = re.sub(r"(?<=\d) (?=\d)", "", text)
    return [part for part in re.split(r"[.!?:]\s|\n", f"{joined} ") if part.strip(" .!?")]


def reading_of(sign: Sign, level: AlertLevel) -> Reading:
    """What the reader hands on about a sign that was asserted."""
    text_level = TextLevel(level.value)
    because = TextReason(TextReasonCode.ASSERTED, 1)
    return Reading(text_level, (sign,), "", because, text_level)


@pytest.fixture(scope="module")
def lifeline() -> LifelineWords:
    """The words for when the store fails."""
    facts = facts_for(CLIENTS[0], "")
    return LifelineWords(final_words(), facts.reference.countries)


def test_the_first_line_is_the_action_with_the_number_of_the_country():
    for text in (*plain(AlertLevel.EMERGENCY), *plain(AlertLevel.URGENT)):
        assert NUMBERS[text.country] in first_line(text), text.title
        assert re.match("Stop|Go to the emergency|If you need help", first_line(text)), text.title


def test_every_emergency_says_to_call_or_go_now_and_asks_whether_they_have_called():
    for text in plain(AlertLevel.EMERGENCY):
        assert " now" in first_line(text), text.title
        assert [c.label for row in text.outgoing.choices for c in row] == [
            "Yes, I have called",
            "I can't call",
        ]


def test_every_advice_says_that_this_chat_reaches_no_emergency_service():
    for text in single():
        assert "This chat does not reach emergency services." in text.outgoing.text, text.title


def test_nobody_is_left_to_drive_themselves():
    for text in (*plain(AlertLevel.EMERGENCY), *plain(AlertLevel.URGENT)):
        assert "Do not drive yourself" in text.outgoing.text, text.title


def test_every_emergency_has_exactly_one_way_to_rest():
    for text in plain(AlertLevel.EMERGENCY):
        lines = [line for line in text.outgoing.text.lower().splitlines() if line != PLAN.lower()]
        assert sum(line.startswith(AT_REST) for line in lines) >= 1, text.title
        assert sum(line.startswith(("sit ", "lie ", "stay ")) for line in lines) <= 1, text.title


def test_two_signs_never_give_two_ways_to_rest():
    facts = facts_for(CLIENTS[0], "NZ")
    record = record_for(CLIENTS[0], facts)
    for pair in combinations([s for s in ADVISED if s not in (Sign.ABUSE, Sign.SELF_HARM)], 2):
        say = advice(AlertLevel.EMERGENCY, pair, record, facts.reference.signs)
        lines = rendered(say, facts).text.lower().splitlines()
        assert sum(line.startswith(("sit ", "lie ", "stay ")) for line in lines) <= 1, pair


@pytest.mark.parametrize(
    ("sign", "level", "words"),
    [
        # NHS: recovery of a faint, asthma attack, stroke (FAST), slipped disc, deep vein thrombosis
        (Sign.FAINT, "emergency", "Lie down."),
        (Sign.ASTHMA_SEVERE, "emergency", "Sit up"),
        (Sign.ASTHMA_SEVERE, "emergency", "reliever puffer"),
        (Sign.ASTHMA_SEVERE, "emergency", "your own asthma plan"),
        (Sign.BREATHLESS_REST, "emergency", "Sit up"),
        (Sign.STROKE, "emergency", "Note the time it began. One sign is enough"),
        (Sign.VISION_LOSS, "emergency", "Note the time it began."),
        (Sign.THUNDERCLAP_HEADACHE, "emergency", "Note the time it began."),
        (Sign.COUGHING_BLOOD, "emergency", "Call 111 now."),
        (Sign.CAUDA_EQUINA, "emergency", "Go to the emergency department now."),
        (Sign.JOINT_REPLACEMENT, "emergency", "Lie still."),
        (Sign.CALF_CLOT, "urgent", "Do not rub the leg."),
        (Sign.CALF_CLOT, "urgent", "your chest hurts or you are short of breath, call 111"),
        (Sign.JOINT_REPLACEMENT, "urgent", "Call your surgeon now, or go to the emergency dep"),
        (Sign.HOT_JOINT, "urgent", "See a doctor today, or go to the emergency department."),
        (Sign.ANKLE_SWELLING, "urgent", "short of breath, sitting or lying, call 111"),
        (Sign.HIGH_PRESSURE, "urgent", "your chest or head hurts badly, call 111"),
        (Sign.FAST_PULSE, "urgent", "you faint, or you are short of breath, call 111"),
        (Sign.PALPITATIONS, "urgent", "you faint, or you are short of breath, call 111"),
        (Sign.CHEST_DISCOMFORT_GONE, "urgent", "If it comes back, call 111 at once."),
        (Sign.DIZZINESS, "urgent", "Sit or lie down."),
        (Sign.FALL, "urgent", "If you cannot stand, or a bone may be broken, call 111."),
        (Sign.SILENT_SESSION, "urgent", "If you need help, call 111 now."),
        (Sign.UNSURE, "urgent", "If it is bad, call 111 now."),
        # Anaphylaxis UK: a second pen after five minutes. NHS on carbon monoxide: fresh air first.
        (Sign.ANAPHYLAXIS, "emergency", "Stop. Use your pen now if you have one. Then call 111."),
        (Sign.ANAPHYLAXIS, "emergency", "Lie flat with your legs up. Do not stand."),
        (Sign.ANAPHYLAXIS, "emergency", "If no better in five minutes, use a second pen"),
        (Sign.CO_GAS, "emergency", "Stop. Go outside now. Then call 111. Do not go back in."),
        (Sign.CO_GAS, "urgent", "Stop. Go outside now. Do not go back in."),
        (Sign.CO_GAS, "urgent", "If anyone has a headache or feels sick, call 111."),
        # NHS and St John UK: heat is cooled; nothing by mouth for who is drowsy.
        (Sign.HEAT_STROKE, "emergency", "Sit in a cool place. Wet your skin. Fan it."),
        (Sign.KETO_HIGH, "emergency", "If you are drowsy, take nothing by mouth."),
        (Sign.SUGAR_ILL, "emergency", "If you are drowsy, take nothing by mouth."),
        (Sign.SUGAR_HIGH, "emergency", "If you are drowsy, take nothing by mouth."),
        (Sign.DOSE_INSULIN, "emergency", "If you are drowsy, take nothing by mouth."),
        (Sign.OPIOID_SLEEPY, "emergency", "If you wear a pain patch, peel it off."),  # from memory
    ],
)
def test_each_sign_has_its_own_first_step(sign: Sign, level: str, words: str):
    assert words in one(sign, AlertLevel(level))


@pytest.mark.parametrize(
    ("sign", "words"),
    [
        # NHS Wales (stroke: when last well), Portsmouth NHS (new confusion), CDC and California
        # Health (opioids), Resuscitation Council UK (choking that ends lifeless)
        (Sign.STROKE, "Note when they were last well."),
        (Sign.CONFUSION_NEW, "Help them to put their glasses on."),
        (Sign.OPIOID_SLEEPY, "Lay them on their side. Give naloxone if you have it."),
        *((sign, "Push hard and fast on the chest") for sign in LIFELESS),
    ],
)
def test_who_stands_by_reads_what_to_do(sign: Sign, words: str):
    said = (t for t in single() if t.signs == (sign,) and t.when == "for somebody else")
    emergency = [t.outgoing.text for t in said if t.level is AlertLevel.EMERGENCY]
    assert emergency
    assert all(words in text for text in emergency)


def test_nobody_is_sent_to_the_door_who_must_lie_still_or_stay_out():
    # Anaphylaxis UK: standing up can kill; NHS on carbon monoxide: nobody goes back in.
    for text in everything():
        said = text.outgoing.text
        for still in ("Do not stand", "Do not get up", "Stay outside", "in fresh air"):
            assert still not in said or "Unlock the door" not in said, text.title
        assert "fresh air" not in said or "the door." not in said, text.title


def test_a_fault_of_the_store_gives_the_same_first_step(lifeline: LifelineWords):
    for sign in (Sign.ANAPHYLAXIS, Sign.CO_GAS, Sign.CHOKING, Sign.BURN, Sign.HYPO, Sign.STROKE):
        level = AlertLevel.URGENT if sign is Sign.HYPO else AlertLevel.EMERGENCY
        said = lifeline.advice(reading_of(sign, level), None, "").text
        assert said.splitlines()[0] == first_line(
            next(t for t in own(level, sign) if not t.country and t.when == "")
        )
    lying = lifeline.advice(reading_of(Sign.ANAPHYLAXIS, AlertLevel.EMERGENCY), None, "").text
    assert "Lie flat" in lying
    assert "Unlock the door" not in lying
    assert "Sit down" not in lying


def test_the_texts_for_a_fault_read_at_grade_five_or_lower(lifeline: LifelineWords):
    for sign, level, other in product(ADVISED, LOUD, (False, True)):
        reading = replace(reading_of(sign, level), for_other=other)
        said = lifeline.advice(reading, None, "Robin").text
        assert textstat.flesch_kincaid_grade(said) <= HIGHEST_GRADE, (sign, level)
        for sentence in sentences(said):
            assert len(sentence.split()) <= LONGEST_SENTENCE, sentence


def test_low_sugar_is_15_grams_and_a_second_look_after_15_minutes():
    # Turner 2019, Sports Med Open 5:20: under 3.9 mmol/L, 15 g of fast sugar, again in 15 minutes.
    said = one(Sign.HYPO, AlertLevel.URGENT, "diabetic")
    assert "Take 15 grams of fast sugar now." in said.splitlines()[0]
    assert "Check your sugar again in 15 minutes." in said


def test_low_sugar_makes_sense_to_somebody_without_a_meter():
    said = one(Sign.HYPO, AlertLevel.URGENT)
    assert "Check your sugar" not in said
    assert "Wait 15 minutes. If you still feel bad, take the same again." in said


def test_nobody_who_cannot_swallow_is_told_to_eat():
    for level in (AlertLevel.EMERGENCY, AlertLevel.URGENT):
        for client in ("well", "diabetic"):
            assert re.search("cannot swallow, take nothing", one(Sign.HYPO, level, client)), (
                level,
                client,
            )


WORDS_TO_SAY = "Say to them: could this be"
"""A question that the reader asks of somebody else."""


def test_what_to_do_asks_nothing():
    # Whoever is in trouble acts; what is asked stands below with its buttons (ours).
    for text in single():
        said = text.outgoing.text.replace("Have you called?", "")
        lines = [line for line in said.splitlines() if not line.startswith(WORDS_TO_SAY)]
        assert [line for line in lines if "?" in line] == [], text.title


def test_a_knock_to_the_head_on_a_blood_thinner_goes_to_hospital_the_same_day_even_if_well():
    # NICE NG232.
    said = one(Sign.HEAD_INJURY, AlertLevel.URGENT, "on a blood thinner")
    assert said.startswith("Go to the emergency department today, even if you feel well.")
    assert "If you take a blood thinner, go to the" in one(Sign.HEAD_INJURY, AlertLevel.URGENT)
    fallen = one(Sign.FALL, AlertLevel.URGENT, "on a blood thinner")
    assert "If you hit your head, go to the emergency department today" in fallen


@pytest.mark.parametrize(
    ("sign", "client"),
    [(Sign.CHEST_PAIN, "angina with a plan"), (Sign.ASTHMA_SEVERE, "asthma with a plan")],
)
def test_the_doctors_plan_stands_word_for_word_beside_the_number(sign: Sign, client: str):
    said = one(sign, AlertLevel.EMERGENCY, client)
    assert f"Your doctor's plan says:\n{PLAN}\n" in said
    assert "Call 111 now." in said.splitlines()[0]
    assert "Do not wait if it is new, worse, or there at rest. Call 111 at once." in said
    assert "not gone 5 minutes after one dose" in said


def test_a_plan_for_the_heart_says_nothing_on_a_stroke_or_asthma():
    assert PLAN not in one(Sign.STROKE, AlertLevel.EMERGENCY, "angina with a plan")
    assert PLAN not in one(Sign.ASTHMA_SEVERE, AlertLevel.EMERGENCY, "angina with a plan")
    record = record_for(CLIENTS[1], facts_for(CLIENTS[1], "NZ"))
    assert Condition.ANGINA in record.client.conditions
    assert advice_values((), record)["plan"] == PLAN, "unnamed signs may be the chest"


def test_nobody_is_told_to_wait_a_quarter_of_an_hour_but_for_sugar():
    for text in single():
        if Sign.HYPO not in text.signs:
            assert "15 minutes" not in text.outgoing.text, text.title


def test_the_words_of_care_are_warm_name_the_crisis_line_and_never_say_stop():
    said = one(Sign.SELF_HARM, AlertLevel.EMERGENCY)
    assert said.startswith("I am glad you told me. If you may hurt yourself, call 111 now.")
    assert "1737" in said  # Te Whatu Ora
    assert "988" in one(Sign.SELF_HARM, AlertLevel.EMERGENCY, country="US")
    assert "Stop" not in said


def test_a_relative_in_danger_is_called_for():
    for text in single():
        other = text.when == "for somebody else" and Sign.ABUSE not in text.signs
        if other and text.level is AlertLevel.EMERGENCY:
            assert first_line(text) == f"Call {NUMBERS[text.country]} for them now.", text.title
            assert "If you may hurt yourself" not in text.outgoing.text


def test_what_is_said_about_danger_at_home_looks_harmless_in_a_list_of_chats():
    for text in single():
        if Sign.ABUSE not in text.signs:
            continue
        assert first_line(text) == "Thank you for your message.", text.title
        assert not text.outgoing.choices
        assert NUMBERS[text.country] in text.outgoing.text
        for word in ("abuse", "safe at home", "hurt", "violen", "danger", "partner", "police"):
            assert word not in text.outgoing.text.lower(), (word, text.title)


def test_danger_at_home_with_another_sign_names_neither():
    facts = facts_for(CLIENTS[0], "NZ")
    signs = (Sign.FAINT, Sign.ABUSE)
    record = record_for(CLIENTS[0], facts)
    say = advice(AlertLevel.EMERGENCY, signs, record, facts.reference.signs)
    said = rendered(say, facts).text
    assert said.startswith("Thank you for your message.")
    assert "Please get help now: call 111." in said
    assert "faint" not in said.lower()


def test_all_safety_texts_together_read_at_grade_five_or_lower():
    joined = " ".join(sorted(text.outgoing.text for text in everything()))
    assert textstat.flesch_kincaid_grade(joined) <= HIGHEST_GRADE


def test_each_safety_text_alone_reads_at_grade_five_or_lower():
    for text in everything():
        assert textstat.flesch_kincaid_grade(text.outgoing.text) <= HIGHEST_GRADE, text.title


def test_no_sentence_has_more_than_fifteen_words():
    for text in everything():
        for sentence in sentences(text.outgoing.text):
            assert len(sentence.split()) <= LONGEST_SENTENCE, (text.title, sentence)
