"""Forms: a list of questions, asked one at a time, answered by a tap or in words.

A form keeps its answers in ``state.answers["given"]`` under each question's key; ``state.step`` is
the key of the question that is open. A button's value names its question first ("floor~yes"), so
that a second tap of a shaky thumb, or a tap on an old message, never answers another question.
What a form looks like, and which questions it asks in which order, may be its own.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Any, Protocol

from bot.flows.commands import command_of
from bot.flows.facts import Facts
from bot.flows.form_question import FormQuestion, Option, Setting
from bot.flows.machine import Button, Event, EventKind, Rows, Say, State
from bot.flows.own_words import question_asked
from bot.flows.parsing import Reask, Why, read_choice, read_many
from bot.flows.wishes import wish_of
from bot.json_values import JsonValue
from core.vocabulary import Role

ASKED = "~"
"""Stands between a question's key and the code in a button's value."""

TAKES_BACK = frozenset({"undo", "change"})
"""Arguments of the commands by which a client takes something told back."""
BACK, SKIP, DONE, NONE = "go_back", "skip", "done", "none"
OWN = "own"
"""With its place among the ticks: the button of a tick that is no option but the words typed."""

HEARD, HEARD_YES, HEARD_NO = "heard", "heard_yes", "heard_no"
"""Where the state keeps an answer that was said back, and the buttons under it."""
STUMBLES = "stumbles"
"""Where a state keeps how often the open question was answered with what means nothing."""
STUMBLES_HELPED = 2
"""From so many a question without buttons of its own offers the one that leads to the coach."""
ASK_COACH = "message"
FORETOLD = "foretold"
"""Where the state keeps what was told before its question came, by the key of that question."""

SAY_BACK = "form/right"
"""Template of an answer that is said back."""

SLOT = "form"


class FormOutcome(StrEnum):
    """What became of an event at a form."""

    ANSWERED = "answered"  # ``value`` is kept in the state
    ASK = "ask"  # the question is to be shown (again)
    BACK = "back"  # the person wants the question before
    REPEATED = "repeated"  # a second tap on an answer that is kept already
    NOT_MINE = "not_mine"  # a stale button, or words that are a command


@dataclass(frozen=True, slots=True)
class Taken:
    """An event taken by a form.

    Attributes:
        state: with the answer kept and ticks changed; its step is the question that was answered.
        again: why the question is asked again, if an answer was of no use.
    """

    outcome: FormOutcome
    state: State
    value: Any = None
    again: Reask | None = None


class Layout(Protocol):
    """Lays out the buttons of a question."""

    def __call__(
        self, question: FormQuestion, options: Sequence[Option], *, first: bool
    ) -> Rows: ...


@dataclass(frozen=True, slots=True)
class Form:
    """A list of questions and the folder of their templates.

    Attributes:
        slot: messages of it replace each other in place.
        mark: stands between a question's key and the code in a button's value.
        back: code of its back button; its value names the question by :data:`ASKED`, whatever
            the form's own mark.
        layout: the rows of buttons of a question; the form's usual ones when left out.
        order: keys of the questions that some answers call for, in order; when left out, each
            question says for itself when it is asked.
        changes_earlier: a tap on an answered question changes its answer; else it repeats it.
        leaves_words: words that are none of a question's choices are not asked about: they may
            be a wish, or a command.
    """

    folder: str
    questions: tuple[FormQuestion, ...]
    slot: str = SLOT
    mark: str = ASKED
    back: str = BACK
    layout: Layout | None = None
    order: Callable[[Setting], Sequence[str]] | None = None
    changes_earlier: bool = False
    leaves_words: bool = False
    by_key: Mapping[str, FormQuestion] = field(init=False)

    def __post_init__(self) -> None:
        """Index the questions."""
        object.__setattr__(self, "by_key", {item.key: item for item in self.questions})

    def wanted(self, setting: Setting) -> list[FormQuestion]:
        """The questions that these answers call for, in order."""
        if self.order is not None:
            return [self.by_key[key] for key in self.order(setting)]
        return [question for question in self.questions if question.when(setting)]

    def next_open(self, setting: Setting) -> FormQuestion | None:
        """The first question without an answer, if any."""
        return next((item for item in self.wanted(setting) if item.key not in setting.given), None)

    def before(self, key: str, setting: Setting) -> FormQuestion | None:
        """The question before this one, if any."""
        return _before(key, self.wanted(setting))

    def unneeded(self, setting: Setting) -> list[str]:
        """Keys of answers to questions that are not asked any more."""
        wanted = {question.key for question in self.wanted(setting)}
        return [key for key in setting.given if key in self.by_key and key not in wanted]

    def open(self, state: State, key: str) -> State:
        """The state with this question open; ticks are those of an answer given before."""
        given = state.answers.get("given", {})
        foretold = state.answers.get(FORETOLD, {}).get(key)
        ticked = list(given.get(key) or foretold or ()) if self.by_key[key].many else []
        return _unheard(state).at(key, ticked=ticked)

    def ask(
        self,
        state: State,
        facts: Facts,
        again: Reask | None = None,
        about: Mapping[str, Any] | None = None,
    ) -> Say:
        """The open question in words and buttons.

        Args:
            about: for a coach who answers for a client: "name" and the answer as it "was".
        """
        question = self.by_key[state.step]
        setting = Setting(state.answers.get("given", {}), facts)
        if _heard_at(state) is not None:
            return self._say_back(question, state, setting)
        options = question.options(setting)
        asked = self.wanted(setting)
        wanted = [item.key for item in asked]
        ticked = list(state.answers.get("ticked", ())) if question.many else []
        own = _own_ticks(ticked)
        first = about is None and _before(question.key, asked) is None
        values = {
            "key": question.key,
            "group": question.group,
            "subject": question.subject(setting),
            "codes": [option.code for option in options if not option.label],
            "ticked": ticked,
            "own": own,
            "given": setting.given,
            "place": setting.country,
            "again": again.why.value if again else "",
            "again_about": again.about if again else "",
            "about": dict(about) if about else None,
            "number": wanted.index(question.key) + 1 if question.key in wanted else 0,
            "of": len(wanted),
        }
        rows = (
            self.layout(question, options, first=first)
            if self.layout
            else self._rows(question, options, tuple(own), first=first)
        )
        if again and not options and about is None and _stumbles(state) >= STUMBLES_HELPED:
            rows = (*rows, (Button(ASK_COACH, handler="open", ref=ASK_COACH),))
        return Say(
            f"{self.folder}/{question.template or question.key}",
            values,
            rows=rows,
            slot=self.slot,
            asks_contact=question.asks_contact,
        )

    def _say_back(self, question: FormQuestion, state: State, setting: Setting) -> Say:
        """What was understood, to be said yes or no to."""
        value = state.answers[HEARD]["value"]
        groups = setting.facts.reference.spoken
        group = question.group or (question.key if question.key in groups else "")
        named = str(value) if str(value) in groups.get(group, {}).values() else ""
        return Say(
            SAY_BACK,
            {"key": question.key, "group": group, "code": named, "given": {question.key: value}},
            rows=tuple((Button(f"{question.key}{ASKED}{code}"),) for code in (HEARD_YES, HEARD_NO)),
            slot=self.slot,
        )

    def _rows(
        self, question: FormQuestion, options: Sequence[Option], own: Sequence[str], *, first: bool
    ) -> Rows:
        def button(code: str, label: str = "") -> Button:
            return Button(f"{question.key}{self.mark}{code}", label=label)

        buttons = [button(option.code, option.label) for option in options]
        width = question.columns
        rows = [tuple(buttons[at : at + width]) for at in range(0, len(buttons), width)]
        rows += [(button(code),) for code in own]
        if question.many:
            rows.append((button(DONE), button(NONE)))
        steering = [] if first else [Button(self.back_from(question.key))]
        steering += [button(SKIP)] if question.skippable else []
        return (*rows, tuple(steering)) if steering else tuple(rows)

    def back_from(self, key: str) -> str:
        """The value of the back button of a question: a second tap of it is no other question's."""
        return f"{key}{ASKED}{self.back}"

    def take(self, state: State, event: Event, facts: Facts, *, sentences: bool = True) -> Taken:
        """What becomes of an event at the open question.

        Args:
            sentences: whole sentences are read too; else only what is plainly an answer.
        """
        question = self.by_key[state.step]
        if event.kind is EventKind.TAP:
            return self._tapped(question, state, event.value, facts)
        if event.kind is EventKind.CONTACT:
            if not question.asks_contact:
                return Taken(FormOutcome.NOT_MINE, state)
            return self._read(question, state, event.value, facts)
        if event.kind is EventKind.TEXT:
            taken = self._typed(question, state, event.value, facts, sentences=sentences)
            if taken.again is None:
                return taken
            stumbles = {"key": question.key, "count": _stumbles(state) + 1}
            return replace(taken, state=taken.state.at(taken.state.step, **{STUMBLES: stumbles}))
        return Taken(FormOutcome.ASK, state)

    def _tapped(self, question: FormQuestion, state: State, value: str, facts: Facts) -> Taken:
        asked_back, _, said = value.rpartition(ASKED)
        if said in (HEARD_YES, HEARD_NO):
            if asked_back != question.key or _heard_at(state) is None:
                return Taken(FormOutcome.REPEATED, state)
            return self._said_back(question, state, said)
        if value.endswith(f"{ASKED}{self.back}"):
            mine = value == self.back_from(question.key)
            return Taken(FormOutcome.BACK if mine else FormOutcome.REPEATED, state)
        key, _, code = value.rpartition(self.mark)
        if key != question.key:
            asked = self.by_key.get(key)
            if not self.changes_earlier or key not in state.answers.get("given", {}):
                kept = asked is not None and _is_kept(asked, code, state, facts)
                return Taken(FormOutcome.REPEATED if kept else FormOutcome.NOT_MINE, state)
            question = asked or question
        if code == SKIP and question.skippable:
            return _kept(question, state, None)
        if question.many:
            return self._ticked(question, state, code, facts)
        return self._read(question, state, code, facts)

    def _ticked(self, question: FormQuestion, state: State, code: str, facts: Facts) -> Taken:
        setting = Setting(state.answers.get("given", {}), facts)
        ticked = list(state.answers.get("ticked", ()))
        if code == NONE:
            return _kept(question, state, [])
        if code == DONE:
            if not ticked:
                return Taken(FormOutcome.ASK, state, again=Reask(Why.NOTHING_TICKED))
            order = [option.code for option in question.options(setting)]
            listed = [code for code in order if code in ticked]
            return _kept(question, state, [*listed, *_own_ticks(ticked).values()])
        own = _own_ticks(ticked)
        if code in own:
            left = [item for item in ticked if item != own[code]]
            return Taken(FormOutcome.ASK, state.at(question.key, ticked=left))
        if code not in {option.code for option in question.options(setting)}:
            return Taken(FormOutcome.NOT_MINE, state)
        ticked = [item for item in ticked if item != code] if code in ticked else [*ticked, code]
        return Taken(FormOutcome.ASK, state.at(question.key, ticked=ticked))

    def _said_back(self, question: FormQuestion, state: State, said: str) -> Taken:
        """An answer that was said back is kept, or the question asked anew."""
        heard, state = state.answers[HEARD], _unheard(state)
        if said == HEARD_NO:
            return Taken(FormOutcome.ASK, state)
        return _kept(question, _foretelling(state, heard.get("also", {})), heard["value"])

    def _heard(
        self, question: FormQuestion, state: State, text: str, setting: Setting
    ) -> Taken | None:
        """An answer in a whole sentence: kept where it is sure, else said back."""
        told = question.sentence(text, setting)
        if told is None:
            return None
        also = self._also(question, text, setting)
        if told.sure:
            return _kept(question, _foretelling(state, also), told.value)
        heard = {"key": question.key, "value": told.value, "also": also}
        return Taken(FormOutcome.ASK, state.at(state.step, **{HEARD: heard}))

    def _typed(
        self,
        question: FormQuestion,
        state: State,
        text: str,
        facts: Facts,
        *,
        sentences: bool,
    ) -> Taken:
        setting = Setting(state.answers.get("given", {}), facts)
        if _heard_at(state) is not None:
            said = read_choice(text, ("yes", "no"), setting.spoken("yes_no"))
            if isinstance(said, str):
                return self._said_back(question, state, HEARD_YES if said == "yes" else HEARD_NO)
            state = _unheard(state)
        asked_for = command_of(text, facts.me.role, facts.reference.commands)
        command = asked_for is not None
        client = facts.me.role is Role.CLIENT
        wrong = asked_for is not None and (asked_for.args.keys() & TAKES_BACK)
        if client and wrong and setting.given:
            # "Oops" in the middle of a form means the answer before.
            return Taken(FormOutcome.BACK, state)
        steer = _steering(question, text, setting)
        if client and question_asked(text, facts.reference.questions):
            return Taken(FormOutcome.NOT_MINE, state)
        if question.free and (command or steer):
            return _steered(question, state, steer) if steer else Taken(FormOutcome.NOT_MINE, state)
        if question.many:
            return self._typed_ticks(question, state, text, setting, steer=steer, command=command)
        heard = self._heard(question, state, text, setting) if sentences and question.free else None
        if heard is not None:
            return heard
        taken = self._read(question, state, text, facts)
        if taken.outcome is FormOutcome.ANSWERED:
            return taken
        if steer:
            return _steered(question, state, steer)
        wishes = self.leaves_words and wish_of(text, facts.reference.wishes) is not None
        if sentences and not command and not wishes:
            heard = self._heard(question, state, text, setting)
            if heard is not None:
                return heard
        left = command or (self.leaves_words and bool(question.options(setting)))
        return Taken(FormOutcome.NOT_MINE, state) if left else taken

    def _typed_ticks(
        self,
        question: FormQuestion,
        state: State,
        text: str,
        setting: Setting,
        *,
        steer: str,
        command: bool,
    ) -> Taken:
        if question.read_items is not None and not steer and not command:
            none = question.sentence(text, setting)
            if none is not None and none.value == []:
                return _kept(question, state, [])
            items = question.read_items(text, setting)
            if not items:
                return Taken(FormOutcome.ASK, state, again=Reask(Why.NOT_A_CHOICE, text))
            ticked = list(state.answers.get("ticked", ()))
            ticked += [item for item in items if item not in ticked]
            return Taken(FormOutcome.ASK, state.at(question.key, ticked=ticked))
        codes = [option.code for option in question.options(setting)]
        found, unknown = read_many(text, codes, setting.spoken(question.group), setting.words)
        if (unknown or not found) and not steer and not command:
            heard = self._ticks_heard(question, state, text, setting, codes)
            if heard is not None:
                return heard
        if found:
            ticked = list(state.answers.get("ticked", ()))
            ticked += [item for item in found if item not in ticked]
            again = Reask(Why.NOT_A_CHOICE, ", ".join(unknown)) if unknown else None
            return Taken(FormOutcome.ASK, state.at(question.key, ticked=ticked), again=again)
        if steer in (DONE, NONE):
            return self._ticked(question, state, steer, setting.facts)
        if steer:
            return _steered(question, state, steer)
        if command:
            return Taken(FormOutcome.NOT_MINE, state)
        return Taken(FormOutcome.ASK, state, again=Reask(Why.NOT_A_CHOICE, text))

    def _also(self, question: FormQuestion, text: str, setting: Setting) -> dict[str, JsonValue]:
        """What a sentence answers of other questions: for one with ticks, those it offers."""
        also: dict[str, JsonValue] = {}
        for key, value in question.also(text, setting).items():
            other = self.by_key[key]
            if other.many and isinstance(value, list):
                offered = {option.code for option in other.options(setting)}
                value = [code for code in value if code in offered]
            if key != question.key and value:
                also[key] = value
        return also

    def _ticks_heard(
        self,
        question: FormQuestion,
        state: State,
        text: str,
        setting: Setting,
        codes: Sequence[str],
    ) -> Taken | None:
        """Ticks told in a sentence; what belongs to later questions is kept for them."""
        told = question.sentence(text, setting)
        also = self._also(question, text, setting)
        if told is None and not also:
            return None
        state = _foretelling(state, also)
        listed = told.value if told is not None and isinstance(told.value, list) else []
        fits = [code for code in codes if code in listed]
        if fits:
            ticked = list(state.answers.get("ticked", ()))
            ticked += [item for item in fits if item not in ticked]
            return Taken(FormOutcome.ASK, state.at(question.key, ticked=ticked))
        if told is not None and not listed and not also:
            if told.sure:
                return _kept(question, state, [])
            return Taken(FormOutcome.ASK, state, again=Reask(Why.NOTHING_TICKED))
        return Taken(FormOutcome.ASK, state, again=Reask(Why.KEPT_FOR_LATER))

    def _read(self, question: FormQuestion, state: State, text: str, facts: Facts) -> Taken:
        confirmed = state.answers.get("doubted") == question.key
        value = question.read(text, Setting(state.answers.get("given", {}), facts, confirmed))
        if isinstance(value, Reask):
            # Only a doubt is settled by saying the same again; any other slip asks anew.
            doubted = question.key if value.is_doubt else ""
            return Taken(FormOutcome.ASK, state.at(state.step, doubted=doubted), again=value)
        return _kept(question, state, value)


