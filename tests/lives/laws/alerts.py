"""Alerts and questions: no words lost, nobody dropped, nothing cleared by itself."""

from datetime import timedelta
from functools import cache
from pathlib import Path

import yaml

from tests.lives.acts import Says, Tap
from tests.lives.laws.telling import stands_somewhere
from tests.lives.step import Step
from tests.lives.store import Alert

ROOT = Path(__file__).parents[3]
LONGEST = timedelta(hours=1)
"""Repeats slow down to one an hour."""

QUESTION_OPEN = timedelta(minutes=2)
LOUDNESS = {"mention": 0, "urgent": 1, "emergency": 2}
A_SECOND = timedelta(seconds=1)
NEW_ALERT = 45
"""Kind of a message that tells of an alert for the first time since its newest sign."""
MOST_LISTED = 10


def words_are_never_overwritten(step: Step) -> list[str] | None:
    """The words of an alert only grow at the end, until somebody has theirs erased.

    Then those of closed alerts go at once, those of an open one with the name, at its end.
    """
    both = [
        (one, step.after.alerts[one.id])
        for one in step.before.alerts.values()
        if one.words and step.after.people[one.client_id].name
        if not (step.after.people[one.client_id].erasing and step.after.alerts[one.id].closed)
    ]
    if not both:
        return None
    return [
        f"the words of alert {old.id} were {old.words} and are {new.words}"
        for old, new in both
        if new.words[: len(old.words)] != old.words
    ]


def words_join_the_open_alert(step: Step) -> list[str] | None:
    """What a client types while an alert is open stands on that alert."""
    looked, found = False, []
    for client, words in step.sentences():
        for alert in step.before.open_alerts(client.id):
            looked = True
            joined = "\n".join(step.after.alerts[alert.id].words)
            if words.strip() not in joined and step.after.people[client.id].name:
                found.append(f"“{words}” of {client.name} is not on the open alert {alert.id}")
    return found if looked else None


def words_of_an_open_alert_are_sent(step: Step) -> list[str] | None:
    """What a client types while an alert is open is sent to a coach, if one can be reached."""
    looked, found = False, []
    for client, words in step.sentences():
        if not step.before.open_alerts(client.id) or not step.after.reachable_coaches(client.id):
            continue
        looked = True
        if not any(words.strip() in one.text for one in step.told_coaches(client.id)):
            found.append(f"“{words}” of {client.name} was sent to no coach")
    return found if looked else None


def words_beside_a_question_are_kept(step: Step) -> list[str] | None:
    """What a client types while a question is open stands on an alert, list or note after it."""
    memory, looked, found = step.memory, False, []
    for client, words in step.sentences():
        question = step.before.question(client.id)
        if question is not None:
            memory.asked_words.setdefault(question.id, []).append(words)
    for question_id in [*memory.asked_words]:
        question = step.after.alerts[question_id]
        client = step.after.people[question.client_id]
        if question.asked:
            continue
        looked = True
        found += [
            f"“{words}” of {client.name}, typed beside a question, stands nowhere"
            for words in memory.asked_words.pop(question_id)
            if client.name and not stands_somewhere(step, client, words)
        ]
    return found if looked else None


def a_question_is_open_two_minutes(step: Step) -> list[str] | None:
    """No question “Is this happening now?” is open for longer than two minutes."""
    asked = [one for one in step.after.alerts.values() if one.asked]
    if not asked:
        return None
    return [
        f"the question to {step.after.people[one.client_id].name} has been open for {age}"
        for one in asked
        if (age := step.after.now - one.raised_at) > QUESTION_OPEN + A_SECOND
    ]


def silence_counts_as_yes(step: Step) -> list[str] | None:
    """A question that ends without an answer is an alert, as loud as its signs."""
    ended = [
        one
        for one in step.before.alerts.values()
        if one.asked and not step.after.alerts[one.id].asked
    ]
    if not step.by_clock or not ended:
        return None
    return [
        f"a question about {one.signs} went unanswered, and no {silence_level(one)} alert is open"
        for one in ended
        if not any(
            LOUDNESS[alert.level] >= LOUDNESS[silence_level(one)]
            and set(one.signs) - {"unsure"} <= set(alert.signs)
            for alert in step.after.open_alerts(one.client_id)
        )
    ]


def a_no_stands_on_the_list(step: Step) -> list[str] | None:
    """ "No, I am fine" leaves the words of the question on the coach's list.

    Not those of somebody who has left and had their words erased: nothing of them may be kept.
    """
    question = _answered(step, "No, I am fine")
    if question is None or step.after.alerts[question.id].asked:
        return None
    if step.after.people[question.client_id].erasing:
        return None
    left = "\n".join(
        word
        for one in step.after.alerts.values()
        if one.client_id == question.client_id and not one.closed
        for word in one.words
    )
    return [f"“{word}” is off the list after a no" for word in question.words if word not in left]


