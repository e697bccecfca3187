"""A client's card: what she is, where she stands, and everything the coach may change.

The card stays open in the background and its buttons stay good for this one client; what needs an
answer of the coach's opens a conversation of its own and comes back here.
"""

from bot.flows.changes import Audit, Change, SaveProfile
from bot.flows.coach.client import card as coach_card
from bot.flows.coach.client.charts import morning_points, week_points
from bot.flows.coach.client.letters import (
    DOCTOR,
    KINDS,
    REVIEW,
    SPANS,
    TABLE,
    TOLD,
    document_of,
    may_write_to_doctor,
)
from bot.flows.coach.client.limit_questions import limits_open
from bot.flows.coach.rights import client_for_me, not_yours
from bot.flows.coach.to_client import keeps_back, not_told
from bot.flows.facts import ClientRecord, Facts
from bot.flows.forms import ASKED
from bot.flows.joining.questions import JOIN_FORM, NEVER_SHOWN, SECTIONS
from bot.flows.machine import (
    Begin,
    Button,
    Event,
    EventKind,
    PictureRequest,
    Rows,
    Say,
    State,
    Turn,
    in_twos,
    not_understood,
    rows_of,
)
from bot.flows.record.overload_watch import load_measures, week_of_work
from bot.flows.record.profile import DOCTOR_LETTER_ON, REVIEWED_ON
from bot.messages import Kind
from core.client.home_tests import HomeTest
from core.dose.prior import CoachWord

NAME = "coach_client"
SLOT = "card"
PAGES = (
    "card",
    "about",
    "answers",
    "limits",
    "record",
    "notes",
    "messages",
    "letters",
    "load",
    "measures",
    "tests",
    "more",
)
RIGHT = "right"
"""Ends the button by which the coach says that name and number on the card are right."""

IN_PERSON = "agreed_in_person"
CHARTS = ("readiness", "weekly_load")

OPENS = {
    "clear": "coach_start",
    "hold": "coach_hold",
    "lift": "coach_lift",
    "write": "coach_note",
    "find_note": "coach_notes",
    "answer": "coach_answer",
    "steer": "coach_overrule",
    "rebind": "coach_rebind",
    "leave": "coach_leave",
    "holiday": "coach_life",
    "hand_over": "coach_life",
    "bring_back": "coach_life",
    "ceiling": "coach_rungs",
    "forbid": "coach_rungs",
    "why": "coach_doses",
    "climb": "coach_doses",
    "week": "coach_week",
    "watched": "coach_watched",
}
"""Button -> the conversation that it opens."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Show a page, or open what a button asks for."""
    client = event.args.get("client") if event.kind is EventKind.BEGIN else state.answers["client"]
    record = client_for_me(client, facts)
    if record is None:
        return not_yours()
    if event.kind is EventKind.BEGIN:
        return _page(state.at("begin", client=str(record.id)), _first_page(event), record, facts)
    if event.kind is not EventKind.TAP:
        return not_understood(state)
    return _tapped(state, event.value, record, facts)


def _first_page(event: Event) -> str:
    page = str(event.args.get("page", "card"))
    known = page in PAGES or page.rpartition(ASKED)[0] == "section"
    return page if known else "card"


def _tapped(state: State, value: str, record: ClientRecord, facts: Facts) -> Turn:
    if value in PAGES or value.startswith(f"section{ASKED}"):
        return _page(state, value, record, facts)
    if value in CHARTS:
        return _chart(state, value, record)
    if value in KINDS or value == IN_PERSON:
        return _letter(state, value, record, facts)
    args = {"client": str(record.id)}
    if value in OPENS:
        return _open(state, Begin(OPENS[value], {**args, "what": value}))
    asked, _, key = value.partition(ASKED)
    if key == RIGHT:
        return _open(state, Begin("coach_start", {**args, "right": asked}))
    if asked == "edit" and (key in JOIN_FORM.by_key or key in limits_open(record, facts)):
        return _open(state, Begin("coach_correct", {**args, "key": key}))
    if asked == "test" and key in set(HomeTest):
        return _open(state, Begin("coach_test", {**args, "test": key}))
    if value == "clients":
        return _open(state, Begin("coach_clients"))
    return not_understood(state)


def _open(state: State, begin: Begin) -> Turn:
    return Turn(state, begin=(begin,), quiet=True)


