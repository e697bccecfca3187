"""Turning what is to be said into final words: Jinja2 templates and lists of words.

A template holds the text, then, after a line of ``---``, the labels of its buttons as
``value: label`` lines. Undefined values fail. Common labels stand in ``labels.j2``.
"""

import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from jinja2 import (
    BytecodeCache,
    DictLoader,
    Environment,
    StrictUndefined,
    TemplateError,
    UndefinedError,
    pass_context,
)
from jinja2 import __version__ as jinja_version
from jinja2.bccache import Bucket
from jinja2.runtime import Context

from bot.errors import WordsError
from bot.flows.facts import ClientRecord
from bot.flows.forms import ASKED
from bot.flows.machine import MOVEMENT_LABEL, Button, Say
from bot.messages import Outgoing, ReplyButton
from bot.phone_numbers import shown_to
from bot.reference.catalogue import LANGUAGE
from bot.reference.kept_files import keep, kept
from bot.reference.movement_words import Movements, SpokenMovement
from bot.reference.parsed_files import parsed_text
from core.movements.catalogue import Setting

LABELS_FROM = "\n---\n"
LONGEST_VALUE = 64
"""Bytes that a button may send back (the smallest limit of our channels)."""


@dataclass(frozen=True, slots=True)
class Rendered:
    """A template in final words.

    Attributes:
        labels: button value -> label, as far as the template names them.
    """

    text: str
    labels: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Later:
    """A value that is found out only when a template names it."""

    find: Callable[[], Any]


class _FindsLater(Context):
    """What a template is rendered with."""

    def resolve_or_missing(self, key: str) -> Any:
        """The value of a name."""
        found = super().resolve_or_missing(key)
        return found.find() if isinstance(found, Later) else found


