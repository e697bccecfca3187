"""Who may train, and how, around holds."""

import re
from collections.abc import Mapping
from datetime import date, timedelta
from functools import cache
from typing import Any

import yaml

from tests.lives.acts import Tap
from tests.lives.easiest import is_the_easiest
from tests.lives.laws.alerts import ROOT, signs
from tests.lives.step import Step
from tests.lives.store import Hold, Person, Record

EASY_SESSIONS = 2
MOST_MINUTES = 25
LEAVES_LEFT = (3, 4)
PAIN_TO_SPARE = 3
"""Of 10; from there on the joint is spared."""
SORE_FOR = timedelta(days=11)
"""A pain that lasts is reckoned with for ten days; one more for the client's own clock."""
NO_KIT = "No kit"
"""Label of the button by which a client says that some kit is not there today."""
A_DAY = timedelta(days=1)
ALERT_KIND = 40
"""From this kind of message on it is an alert or a safety reply."""

PLAN = re.compile(
    r"you may train again|^Your session today|^Today we go easier\. About|^Today: train as planned"
    r"|^Do: |How many (?:seconds|in the last set)\? Tap it|^Warm-up, part",
    re.MULTILINE,
)
CHEERFUL = re.compile(r"\bas planned\b|You are fine to move|^Your session today", re.MULTILINE)
SILENCE_ASKED = "Is all well"
SILENCE_AFTER_A_PAUSE = timedelta(minutes=30)
"""So long a watch may ask whom the coach has paused in the middle of a session, walk or test."""
TAKEN_BACK = re.compile(r"^\w+ did not get what I sent|^I cannot reach \w+ or anyone", re.MULTILINE)
"""A reply said that a coach is told, and she is not: that must be taken back, whatever is on."""

FEELING_ASKED = "I am sorry to hear it. What is it?"
"""Put once more to whoever has said, on a pause of the coach's, that she feels unwell."""

WHY_PAUSED = re.compile(r"^Hello \w+\. Your training is still paused\.", re.MULTILINE)
A_WEEK = timedelta(days=6, hours=12)
"""Seven days on the client's clock, which may be changed between two of them."""

CLINICIAN_DUE = frozenset(
    {"calf_clot", "palpitations", "faint", "head_injury", "joint_replacement", "high_pressure"}
    | {"chest_discomfort_gone"}
)
"""Beside every sign of emergency level (design, section 11)."""

KIND = re.compile(
    r"\b(?:dr|doctor|gp|nurse|paramedic|surgeon|hospital|clinic|physio\w*|cardiologist|ambulance"
    r"|emergency_service|specialist|clinician|pharmacist)\b",
    re.IGNORECASE,
)
WHEN = re.compile(
    r"\b\d{1,2}\b|today|yesterday|monday|tuesday|wednesday|thursday|friday|saturday|sunday",
    re.IGNORECASE,
)
NAME = re.compile(r"\b[^\W\d_]{2,}")
NO_NAME = frozenset(
    {"he", "she", "it", "they", "is", "was", "feels", "fine", "again", "now", "today", "nothing"}
)
"""Words of a sentence about how somebody is: no name, however it is written."""
DAY_OF_MONTH = re.compile(
    r"\b\d{1,2}\.? (?:January|February|March|April|May|June|July|August|September|October"
    r"|November|December)\b",
    re.IGNORECASE,
)


def no_session_runs_on_hold(step: Step) -> list[str] | None:
    """While a hold is on, no session is running."""
    held = {one.client_id for one in step.after.holds.values() if one.lifted_at is None}
    return _running(step, held)


def no_session_runs_with_an_alert_open(step: Step) -> list[str] | None:
    """While an alert is open, no session is running."""
    on = {one.client_id for one in step.after.alerts.values() if one.open}
    return _running(step, on)


def the_clock_is_quiet_on_hold(step: Step) -> list[str] | None:
    """On hold or with an alert open, time alone brings no prompt, timer, reminder or watch.

    It does bring safety texts, that something which was said to be passed on did not arrive, the
    question what it is to somebody who has said that she feels unwell, the question whether all is
    well to somebody whom the coach has paused in the middle, and at most once a week why training
    is paused.
    """
    if not step.by_clock:
        return None
    paused = _paused(step)
    if not paused:
        return None
    found = []
    for one, client in step.to_clients():
        told_unwell = one.text.startswith(FEELING_ASKED)
        if client.id not in paused or told_unwell or TAKEN_BACK.search(one.text):
            continue
        if WHY_PAUSED.search(one.text) and _a_week_since(client, step):
            step.memory.told_why_paused[client.id] = step.after.now, client.week_word_day
        elif one.kind < ALERT_KIND or (
            one.text.startswith(SILENCE_ASKED) and not _just_paused_by_the_coach(client, step)
        ):
            found.append(f"{client.name}, who is paused, is sent “{one.text[:60]}”")
    return found


