"""A client joins: one question after the other, a look at all answers, and word to the coach.

Each answer is written down at once (the emergency number must be known from the first minute), so
that joining can be left and taken up again on any phone.
"""

from bot.flows.changes import Change, FinishJoin, SaveProfile, WithdrawClearance
from bot.flows.client.health_change import medicine_changed
from bot.flows.facts import Answers, Country, Facts
from bot.flows.form_question import Setting
from bot.flows.form_turns import turn_of
from bot.flows.forms import ASKED, BACK, FORETOLD, SLOT, Taken
from bot.flows.joining import plain_answers
from bot.flows.joining.answers import (
    HEALTH,
    JOINING,
    MEDICINES,
    ProposalValues,
    given_of,
    proposal_values,
    shown_answers,
    taken_in,
)
from bot.flows.joining.operation_answers import LISTS as OPERATION_LISTS
from bot.flows.joining.phones import insisting, kept_meanwhile, with_insisting
from bot.flows.joining.questions import JOIN_FORM, NEVER_SHOWN, SECTIONS
from bot.flows.machine import (
    Button,
    Event,
    EventKind,
    Say,
    State,
    Turn,
    in_twos,
    not_understood,
    rows_of,
)
from bot.flows.parsing import Reask, read_choice
from bot.flows.record.on_the_way import watch_ends
from bot.flows.record.profile import RESTART_DUE
from bot.flows.record.steered import asks_of_coach
from bot.messages import Kind
from core.client.screening import HealthChange