def _page(state: State, page: str, record: ClientRecord, facts: Facts) -> Turn:
    """One page of the card; that it was read is written down."""
    name, _, section = page.partition(ASKED)
    if name == "section" and section in SECTIONS:
        say = _section(section, record, facts)
    else:
        say = {
            "card": _front,
            "about": _about,
            "answers": _answers,
            "limits": _limits,
            "record": _record,
            "notes": _notes,
            "messages": _messages,
            "letters": _letters,
            "load": _week,
            "measures": _measures,
            "tests": _tests,
            "more": _more,
        }.get(name, _front)(record, facts)
    read = Audit(record.id, "card_read", page)
    return Turn(state.at("shown"), says=(say,), changes=(read,), quiet=True)


def _front(record: ClientRecord, facts: Facts) -> Say:
    values = coach_card.head(record, facts)
    on_hold = values["hold"] is not None
    rows: Rows = ()
    if record.joined and not record.person.left:
        known = values["number_confirmed"] and values["name_confirmed"]
        if not known and values["place"].emergency:
            rows = rows_of(f"{coach_card.shown_identity(record)}{ASKED}{RIGHT}")
            values["asks_identity"] = True
        rows = (*rows, (Button("clear"), Button("lift" if on_hold else "hold")))
    if record.person.left:
        rows = rows_of("bring_back")
    open_alert = facts.open_alert(record.id)
    if open_alert is not None:
        rows = (*rows, (Button("show", handler="alert", ref=str(open_alert.id)),))
    rows = (
        *rows,
        *rows_of(
            *(() if record.person.left else ("answer steer",)),
            "about answers",
            "limits record",
            "notes messages",
            "why climb",
            "week load",
            "tests watched",
            "letters more",
            "clients",
        ),
    )
    return Say("coach/card", values, rows=rows, slot=SLOT)


def _about(record: ClientRecord, facts: Facts) -> Say:
    """What does not fit on the front, which is to be read on one screen of a phone."""
    return Say("coach/about", coach_card.head(record, facts), rows=_BACK, slot=SLOT)


def _answers(record: ClientRecord, facts: Facts) -> Say:
    buttons = [Button(f"section{ASKED}{section}") for section in SECTIONS]
    return Say(
        "coach/answers",
        coach_card.answers(record, facts),
        rows=(*in_twos(buttons), *rows_of("card")),
        slot=SLOT,
    )


def _section(section: str, record: ClientRecord, facts: Facts) -> Say:
    values = coach_card.answers(record, facts)
    keys = values["groups"][section]
    buttons = [Button(f"edit{ASKED}{key}") for key in keys if key not in NEVER_SHOWN]
    return Say(
        "coach/section",
        {**values, "section": section, "keys": keys},
        rows=(*in_twos(buttons), *rows_of("answers card")),
        slot=SLOT,
    )


def _limits(record: ClientRecord, facts: Facts) -> Say:
    keys = (*limits_open(record, facts), "checkin_at", "days")
    buttons = [Button(f"edit{ASKED}{key}") for key in keys]
    return Say(
        "coach/limits",
        {
            "name": record.person.name,
            "client": record.client,
            "fitness": record.answers.get("fitness") or CoachWord.USUAL.value,
            "numbers": sorted(record.client.limits.numbers_asked),
            "ceilings": sorted(family.value for family in record.client.limits.ceilings),
            "forbidden": _named(record, facts),
            "days": [str(day) for day in record.client.training_days],
            "keys": list(keys),
        },
        rows=(*in_twos(buttons), *rows_of("ceiling forbid", "card")),
        slot=SLOT,
    )


def _named(record: ClientRecord, facts: Facts) -> list[str]:
    """Forbidden rungs that the catalogue still knows."""
    return sorted(set(record.client.limits.forbidden) & set(facts.reference.catalogue.by_id))


def _record(record: ClientRecord, facts: Facts) -> Say:
    rows = (*(rows_of("readiness") if morning_points(record, facts) else ()), *_BACK)
    return Say("coach/record", coach_card.record_page(record, facts), rows=rows, slot=SLOT)


def _chart(state: State, name: str, record: ClientRecord) -> Turn:
    """A chart as a message of its own; the page stays as it is."""
    request = PictureRequest(chart=name, args={"client": int(record.id)})
    read = Audit(record.id, "card_read", name)
    shown = Say("coach/chart", {"name": record.person.name, "chart": name}, picture=request)
    return Turn(state, says=(shown,), changes=(read,), quiet=True)