def _just_paused_by_the_coach(client: Person, step: Step) -> bool:
    """Whether the pause is the coach's own and of a moment ago, and no alert is open."""
    hold = step.after.hold(client.id)
    return (
        hold is not None
        and not is_for_a_sign(hold)
        and not step.after.open_alerts(client.id)
        and step.after.now - hold.placed_at <= SILENCE_AFTER_A_PAUSE
    )


def _a_week_since(client: Person, step: Step) -> bool:
    """Whether a week is over, or the client has chosen another weekday for its word since."""
    told = step.memory.told_why_paused.get(client.id)
    if told is None:
        return True
    before, weekday = told
    return step.after.now - before > A_WEEK or client.week_word_day != weekday


def a_paused_client_reads_of_no_plan(step: Step) -> list[str] | None:
    """On hold or with an alert open, no text to the client says "as planned" or shows a session."""
    paused = _paused(step)
    said = [(one, client) for one, client in step.to_clients() if client.id in paused]
    if not said:
        return None
    return [
        f"{client.name}, who is paused, reads “{found.group()}”"
        for one, client in said
        if (found := CHEERFUL.search(one.text))
    ]


def a_paused_client_is_not_fine_on_lists(step: Step) -> list[str] | None:
    """On hold or with an alert open, no card or list of the coach says "fine" or "as planned"."""
    looked, found = False, []
    names = {step.after.people[one].name for one in _paused(step)} - {""}
    for one, coach in step.to_coaches():
        lines = one.text.splitlines()
        for name in names:
            on_list = [line for line in lines if re.search(rf"\b{name}: ", line)]
            looked = looked or bool(on_list)
            found += [
                f"{coach.name} reads “{line}”" for line in on_list if re.search(r": fine\b", line)
            ]
            if on_list and on_list[0] == lines[0]:
                found += [
                    f"{coach.name} reads on the card of {name}, who is paused: “{line}”"
                    for line in lines
                    if line.startswith("Today:") and "as planned" in line
                ]
    return found if looked else None


def forbidden_rungs_are_not_shown(step: Step) -> list[str] | None:
    """No rung that the coach has forbidden is shown to the client."""
    looked, found = False, []
    for one, client in step.to_clients():
        person = step.before.people.get(client.id)
        limits = (person.profile.get("limits") or {}) if person else {}
        for rung in limits.get("forbidden", ()):
            looked = True
            name = re.escape(rung_names()[rung])
            if re.search(rf"^(?:\d+\. )?{name}(?::|\.?$)", one.text, re.MULTILINE):
                found.append(f"{client.name} is shown {rung}, which is forbidden")
    return found if looked else None


def no_plan_before_clearance(step: Step) -> list[str] | None:
    """No plan and no "you may train again" for a client whom nobody has cleared."""
    waiting = [(one, client) for one, client in step.to_clients() if not client.cleared]
    if not waiting:
        return None
    return [
        f"{client.name}, who is not cleared, reads “{found.group()}”"
        for one, client in waiting
        if (found := PLAN.search(one.text))
    ]


def a_clinician_has_cleared_it(step: Step) -> list[str] | None:
    """A hold after a sign that a clinician must see is lifted with kind, name and date only."""
    lifted = [
        one
        for one in step.after.holds.values()
        if one.lifted_at is not None
        and one.id in step.before.holds
        and step.before.holds[one.id].lifted_at is None
    ]
    due = [one for one in lifted if clinician_is_due(one, step.before)]
    if not due:
        return None
    return [
        f"the hold for {sorted(_signs_of(one, step.before))} was lifted on “{one.cleared_by}”"
        for one in due
        if not all(part.search(one.cleared_by) for part in (KIND, WHEN))
        or not _names_somebody(one.cleared_by, step.before)
    ]


def _names_somebody(cleared_by: str, before: Record) -> bool:
    """Whether a name is left beside kind and day that is not just a client's.

    Names are typed in small letters too. Somebody who has not joined yet is no client.
    """
    kind_or_day = re.compile(rf"{KIND.pattern}|{DAY_OF_MONTH.pattern}", re.IGNORECASE)
    left = re.sub(r"[\d\W]+", " ", kind_or_day.sub("", cleared_by)).strip()
    clients = {one.name.lower() for one in before.people.values() if one.role == "client"}
    a_sentence = NO_NAME & set(left.lower().split())
    return bool(NAME.search(left)) and not a_sentence and left.lower() not in clients


