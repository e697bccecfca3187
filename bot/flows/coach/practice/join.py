"""A coach's first steps: what this is, where she is, when her list comes, who stands in for her."""

from dataclasses import replace

from bot.flows.coach.practice.questions import COACH_FORM, NO_BACKUP, others, own_changes, own_given
from bot.flows.facts import Facts
from bot.flows.form_question import Setting
from bot.flows.form_turns import turn_of
from bot.flows.forms import Taken
from bot.flows.machine import Begin, Event, EventKind, Say, State, Turn
from bot.flows.parsing import Reask
from bot.messages import Kind
from core.vocabulary import PersonId, Role

NAME = "coach_join"


def step(state: State, event: Event, facts: Facts) -> Turn:
    """Opened with ``rebound`` on a new phone; with ``key`` for one answer, from the settings."""
    if facts.me.role is not Role.COACH:
        return Turn(None, understood=False)
    if event.kind is EventKind.BEGIN:
        return _begin(event, facts)
    taken = COACH_FORM.take(state, event, facts)
    return turn_of(
        taken,
        state,
        answered=lambda: _answered(state.step, taken, facts),
        back=lambda: _back(taken.state, facts),
        ask=lambda: _ask(taken.state, facts, taken.again),
    )


def _begin(event: Event, facts: Facts) -> Turn:
    key = str(event.args.get("key", ""))
    if key in COACH_FORM.by_key:
        given = own_given(facts)
        state = State(NAME, key, {"given": given, "one": True})
        return _ask(COACH_FORM.open(state, key), facts)
    if event.args.get("rebound") and facts.me.country:
        return Turn(None, says=(Say("coach/welcome_back"),), begin=(Begin("coach_menu"),))
    state = State(NAME, "called", {"given": {}, "one": False})
    turn = _ask(COACH_FORM.open(state, "called"), facts)
    return Turn(turn.state, says=(Say("coach/welcome"), *turn.says))


def _ask(state: State, facts: Facts, again: Reask | None = None) -> Turn:
    say = COACH_FORM.ask(state, facts, again)
    one = {"number": 0} if state.answers.get("one") else {}
    values = {**say.values, "others": len(others(facts)), **one}
    return Turn(state, says=(replace(say, values=values),))


def _answered(key: str, taken: Taken, facts: Facts) -> Turn:
    state, given = taken.state, dict(taken.state.answers["given"])
    if key == "country_right" and not taken.value:
        given = {name: value for name, value in given.items() if name != key}
        return _ask(COACH_FORM.open(state.at("country", given=given), "country"), facts)
    if key == "country":
        given = {k: v for k, v in given.items() if k not in ("country_right", "zone")}
    changes = own_changes(key, given, facts)
    says = _backup_hears(taken.value, facts) if key == "backup" else ()
    question = COACH_FORM.next_open(Setting(given, facts))
    if question is not None:
        turn = _ask(COACH_FORM.open(state.at(key, given=given), question.key), facts)
        return Turn(turn.state, says=(*says, *turn.says), changes=changes)
    if state.answers.get("one"):
        return Turn(None, says=says, changes=changes, begin=(Begin("coach_settings"),))
    done = Say("coach/ready", {"backup": given["backup"] != NO_BACKUP})
    return Turn(None, says=(*says, done), changes=changes, begin=(Begin("coach_menu"),))


def _back(state: State, facts: Facts) -> Turn:
    if state.answers.get("one"):
        return Turn(None, begin=(Begin("coach_settings"),))
    before = COACH_FORM.before(state.step, Setting(state.answers["given"], facts))
    return _ask(COACH_FORM.open(state, before.key if before else state.step), facts)


def _backup_hears(value: str, facts: Facts) -> tuple[Say, ...]:
    """Whoever is named is told; who was named before, too."""
    before = facts.backup_of(facts.me.id)
    named = {"coach_name": facts.me.name}
    says: tuple[Say, ...] = ()
    if value != NO_BACKUP and (before is None or str(before.id) != value):
        backup = PersonId(int(value))
        says = (Say("coach/you_stand_in", named, to=backup, kind=Kind.PROMPT),)
    if before is not None and str(before.id) != value:
        ended = Say("coach/you_stand_in_no_more", named, to=before.id, kind=Kind.PROMPT)
        says = (*says, ended)
    return says