def _letter(state: State, kind: str, record: ClientRecord, facts: Facts) -> Turn:
    """A document of its own; the page stays as it is. For a doctor the client is asked first."""
    name = record.person.name
    if kind == IN_PERSON:
        today = record.person.local(facts.now).date().isoformat()
        agreed = (
            SaveProfile(record.id, {DOCTOR_LETTER_ON: today}),
            Audit(record.id, "letter_agreed", kind),
        )
        begin = Begin(NAME, {"client": str(record.id), "page": "letters"})
        return Turn(state, changes=agreed, begin=(begin,), quiet=True)
    if kind.startswith(DOCTOR) and not may_write_to_doctor(record, facts):
        return _ask_for_consent(state, record, facts)
    read = Audit(record.id, "letter_made", kind)
    said = "told" if kind == TOLD else "table" if kind == TABLE else kind.rstrip("0123456789")
    handed = Say(
        "coach/letter", {"name": name, "kind": said}, document=document_of(kind, record, facts)
    )
    changes: tuple[Change, ...] = (read,)
    if said == REVIEW:
        today = record.person.local(facts.now).date().isoformat()
        changes = (SaveProfile(record.id, {REVIEWED_ON: today}), read)
    return Turn(state, says=(handed,), changes=changes, quiet=True)


def _ask_for_consent(state: State, record: ClientRecord, facts: Facts) -> Turn:
    name, reached = record.person.name, facts.reaches(record.id)
    values = {"name": name, "coach_name": facts.me.name, "reached": reached}
    ref = str(facts.me.id)
    rows = ((Button("yes", handler="letter", ref=ref), Button("no", handler="letter", ref=ref)),)
    if reached and keeps_back(record, facts, of_training=False):
        return Turn(state, says=(not_told(record, asks=True),), quiet=True)
    asked = Say("own_data/letter_asked", values, rows=rows, to=record.id, kind=Kind.PROMPT)
    waits = Say("coach/letter_waits", values)
    says = (asked, waits) if reached else (waits,)
    return Turn(state, says=says, changes=(Audit(record.id, "letter_asked"),), quiet=True)


def _letters(record: ClientRecord, facts: Facts) -> Say:
    agreed = may_write_to_doctor(record, facts)
    rows = (
        *rows_of(*(f"{kind}{days}" for kind in (REVIEW, DOCTOR) for days in SPANS)),
        *(() if agreed else rows_of(IN_PERSON)),
        *rows_of(f"{TABLE} {TOLD}", "card"),
    )
    values = {"name": record.person.name, "agreed": agreed}
    return Say("coach/letters", values, rows=rows, slot=SLOT)


def _messages(record: ClientRecord, facts: Facts) -> Say:
    rows = rows_of("answer", TOLD, "notes card")
    return Say("coach/messages", coach_card.messages_page(record, facts), rows=rows, slot=SLOT)


def _notes(record: ClientRecord, facts: Facts) -> Say:
    rows = rows_of("write find_note", "messages card")
    return Say("coach/notes", coach_card.notes_page(record, facts), rows=rows, slot=SLOT)


def _week(record: ClientRecord, facts: Facts) -> Say:
    rows = rows_of("weekly_load measures") if week_points(record, facts) else ()
    return Say("coach/week_work", week_of_work(record, facts), rows=(*rows, *_BACK), slot=SLOT)


def _measures(record: ClientRecord, facts: Facts) -> Say:
    return Say("coach/measures", load_measures(record, facts), rows=rows_of("load card"), slot=SLOT)


def _tests(record: ClientRecord, facts: Facts) -> Say:
    buttons = [Button(f"test{ASKED}{test.value}") for test in HomeTest]
    rows = (*in_twos(buttons), *rows_of("card"))
    return Say("coach/tests", coach_card.tests_page(record, facts), rows=rows, slot=SLOT)


def _more(record: ClientRecord, _facts: Facts) -> Say:
    gone = record.person.left
    staying = rows_of("holiday hand_over", "rebind", "leave", "card")
    back = () if record.erasing else ("bring_back",)
    rows = rows_of(*back, "card") if gone else staying
    return Say("coach/more", {"name": record.person.name, "left": gone}, rows=rows, slot=SLOT)


_BACK = rows_of("card")