def two_easy_sessions_follow(step: Step) -> list[str] | None:
    """After a sign's hold was lifted the next two sessions are easy, even on the same day: one set
    at the lowest amount, 3 to 4 left, 25 minutes at most, the easiest allowed rungs that load no
    joint which hurt lately and want no kit that is not there. In a week that the coach has set to
    begin seated these are the easiest on a chair."""
    memory = step.memory
    if isinstance(step.act, Tap) and step.act.label == NO_KIT and step.actor is not None:
        memory.no_kit[step.actor.id] = step.after.now
    for hold in step.after.holds.values():
        before = step.before.holds.get(hold.id)
        if (
            hold.lifted_at
            and before is not None
            and before.lifted_at is None
            and is_for_a_sign(hold)
        ):
            memory.lifted[hold.client_id] = hold.lifted_at
            memory.eased[hold.client_id] = []
    found, looked = [], False
    for client_id, since in memory.lifted.items():
        for session in step.after.sessions.values():
            if session.client_id != client_id or not session.started_at:
                continue
            eased = memory.eased[client_id]
            began = session.id not in step.before.sessions or not (
                step.before.sessions[session.id].started_at
            )
            if began and session.started_at >= since and len(eased) < EASY_SESSIONS:
                eased.append(session.id)
                looked = True
                person = step.after.people[client_id]
                hurts = _joints_that_hurt(client_id, step.after)
                without = memory.no_kit.get(client_id)
                lacks = without is not None and step.after.now - without < A_DAY
                found += _too_hard(person, session.plan, since.date(), hurts, lacks_kit=lacks)
    return found if looked else None


def _joints_that_hurt(client_id: int, record: Record) -> set[str]:
    return {
        one.where
        for one in record.pains
        if one.client_id == client_id
        and one.where
        and one.how_much >= PAIN_TO_SPARE
        and abs(record.now.date() - one.on) <= SORE_FOR
    }


def _too_hard(
    client: Person, plan: Mapping[str, Any], on: date, hurts: set[str], *, lacks_kit: bool
) -> list[str]:
    """What of a plan asks for more than an easy session may."""
    found, name = [], client.name
    away = any(reason["code"] == "away_from_home" for reason in plan["reasons"])
    if plan["minutes"] > MOST_MINUTES:
        found.append(f"an easy session of {name} takes {plan['minutes']} minutes")
    for item in plan["items"]:
        what = f"{item['key']} of {name}"
        if item["sets"] != 1:
            found.append(f"{what} is for {item['sets']} sets")
        if item["amount"] > item["low"]:
            found.append(f"{what} is for {item['amount']}, not {item['low']}")
        if item["stop_at_left"] not in LEAVES_LEFT:
            found.append(f"{what} stops with {item['stop_at_left']} left")
        if not is_the_easiest(client, item, on, hurts, away=away, lacks_kit=lacks_kit):
            found.append(f"{what} is not the easiest rung")
    return found


def is_for_a_sign(hold: Hold) -> bool:
    """Whether a sign placed it, named or not, and not the coach."""
    return not hold.because.startswith("coach_")


def clinician_is_due(hold: Hold, before: Record) -> bool:
    """Whether a clinician must have seen the client before this hold is lifted."""
    alert = before.alerts.get(hold.alert_id)
    if is_for_a_sign(hold) and alert is not None and alert.level == "emergency":
        return True
    conditions = set(before.people[hold.client_id].profile.get("conditions", ()))
    found = _signs_of(hold, before)
    return bool(
        found & CLINICIAN_DUE
        or any(signs()[sign]["level"] == "emergency" for sign in found)
        or ("fever" in found and "joint_replacement" in conditions)
        or ("ankle_swelling" in found and conditions & {"heart", "heart_failure", "angina"})
    )


def _signs_of(hold: Hold, before: Record) -> set[str]:
    """All signs behind a hold: of itself, of its alert, of the alert that is open."""
    found = {hold.because} & set(signs())
    alerts = [before.alerts.get(hold.alert_id), *before.open_alerts(hold.client_id)]
    return found | {sign for one in alerts if one is not None for sign in one.signs}


def _paused(step: Step) -> set[int]:
    """Clients who were paused before the step and are after it."""
    return {
        one.id
        for one in step.after.people.values()
        if one.role == "client"
        and one.id in step.before.people
        and step.before.paused(one.id)
        and step.after.paused(one.id)
    }


def _running(step: Step, clients: set[int]) -> list[str] | None:
    if not clients:
        return None
    return [
        f"session {one.id} of {step.after.people[one.client_id].name} is running"
        for one in step.after.sessions.values()
        if one.status == "running" and one.client_id in clients
    ]


@cache
def rung_names() -> dict[str, str]:
    """What each rung is called, from the word files."""
    names: dict[str, str] = {}
    for path in sorted((ROOT / "templates/en/movements").glob("*.yaml")):
        for rung, words in yaml.safe_load(path.read_text(encoding="utf-8")).items():
            if isinstance(words, dict) and "name" in words:
                names[rung] = words["name"]
    return names