NAME = "join"
plainly_answers = plain_answers.plainly_answers
tells_what_was_asked = plain_answers.tells_what_was_asked
beside_the_answer = plain_answers.beside_the_answer
REVIEW, PICK = "review", "pick"
"""Steps that are no question: all answers at a glance, and choosing one to change."""


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Take one event (see :mod:`bot.flows.machine`).

    Opened with ``rebound`` on a new phone, with ``review`` to look at and change the answers.
    """
    if event.kind is EventKind.BEGIN:
        return _begin(event, facts)
    if state.step == REVIEW:
        return _review(state, event, facts)
    if state.step == PICK:
        return _pick(state, event, facts)
    taken = JOIN_FORM.take(state, insisting(state, event, facts), facts)
    return turn_of(
        taken,
        state,
        answered=lambda: _answered(state.step, taken, facts),
        back=lambda: _back(taken.state, facts),
        ask=lambda: _ask(taken.state, facts, taken.again),
    )


def _begin(event: Event, facts: Facts) -> Turn:
    record = facts.client(facts.me.id)
    state = State(NAME, REVIEW, {"given": given_of(record), "changed": []})
    says: tuple[Say, ...] = ()
    if event.args.get("rebound"):
        ref = str(facts.me.id)
        told = Say(
            "coach/new_phone",
            {"name": facts.me.name},
            rows=((Button("open", handler="client", ref=ref),),),
            to=record.coach_id,
            kind=Kind.PROMPT,
        )
        says = (Say("join/welcome_back", {"joined": record.joined}), told)
    if record.joined:
        if not event.args.get("review"):
            return Turn(None, says=says or (Say("join/already_joined"),))
        return Turn(state, says=(*says, _reviewed(state, facts)))
    turn = _go_on(state, facts)
    return Turn(turn.state, says=(*says, *turn.says))


def _ask(state: State, facts: Facts, again: Reask | None = None) -> Turn:
    state, say = with_insisting(state, JOIN_FORM.ask(state, facts, again), again)
    changes = kept_meanwhile(state.step, again, facts.client(facts.me.id))
    return Turn(state, says=(say,), changes=changes)


def _answered(key: str, taken: Taken, facts: Facts) -> Turn:
    """Write the answer down and go on."""
    state, value = taken.state, taken.value
    if key == "consent" and value == "decline":
        return _declined(state, facts)
    given = dict(state.answers["given"])
    if key == "country_right" and not value:
        del given["country_right"], given["country"]
        given.pop("zone", None)
        return _ask(state.at("country", given=given), facts)
    given, changes = taken_in(key, facts.me.id, given, facts)
    for other, also in state.answers.get(FORETOLD, {}).items():
        if not JOIN_FORM.by_key[other].many and other not in given:
            given, more = taken_in(other, facts.me.id, {**given, other: also}, facts)
            changes += more
    if key == "country":
        # A clock told with one country is none of the next.
        foretold = dict(state.answers.get(FORETOLD, {}))
        foretold.pop("zone", None)
        state = state.at(key, **{FORETOLD: foretold})
    if key == "consent":
        today = Setting(given, facts).today.isoformat()
        changes.append(SaveProfile(facts.me.id, {"consented_on": today}))
    if not facts.client(facts.me.id).joined:
        changes.append(SaveProfile(facts.me.id, {JOINING: given}))
    changed = list(dict.fromkeys([*state.answers.get("changed", ()), key]))
    changed = [one for one in changed if one not in NEVER_SHOWN]
    turn = _go_on(state.at(key, given=given, changed=changed), facts)
    return Turn(turn.state, says=turn.says, changes=tuple(changes))


def _declined(state: State, facts: Facts) -> Turn:
    """No agreement, nothing kept; the door stays open and the coach knows."""
    given = {key: value for key, value in state.answers["given"].items() if key != "consent"}
    agree = ((Button(f"consent{ASKED}agree"),),)
    told = Say(
        "coach/client_declined",
        {"name": facts.me.name},
        to=facts.client(facts.me.id).coach_id,
        kind=Kind.PROMPT,
    )
    says = (Say("join/declined", rows=agree, slot=SLOT), told)
    return Turn(state.at("consent", given=given), says=says, quiet=True)


def _go_on(state: State, facts: Facts) -> Turn:
    """The next question, or all answers at a glance."""
    question = JOIN_FORM.next_open(Setting(state.answers["given"], facts))
    if question is None:
        state = state.at(REVIEW)
        return Turn(state, says=(_reviewed(state, facts),))
    return _ask(JOIN_FORM.open(state, question.key), facts)


def _back(state: State, facts: Facts) -> Turn:
    """To the question before; from a change of one answer, to all answers."""
    setting = Setting(state.answers["given"], facts)
    if JOIN_FORM.next_open(setting) is None:
        state = state.at(REVIEW)
        return Turn(state, says=(_reviewed(state, facts),))
    before = JOIN_FORM.before(state.step, setting)
    return _ask(JOIN_FORM.open(state, before.key if before else state.step), facts)


def _reviewed(state: State, facts: Facts) -> Say:
    given = state.answers["given"]
    shown = [
        question.key
        for question in JOIN_FORM.wanted(Setting(given, facts))
        if question.key not in NEVER_SHOWN
    ]
    return Say(
        "join/review",
        {"keys": shown, "given": shown_answers(given, facts, facts.me)},
        rows=rows_of("right", "change"),
        slot=SLOT,
    )


def _review(state: State, event: Event, facts: Facts) -> Turn:
    code = event.value
    if event.kind is EventKind.TEXT:
        spoken = facts.reference.spoken.get("form", {})
        read = read_choice(code, ("right", "change"), spoken)
        code = "" if isinstance(read, Reask) else read
    if code == "right":
        return _finished(state, facts)
    if code == "change":
        return _ask_which(state.at(PICK, section=""), facts)
    if event.kind is EventKind.RESUME:
        return Turn(state, says=(_reviewed(state, facts),))
    if event.kind is EventKind.TAP and _is_old_tap(code):
        return Turn(state)
    return not_understood(state)


def _is_old_tap(code: str) -> bool:
    """A second tap on a button of the last question."""
    return code.rpartition(ASKED)[0] in JOIN_FORM.by_key


def _ask_which(state: State, facts: Facts) -> Turn:
    """Buttons of the sections, then of the questions in one."""
    section = state.answers.get("section") or ""
    wanted = [
        question
        for question in JOIN_FORM.wanted(Setting(state.answers["given"], facts))
        if question.key not in NEVER_SHOWN
    ]
    codes = [item.key for item in wanted if item.section == section] if section else list(SECTIONS)
    buttons = [Button(f"{PICK}{ASKED}{code}") for code in codes]
    rows = in_twos(buttons)
    say = Say(
        "join/pick",
        {"section": section, "codes": codes},
        rows=(*rows, (Button(f"{PICK}{ASKED}{BACK}"),)),
        slot=SLOT,
    )
    return Turn(state, says=(say,))


def _pick(state: State, event: Event, facts: Facts) -> Turn:
    if event.kind is EventKind.RESUME:
        return _ask_which(state, facts)
    section = state.answers.get("section") or ""
    code = _picked(state, event, facts)
    if code == BACK:
        if section:
            return _ask_which(state.at(PICK, section=""), facts)
        state = state.at(REVIEW)
        return Turn(state, says=(_reviewed(state, facts),))
    if code in SECTIONS:
        return _ask_which(state.at(PICK, section=code), facts)
    if code in JOIN_FORM.by_key:
        return _ask(JOIN_FORM.open(state, code), facts)
    return not_understood(state)


def _picked(state: State, event: Event, facts: Facts) -> str:
    if event.kind is EventKind.TAP:
        asked, _, code = event.value.rpartition(ASKED)
        return code if asked == PICK else ""
    spoken = facts.reference.spoken
    for group, codes in (
        ("section", SECTIONS),
        ("question", tuple(JOIN_FORM.by_key)),
        ("form", (BACK,)),
    ):
        read = read_choice(event.value, codes, spoken.get(group, {}))
        if not isinstance(read, Reask):
            return read
    return ""


def _finished(state: State, facts: Facts) -> Turn:
    """All is right: the coach hears of it, and no plan comes until she has cleared the client."""
    record = facts.client(facts.me.id)
    given = state.answers["given"]
    changed = list(state.answers.get("changed", ()))
    if record.joined and not changed:
        return Turn(None, says=(Say("join/unchanged"),))
    health = [key for key in changed if key in HEALTH]
    changes: list[Change] = [
        FinishJoin(facts.me.id),
        SaveProfile(facts.me.id, {JOINING: None}),
    ]
    if record.joined and health and record.cleared:
        changes.append(WithdrawClearance(facts.me.id, ",".join(health)))
        if any(key in OPERATION_LISTS for key in health):
            operated = {RESTART_DUE: HealthChange.OPERATION.value}
            changes.append(SaveProfile(facts.me.id, operated))
    if record.joined and any(key in MEDICINES for key in changed):
        changes.append(medicine_changed(record.id, Setting(given, facts).today))
    values = joined_values(given, facts, changed=changed if record.joined else [])
    codes = ("open",) if record.cleared and not health else ("open", "clear")
    told = Say(
        "coach/client_joined",
        values,
        rows=tuple((Button(code, handler="client", ref=str(facts.me.id)),) for code in codes),
        to=record.coach_id,
        kind=Kind.PROMPT,
    )
    mine = Say("join/changed" if record.joined else "join/done", {"paused": bool(health)})
    stops = watch_ends(facts) if record.cleared and health else ()
    return Turn(None, says=(*stops, mine, told), changes=tuple(changes))


class JoinedValues(ProposalValues):
    """What ``coach/client_joined`` shows."""

    name: str
    asks: list[str]
    changed: list[str]
    given: Answers
    place: Country


def joined_values(given: Answers, facts: Facts, *, changed: list[str]) -> JoinedValues:
    """What the coach is told of a client who has answered everything."""
    record, today = facts.client(facts.me.id), Setting(given, facts).today
    reader = facts.told_of(facts.me.id) or facts.person(record.coach_id)
    return {
        **proposal_values(given, today),
        "asks": asks_of_coach(record.client, facts, today),
        "name": facts.me.name,
        "changed": changed,
        "given": shown_answers(given, facts, reader),
        "place": Setting(given, facts).country,
    }