def _own_ticks(ticked: Sequence[JsonValue]) -> dict[str, JsonValue]:
    """The ticks that are no options, by the code of their button."""
    own = [item for item in ticked if not isinstance(item, str)]
    return {f"{OWN}{number}": item for number, item in enumerate(own)}


def _stumbles(state: State) -> int:
    """How often words meant nothing at the open question."""
    told = state.answers.get(STUMBLES)
    return int(told["count"]) if told is not None and told["key"] == state.step else 0


def _heard_at(state: State) -> JsonValue:
    """The answer that was said back at the open question, if one was."""
    heard = state.answers.get(HEARD)
    return heard if heard is not None and heard["key"] == state.step else None


def _unheard(state: State) -> State:
    """The state without an answer that was said back."""
    return state.at(state.step, **{HEARD: None}) if state.answers.get(HEARD) else state


def _foretelling(state: State, also: Mapping[str, JsonValue]) -> State:
    """The state with what was told for other questions."""
    kept = dict(state.answers.get(FORETOLD, {}))
    for key, value in also.items():
        before = kept.get(key)
        joined = value
        if isinstance(before, list) and isinstance(value, list):
            joined = [*before, *(one for one in value if one not in before)]
        kept[key] = joined
    return state.at(state.step, **{FORETOLD: kept}) if also else state


