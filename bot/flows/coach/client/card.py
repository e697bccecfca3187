"""What a client's card says, page by page, as values for templates."""

from collections.abc import Mapping, Sequence, Set
from datetime import date, datetime
from typing import TypedDict
from zlib import crc32

from bot.flows.coach.client_state import state_of
from bot.flows.facts import (
    Alert,
    Answers,
    Checkin,
    ClientRecord,
    Country,
    Facts,
    Hold,
    Note,
    Session,
)
from bot.flows.form_question import Setting
from bot.flows.joining.answers import ProposalValues, given_of, proposal_values, shown_answers
from bot.flows.joining.questions import JOIN_FORM, NEVER_SHOWN, SECTIONS
from bot.flows.reasons import Reason
from bot.flows.record.effort import GuideValues, guide_values
from bot.flows.record.home_test_record import ResultValues, asked_of, result_values, tests_of
from bot.flows.record.paused import pause_until
from bot.flows.record.planning import restarts_on
from bot.flows.record.steered import asks_of_coach, steering_today
from bot.flows.record.thread import thread_of
from bot.flows.record.told_to_coach import reasons_of_day
from bot.flows.record.walks import LOOK_BACK_DAYS, steady_of, walk_week_of, walks_now
from core.client.client import Clearance, Client
from core.client.screening import TABLE_CONDITIONS
from core.programme.walking import WalkWeek
from core.readiness.absolute_rules import dose_change_rules
from core.vocabulary import Condition

RECENT_DAYS = 14
ALERT_DAYS = 60
LIFTS_SHOWN_DAYS = 28
"""So long the card and the coach's list name a lifted pause and who had cleared the client."""

MOST_LINES = 7
MOST_NOTES = 8
MOST_PINNED = 2


FALLING = ("falls", "fears_falling", "walking_aid", "lives_alone")
"""Answers on falling that the front of the card shows; what is not known is shown as such."""


class LiftLine(TypedDict):
    """A pause that was lifted: by whom, on whose word, of which day."""

    name: str
    at: datetime
    by: str
    signs: list[str]
    kind: str
    cleared_by: str
    on: date | None


class AlertLine(TypedDict):
    """One alert in a list; ``quotes``: own words and reasons."""

    id: str
    client_id: str
    name: str
    level: str
    signs: list[str]
    quotes: list[str | Reason]
    raised: datetime
    seen_by: str
    closed: bool


class NoteLine(TypedDict):
    """A note or a message."""

    at: datetime
    by: str
    text: str


class Head(ProposalValues):
    """The front of the card; None where there is no such thing."""

    name: str
    left: bool
    joined: bool
    standing: str
    because: str
    standing_numbers: Mapping[str, int | list[str]]
    birth_year: int | None
    age: int
    sex: str
    place: Country
    number_confirmed: bool
    name_confirmed: bool
    asks_identity: bool
    record: ClientRecord
    local: datetime
    clearance: Clearance | None
    doctor_word: str
    doctor_word_on: date | None
    medicine_changed_on: date | None
    medicines: list[str]
    spares: list[str]
    floor: bool
    falling: Answers
    aim: str
    own_aim: str
    hold: Hold | None
    pause_until: date | None
    lifts: list[LiftLine]
    hold_since: datetime | None
    checkin: Checkin | None
    reasons: list[Reason]
    open_alert: bool
    restart: bool
    days: list[str]
    checkin_at: str
    walks: WalkWeek | None
    steady: str
    asks: list[str]
    watches: list[str]
    coach_name: str
    effort: GuideValues
    mine: bool
    pinned: Sequence[Note]


class AnswersPage(TypedDict):
    """The joining answers: keys by section, and what was given."""

    name: str
    groups: dict[str, list[str]]
    given: Answers


class MorningLine(TypedDict):
    """A morning in a list: its plan ("" while unfinished), and the weightiest reason for it."""

    on: date
    day_plan: str
    why: Reason | None


class RecordPage(TypedDict):
    """The last of each, newest first."""

    name: str
    checkins: list[MorningLine]
    sessions: Sequence[Session]
    alerts: list[AlertLine]
    lifts: list[LiftLine]


