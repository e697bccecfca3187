"""While a warning stands, no tap of a coach puts milder words on top of it."""

import ast
from pathlib import Path

import pytest

import bot.flows.coach
from bot.flows.changes import (
    Audit,
    ClearToStart,
    PlaceHold,
    SaveProfile,
    SetAway,
)
from bot.flows.coach.client import clearing
from bot.flows.routing.registry import FLOWS
from core.vocabulary import Family, Sign
from tests.bot.flows.coach.test_coach_walks import practice, trained
from tests.support.facts import BOB, COACH, STRANGE_COACH, Record
from tests.support.talk import Talk

BOBS = str(BOB.id)

ALWAYS = {
    "menu/message_from_coach": "her own words, typed to the client",
    "safety/coach_seen": "it belongs to the alert",
    "feeling/watch_ends": "the client must know that nobody watches",
    "join/hold_lifted": "the lift has closed the alert; kept back where a new question stands",
    "own_data/erased_now": "to somebody who has left, when the alert is closed",
    "join/coach_ended_it": "the client must know; says that the advice holds, with the number",
}
"""What goes to a client whatever stands open, and why."""

HAND_OVER = ("coach_life", {"what": "hand_over"}, (f"to~{STRANGE_COACH.id}",))
ACTS = {
    "settings/away_by_coach": ("coach_life", {"what": "holiday"}, ("week",), SetAway),
    "join/hand_over": (*HAND_OVER, None),
    "own_data/letter_asked": ("coach_client", {"page": "letters"}, ("doctor28",), None),
    "join/coach_corrected_one": ("coach_correct", {"key": "home"}, ("12 Hill Road",), Audit),
    "join/coach_corrected": ("coach_correct", {"key": "checkin_at"}, ("8:30",), Audit),
    "join/on_hold_now": ("coach_hold", {}, ("coach_ill", "until~open"), PlaceHold),
    "today/week_set": ("coach_week", {}, ("start~gentle",), SaveProfile),
    "today/coach_set": (
        "coach_overrule",
        {},
        ("skip", f"family~{Family.SQUAT}", "until~week"),
        SaveProfile,
    ),
}
"""What waits: the conversation, with what it is opened, what is tapped or typed, what is kept."""

OTHERWISE = {
    "join/you_may_start": "test_who_is_cleared_beside_an_alert_is_not_told_that_it_is_good_news",
    "join/brought_back": "test_who_is_brought_back_with_an_alert_open_is_not_told",
    "today/coach_watched": "test_watched.py: no plan is made anew, so nothing is said",
}
"""What waits as well, with the test that says so."""

TO_COACHES = {"backup", "backup.id", "before.id", "one", "stands_in.id"}


def written_to_clients() -> set[str]:
    """The templates that the coach's conversations address to a client."""
    found = set()
    folder = Path(bot.flows.coach.__file__).parent
    for path in folder.rglob("*.py"):
        for call in ast.walk(ast.parse(path.read_text())):
            if not isinstance(call, ast.Call) or ast.unparse(call.func) not in ("Say", "Begin"):
                continue
            to = [ast.unparse(key.value) for key in call.keywords if key.arg in ("to", "person")]
            if to and to[0] not in TO_COACHES:
                assert isinstance(call.args[0], ast.Constant), (path, ast.unparse(call))
                found.add(call.args[0].value)
    return found


def test_each_message_to_a_client_goes_always_or_waits_and_somebody_has_said_why():
    known = {*ALWAYS, *ACTS, *OTHERWISE}
    # A test at home is refused as a whole (``ask_home_test``).
    assert written_to_clients() - {"home_test"} == known


def acts(template: str, facts: Record) -> Talk:
    flow, opened_with, done, _ = ACTS[template]
    talk = Talk(FLOWS[flow], facts)
    talk.begin(client=BOBS, **opened_with)
    for value in done:
        shown = {button.value for button in talk.buttons()}
        ways = [one for one in shown if one == value or one.endswith(f"~{value}")]
        turn = talk.tap(ways[0]) if ways else talk.type(value)
        assert turn.understood, (value, shown)
    return talk


def to_client(talk: Talk) -> list[str]:
    return [say.template for say, _ in talk.said if say.to == BOB.id]


@pytest.mark.parametrize("template", ACTS)
def test_beside_an_open_alert_it_is_kept_and_the_coach_reads_that_nobody_was_told(template: str):
    facts = practice(COACH)
    trained(facts)
    talk = acts(template, facts)
    assert to_client(talk) == []
    kept = ACTS[template][3]
    if kept is not None:
        assert [one for one in facts.applied if isinstance(one, kept)]
    following = talk
    if template in ("today/coach_set", "today/week_set"):
        following = Talk(FLOWS[talk.turn.begin[0].flow], facts)
        following.begin(**talk.turn.begin[0].args)
    says = " ".join(one.text for _, one in (*talk.said, *following.said))
    assert "I do not tell Bob" in says or "I do not ask Bob" in says
    assert "I tell Bob" not in says


@pytest.mark.parametrize("template", ACTS)
def test_without_a_warning_the_same_act_tells_the_client(template: str):
    facts = practice(COACH)
    facts.alerted()
    trained(facts)
    assert to_client(acts(template, facts)) == [template]


@pytest.mark.parametrize("template", ["settings/away_by_coach", "today/week_set"])
def test_of_training_nothing_is_said_during_a_pause_either(template: str):
    facts = practice(COACH)
    facts.alerted()
    facts.held(BOB, Sign.DIZZINESS)
    assert to_client(acts(template, facts)) == []


def test_who_is_brought_back_with_an_alert_open_is_not_told():
    facts = practice(COACH)
    for template in ("coach_leave", "coach_life"):
        talk = Talk(FLOWS[template], facts)
        talk.begin(client=BOBS, what="bring_back")
        talk.tap("sure")
        said = " ".join(one.text for say, one in talk.said)
        assert "your warning sign still holds" in said or "I do not tell Bob" in said
    assert "join/brought_back" not in to_client(talk)


def test_who_is_cleared_beside_an_alert_is_not_told_that_it_is_good_news():
    facts = practice(COACH)
    facts.cleared(BOB, yes=False)
    talk = Talk(clearing, facts)
    talk.begin(client=BOBS)
    for _ in range(20):
        if talk.state is None:
            break
        talk.tap(talk.buttons()[0].value)
    assert [one for one in facts.applied if isinstance(one, ClearToStart)]
    assert to_client(talk) == []
    assert "I do not tell Bob" in talk.text
