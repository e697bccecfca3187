"""Once a week: what was done, one true gain towards the own aim, and what comes next.

It names records and firsts of its own seven days only, so that each is named in one of them.
"""

from collections.abc import Sequence
from datetime import date, timedelta

from bot.flows.client.week.progress import pictures_of
from bot.flows.facts import ClientRecord, Facts, Hold
from bot.flows.machine import Button, Say
from bot.flows.record.gains import NOTEWORTHY_PERCENT, Gain, gains_of
from bot.flows.record.paused import signs_behind
from bot.flows.record.walks import LOOK_BACK_DAYS, walks_now, walks_set
from bot.messages import Kind
from core.client.screening import clearance_holds
from core.dose.history import SetDone
from core.load.training_load import DAYS_IN_WEEK
from core.programme.session_time import minutes_of
from core.programme.walking import may_walk, walk_week
from core.programme.week import week_of
from core.vocabulary import Family

SILENT_WEEKS = 3
"""Who has done nothing for so long is not written to: the coach sees the silence."""

MOST_FIRSTS = 2
GAINS_IN_TURN = 3
"""Of the gains of whoever has no aim of her own, so many of the largest take turns."""
DAYS_OF_SELDOM = 7
"""Up to this day of a month the word names what comes once a week or less, and why."""
ONCE_A_WEEK = 2
"""Days within two weeks."""
IN_HOSPITAL = "coach_hospital"
"""The coach's reason for a pause in which a client is not disturbed."""


def may_have_word(record: ClientRecord, facts: Facts) -> bool:
    """Whether a cheerful word is in place: cleared, no hold, no open alert, not away.

    A stay in hospital has ended the clearance.
    """
    today = record.person.local(facts.now).date()
    return (
        record.cleared
        and clearance_holds(record.client.clearance, today)
        and not record.person.left
        and not record.is_away(today)
        and facts.hold(record.id) is None
        and facts.open_alert(record.id) is None
    )


def _word_on_hold(record: ClientRecord, hold: Hold, facts: Facts) -> Say | None:
    """Why training is paused and what comes next, once a week.

    In hospital nothing at all, and nothing while an alert waits to be seen: its own texts speak.
    """
    on = facts.open_alert(record.id)
    if hold.because == IN_HOSPITAL or (on is not None and on.seen_at is None):
        return None
    values = {"because": signs_behind(record.id, facts), "ill": hold.because == "coach_ill"}
    rows = tuple((Button(name, handler="open", ref=name),) for name in ("message", "unwell"))
    return Say("menu/hold_word", values, rows=rows, kind=Kind.PROMPT)


def week_word(record: ClientRecord, facts: Facts) -> Say | None:
    """The message of the week; ``None`` where there is nothing to say, or it is out of place."""
    hold = facts.hold(record.id)
    if hold is not None and record.cleared and not record.person.left:
        return _word_on_hold(record, hold, facts)
    if not may_have_word(record, facts):
        return None
    today = record.person.local(facts.now).date()
    history, walks = facts.history(record.id), facts.walks(record.id, LOOK_BACK_DAYS)
    trained = history.days_worked()
    balanced = {one.on for one in history.of_family(Family.BALANCE) if _this_week(one.on, today)}
    done_on = [*history.days_trained(), *(walk.on for walk in walks)]
    if not any((today - day).days < SILENT_WEEKS * DAYS_IN_WEEK for day in done_on):
        return None
    week = [walk for walk in walks if _this_week(walk.on, today)]
    longest = max((walk.minutes for walk in week), default=0)
    before = [walk.minutes for walk in walks if not _this_week(walk.on, today)]
    gain = _best_gain(gains_of(record, facts), record, today)
    values = {
        "sessions": sum(_this_week(day, today) for day in trained),
        "balance_days": len(balanced),
        "first_week": bool(trained) and _this_week(trained[0], today),
        "walked": sum(walk.minutes for walk in week),
        "walks": len(week),
        "longest_walk": longest if before and longest > max(before) else 0,
        "firsts": _firsts(history.sets, today, facts),
        "gain": gain,
        "own_aim": str(record.answers.get("own_aim") or ""),
        "days": [str(day) for day in record.client.training_days],
        "next_walks": _next_walks(record, today, facts),
        "seldom": _seldom(record, today, facts),
        "minutes": minutes_of(record.client, facts.reference.catalogue.steering),
    }
    changed = gain is not None and gain["changed"]
    return Say(
        "menu/week_word",
        values,
        rows=((Button("progress", handler="open", ref="progress"),),),
        kind=Kind.PROMPT,
        picture=pictures_of(gain) if gain is not None and changed else None,
    )


def _this_week(day: date, today: date) -> bool:
    return 0 <= (today - day).days < DAYS_IN_WEEK


def _best_gain(gains: Sequence[Gain], record: ClientRecord, today: date) -> Gain | None:
    """The largest gain that counts for the client's own aim; else the largest ones week by week."""
    wished = [family.value for family in record.client.wished_families]
    worth = [gain for gain in gains if (gain["percent"] or 0) >= NOTEWORTHY_PERCENT]

    def order(gain: Gain) -> tuple[int, int]:
        named = gain["family"] in wished
        place = wished.index(gain["family"]) if named else len(wished)
        return place, -(gain["percent"] or 0)

    ranked = sorted(worth, key=order)
    if not ranked or ranked[0]["family"] in wished:
        return ranked[0] if ranked else None
    among = ranked[:GAINS_IN_TURN]
    return among[today.isocalendar().week % len(among)]


def _firsts(sets: Sequence[SetDone], today: date, facts: Facts) -> list[str]:
    """Rungs done cleanly for the first time this week, in families known before; hardest last."""
    before = [one for one in sets if not _this_week(one.on, today)]
    known = {_rung(one) for one in before}
    families = {one.family for one in before}
    hardest = {
        family: max(one.demand for one in before if one.family is family) for family in families
    }
    found = dict.fromkeys(
        _rung(one)
        for one in sets
        if _this_week(one.on, today)
        and one.family in families
        and one.demand > hardest[one.family]
        and not one.slip
    )
    catalogue = facts.reference.catalogue.by_id
    return [rung for rung in found if rung not in known and rung in catalogue][-MOST_FIRSTS:]


def _rung(done: SetDone) -> str:
    return done.step_key.partition("@")[0]


def _seldom(record: ClientRecord, today: date, facts: Facts) -> list[str]:
    """Groups for which the sessions have too little room; once a month, and on no coach's week."""
    if today.day > DAYS_OF_SELDOM or record.client.week.days:
        return []
    week = week_of(record.client, facts.history(record.id), facts.reference.catalogue, today)
    return [group.value for group, days in week.seldom if days <= ONCE_A_WEEK]


def _next_walks(record: ClientRecord, today: date, facts: Facts) -> int:
    """Minutes of walking that the week to come asks for; 0 for somebody who does not walk."""
    walks = facts.walks(record.id, LOOK_BACK_DAYS)
    table = facts.reference.catalogue.steering
    if not may_walk(record.client, table) or not (walks or walks_now(record)):
        return 0
    monday = today + timedelta(days=DAYS_IN_WEEK - today.weekday())
    by_coach = walks_set(record)
    week = walk_week(record.client, walks, monday, walks_now(record), table, by_coach=by_coach)
    return week.minutes