class NotesPage(TypedDict):
    """Notes, or messages."""

    name: str
    lines: list[NoteLine]


class TestsPage(TypedDict):
    """The home tests, newest first; ``waits``: the one asked for, or ""."""

    name: str
    waits: str
    results: list[ResultValues]


def shown_identity(record: ClientRecord) -> str:
    """The name and the country (so the emergency number) that the card shows, as a short mark.

    A button carries it, so that a tap on an older screen says nothing of what is kept since then.
    """
    return f"{record.person.country}.{crc32(record.person.name.encode()):x}"


def head(record: ClientRecord, facts: Facts) -> Head:
    """The front of the card."""
    client, person = record.client, record.person
    today = person.local(facts.now).date()
    state = state_of(record, facts)
    given = given_of(record)
    hold = facts.hold(record.id)
    checkin = facts.checkin(record.id, today)
    clearance = client.clearance if record.cleared else None
    return {
        "name": person.name,
        "left": person.left,
        "joined": record.joined,
        "standing": state.state.value,
        "because": state.because.value,
        "standing_numbers": state.numbers,
        "birth_year": record.answers.get("birth_year"),
        "age": client.age_in(today.year),
        "sex": record.answers.get("sex", ""),
        "place": facts.reference.countries.get(person.country, Country("", "")),
        "number_confirmed": bool(record.answers.get("number_confirmed")),
        "name_confirmed": bool(record.answers.get("name_confirmed")),
        "asks_identity": False,
        "record": record,
        "local": person.local(facts.now),
        "clearance": clearance,
        "doctor_word": record.answers.get("doctor_word", ""),
        "doctor_word_on": _day(record.answers.get("doctor_word_on")),
        **proposal_values(given, today),
        "conditions": _weightiest_first(client.conditions),
        "medicine_changed_on": _still_settling(client, today),
        "medicines": sorted(medicine.value for medicine in client.medicines),
        "spares": sorted(spare.value for spare in client.spares),
        "floor": client.floor_ok,
        "falling": {key: given.get(key) for key in FALLING},
        "aim": client.aim.value,
        "own_aim": str(given.get("own_aim") or ""),
        "hold": hold,
        "pause_until": pause_until(record) if hold else None,
        "lifts": lift_lines(record, facts, LIFTS_SHOWN_DAYS),
        "hold_since": facts.me.local(hold.placed_at) if hold else None,
        "checkin": checkin if checkin is not None and checkin.finished else None,
        "reasons": [] if checkin is None else reasons_of_day(checkin, client),
        "open_alert": facts.open_alert(record.id) is not None,
        "restart": restarts_on(record, today, facts),
        "days": [str(day) for day in client.training_days],
        "checkin_at": client.checkin_at.strftime("%H:%M"),
        "walks": _week_of_walks(record, facts),
        "steady": steady_of(record, facts).value,
        "asks": asks_of_coach(client, facts, today),
        "watches": [sign.value for sign in steering_today(client, facts, today).watches],
        "coach_name": facts.person(record.coach_id).name,
        "effort": guide_values(record, checkin, facts),
        "mine": record.coach_id == facts.me.id,
        "pinned": [one for one in facts.notes(record.id) if one.pinned][:MOST_PINNED],
    }


def _week_of_walks(record: ClientRecord, facts: Facts) -> WalkWeek | None:
    """This week's walks, of a client who walks or was asked about it."""
    known = facts.walks(record.id, LOOK_BACK_DAYS) or walks_now(record) is not None
    return walk_week_of(record, facts) if known else None


def _weightiest_first(conditions: Set[Condition]) -> list[str]:
    """Those first for which the screening table asks for a doctor's word (order ours)."""
    listed = [condition for condition in Condition if condition in conditions]
    return [one.value for one in sorted(listed, key=lambda one: one not in TABLE_CONDITIONS)]


def _day(iso: str | None) -> date | None:
    return date.fromisoformat(iso) if iso else None


