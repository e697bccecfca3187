"""The morning's questions as a form: which come and what answers mean, core decides.

Buttons are "sleep=4" and "sleep~back", an answer a row. Numbers may be skipped by a button, what
has choices only in words; answers are kept as core reads them.
"""

from collections.abc import Sequence
from datetime import timedelta
from typing import cast

from bot.flows.form_question import (
    FormQuestion,
    Option,
    Read,
    ReadSentence,
    Setting,
    never_read,
)
from bot.flows.forms import SKIP, Form
from bot.flows.machine import Button, Rows
from bot.flows.parsing import Reask, plain_words, read_choice, usable
from bot.json_values import JsonValue
from core.answers.body import read_pressure
from core.answers.choices import choose
from core.answers.counts import read_pain
from core.answers.trouble import read_trouble
from core.answers.words import Understood
from core.dose.family_record import waits_for_settling
from core.readiness.morning_questions import (
    Answers,
    AnswerValue,
    MorningQuestion,
    choices,
    may_skip,
    questions,
    read_answer,
)

SLOT = "checkin"
BACK = "back"
MARK = "="
COLUMNS = {MorningQuestion.PAIN_LEVEL: 4, MorningQuestion.PAIN_PLACE: 2}
"""Rows stay few where there is much to tap; else one answer a row, so that thumbs find them."""


def _order(setting: Setting) -> Sequence[str]:
    facts, today = setting.facts, setting.today
    before = today - timedelta(days=1)
    mornings = facts.mornings(facts.me.id)
    return questions(
        facts.client(facts.me.id).client,
        cast(Answers, setting.given),
        next((one for one in mornings if one.on == before), None),
        hurt_lately=waits_for_settling(facts.history(facts.me.id).pains, today),
    )


def _reader(question: MorningQuestion) -> Read:
    offered = choices(question)
    named = any(not code.isdigit() for code in offered)

    def read(text: str, setting: Setting) -> AnswerValue | Reask:
        said = read_choice(text, offered, setting.spoken(question.value))
        if isinstance(said, str):
            text = said
        # A number keeps its marks: "37.5", "142/88".
        text = plain_words(text) if named else text
        client, words = setting.facts.client(setting.facts.me.id).client, setting.words.numbers
        confirmed = setting.confirmed
        return usable(read_answer(question, text, client, words, confirmed=confirmed), text)

    return read


MOST_OF_NOTHING = 8
"""Words; who writes more to "Any of these today?" says more than that there is nothing."""

FIVE_WORDS = frozenset(
    {
        MorningQuestion.SLEEP,
        MorningQuestion.TIREDNESS,
        MorningQuestion.SORENESS,
        MorningQuestion.STRESS,
        MorningQuestion.MOOD,
    }
)
"""Questions with a word for each of five answers."""


def _sentence_reader(question: MorningQuestion) -> ReadSentence:
    """How a whole sentence answers a question of the morning."""

    def five(text: str, setting: Setting) -> Understood[JsonValue] | None:
        told = choose(text, question.value, setting.sentences)
        return None if told is None else Understood(int(told.value), told.sure)

    def pain(text: str, setting: Setting) -> Understood[JsonValue] | None:
        told = read_pain(text, setting.sentences)
        return None if told is None else Understood(told.value, told.sure)

    def pressure(text: str, setting: Setting) -> Understood[JsonValue] | None:
        told = read_pressure(text, setting.sentences)
        return None if told is None else Understood(f"{told.value[0]}/{told.value[1]}", told.sure)

    def wrong(text: str, setting: Setting) -> Understood[JsonValue] | None:
        # A pain or an illness is said back; a warning sign was read before.
        told = choose(text, question.value, setting.sentences)
        short = len(text.split()) <= MOST_OF_NOTHING
        if told is not None and told.sure and short:
            return Understood(told.value)
        heard = read_trouble(text, setting.sentences)
        return None if heard is None else Understood(heard.value, heard.sure)

    if question is MorningQuestion.TROUBLE:
        return wrong
    if question in FIVE_WORDS:
        return five
    if question is MorningQuestion.PAIN_LEVEL:
        return pain
    return pressure if question is MorningQuestion.PRESSURE else never_read


def _form_question(question: MorningQuestion) -> FormQuestion:
    offered = tuple(Option(code) for code in choices(question))
    return FormQuestion(
        question.value,
        "morning",
        _reader(question),
        options=lambda _setting: offered,
        skippable=may_skip(question),
        columns=COLUMNS.get(question, 1),
        sentence=_sentence_reader(question),
    )


def _rows(question: FormQuestion, options: Sequence[Option], *, first: bool) -> Rows:
    buttons = tuple(Button(f"{question.key}{MARK}{option.code}") for option in options)
    width = question.columns
    rows = [buttons[at : at + width] for at in range(0, len(buttons), width)]
    if question.skippable and not options:
        rows.append((Button(f"{question.key}{MARK}{SKIP}"),))
    if not first:
        rows.append((Button(CHECKIN_FORM.back_from(question.key)),))
    return tuple(rows)


CHECKIN_FORM = Form(
    "checkin",
    tuple(_form_question(question) for question in MorningQuestion),
    slot=SLOT,
    mark=MARK,
    back=BACK,
    layout=_rows,
    order=_order,
    changes_earlier=True,
    leaves_words=True,
)