def a_yes_raises(step: Step) -> list[str] | None:
    """ "Yes, now" makes an alert of the question."""
    question = _answered(step, "Yes, now")
    if question is None:
        return None
    if step.after.open_alerts(question.client_id):
        return []
    return [f"a yes to the question about {question.signs} raised no alert"]


def only_a_coach_closes(step: Step) -> list[str] | None:
    """Neither time nor a client's words or taps close an alert or lift a hold."""
    on = [one for one in step.before.alerts.values() if one.open]
    held = [one for one in step.before.holds.values() if one.lifted_at is None]
    actor = step.actor
    if not (on or held) or (actor is not None and actor.role == "coach"):
        return None
    return [
        *(f"alert {one.id} was closed" for one in on if step.after.alerts[one.id].closed),
        *(f"hold {one.id} was lifted" for one in held if step.after.holds[one.id].lifted_at),
    ]


def unseen_alerts_are_chased_in_time(step: Step) -> list[str] | None:
    """Every open alert that nobody has seen is told of again within its interval."""
    unseen = [one for one in step.after.alerts.values() if one.open and not one.seen]
    if not unseen:
        return None
    now = step.after.now
    return [
        f"alert {one.id} ({one.level}) is next told of at {one.chase_due_at}, and it is {now}"
        for one in unseen
        if one.chase_due_at is None or not now <= one.chase_due_at <= now + LONGEST
    ]


def each_chase_is_a_message(step: Step) -> list[str] | None:
    """Each time an alert counts as told of, a coach who can be reached was sent it."""
    told = [
        one
        for one in step.after.alerts.values()
        if one.open
        and one.chases > (step.before.alerts[one.id].chases if one.id in step.before.alerts else 0)
    ]
    if not told:
        return None
    return [
        f"alert {one.id} counts as told, and nobody was sent it"
        for one in told
        if step.after.reachable_coaches(one.client_id) and not step.told_coaches(one.client_id)
    ]


def open_alerts_stand_on_the_list(step: Step) -> list[str] | None:
    """A coach who asks for her alerts sees each open one, also of those who have left.

    A phone that has been cut off (it was lost) must see none.
    """
    coach = step.actor
    if not isinstance(step.act, Says) or step.act.text != "/alerts" or coach is None:
        return None
    if coach.role != "coach" or step.act.who in step.before.cut_off:
        return None
    mine = [
        one
        for one in step.after.alerts.values()
        if one.open and coach.id in step.after.coaches_of(one.client_id)
    ]
    shown = max((len(one.buttons) for one in step.new if one.person_id == coach.id), default=0)
    if shown >= min(len(mine), MOST_LISTED):
        return []
    left = [step.after.people[one.client_id].name for one in mine]
    return [f"{coach.name} sees {shown} of {len(mine)} open alerts ({', '.join(left)})"]


def a_new_alert_goes_first(step: Step) -> list[str] | None:
    """A coach is sent a new alert before more words of another one."""
    found, looked = [], False
    for coach in [one for one in step.after.people.values() if one.role == "coach"]:
        texts = [
            one.outgoing.text
            for one in step.sent
            if one.address in step.after.chats.get(coach.id, ())
        ]
        # A repeat that goes to the stand-in because a chat turned out closed is no new alert.
        new = {one.text for one in step.new if one.person_id == coach.id and one.kind == NEW_ALERT}
        fresh = [at for at, text in enumerate(texts) if text in new]
        more = [at for at, text in enumerate(texts) if text.startswith("More from")]
        if fresh and more and not step.by_clock:
            looked = True
            if min(more) < min(fresh):
                found.append(f"{coach.name} was sent more words before the new alert")
    return found if looked else None


def _answered(step: Step, label: str) -> Alert | None:
    """The question that was answered by a tap, if one was."""
    act, actor = step.act, step.actor
    if not isinstance(act, Tap) or act.old or not act.label.startswith(label) or actor is None:
        return None
    return step.before.question(actor.id)


def silence_level(question: Alert) -> str:
    """What silence makes of a question: as loud as the loudest of its signs, at least urgent."""
    levels = [signs()[sign]["level"] for sign in question.signs]
    return "emergency" if "emergency" in levels else "urgent"


@cache
def signs() -> dict[str, dict[str, str]]:
    """The list of signs, as the data file has it."""
    return yaml.safe_load((ROOT / "core/red_flags/signs.yaml").read_text(encoding="utf-8"))