def _still_settling(client: Client, today: date) -> date | None:
    """When a medicine changed, while the days are eased for it."""
    changed = client.medicine_changed_on
    return changed if changed is not None and dose_change_rules(today, client) else None


def answers(record: ClientRecord, facts: Facts) -> AnswersPage:
    """All joining answers, grouped; those of questions that were not asked are left out."""
    given = given_of(record)
    wanted = JOIN_FORM.wanted(Setting(given, facts))
    groups = {
        section: [
            question.key
            for question in wanted
            if question.section == section and question.key not in NEVER_SHOWN
        ]
        for section in SECTIONS
    }
    return {
        "name": record.person.name,
        "groups": groups,
        "given": shown_answers(given, facts, facts.me),
    }


def record_page(record: ClientRecord, facts: Facts) -> RecordPage:
    """The last check-ins, sessions and alerts, newest first."""
    checkins = list(facts.checkins(record.id, RECENT_DAYS))[::-1][:MOST_LINES]
    sessions = [one for one in facts.sessions(record.id, RECENT_DAYS) if one.status != "planned"]
    alerts = facts.alerts([record.id], ALERT_DAYS)[:MOST_LINES]
    return {
        "name": record.person.name,
        "checkins": [_morning_line(one, record) for one in checkins],
        "sessions": sessions[::-1][:MOST_LINES],
        "alerts": [alert_line(alert, facts) for alert in alerts],
        "lifts": lift_lines(record, facts, ALERT_DAYS)[:MOST_LINES],
    }


def _morning_line(checkin: Checkin, record: ClientRecord) -> MorningLine:
    reasons = reasons_of_day(checkin, record.client)
    return {"on": checkin.on, "day_plan": checkin.day_plan, "why": reasons[0] if reasons else None}


def alert_line(alert: Alert, facts: Facts) -> AlertLine:
    """One alert in a list."""
    return {
        "id": str(alert.id),
        "client_id": str(alert.client_id),
        "name": facts.person(alert.client_id).name,
        "level": alert.level.value,
        "signs": [sign.value for sign in alert.signs],
        "quotes": list(alert.words),
        "raised": facts.me.local(alert.raised_at),
        "seen_by": alert.seen_by if alert.seen_at else "",
        "closed": alert.closed,
    }


def lift_lines(record: ClientRecord, facts: Facts, days: int) -> list[LiftLine]:
    """The pauses lifted in the last days, newest first: by whom, on whose word, of which day."""
    return [
        {
            "name": record.person.name,
            "at": facts.me.local(lift.lifted_at),
            "by": lift.lifted_by,
            "signs": [sign.value for sign in lift.signs],
            "kind": lift.cleared_kind,
            "cleared_by": lift.cleared_by,
            "on": lift.cleared_on,
        }
        for lift in facts.lifts(record.id, days)
        if lift.lifted_at is not None
    ]


def messages_page(record: ClientRecord, facts: Facts) -> NotesPage:
    """What client and coaches wrote to each other, the newest last, as in a chat."""
    return _lines(record, list(thread_of(record.id, facts))[:MOST_NOTES][::-1], facts)


def notes_page(record: ClientRecord, facts: Facts) -> NotesPage:
    """The coaches' own notes, newest first."""
    notes = [one for one in facts.notes(record.id) if not one.is_message(record.id)]
    return _lines(record, notes[:MOST_NOTES], facts)


def _lines(record: ClientRecord, found: Sequence[Note], facts: Facts) -> NotesPage:
    lines: list[NoteLine] = [
        {"at": facts.me.local(one.at), "by": one.by_name, "text": one.text} for one in found
    ]
    return {"name": record.person.name, "lines": lines}


def tests_page(record: ClientRecord, facts: Facts) -> TestsPage:
    """The home tests, newest first, and the one that waits."""
    waits = asked_of(record, facts)
    results = [result_values(record, done) for done in tests_of(record.answers)]
    return {
        "name": record.person.name,
        "waits": waits.value if waits is not None else "",
        "results": results[::-1][:MOST_LINES],
    }
