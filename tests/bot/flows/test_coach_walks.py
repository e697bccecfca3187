"""Random walks through every conversation of coaches and joining: all words render, all buttons
answer, and nobody sees a client who is not hers.
"""

import random
from collections.abc import Mapping
from datetime import timedelta
from types import ModuleType

import pytest
import textstat

from bot.flows import (
    alert_desk,
    client_desk,
    coach_alerts,
    coach_client,
    coach_clients,
    coach_correct,
    coach_hold,
    coach_invite,
    coach_join,
    coach_leave,
    coach_lift,
    coach_menu,
    coach_note,
    coach_rebind,
    coach_rungs,
    coach_settings,
    coach_start,
    join,
)
from bot.flows.changes import Audit
from bot.flows.commands import COACH_COMMANDS
from bot.flows.digest import digest
from bot.flows.facts import Alert, Person
from bot.flows.machine import Begin, Turn
from core.vocabulary import AlertId, AlertLevel, Sign
from tests.support.facts import ANN, BACKUP, BOB, COACH, NOW, STRANGE_COACH, FakeFacts
from tests.support.joined import with_bob
from tests.support.talk import Talk, rendered

FLOWS: Mapping[str, ModuleType] = {
    module.NAME: module
    for module in (
        coach_alerts,
        coach_client,
        coach_clients,
        coach_correct,
        coach_hold,
        coach_invite,
        coach_join,
        coach_leave,
        coach_lift,
        coach_menu,
        coach_note,
        coach_rebind,
        coach_rungs,
        coach_settings,
        coach_start,
        join,
    )
}
DESKS: Mapping[str, ModuleType] = {desk.NAME: desk for desk in (alert_desk, client_desk)}
TYPED = (
    "yes", "menu", "back", "Dr Singh, 3 March", "7:30", "Ann", "1948", "021 555 777", "none",
    "?!", "🙂", "New Zealand", "3 March 2027", "90", "skip", "done", "x" * 900,
)  # fmt: skip


def alert(number: int, level: AlertLevel, *signs: Sign, client: Person = BOB) -> Alert:
    return Alert(
        id=AlertId(number),
        client_id=client.id,
        level=level,
        signs=signs,
        words=("my chest feels tight",),
        for_other=False,
        raised_at=NOW - timedelta(minutes=5),
        round=1,
        chases=1,
        called="cannot",
        seen_at=None,
        seen_by="",
        closed=False,
    )


def practice(me: Person) -> FakeFacts:
    facts = with_bob(FakeFacts(me))
    facts.all_alerts = [
        alert(1, AlertLevel.EMERGENCY, Sign.CHEST_PAIN),
        alert(2, AlertLevel.MENTION, Sign.FEVER),
        alert(3, AlertLevel.MENTION),
    ]
    return facts


class Walk:
    """Somebody who taps and types at random; a conversation that is opened is gone on with."""

    def __init__(self, facts: FakeFacts, seed: int) -> None:
        self.facts, self.chance = facts, random.Random(seed)
        self.talk = Talk(FLOWS["join"], facts)
        self.texts: dict[str, set[str]] = {}
        self.rendered = 0

    def begin(self, begin: Begin) -> None:
        self.talk = Talk(FLOWS[begin.flow], self.facts)
        self.talk.begin(**begin.args)
        self.follow(self.talk.turn)

    def follow(self, turn: Turn) -> None:
        for say in turn.says:
            folder = say.template.partition("/")[0]
            self.texts.setdefault(folder, set()).add(rendered(say, self.facts).text)
            self.rendered += 1
        for begin in turn.begin:
            if begin.flow in FLOWS:
                self.begin(begin)

    def go_on(self) -> bool:
        """One tap or typed text; False when the conversation has ended."""
        if self.talk.state is None:
            return False
        buttons = self.talk.buttons()
        if buttons and self.chance.random() < 0.85:
            button = self.chance.choice(buttons)
            if button.desk in DESKS:
                turn = DESKS[button.desk].tap(button.ref, button.value, self.facts)
                self.facts.apply(turn.changes)
                self.follow(turn)
                return True
            if button.desk == "open":
                self.begin(COACH_COMMANDS[button.ref])
                return True
            turn = self.talk.tap(button.value)
            assert turn.understood, (self.talk.flow.NAME, button.value)
        else:
            turn = self.talk.type(self.chance.choice(TYPED))
        self.follow(turn)
        return True


@pytest.mark.parametrize("seed", range(12))
def test_a_coach_may_tap_and_type_anything_and_every_message_renders(seed: int):
    walk = Walk(practice(COACH), seed)
    for _ in range(120):
        if not walk.go_on() or walk.talk.state is None or walk.chance.random() < 0.05:
            walk.begin(walk.chance.choice(list(COACH_COMMANDS.values())))

    assert walk.rendered > 60


