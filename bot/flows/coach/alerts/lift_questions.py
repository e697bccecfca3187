"""Who has cleared a client, their name, and the day of it: asked before a pause is lifted.

``given["client"]`` is the client's id: what will do depends on the signs behind the pause.
"""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from bot.flows.coach.alerts.lift_ground import ground_of, newest_day
from bot.flows.coach.typed_days import order_of
from bot.flows.facts import ClientRecord
from bot.flows.form_question import FormQuestion, Option, Setting
from bot.flows.forms import Form
from bot.flows.parsing import Reask, Why, plain_words, read_exact_day, read_words
from core.vocabulary import PersonId

OWN = "own"
KINDS = ("doctor", "hospital", "nurse", "emergency_service", OWN)
"""Who may have cleared a client; "own" is the coach herself."""

OTHER_DAY = "other"
DAYS = ("today", "yesterday", OTHER_DAY)
LONGEST_NAME = 80
LONG_NAME, CAPITALS = 6, 2
"""More words than this are a name only with so many capitals after the first word."""


def _kind(text: str, setting: Setting) -> str | Reask:
    """A code of ``KINDS``. Near misses do not count: "no ambulance" is close to "an ambulance"."""
    kind = _exactly(text, KINDS, setting.spoken("cleared_by"))
    if not kind:
        return Reask(Why.NOT_A_CHOICE, text)
    ground = ground_of(_record(setting), setting.facts)
    if kind == OWN and (ground is None or ground.clinician):
        return Reask(Why.CLINICIAN_DUE)
    return kind


def _name(text: str, setting: Setting) -> str | Reask:
    words = read_words(text, LONGEST_NAME, 2)
    if isinstance(words, Reask):
        return words
    # The name of any client alone is more likely a card that was asked for than who cleared this
    # one, and a day answers the question after this.
    clients = (_record(setting), *setting.facts.clients())
    in_the_chat = (setting.facts.me.name, *(one.person.name for one in clients))
    if plain_words(words) in map(plain_words, in_the_chat) or _is_a_day(words, setting):
        return Reask(Why.NOT_A_NAME, text)
    return words if is_a_name(words, setting.spoken("no_name")) else Reask(Why.NOT_A_NAME, text)


def _is_a_day(words: str, setting: Setting) -> bool:
    """Whether words are a date and nothing else; "Dr Singh, 3 March" is none."""
    day = read_exact_day(words, _today(setting), setting.words)
    return not isinstance(day, Reask) or day.why in (Why.NOT_YET, Why.WHICH_DAY)


def is_a_name(text: str, known: Mapping[str, str]) -> bool:
    """Whether words may be somebody's name: no word of a sentence, and more than a title.

    Many words are one only where more than the first of them are written with a capital.

    Args:
        known: plain word -> "title", "role", "never", "day" or "feeling" (names.yaml, "no_name").
    """
    written = text.replace(",", " ").split()
    words = [plain_words(word) for word in written]
    if len(words) > LONG_NAME and sum(word[:1].isupper() for word in written[1:]) < CAPITALS:
        return False
    named = False
    for place, word in enumerate(words):
        code = known.get(word, "")
        if code in ("never", "feeling", "day", "role"):
            surname = place == len(words) - 1 and _after_title(place, words, known)
            short = written[place].istitle() and len(word) <= 3
            if surname and (code in ("feeling", "day") or short):
                return True
            if code != "role":
                return False
        elif not code:
            named = named or len({letter for letter in word if letter.isalpha()}) > 1
    return named


def _after_title(place: int, words: Sequence[str], known: Mapping[str, str]) -> bool:
    return place > 0 and known.get(words[place - 1]) == "title"


def _on(text: str, setting: Setting) -> str | Reask:
    """An ISO day, or ``OTHER_DAY``."""
    code = _exactly(text, DAYS, setting.spoken("lift_day"))
    today = _today(setting)
    if code == OTHER_DAY:
        return code
    if code:
        return _late_enough(today - timedelta(days=DAYS.index(code)), text, setting)
    return _typed_day(text, setting)


def _typed_day(text: str, setting: Setting) -> str | Reask:
    day = read_exact_day(text, _today(setting), setting.words, order_of(setting.facts))
    return day if isinstance(day, Reask) else _late_enough(date.fromisoformat(day), text, setting)


def _late_enough(day: date, text: str, setting: Setting) -> str | Reask:
    record = _record(setting)
    ground = ground_of(record, setting.facts)
    if ground is not None and day < newest_day(ground, record):
        return Reask(Why.BEFORE_THE_SIGN, text)
    return day.isoformat()


def _exactly(text: str, codes: Sequence[str], spoken: Mapping[str, str]) -> str:
    """The code that was tapped, or typed in words that mean nothing else; else ""."""
    code = text if text in codes else spoken.get(plain_words(text), "")
    return code if code in codes else ""


def _record(setting: Setting) -> ClientRecord:
    return setting.facts.client(PersonId(int(setting.given["client"])))


def _today(setting: Setting) -> date:
    """The client's date: there the sign was told, and there somebody looked."""
    return _record(setting).person.local(setting.facts.now).date()


def _somebody_else(setting: Setting) -> bool:
    return setting.given.get("kind") != OWN


def _on_another_day(setting: Setting) -> bool:
    return setting.given.get("on") == OTHER_DAY


LIFT_FORM = Form(
    "coach/lift",
    (
        FormQuestion(
            "kind",
            "lift",
            _kind,
            group="cleared_by",
            options=lambda _setting: [Option(kind) for kind in KINDS],
            columns=2,
        ),
        FormQuestion("who", "lift", _name, when=_somebody_else, free=True),
        FormQuestion(
            "on",
            "lift",
            _on,
            group="lift_day",
            options=lambda _setting: [Option(day) for day in DAYS],
            columns=2,
        ),
        FormQuestion("day", "lift", _typed_day, when=_on_another_day),
    ),
)
