"""What is said has happened: nobody is promised that a coach will call, read or come."""

import re

import pytest

from bot.reference.catalogue import TEMPLATES
from bot.reference.reference import load_all
from tests.support.practice import Practice

PROMISE = re.compile(r"(be|get|getting) in touch")
OF_A_DANGER_AT_HOME = "safety/safe_at_home.j2"
"""How the coach will speak where a danger at home was told: a warning about the phone."""


def test_no_template_promises_that_the_coach_will_be_in_touch():
    found = [
        path.relative_to(TEMPLATES / "en").as_posix()
        for path in sorted((TEMPLATES / "en").rglob("*.j2"))
        if PROMISE.search(path.read_text("utf-8"))
    ]
    assert found == [OF_A_DANGER_AT_HOME]


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
    values = {"me": {"name": "Mary"}, "coach": "Rua", "emergency": "111", "told_to": told_to}
    text = words.render("join/done", values).text

    assert said in text
    assert "You get no plan until Rua says you may start." in text
