"""The coach overrules the plan of one client, for a time: a day, a rung, bounds, what is left out.

Opened with ``client``. Everything has a last day, is told to the client in a sentence, is undone by
one tap and stands in the audit. No safety rule gives way: see :mod:`bot.flows.record.overrules`.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from bot.flows.changes import Audit, Change, SaveCheckin, SavePlan, SaveProfile
from bot.flows.coach.client.rungs import families, lowest, tops
from bot.flows.coach.rights import client_of_turn, not_yours
from bot.flows.coach.to_client import keeps_back
from bot.flows.facts import Checkin, ClientRecord, Facts
from bot.flows.forms import ASKED
from bot.flows.machine import (
    MOVEMENT_LABEL,
    Begin,
    Button,
    Event,
    EventKind,
    Rows,
    Say,
    State,
    Turn,
    in_twos,
    not_understood,
    rows_of,
)
from bot.flows.record.overrules import (
    OVERRULES,
    OVERRULES_BEFORE,
    Overruled,
    changed,
    day_set,
    limits_with,
    may_put_back,
    overrules_on,
    with_day_set,
)
from bot.flows.record.planning import Gate, planned, readiness_of, training_status_of
from bot.flows.record.profile import limits_of
from bot.json_values import JsonValue
from bot.messages import Kind
from core.readiness.reasons import DayReasonCode
from core.vocabulary import DayPlan, Family

NAME = "coach_overrule"
SLOT = "overrule"
LASTS = {"day": 0, "week": 6, "fortnight": 13, "month": 27}
"""Button -> days after today; nothing is overruled for longer than four weeks (ours)."""

BUTTONS = {
    "fix": Overruled.FIXED,
    "skip": Overruled.SKIPPED,
    "ceiling": Overruled.CEILING,
    "floor": Overruled.FLOOR,
}
ACT_AT_ONCE = (Overruled.SKIPPED, Overruled.CEILING)
"""What holds for the rest of a running session too, as an easier day does; all else waits."""
WITH_RUNG = (Overruled.FIXED, Overruled.CEILING, Overruled.FLOOR)

EASES = {"ease_today": 0, "ease_tomorrow": 1}
BY_COACH = (DayReasonCode.COACH_EASED, DayReasonCode.COACH_PUT_BACK)


def step(state: State, event: Event, facts: Facts) -> Turn:
    """What holds now; or the family, the rung and the last day of something new."""
    opening = event.kind is EventKind.BEGIN
    record = client_of_turn(state, event, facts)
    if record is None:
        return not_yours()
    if opening:
        note = str(event.args.get("note", ""))
        return _what(State(NAME, "what", {"client": str(record.id)}), record, facts, note)
    if event.kind in (EventKind.RESUME, EventKind.DUE):
        return _ask(state, record, facts)
    if event.kind is not EventKind.TAP:
        return not_understood(state)
    today = record.person.local(facts.now).date()
    if state.answers.get("on") != today.isoformat():
        # A screen of another day speaks of that day: what it would set is shown anew first.
        return _what(State(NAME, "what", {"client": str(record.id)}), record, facts, "other_day")
    asked, _, code = event.value.rpartition(ASKED)
    if code == "back":
        return _what(state.at("what"), record, facts)
    if state.step == "what":
        return _tapped(state, code, record, facts)
    if state.step == "family" and code in _families(state.answers["what"], facts):
        following = "rung" if state.answers["what"] in WITH_RUNG else "until"
        return _ask(state.at(following, family=code), record, facts)
    if state.step == "rung" and code in tops(record, Family(state.answers["family"]), facts):
        return _ask(state.at("until", rung=code), record, facts)
    if state.step == "until" and code in LASTS and asked == "until":
        return _kept_until(state, code, record, facts)
    return not_understood(state)


def _tapped(state: State, code: str, record: ClientRecord, facts: Facts) -> Turn:
    today = record.person.local(facts.now).date()
    if code in EASES:
        return _day(record, today + timedelta(days=EASES[code]), DayPlan.EASE_OFF, facts)
    tomorrow = today + timedelta(days=1)
    if code == "plain_tomorrow" and day_set(record, tomorrow) is not None:
        return _day(record, tomorrow, None, facts)
    if code == "as_planned":
        return _put_back(state, record, facts)
    if code in BUTTONS:
        what = BUTTONS[code]
        return _ask(state.at("family", what=what.value, family="", rung=""), record, facts)
    if code == "undo" and record.answers.get(OVERRULES_BEFORE) is not None:
        return _undo(record, facts)
    if code == "week":
        return Turn(None, begin=(Begin("coach_week", {"client": str(record.id)}),))
    if code == "card":
        return Turn(None, begin=(Begin("coach_client", {"client": str(record.id)}),))
    return not_understood(state)


def _day(record: ClientRecord, on: date, plan: DayPlan | None, facts: Facts) -> Turn:
    """A day is eased, put back to its plan, or left as the client's morning makes it (None)."""
    made = plan.value if plan is not None else ""
    value = {"on": on.isoformat(), "plan": made}
    saved = changed(record, Overruled.DAY, value)
    told = {"what": Overruled.DAY.value if made else "day_undone", "on": on, "plan": made}
    return _carried(record, saved, told, f"day:{on.isoformat()}:{made or 'undone'}", facts)


