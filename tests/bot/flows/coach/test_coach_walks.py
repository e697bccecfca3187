"""Random walks through every conversation of coaches and joining: all words render, all buttons
answer, and nobody sees a client who is not hers.
"""

import random
import re
from collections import Counter
from collections.abc import Mapping, Sequence, Set
from datetime import timedelta
from functools import cache

import pytest
import textstat

from bot.flows.changes import Audit
from bot.flows.coach.alerts import buttons as alert_handler
from bot.flows.coach.client import buttons as client_handler
from bot.flows.coach.practice.digest import digest
from bot.flows.commands import COACH_COMMANDS
from bot.flows.facts import Alert, Checkin, Person
from bot.flows.machine import Begin, Button, Say, Turn
from bot.flows.record.planning import planned
from bot.flows.routing.registry import FLOWS
from bot.messages import Outgoing
from core.client.home_tests import HomeTest
from core.vocabulary import AlertId, AlertLevel, Condition, DayPlan, Sign
from tests.support.dose_cases import squat_set
from tests.support.facts import ANN, BACKUP, BOB, COACH, NOW, STRANGE_COACH, Record
from tests.support.joined import with_bob
from tests.support.talk import Talk, rendered, words

WALKED = {name: flow for name, flow in FLOWS.items() if name == "join" or name.startswith("coach_")}
"""Joining and everything of the coach's."""

ABOUT_A_CLIENT = (
    "coach_answer",
    "coach_client",
    "coach_correct",
    "coach_doses",
    "coach_hold",
    "coach_leave",
    "coach_life",
    "coach_lift",
    "coach_note",
    "coach_notes",
    "coach_overrule",
    "coach_rebind",
    "coach_rungs",
    "coach_start",
    "coach_test",
    "coach_watched",
    "coach_week",
)
CALLBACK_HANDLERS = {handler.NAME: handler for handler in (alert_handler, client_handler)}
FITTING = {
    "home": "12 Hill Road, Napier",
    "contact_name": "Tom, my son",
    "phone": "021 555 123",
    "contact_phone": "021 555 999",
    "birth_year": "1948",
    "doctor_said": "March 2025",
    "who": "Dr Singh",
    "day": "21 May 2026",
    "holiday_from": "25 May 2026",
    "until": "1 June 2026",
    "amount": "12",
    "word_on": "15 May 2026",
}
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
        newest_sign_at=NOW - timedelta(minutes=5),
        backup_told=True,
    )


def trained(facts: Record) -> None:
    """Bob has checked in today, has a plan, and three sets behind him."""
    record = facts.client(BOB.id)
    today = record.person.local(NOW).date()
    morning = Checkin(today, {}, finished=True, signs_asked_at=NOW, day_plan=DayPlan.AS_PLANNED)
    sets = [squat_set(2.5, days=days, amount=15, planned=15) for days in (0, 2, 4)]
    facts.trained(BOB, *sets)
    facts.checked_in(BOB, morning)
    facts.planned(BOB, today, planned(record, morning, facts))


ALERTS = (
    alert(1, AlertLevel.EMERGENCY, Sign.CHEST_PAIN),
    alert(2, AlertLevel.MENTION, Sign.FEVER),
    alert(3, AlertLevel.MENTION),
)


def practice(me: Person) -> Record:
    facts = with_bob(Record(me))
    facts.save(BOB, cleared_by="Robin", cleared_on="2026-05-01")
    facts.cleared(BOB)
    facts.alerted(*ALERTS)
    return facts


Tapped = Counter[tuple[str, str, str]]
"""How often each button of each step of each conversation was tapped, in all walks together."""


