"""One question of a form: what it offers, how an answer is read, when it is asked at all."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypedDict, Unpack

from bot.flows.facts import Answers, Country, Facts
from bot.flows.parsing import Reask, read_choice
from bot.flows.typed_words import TypedWords
from bot.json_values import JsonValue
from core.answers.choices import YES, choose
from core.answers.words import SentenceWords, Understood


@dataclass(frozen=True, slots=True)
class Setting:
    """What a question may look at.

    Attributes:
        given: the answers so far, by key.
        confirmed: the answer was doubted, and is given again (:attr:`Reask.is_doubt`).
    """

    given: Answers
    facts: Facts
    confirmed: bool = False

    @property
    def country(self) -> Country:
        """The country given; one without name and numbers where it is not known."""
        code = str(self.given.get("country") or "")
        return self.facts.reference.countries.get(code, Country("", ""))

    @property
    def today(self) -> date:
        """The date of the one who answers."""
        return self.facts.me.local(self.facts.now).date()

    @property
    def words(self) -> TypedWords:
        """The words in typed times, dates, sizes, numbers and lists."""
        return self.facts.reference.words

    @property
    def sentences(self) -> SentenceWords:
        """The words of answers in whole sentences."""
        return self.facts.reference.sentences

    def spoken(self, group: str) -> Mapping[str, str]:
        """What may be typed for the choices of a group."""
        return self.facts.reference.spoken.get(group, {})


@dataclass(frozen=True, slots=True)
class Option:
    """One thing to tap. Without a label, names.yaml names it by the question's group."""

    code: str
    label: str = ""


Read = Callable[[str, Setting], JsonValue | Reask]
"""The value of a tapped code or typed words: a plain JSON value, or a :class:`Reask`."""


ReadItems = Callable[[str, Setting], Sequence[JsonValue]]
"""The ticks of typed words, codes or JSON objects; none for words that say nothing."""


ReadSentence = Callable[[str, Setting], Understood[JsonValue] | None]
"""What a sentence means as an answer; what is not sure is said back."""

AlsoTold = Callable[[str, Setting], Mapping[str, JsonValue]]
"""Other answers in the same words, by the key of their question: codes for one with ticks."""


def never_read(_text: str, _setting: Setting) -> None:
    """For questions whose answers are not looked for in sentences."""


def nothing_also(_text: str, _setting: Setting) -> Mapping[str, JsonValue]:
    """For questions beside which nothing else is told."""
    return {}


def always(_setting: Setting) -> bool:
    """For questions that everybody is asked."""
    return True


def nothing_offered(_setting: Setting) -> Sequence[Option]:
    """For questions without buttons of their own."""
    return ()


@dataclass(frozen=True, slots=True)
class FormQuestion:
    """One question.

    Attributes:
        key: where the answer is kept; its template is ``join/<key>`` or the like.
        section: part of the form that it belongs to, for lists.
        read: see ``Read``; not used for ``many``.
        group: names.yaml group of its choices' names; "" where options carry labels.
        options: what can be tapped.
        when: whether it is asked at all, given the other answers.
        many: any number of options, ticked one by one; the value is a list of codes.
        read_items: for ``many``: typed words as ticks, codes or JSON objects of their own; without
            it only words for a code are understood.
        sentence: reads whole sentences, where ``read`` finds nothing; of a ``free`` question it is
            asked first. For ``many`` its value is a list of codes, empty for none of them.
        also: what the same sentence answers besides.
        free: words are taken as they stand.
        skippable: may stay without an answer (kept as ``None``).
        asks_contact: the chat may offer to share a phone number.
        columns: buttons in a row.
        final: once answered, no "back" leads to it.
        template: name of a template that several questions share; its key when left out.
        subject: what such a question is about, for the template.
    """

    key: str
    section: str
    read: Read
    group: str = ""
    options: Callable[[Setting], Sequence[Option]] = nothing_offered
    when: Callable[[Setting], bool] = always
    many: bool = False
    read_items: ReadItems | None = None
    sentence: ReadSentence = never_read
    also: AlsoTold = nothing_also
    free: bool = False
    skippable: bool = False
    asks_contact: bool = False
    columns: int = 1
    final: bool = False
    template: str = ""
    subject: Callable[[Setting], JsonValue] = lambda _setting: None


class QuestionParts(TypedDict, total=False):
    """What a question of one of the kinds below may have besides (see :class:`FormQuestion`)."""

    when: Callable[[Setting], bool]
    read_items: ReadItems
    sentence: ReadSentence
    also: AlsoTold
    skippable: bool
    asks_contact: bool
    columns: int
    final: bool
    template: str
    subject: Callable[[Setting], JsonValue]


def choice(
    key: str, section: str, group: str, codes: Sequence[str], **more: Unpack[QuestionParts]
) -> FormQuestion:
    """A question with one answer out of several; the value is its code."""
    offered = tuple(Option(code) for code in codes)

    def read(text: str, setting: Setting) -> str | Reask:
        return read_choice(text, codes, setting.spoken(group))

    return FormQuestion(key, section, read, group=group, options=lambda _setting: offered, **more)


def read_yes_no(text: str, setting: Setting) -> Understood[JsonValue] | None:
    """Yes or no in a sentence; more than a few words are said back."""
    told = choose(text, "yes_no", setting.sentences)
    few = len(text.split()) <= FEW_WORDS
    return None if told is None else Understood(told.value == YES, told.sure and few)


FEW_WORDS = 4
"""A longer answer to a plain question may say more than yes or no."""


def yes_no(key: str, section: str, **more: Unpack[QuestionParts]) -> FormQuestion:
    """A question whose value is True or False."""

    def read(text: str, setting: Setting) -> bool | Reask:
        code = read_choice(text, ("yes", "no"), setting.spoken("yes_no"))
        return code if isinstance(code, Reask) else code == "yes"

    offered = (Option("yes"), Option("no"))
    parts: QuestionParts = {"columns": 2, "sentence": read_yes_no, **more}
    return FormQuestion(
        key, section, read, group="yes_no", options=lambda _setting: offered, **parts
    )


def many(
    key: str, section: str, group: str, codes: Sequence[str], **more: Unpack[QuestionParts]
) -> FormQuestion:
    """A question with any number of answers; the value is a list of codes."""
    offered = tuple(Option(code) for code in codes)

    def read(text: str, setting: Setting) -> str | Reask:
        return read_choice(text, codes, setting.spoken(group))

    return FormQuestion(
        key, section, read, group=group, options=lambda _setting: offered, many=True, **more
    )
