"""What is said has happened: nobody is promised that a coach will call, read or come."""

import re

import pytest

from bot.flows.desk import AT_ONCE
from bot.reference.catalogue import TEMPLATES
from bot.reference.reference import load_all
from tests.support.practice import Practice

COACH = r"(?:[Yy]our coach|\{\{ (?:coach|told_to) \}\})"
PROMISE = re.compile(rf"\b(?:be|get|getting) in touch|{COACH} (?:will|reads|rings|calls)\b")


def test_no_text_promises_what_a_coach_will_do():
    texts = [*(TEMPLATES / "en").rglob("*.j2"), *(TEMPLATES / "en").rglob("*.yaml")]
    found = {
        path.relative_to(TEMPLATES / "en").as_posix(): promise.group()
        for path in sorted(texts)
        if (promise := PROMISE.search(path.read_text("utf-8")))
    }
    assert found == {}


async def test_on_hold_says_what_must_happen_first(village: Practice):
    await village.says("mary", "my chest feels tight")
    said = await village.says("mary", "/today")

    assert "You get no plan until Rua has ended the pause." in said[-1]


@pytest.mark.parametrize(
    ("told_to", "said"),
    [
        ("Rua", "I have sent your answers to Rua."),
        ("", "I have kept your answers for Rua. I can reach nobody in a chat now."),
    ],
)
def test_the_end_of_joining_says_who_has_the_answers(told_to: str, said: str):
    words = load_all(lambda code: code).words
    values = {
        "me": {"name": "Mary"},
        "coach": "Rua",
        "emergency": "111",
        "told_to": told_to,
        "ways": AT_ONCE,
        "of_whom": "",
    }
    text = words.render("join/done", values).text

    assert said in text
    assert "You get no plan until Rua says you may start." in text