class Walk:
    """Somebody who taps and types at random; a conversation that is opened is gone on with.

    Of the buttons of a message one of those tapped least is taken, so that few walks come by all.
    """

    def __init__(self, facts: Record, seed: int, tapped: Tapped) -> None:
        self.facts, self.chance, self.tapped = facts, random.Random(seed), tapped
        self.talk = Talk(WALKED["join"], facts)
        self.texts: dict[str, set[str]] = {}

    def begin(self, begin: Begin) -> None:
        self.talk = Talk(WALKED[begin.flow], self.facts)
        self.talk.begin(**begin.args)
        self.follow(self.talk.turn)

    def follow(self, turn: Turn) -> None:
        for say, outgoing in self.heard(turn):
            self.texts.setdefault(say.template, set()).add(outgoing.text)
        for begin in turn.begin:
            if begin.flow in WALKED:
                self.begin(begin)

    def heard(self, turn: Turn) -> Sequence[tuple[Say, Outgoing]]:
        if turn is self.talk.turn and turn.understood:
            return self.talk.said[len(self.talk.said) - len(turn.says) :]
        return [(say, rendered(say, self.facts)) for say in turn.says]

    def go_on(self) -> bool:
        """One tap or typed text; False when nothing is left to tap."""
        ended = self.talk.state is None
        buttons = [one for one in self.talk.buttons() if one.handler or not ended]
        onward = [one for one in buttons if not one.value.endswith(("~go_back", "cancel"))]
        fitting = FITTING.get(self.talk.step)
        if fitting and self.chance.random() < 0.7:
            self.follow(self.talk.type(fitting))
        elif onward and self.chance.random() < 0.8:
            self.tap(self.least_tapped(onward))
        elif buttons and (ended or self.chance.random() < 0.5):
            self.tap(self.least_tapped(buttons))
        elif not ended:
            self.follow(self.talk.type(self.chance.choice(TYPED)))
        else:
            return False
        return True

    def least_tapped(self, buttons: Sequence[Button]) -> Button:
        keys = [(self.talk.flow.NAME, self.talk.step, one.handler + one.value) for one in buttons]
        fewest = min(self.tapped[key] for key in keys)
        chosen = self.chance.choice(
            [index for index, key in enumerate(keys) if self.tapped[key] == fewest]
        )
        self.tapped[keys[chosen]] += 1
        return buttons[chosen]

    def tap(self, button: Button) -> None:
        if button.handler in CALLBACK_HANDLERS:
            turn = CALLBACK_HANDLERS[button.handler].tap(button.ref, button.value, self.facts)
            self.facts.apply(turn.changes)
            self.talk.shown = [say for say in turn.says if say.to is None] or self.talk.shown
            self.follow(turn)
        elif button.handler == "open":
            # A client's menu is walked elsewhere.
            if button.ref in COACH_COMMANDS:
                self.begin(COACH_COMMANDS[button.ref])
        else:
            turn = self.talk.tap(button.value)
            assert turn.understood, (self.talk.flow.NAME, button.value)
            self.follow(turn)


def anything(chance: random.Random, facts: Record) -> Begin:
    """Something that a coach may open; a client who has left is there again.

    Now and then the client has a condition of which a coach is asked more.
    """
    facts.back(BOB)
    if chance.random() < 0.2:
        facts.alerted(*ALERTS)
        facts.held(BOB, "dizziness")
    if chance.random() < 0.2:
        facts.alerted()
    if chance.random() < 0.3:
        trained(facts)
    elif chance.random() < 0.2:
        facts.trained(BOB)
    if chance.random() < 0.2:
        facts.save(BOB, conditions=[Condition.PARKINSON.value])
    about = {
        "client": str(BOB.id),
        "key": "country",
        "what": chance.choice(["ceiling", "forbid"]),
        "test": chance.choice(list(HomeTest)),
    }
    begins = [Begin(flow, about) for flow in ABOUT_A_CLIENT]
    return chance.choice([*COACH_COMMANDS.values(), Begin("coach_join"), *begins])


FEWEST_WALKS, MOST_WALKS = 3, 40
"""Of each kind: how many at least, and how many until every message has come."""


def a_coach_walks(seed: int, tapped: Tapped) -> Mapping[str, Set[str]]:
    """A coach with two clients and open alerts; now and then she does something else.

    Gives all that is said, by template.
    """
    walk = Walk(practice(COACH), seed, tapped)
    for _ in range(300):
        if walk.chance.random() < 0.05 or not walk.go_on():
            walk.begin(anything(walk.chance, walk.facts))
    return walk.texts


def a_client_joins(seed: int, tapped: Tapped) -> Mapping[str, Set[str]]:
    """A client who joins, and then looks at her answers again; gives the same."""
    walk = Walk(Record(ANN), seed, tapped)
    walk.begin(Begin("join"))
    for _ in range(250):
        if not walk.go_on():
            walk.begin(Begin("join", {"review": walk.chance.random() < 0.8}))
    return walk.texts


PARTS = {
    "coach/alert_labels",
    "coach/effort",
    "coach/lift/question",
    "coach/proposal",
    "coach/signs",
    "coach/standing",
    "coach/test_line",
    "join/medicine_list",
    "join/shown",
}
"""Templates that only others include."""