def _before(key: str, asked: Sequence[FormQuestion]) -> FormQuestion | None:
    """The question before this one among those asked, unless no "back" leads to it."""
    earlier = None
    for question in asked:
        if question.key == key:
            break
        earlier = question
    return None if earlier is not None and earlier.final else earlier


def _kept(question: FormQuestion, state: State, value: JsonValue) -> Taken:
    given = {**state.answers.get("given", {}), question.key: value}
    return Taken(FormOutcome.ANSWERED, state.at(question.key, given=given, ticked=[]), value)


def _is_kept(question: FormQuestion, code: str, state: State, facts: Facts) -> bool:
    """Whether a tap repeats what the question's kept answer says already."""
    given = state.answers.get("given", {})
    if question.key not in given:
        return False
    if question.many or code == SKIP:
        return code in (DONE, NONE, SKIP)
    return bool(question.read(code, Setting(given, facts)) == given[question.key])


def _steering(question: FormQuestion, text: str, setting: Setting) -> str:
    """The form's own word that was typed ("back"), or ""."""
    codes = [BACK]
    codes += [SKIP] if question.skippable else []
    codes += [DONE, NONE] if question.many else []
    code = read_choice(text, codes, setting.spoken("form"))
    return "" if isinstance(code, Reask) else code


def _steered(question: FormQuestion, state: State, steer: str) -> Taken:
    if steer == SKIP:
        return _kept(question, state, None)
    return Taken(FormOutcome.BACK, state)
