"""The morning questions: order, follow-ups, skips, stored answers."""

from dataclasses import replace
from datetime import date

import pytest

from bot.reference.spoken import load_numbers
from core.client.client import Client, Limits
from core.readiness.morning_questions import (
    IllKind,
    Morning,
    MorningItem,
    MorningQuestion,
    PainPlace,
    PainReport,
    PainSince,
    Settled,
    Trouble,
    choices,
    may_skip,
    morning_from,
    questions,
    read_answer,
)
from core.readiness.scales import UnusableAnswer, UnusableReason

TODAY, YESTERDAY = date(2026, 3, 10), date(2026, 3, 9)
PLAIN = Client("A")
WORDS = load_numbers()
ITEMS = [MorningQuestion(item.value) for item in MorningItem]
GOOD = {
    "trouble": "nothing",
    "ill_kind": "below_neck",
    "pain_place": "knee",
    "pain_level": "4",
    "pain_since": "days",
    "settled": "partly",
    "pulse": "70",
    "pulse_again": "84",
    "pressure": "130/80",
    "glucose": "6.1",
    "weight": "71.2",
}


def next_open(answers, client=PLAIN, yesterday=None):
    wanted = questions(client, answers, yesterday)
    return next((question for question in wanted if question not in answers), None)


def ask_all(client=PLAIN, yesterday=None, **given):
    """Answer every question that comes; returns the order and the answers."""
    answers, order = {}, []
    while (question := next_open(answers, client, yesterday)) is not None:
        text = given.get(question.value, GOOD.get(question.value, "4"))
        order.append(question)
        answers[question] = read_answer(question, text, client, WORDS)
        assert not isinstance(answers[question], UnusableAnswer)
    return order, answers


def test_a_good_day_takes_six_taps_with_the_warning_signs_first():
    order, _ = ask_all()
    assert order == [MorningQuestion.TROUBLE, *ITEMS]


def test_a_good_morning_holds_all_that_was_tapped():
    _, answers = ask_all(sleep="2", mood="5")
    assert morning_from(TODAY, answers) == Morning(
        TODAY,
        sleep=2,
        tiredness=4,
        soreness=4,
        stress=4,
        mood=5,
        ill=IllKind.NONE,
        warning_sign=False,
    )


def test_a_warning_sign_ends_the_questions_at_once():
    order, answers = ask_all(trouble="warning_sign")
    assert order == [MorningQuestion.TROUBLE]
    assert morning_from(TODAY, answers) == Morning(TODAY, warning_sign=True)


def test_illness_asks_only_its_kind():
    order, answers = ask_all(trouble="ill")
    assert order == [MorningQuestion.TROUBLE, MorningQuestion.ILL_KIND, *ITEMS]
    assert morning_from(TODAY, answers).ill is IllKind.BELOW_NECK


def test_pain_asks_where_how_much_and_since_when():
    order, answers = ask_all(trouble="pain")
    assert order[1:4] == [
        MorningQuestion.PAIN_PLACE,
        MorningQuestion.PAIN_LEVEL,
        MorningQuestion.PAIN_SINCE,
    ]
    morning = morning_from(TODAY, answers)
    assert morning.new_pain == PainReport(PainPlace.KNEE, 4, PainSince.DAYS)
    assert morning.ill is IllKind.NONE


def test_pain_in_the_chest_is_not_measured():
    order, answers = ask_all(trouble="pain", pain_place="chest")
    assert MorningQuestion.PAIN_LEVEL not in order
    assert morning_from(TODAY, answers).new_pain == PainReport(PainPlace.CHEST)


def test_illness_and_pain_ask_both():
    order, _ = ask_all(trouble="ill_and_pain")
    assert order[1:5] == [
        MorningQuestion.ILL_KIND,
        MorningQuestion.PAIN_PLACE,
        MorningQuestion.PAIN_LEVEL,
        MorningQuestion.PAIN_SINCE,
    ]


def test_something_else_leaves_the_illness_open():
    _, answers = ask_all(trouble="something_else")
    assert morning_from(TODAY, answers).ill is None


@pytest.mark.parametrize(
    ("yesterday", "asked"),
    [
        (None, False),
        (Morning(YESTERDAY, soreness=3), False),
        (Morning(YESTERDAY, soreness=2), True),
        (Morning(YESTERDAY, soreness=1), True),
        (Morning(YESTERDAY, soreness=5, new_pain=PainReport(PainPlace.KNEE, 1)), True),
        (Morning(YESTERDAY, new_pain=PainReport(PainPlace.KNEE)), True),
        (Morning(YESTERDAY, new_pain=PainReport(PainPlace.KNEE, 0)), False),
    ],
)
def test_whether_it_settled_is_asked_only_after_soreness_or_pain(yesterday, asked):
    order, answers = ask_all(yesterday=yesterday)
    assert (MorningQuestion.SETTLED in order) is asked
    settled = morning_from(TODAY, answers).settled
    assert settled is (Settled.PARTLY if asked else None)