@pytest.mark.parametrize("seed", range(8))
def test_a_client_may_tap_and_type_anything_while_joining(seed: int):
    walk = Walk(FakeFacts(ANN), seed)
    walk.begin(Begin("join"))
    for _ in range(150):
        if not walk.go_on():
            walk.begin(Begin("join", {"review": True}))

    assert walk.rendered > 60


@pytest.mark.parametrize("flow", sorted(set(FLOWS) - {"join"}))
@pytest.mark.parametrize("me", [STRANGE_COACH, ANN], ids=["another coach", "a client"])
def test_nobody_else_opens_a_conversation_about_a_client(flow: str, me: Person):
    facts = practice(me)
    talk = Talk(FLOWS[flow], facts)
    turn = talk.begin(client=str(BOB.id), key="phone", what="forbid", page="answers")

    assert not any(isinstance(change, Audit) for change in turn.changes)
    assert not [change for change in turn.changes if getattr(change, "client_id", None) == BOB.id]
    assert "Bob" not in "".join(rendered(say, facts).text for say in turn.says)


ABOUT_A_CLIENT = (
    "coach_client",
    "coach_correct",
    "coach_hold",
    "coach_leave",
    "coach_lift",
    "coach_note",
    "coach_rebind",
    "coach_rungs",
    "coach_start",
)


@pytest.mark.parametrize("flow", ABOUT_A_CLIENT)
def test_a_coach_who_lost_the_client_meanwhile_changes_nothing_more(flow: str):
    facts = practice(COACH)
    talk = Talk(FLOWS[flow], facts)
    talk.begin(client=str(BOB.id), key="phone", what="forbid")
    if talk.state is None:  # there is no hold to lift
        return
    facts.coach_of[BOB.id] = STRANGE_COACH.id
    for value in ("sure", "right", "coach_ill", "phone~go_back", "answers"):
        state = talk.state
        turn = talk.tap(value)
        assert not turn.changes
        talk.state = state


@pytest.mark.parametrize("desk", sorted(DESKS))
@pytest.mark.parametrize("me", [STRANGE_COACH, ANN], ids=["another coach", "a client"])
def test_the_desks_show_nobody_elses_client(desk: str, me: Person):
    ref = "1" if desk == "alert" else str(BOB.id)
    for value in ("seen", "called", "doctor", "lift", "card", "show", "open", "clear"):
        turn = DESKS[desk].tap(ref, value, practice(me))

        assert not turn.changes
        assert not turn.begin
        assert [say.template for say in turn.says] == ["coach/not_yours"]


@pytest.mark.parametrize("ref", ["", "x", "-1", "999"])
def test_a_desk_is_not_troubled_by_a_strange_reference(ref: str):
    for desk in DESKS.values():
        assert desk.tap(ref, "seen", practice(COACH)).says[0].template == "coach/not_yours"


def test_the_stand_in_sees_the_clients_too():
    facts = practice(BACKUP)
    talk = Talk(coach_client, facts)
    talk.begin(client=str(BOB.id))

    assert "Bob" in talk.text
    assert "(client of Robin)" in talk.text


def test_the_words_of_coaches_and_joining_are_plain():
    """Grade 6 or lower for clients (AMA and NIH advise 6), over all texts of the folder."""
    walk = Walk(FakeFacts(ANN), 1)
    walk.begin(Begin("join"))
    for _ in range(250):
        if not walk.go_on():
            walk.begin(Begin("join", {"review": True}))
    coachs = Walk(practice(COACH), 2)
    for _ in range(400):
        if not coachs.go_on() or coachs.chance.random() < 0.05:
            coachs.begin(coachs.chance.choice(list(COACH_COMMANDS.values())))

    join_words = sorted(walk.texts["join"])
    coach_words = sorted(coachs.texts["coach"])
    assert len(join_words) > 25
    assert len(coach_words) > 20
    assert textstat.flesch_kincaid_grade(" ".join(map(_prose, join_words))) <= 6
    assert textstat.flesch_kincaid_grade(" ".join(map(_prose, coach_words))) <= 6


def _prose(text: str) -> str:
    """Sentences only: lists of names and numbers have no grade."""
    return " ".join(line for line in text.splitlines() if line.endswith((".", "?", "!")))


def test_the_digest_renders_for_a_whole_practice_and_is_silent_without_one():
    facts = practice(COACH)
    say = digest(facts)

    assert say is not None
    text = rendered(say, facts).text
    assert "Bob: needs you, an alert nobody has seen" in text
    assert "Ann: joining" in text
    assert "fever" in text
    assert digest(practice(STRANGE_COACH)) is None