def _put_back(state: State, record: ClientRecord, facts: Facts) -> Turn:
    """Today as planned, where nothing but the morning's score has eased it."""
    place = training_status_of(record, facts)
    checkin = place.checkin
    if checkin is None or place.gate is not Gate.OPEN:
        return _what(state, record, facts, "not_now")
    if not may_put_back(readiness_of(record, checkin, facts), checkin.reasons):
        return _what(state, record, facts, "a_rule_eased_it")
    return _day(record, place.today, DayPlan.AS_PLANNED, facts)


def _kept_until(state: State, code: str, record: ClientRecord, facts: Facts) -> Turn:
    family, rung = str(state.answers["family"]), str(state.answers.get("rung", ""))
    what = Overruled(state.answers["what"])
    until = record.person.local(facts.now).date() + timedelta(days=LASTS[code])
    about: dict[str, Any] = {"rung": rung, "until": until.isoformat()}
    if what is Overruled.CEILING:
        about["demand"] = tops(record, Family(family), facts)[rung]
    elif what is Overruled.FLOOR:
        about["demand"] = lowest(record, Family(family), rung, facts)
    value: Mapping[str, Any] = {family: about if what in WITH_RUNG else until.isoformat()}
    told = {"what": what.value, "family": family, "rung": rung, "until": until}
    detail = f"{what.value}:{family}:{rung}:{until.isoformat()}"
    return _carried(record, changed(record, what, value), told, detail, facts)


def _undo(record: ClientRecord, facts: Facts) -> Turn:
    """What held before the last change holds again."""
    before = dict(record.answers[OVERRULES_BEFORE])
    saved: dict[str, JsonValue] = {OVERRULES: before, OVERRULES_BEFORE: None}
    return _carried(record, saved, {"what": "undone"}, "undone", facts)


def _carried(
    record: ClientRecord,
    saved: Mapping[str, JsonValue],
    told: Mapping[str, Any],
    detail: str,
    facts: Facts,
) -> Turn:
    """Keep it, plan today anew where that has not begun, and tell the client who may train."""
    today = record.person.local(facts.now).date()
    answers = {**record.answers, **saved}
    limits = limits_with(limits_of(answers.get("limits", {})), answers, today)
    new = replace(record, answers=answers, client=replace(record.client, limits=limits))
    changes: list[Change] = [SaveProfile(record.id, saved), Audit(record.id, "overruled", detail)]
    note = "saved"
    eases = told["what"] == Overruled.DAY and told["plan"] == DayPlan.EASE_OFF
    place = training_status_of(record, facts)
    checkin = place.checkin
    if checkin is not None and checkin.finished:
        judged = _judged_anew(record, new, checkin, facts)
        if judged is not checkin:
            changes.append(_saved(record, judged))
        session = facts.session(record.id, today)
        if session is not None and session.status == "planned":
            changes.append(SavePlan(record.id, today, planned(new, judged, facts)))
        elif session is not None and session.status == "running":
            acts = told["what"] in ACT_AT_ONCE or (eases and told["on"] == today)
            note = "running_too" if acts else "running"
        if place.gate is Gate.OPEN and told["what"] == Overruled.FIXED:
            plan = planned(new, judged, facts)
            taken = any(item.step.rung == told["rung"] for item in plan.prescriptions)
            note = note if taken else "not_today"
    if keeps_back(record, facts, of_training=True):
        # Nothing milder than the alert lies on top of it.
        begin = Begin(NAME, {"client": str(record.id), "note": "untold"})
        return Turn(None, changes=tuple(changes), begin=(begin,))
    said = Say(
        "today/coach_set",
        {
            "family": "",
            "rung": "",
            "plan": "",
            "until": today,
            "on": today,
            **told,
            "running": note if note.startswith("running") else "",
            "coach_name": facts.me.name,
            "today": today,
        },
        to=record.id,
        kind=Kind.PROMPT,
    )
    begin = Begin(NAME, {"client": str(record.id), "note": note})
    return Turn(None, says=(said,), changes=tuple(changes), begin=(begin,))