NUMBERS = frozenset({"pulse", "pressure", "glucose", "weight"})


def test_numbers_come_last_and_only_when_turned_on():
    client = replace(PLAIN, limits=Limits(numbers_asked=NUMBERS))
    order, answers = ask_all(client)
    assert order[6:] == [
        MorningQuestion.PULSE,
        MorningQuestion.PRESSURE,
        MorningQuestion.GLUCOSE,
        MorningQuestion.WEIGHT,
    ]
    morning = morning_from(TODAY, answers)
    assert (morning.pulse, morning.systolic, morning.diastolic) == (70, 130, 80)
    assert (morning.glucose_mmol, morning.weight_kg) == (6.1, 71.2)


@pytest.mark.parametrize("number", sorted(NUMBERS))
def test_each_number_can_be_turned_on_alone(number):
    client = replace(PLAIN, limits=Limits(numbers_asked=frozenset({number})))
    order, _ = ask_all(client)
    assert order[6:] == [MorningQuestion(number)]


@pytest.mark.parametrize(("pulse", "again"), [("99", False), ("100", True), ("130", True)])
def test_a_fast_pulse_is_taken_again(pulse, again):
    client = replace(PLAIN, limits=Limits(numbers_asked=frozenset({"pulse"})))
    order, answers = ask_all(client, pulse=pulse)
    assert (MorningQuestion.PULSE_AGAIN in order) is again
    assert morning_from(TODAY, answers).pulse_again == (84 if again else None)


def test_a_skipped_question_is_not_asked_again_and_stays_unanswered():
    answers = {MorningQuestion.TROUBLE: "nothing", MorningQuestion.SLEEP: None}
    assert next_open(answers) is MorningQuestion.TIREDNESS
    assert morning_from(TODAY, answers).sleep is None


def test_all_but_the_warning_signs_may_be_skipped():
    assert [question for question in MorningQuestion if not may_skip(question)] == [
        MorningQuestion.TROUBLE
    ]


def test_skipped_follow_ups_are_read_the_careful_way():
    ill = {MorningQuestion.TROUBLE: "ill", MorningQuestion.ILL_KIND: None}
    assert morning_from(TODAY, ill).ill is IllKind.BELOW_NECK
    pain = {
        MorningQuestion.TROUBLE: "pain",
        MorningQuestion.PAIN_PLACE: None,
        MorningQuestion.PAIN_LEVEL: None,
    }
    assert morning_from(TODAY, pain).new_pain == PainReport(PainPlace.ELSEWHERE)


def test_nothing_answered_is_an_empty_morning():
    assert morning_from(TODAY, {}) == Morning(TODAY)


def test_taps_offer_the_good_end_first():
    assert choices(MorningQuestion.SLEEP) == ("5", "4", "3", "2", "1")
    assert choices(MorningQuestion.TROUBLE)[0] == Trouble.NOTHING
    assert choices(MorningQuestion.PAIN_LEVEL) == tuple(str(level) for level in range(11))
    assert IllKind.NONE not in choices(MorningQuestion.ILL_KIND)
    assert choices(MorningQuestion.PULSE) == ()


@pytest.mark.parametrize(
    ("question", "text", "reason"),
    [
        (MorningQuestion.TROUBLE, "banana", UnusableReason.NOT_A_CHOICE),
        (MorningQuestion.ILL_KIND, "none", UnusableReason.NOT_A_CHOICE),
        (MorningQuestion.SLEEP, "6", UnusableReason.TOO_HIGH),
        (MorningQuestion.PAIN_LEVEL, "12", UnusableReason.TOO_HIGH),
        (MorningQuestion.PULSE, "7", UnusableReason.TOO_LOW),
        (MorningQuestion.PULSE_AGAIN, "700", UnusableReason.TOO_HIGH),
        (MorningQuestion.PRESSURE, "130", UnusableReason.TWO_NUMBERS_NEEDED),
        (MorningQuestion.GLUCOSE, "110", UnusableReason.OTHER_UNIT),
        (MorningQuestion.WEIGHT, "12", UnusableReason.TOO_LOW),
    ],
)
def test_impossible_answers_say_why(question, text, reason):
    read = read_answer(question, text, PLAIN, WORDS)
    assert isinstance(read, UnusableAnswer)
    assert read.reason is reason


def test_a_confirmed_sugar_unit_is_taken():
    client = replace(PLAIN, limits=Limits(glucose_unit="mg/dL"))
    assert isinstance(read_answer(MorningQuestion.GLUCOSE, "30", client, WORDS), UnusableAnswer)
    confirmed = read_answer(MorningQuestion.GLUCOSE, "30", client, WORDS, confirmed=True)
    assert confirmed == pytest.approx(1.665, abs=5e-4)


def test_codes_are_read_in_any_case():
    assert read_answer(MorningQuestion.TROUBLE, " Nothing ", PLAIN, WORDS) == "nothing"