class Words:
    """All templates and word lists of one language."""

    def __init__(self, movements: Movements, folder: Path = LANGUAGE) -> None:
        """``folder``: of one language."""
        self._movements = movements
        self.folder = folder
        # Read now, not at the first use: a message must not depend on files that cannot be opened
        # while it is written (too many open files, an upgrade that replaces them).
        self._lists = _texts_in(self.folder.rglob("*.yaml"), self.folder)
        self._environment = Environment(
            loader=DictLoader(_texts_in(self.folder.rglob("*.j2"), self.folder)),
            bytecode_cache=_KeptTemplates(self.folder),
            undefined=StrictUndefined,
            autoescape=False,  # noqa: S701 - plain text; each channel escapes for itself
            trim_blocks=True,
            lstrip_blocks=True,
            # There are fewer than 1,000.
            auto_reload=False,
            cache_size=1000,
        )
        self._environment.context_class = _FindsLater
        self._environment.globals["words"] = self.word
        self._environment.globals["reason"] = self.reason
        self._environment.globals["movement"] = self.movement
        self._environment.globals["caution"] = movements.caution
        self._environment.globals["day_names"] = self._day_names
        self._environment.globals["names"] = self._sign_names
        self._environment.globals["health"] = self._health
        self._environment.filters["spoken"] = _when_said(self._spoken)
        self._environment.filters["dialled"] = _when_said(shown_to)
        self._environment.filters["family_name"] = _when_said(self._family_name)
        self._list = cache(self._read_list)
        self._compiled = cache(self._environment.from_string)
        shared = self._environment.get_template("phrases.j2").module
        for name, macro in vars(shared).items():
            if callable(macro) and not name.startswith("_"):
                self._environment.globals[name] = macro

    def render(self, template: str, values: Mapping[str, Any]) -> Rendered:
        """The final words of a template.

        Raises:
            WordsError: no such template, or a value it names is missing.
        """
        try:
            whole = self._environment.get_template(f"{template}.j2").render(values)
        except (TemplateError, UndefinedError) as error:
            raise WordsError(f"template {template}: {error!r}") from error
        body, _, labels = f"{whole}\n".partition(LABELS_FROM)
        return Rendered(_tidy(body), _labels(labels))

    def page(self, template: str, values: Mapping[str, Any]) -> str:
        """A whole HTML page; everything that the template does not write itself is escaped.

        Raises:
            WordsError: no such template, or a value it names is missing.
        """
        try:
            return self._pages.get_template(f"{template}.j2").render(values)
        except (TemplateError, UndefinedError) as error:
            raise WordsError(f"template {template}: {error!r}") from error

    @cached_property
    def _pages(self) -> Environment:
        return self._environment.overlay(autoescape=True)

    def say(
        self,
        say: Say,
        values: Mapping[str, Any],
        *,
        tap: Callable[[Button], str],
        picture: str = "",
        picture_text: str = "",
    ) -> Outgoing:
        """A message in final words.

        Args:
            values: what every template may use, beside the message's own values; a :class:`Later`
                is found out where the template names it.
            tap: what a button sends back.
            picture: content id of its picture, or "".
        """
        rendered = self.render(say.template, {**values, **say.values})
        country = getattr(values.get("country"), "code", "")
        rows = tuple(
            tuple(
                replace(choice, label=self.as_called_in(country, choice.label))
                for choice in (self._choice(one, rendered, say.template, tap) for one in row)
            )
            for row in say.rows
            if row
        )
        return Outgoing(
            text=self.as_called_in(country, rendered.text),
            choices=rows,
            picture=picture,
            picture_text=self.as_called_in(country, picture_text),
            document=say.document,
            asks_contact=say.asks_contact,
        )

    def as_called_in(self, country: str, text: str) -> str:
        """A text with the words of a country for things ("worktop"); quoted words stay."""
        called = self._list("regional").get(country)
        if not called:
            return text

        def theirs(found: re.Match[str]) -> str:
            ours = found[0]
            word = str(called.get(ours.lower(), ours))
            return word.capitalize() if ours[0].isupper() else word

        return re.sub(
            "“[^”]*”|" + "|".join(rf"\b{one}\b" for one in called),
            theirs,
            text,
            flags=re.IGNORECASE,
        )

    def word(self, name: str, *keys: str) -> Any:
        """An entry of a word list: ``word("names", "sign", "chest_pain")`` reads names.yaml.

        Raises:
            WordsError: no such list or entry.
        """
        entry: Any = self._list(name)
        for key in keys:
            if not isinstance(entry, Mapping) or key not in entry:
                raise WordsError(f"{name}.yaml has no entry {'.'.join(keys)}")
            entry = entry[key]
        return entry

    def reason(self, group: str, code: str, numbers: Mapping[str, Any] | None = None) -> str:
        """One sentence for a reason code: ``templates/<language>/reasons/<group>.yaml``.

        Raises:
            WordsError: the code has no sentence, or the sentence lacks a number.
        """
        sentence = self.word(f"reasons/{group}", code)
        try:
            return self._compiled(str(sentence)).render(numbers or {}).strip()
        except (TemplateError, UndefinedError) as error:
            raise WordsError(f"reasons/{group}.yaml, {code}: {error!r}") from error

    def movement(
        self, rung: str, setting: Setting = (), also: Collection[str] = ()
    ) -> SpokenMovement:
        """The words of a movement: a rung of the catalogue with its dial settings.

        Args:
            also: dials that are said where they stand plain, too.

        Raises:
            WordsError: the rung has no words.
        """
        return self._movements.spoken(rung, setting, also)

    def _day_names(self, days: Sequence[int]) -> list[str]:
        return [self.word("names", "day", str(day), "full") for day in days]

    def _spoken(self, items: Sequence[str], last: str = "") -> str:
        return spoken_list(items, last or self.word("phrases", "last_of_list"))

    def _family_name(self, family: str) -> str:
        return str(self.word("names", "family", family))

    def _sign_names(self, signs: Sequence[str]) -> list[str]:
        return [self.word("names", "sign", sign) for sign in signs]

    def _health(self, record: ClientRecord) -> list[str]:
        """Conditions and medicines that matter in an emergency, in the coach's words."""
        client = record.client
        entries = [
            *(("condition", code.value) for code in sorted(client.conditions)),
            *(("medicine", code.value) for code in sorted(client.medicines)),
        ]
        found = [self.word("names", kind, code) for kind, code in entries]
        return [str(entry.get("coach") or entry["label"]) for entry in found]

    def _choice(
        self, button: Button, rendered: Rendered, template: str, tap: Callable[[Button], str]
    ) -> ReplyButton:
        # A button of a form names its question first ("floor~yes"); labels go by what follows.
        code = button.value.rpartition(ASKED)[2]
        label = self._named(button.label) or rendered.labels.get(code) or self._common(code)
        if not label:
            raise WordsError(f"template {template} has no label for the button {button.value}")
        value = tap(button)
        if len(value.encode()) > LONGEST_VALUE:
            raise WordsError(f"template {template}: the button {value} is too long")
        return ReplyButton(label, value, button.copies)

    def _named(self, label: str) -> str:
        """A label that names a rung, in words; any other as it is."""
        if not label.startswith(MOVEMENT_LABEL):
            return label
        _, _, rung = label.removeprefix(MOVEMENT_LABEL).partition("/")
        return self._movements.spoken(rung).name

    def _common(self, value: str) -> str:
        return self._shared_labels.get(value, "")

    @cached_property
    def _shared_labels(self) -> Mapping[str, str]:
        return self.render("labels", {}).labels

    def _read_list(self, name: str) -> Any:
        file = f"{name}.yaml"
        text = self._lists.get(file)
        if text is None:
            raise WordsError(f"the word list {file} is missing")
        return parsed_text(self.folder / file, text)