def _plan_without(checkin: Checkin) -> DayPlan:
    """The plan of a kept morning without what the coach has set about it.

    Its first reason tells: what the client changed since then (a fever, a pill) stands before it.
    """
    newest = checkin.reasons[0].code if checkin.reasons else None
    if checkin.day_plan == DayPlan.EASE_OFF and newest is DayReasonCode.COACH_EASED:
        return DayPlan.AS_PLANNED
    if checkin.day_plan == DayPlan.AS_PLANNED and newest is DayReasonCode.COACH_PUT_BACK:
        return DayPlan.EASE_OFF
    return DayPlan(checkin.day_plan)


def _judged_anew(
    record: ClientRecord, new: ClientRecord, checkin: Checkin, facts: Facts
) -> Checkin:
    """Today's kept morning with what the coach has set of the day now."""
    reasons = tuple(one for one in checkin.reasons if one.code not in BY_COACH)
    plan = _plan_without(checkin)
    readiness = readiness_of(record, checkin, facts)
    plan, reasons = with_day_set(new, readiness, plan, reasons)
    if plan.value == checkin.day_plan:
        return checkin
    return replace(checkin, day_plan=plan.value, reasons=reasons)


def _saved(record: ClientRecord, judged: Checkin) -> SaveCheckin:
    return SaveCheckin(
        record.id,
        judged.on,
        judged.answers,
        finished=True,
        score=judged.score,
        day_plan=judged.day_plan,
        certainty=judged.certainty,
        reasons=judged.reasons,
    )


def _families(what: str, facts: Facts) -> list[str]:
    """A balance hold has an order of its own, which is not fixed and has no bounds."""
    found = families(facts)
    return [one for one in found if what not in WITH_RUNG or one != Family.BALANCE]


def _ask(state: State, record: ClientRecord, facts: Facts) -> Turn:
    if state.step == "what":
        return _what(state, record, facts)
    family = str(state.answers.get("family", ""))
    if state.step == "family":
        rows = in_twos([Button(f"family{ASKED}{one}") for one in _families_now(state, facts)])
    elif state.step == "rung":
        rows = tuple(
            (Button(f"rung{ASKED}{one}", label=f"{MOVEMENT_LABEL}{family}/{one}"),)
            for one in tops(record, Family(family), facts)
        )
    else:
        rows = in_twos([Button(f"until{ASKED}{one}") for one in LASTS])
    values = {
        "name": record.person.name,
        "step": state.step,
        "what": str(state.answers["what"]),
        "family": family,
        "codes": _families_now(state, facts),
    }
    back: Rows = ((Button(f"{state.step}{ASKED}back"),),)
    return Turn(state, says=(Say("coach/overrule_ask", values, rows=(*rows, *back), slot=SLOT),))


def _families_now(state: State, facts: Facts) -> list[str]:
    return _families(str(state.answers["what"]), facts)


def _what(state: State, record: ClientRecord, facts: Facts, note: str = "") -> Turn:
    """What is overruled now, and what may be."""
    place = training_status_of(record, facts)
    checkin = place.checkin
    plan = checkin.day_plan if checkin is not None and checkin.finished else ""
    first = ["as_planned"] if plan == DayPlan.EASE_OFF else []
    first += ["ease_today"] if plan in ("", DayPlan.AS_PLANNED) else []
    eased = day_set(record, place.today + timedelta(days=1)) is not None
    undo = ["undo"] if record.answers.get(OVERRULES_BEFORE) is not None else []
    values = {
        "name": record.person.name,
        "note": note,
        "plan": plan,
        "stopped": place.gate.value if place.gate not in (Gate.OPEN, Gate.NO_CHECKIN) else "",
        "lines": list(overrules_on(record.answers, place.today)),
    }
    rows = (
        *rows_of(" ".join([*first, "plain_tomorrow" if eased else "ease_tomorrow"])),
        *rows_of("fix skip", "ceiling floor", "week", *undo, "card"),
    )
    read = Audit(record.id, "card_read", "overrule")
    say = Say("coach/overrule", values, rows=rows, slot=SLOT)
    shown = state.at("what", on=place.today.isoformat())
    return Turn(shown, says=(say,), changes=(read,))