BY_OTHER_WAYS = {
    "coach/letter_answer",
    "coach/stopped_on_the_way",
    "coach/start_word_on",
    "coach/gone",
    "coach/invite_known",
    "coach/invite_read",
    "coach/invite_withdrawn",
    "coach/hand_over_asked",
    "coach/hand_over_done",
    "coach/hand_over_declined",
    "coach/hand_over_not_now",
    "coach/nothing_kept",
    "coach/bring_back",
    "coach/brought_back",
    "coach/days_hours",
    "coach/days_week_days",
    "coach/days_away",
    "coach/days_away_until",
    "coach/days_suspend",
    "coach/days_suspend_sure",
    "coach/away_set",
    "coach/away_told",
    "coach/suspended",
    "coach/suspended_told",
    "coach/letter",
    "coach/note_change",
    "coach/note_delete",
    "coach/note_one",
    "coach/letter_waits",
    "coach/written",
    "join/hand_over",
    "join/handed_over",
    "join/hand_over_declined",
    "join/hand_over_not_now",
    "join/brought_back",
    "join/coach_corrected_one",
    "coach/week_copy",
    "coach/cannot_write",
    "coach/chart",
    "coach/clearance_ends",
    "coach/digest",
    "coach/health_changed",
    "coach/limit/pressure_calm",
    "coach/limit/pulse_line",
    "coach/measures",
    "coach/new_phone",
    "coach/no_hold",
    "coach/not_yours",
    "coach/start_sugar",
    "coach/start_too_soon",
    "coach/test_asked",
    "coach/test_not_done",
    "coach/not_delivered",
    "coach/test_result",
    "coach/test_sure",
    "coach/watched_stays",
    "coach/which_day",
    "coach/watched_undone",
    "coach/welcome_back",
    "join/clearance_ends",
    "join/welcome_back",
    "join/you_may_start",
}
"""Said by sweeps, on new phones, to strangers, on a ground, within minutes; tests of their own."""


def test_whatever_is_tapped_and_typed_every_message_comes_and_all_are_plain():
    """Grade 6 or lower (AMA and NIH advise 6 for patients), over all the texts of a folder."""
    folders = {"join", "coach"}
    there = {
        str(path.relative_to(words().folder).with_suffix(""))
        for folder in folders
        for path in (words().folder / folder).rglob("*.j2")
    }
    missing = there - PARTS - BY_OTHER_WAYS
    said: dict[str, set[str]] = {}
    tapped = Tapped()
    for seed in range(MOST_WALKS):
        if seed >= FEWEST_WALKS and not missing:
            break
        for walked, fewest in (
            (a_client_joins(seed, tapped), 30),
            (a_coach_walks(seed, tapped), 20),
        ):
            assert len(walked) > fewest, seed
            for template, texts in walked.items():
                said.setdefault(template, set()).update(texts)
        missing -= set(said)

    assert missing == set()
    to_coach = [text for name in said if name.startswith("coach/") for text in said[name]]
    assert not [found for text in to_coach for found in for_clients_in(text)]
    for folder in folders:
        mine = [text for name in sorted(said) if name.startswith(folder) for text in said[name]]
        prose = " ".join(map(_prose, sorted(mine)))
        assert textstat.flesch_kincaid_grade(prose) <= 6, folder


FOR_COACHES = {"alerts", "coach", "letters", "lifeline"}
FOR_COACHES_TOO = {"coach", "dose_coach", "readiness_coach", "standing", "waited"}
"""Folders of messages, and lists of reasons, that coaches read."""


MEANS_THE_COACH = {
    "Your own decision is not enough here: a doctor, nurse or hospital must have looked.",
}
"""Said to coaches alone, though it stands in a list that is shared."""


@cache
def _said_to_clients() -> frozenset[str]:
    """Sentences with "you" that were written for clients, as far as they are fixed."""
    folder = words().folder
    theirs = [
        path
        for path in folder.rglob("*.j2")
        if path.parent != folder and path.relative_to(folder).parts[0] not in FOR_COACHES
    ]
    theirs += [
        one for one in (folder / "reasons").glob("*.yaml") if one.stem not in FOR_COACHES_TOO
    ]
    fixed = [
        sentence.strip()
        for path in theirs
        for piece in re.split(r"\{[{%#].*?[}%#]\}|\n|: [\"']|[\"']$", path.read_text("utf-8"))
        for sentence in re.split(r"(?<=[.?!])\s", piece)
    ]
    mine = "".join(one.read_text("utf-8") for one in (folder / "coach").rglob("*.j2"))
    return frozenset(
        one
        for one in fixed
        if len(one) >= 20
        and re.search(r"\b[Yy]ou(r|rs)?\b", one)
        and one not in mine
        and one not in MEANS_THE_COACH
    )