def _when_said(words: Callable[..., str]) -> Callable[..., str]:
    """A filter that is asked each time: no word of another file gets into a kept template."""

    @pass_context
    def ask(_context: Context, *given: Any, **named: Any) -> str:
        return words(*given, **named)

    return ask


class _KeptTemplates(BytecodeCache):
    """Compiled templates, kept beside the program's own: a first message waits for no compiler."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def load_bytecode(self, bucket: Bucket) -> None:
        code = kept(self._folder / bucket.key, _made_of(bucket))
        if code is not None:
            bucket.bytecode_from_string(code)

    def dump_bytecode(self, bucket: Bucket) -> None:
        keep(self._folder / bucket.key, _made_of(bucket), bucket.bytecode_to_string())


def _made_of(bucket: Bucket) -> str:
    """A template's text, by its digest, and what else decides about its code."""
    by = bucket.environment
    ways = (by.trim_blocks, by.lstrip_blocks, by.autoescape, by.undefined.__name__)
    return f"jinja {jinja_version}, {ways}\n{bucket.checksum}"


def _texts_in(files: Iterable[Path], folder: Path) -> Mapping[str, str]:
    """Each file's text, by its path below ``folder``."""
    return {file.relative_to(folder).as_posix(): file.read_text("utf-8") for file in files}


def spoken_list(items: Sequence[str], last: str) -> str:
    """Items as they are spoken: "a, b and c"."""
    parts = [item for item in items if item]
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} {last} {parts[-1]}"


def _labels(lines: str) -> dict[str, str]:
    found = {}
    for line in lines.splitlines():
        value, colon, label = f"{line} ".partition(": ")
        if colon and value.strip():
            found[value.strip()] = label.strip()
    return found


def _tidy(text: str) -> str:
    """No space at line ends, at most one empty line in a row."""
    lines = [line.rstrip() for line in text.strip().splitlines()]
    kept = [line for line, before in zip(lines, ["x", *lines], strict=False) if line or before]
    return "\n".join(kept)