def for_clients_in(text: str) -> list[str]:
    """What in a coach's text was written for a client, but for quoted words."""
    unquoted = re.sub("“[^”]*”", "", text)
    return [one for one in _said_to_clients() if one in unquoted]


def test_the_sweep_finds_what_was_written_for_a_client():
    assert len(_said_to_clients()) > 500
    sentence = min(_said_to_clients())
    assert for_clients_in(f"Bob: {sentence}") == [sentence]
    assert not for_clients_in(f"Bob said “{sentence}”")


@pytest.mark.parametrize("flow", sorted(set(WALKED) - {"join"}))
@pytest.mark.parametrize("me", [STRANGE_COACH, ANN], ids=["another coach", "a client"])
def test_nobody_else_opens_a_conversation_about_a_client(flow: str, me: Person):
    facts = practice(me)
    talk = Talk(WALKED[flow], facts)
    turn = talk.begin(client=str(BOB.id), key="phone", what="forbid", page="answers")

    assert not any(isinstance(change, Audit) for change in turn.changes)
    assert not [change for change in turn.changes if getattr(change, "client_id", None) == BOB.id]
    assert "Bob" not in "".join(rendered(say, facts).text for say in turn.says)


@pytest.mark.parametrize("flow", ABOUT_A_CLIENT)
def test_a_coach_who_lost_the_client_meanwhile_changes_nothing_more(flow: str):
    facts = practice(COACH)
    talk = Talk(WALKED[flow], facts)
    talk.begin(client=str(BOB.id), key="phone", what="forbid", test="chair_stand")
    if talk.state is None:  # there is no hold to lift
        return
    facts.handed_over(BOB, STRANGE_COACH)
    for value in ("sure", "right", "coach_ill", "phone~go_back", "answers"):
        state = talk.state
        turn = talk.tap(value)
        assert not turn.changes
        talk.state = state


@pytest.mark.parametrize("handler", sorted(CALLBACK_HANDLERS))
@pytest.mark.parametrize("me", [STRANGE_COACH, ANN], ids=["another coach", "a client"])
def test_the_handlers_show_nobody_elses_client(handler: str, me: Person):
    ref = "1" if handler == "alert" else str(BOB.id)
    for value in ("seen", "called", "doctor", "lift", "card", "show", "open", "clear"):
        turn = CALLBACK_HANDLERS[handler].tap(ref, value, practice(me))

        assert not turn.changes
        assert not turn.begin
        assert [say.template for say in turn.says] == ["coach/not_yours"]


@pytest.mark.parametrize("ref", ["", "x", "-1", "999"])
def test_a_handler_is_not_troubled_by_a_strange_reference(ref: str):
    for handler in CALLBACK_HANDLERS.values():
        assert handler.tap(ref, "seen", practice(COACH)).says[0].template == "coach/not_yours"


def test_the_stand_in_sees_the_clients_too():
    facts = practice(BACKUP)
    talk = Talk(WALKED["coach_client"], facts)
    talk.begin(client=str(BOB.id))

    assert "Bob" in talk.text
    assert "(client of Robin)" in talk.text


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


def test_coaches_are_welcomed_back_on_a_new_phone():
    talk = Talk(WALKED["coach_join"], practice(COACH))
    talk.begin(rebound=True)

    assert talk.text.startswith("Welcome back, Robin.")
    assert talk.turn.begin == (Begin("coach_menu"),)


CLIENTS_READ = ("menu/message_sent", "today/coach_set", "today/week_set")
"""Texts for clients about what their coach has done; the walks do not reach their folders."""


@pytest.mark.parametrize("folder", ["coach", "join"])
def test_what_the_walks_do_not_reach_is_plain_too(folder: str):
    """Grade 6 or lower (AMA and NIH advise 6 for patients), with a name for each value."""
    names = [one for one in BY_OTHER_WAYS if one.startswith(folder)]
    names += CLIENTS_READ if folder == "join" else ()
    prose = " ".join(_prose(_with_names(name)) for name in sorted(names))
    assert len(prose.split()) > 100
    assert textstat.flesch_kincaid_grade(prose) <= 6


def _with_names(template: str) -> str:
    text = (words().folder / f"{template}.j2").read_text("utf-8").partition("\n---\n")[0]
    return re.sub(r"\{\{.*?\}\}", "Mary", re.sub(r"\{[%#].*?[%#]\}", " ", text))
