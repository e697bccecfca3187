"""How each joining question is answered in whole sentences, and what else they tell.

What is told of a later question (a medicine beside a condition, the phone beside the name) is kept
for it: ticks are there already when it comes, and a phone is asked about no more.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from bot.flows.form_question import Setting
from bot.flows.joining.phones import read_contact_phone
from bot.flows.joining.plausible import answers_something_else
from bot.flows.joining.reading import read_zone
from bot.flows.parsing import Reask
from bot.json_values import JsonValue
from core.answers.body import read_birth_year, read_height, read_weight
from core.answers.choices import NO, choose, lives_alone
from core.answers.counts import read_falls
from core.answers.health import Codes, read_conditions, read_medicines, read_operations
from core.answers.moments import read_date, read_time, read_weekdays
from core.answers.names import phone_in, read_contact, read_name
from core.answers.places import read_country
from core.answers.plain import bare
from core.answers.words import Understood

Heard = Understood[JsonValue] | None

YOUNGEST, OLDEST = 16, 110
MOST_NAME_WORDS = 4
"""Words of a name that is taken as it stands."""

CONDITION_QUESTIONS = ("conditions_heart", "conditions_other")
MEDICINE_QUESTIONS = ("medicines_heart", "medicines_breath", "medicines_other")


def consent(text: str, setting: Setting) -> Heard:
    """Whether somebody agrees ("Yes, I agree to that, thank you.")."""
    told = choose(text, "agree", setting.sentences)
    return (
        None if told is None else Understood("decline" if told.value == NO else "agree", told.sure)
    )


def country(text: str, setting: Setting) -> Heard:
    """ "I live in England."; the next question asks whether it is right."""
    told = read_country(text, setting.sentences)
    known = setting.facts.reference.countries
    return None if told is None or told.value not in known else Understood(told.value)


def country_also(text: str, setting: Setting) -> Mapping[str, JsonValue]:
    """The clock of a town told with its country ("Nelson in New Zealand")."""
    told = country(text, setting)
    if told is None:
        return {}
    here = replace(setting, given={**setting.given, "country": told.value})
    town = " ".join(_without_countries(bare(text), setting))
    zone = read_zone(town, here) if len(here.country.zones) > 1 and town else None
    return {} if zone is None or isinstance(zone, Reask) else {"zone": zone}


def _without_countries(said: Sequence[str], setting: Setting) -> list[str]:
    """Words without names of countries."""
    kept = list(said)
    for hit in reversed(setting.sentences.lists["country_names"].hits(said)):
        del kept[hit.start : hit.end]
    return kept


def called(text: str, setting: Setting) -> Heard:
    """ "You may call me Bernie"; a bare name stays as it was typed."""
    told = read_name(text, setting.sentences)
    if told is None or told.sure or answers_something_else(text, setting):
        return None
    return Understood(told.value, sure=False)


def contact_name(text: str, setting: Setting) -> Heard:
    """A name with who they are, out of a sentence; a few words stay as they were typed."""
    told = read_contact(text, setting.sentences)
    if told is None or not told.value.name:
        return None
    one = told.value
    if not one.phone and len(text.split()) <= MOST_NAME_WORDS:
        return None
    return Understood(f"{one.name}, {one.relation}" if one.relation else one.name, sure=False)


def contact_also(text: str, setting: Setting) -> Mapping[str, JsonValue]:
    """The phone that was told with the name."""
    phone = phone_in(text, setting.sentences)
    read = read_contact_phone(phone, setting) if phone else None
    return {} if read is None or isinstance(read, Reask) else {"contact_phone": read}


def contact_phone(text: str, setting: Setting) -> Heard:
    """A phone number in a sentence."""
    phone = phone_in(text, setting.sentences)
    read = read_contact_phone(phone, setting) if phone else None
    return None if read is None or isinstance(read, Reask) else Understood(read, sure=False)


def birth_year(text: str, setting: Setting) -> Heard:
    """A year of birth; an age is no answer."""
    year = setting.today.year
    told = read_birth_year(text, year - OLDEST, year - YOUNGEST, setting.sentences)
    return _as_json(told)


def sex(text: str, setting: Setting) -> Heard:
    """A woman or a man ("I am a woman.")."""
    return _as_json(choose(text, "sex", setting.sentences))


def conditions(text: str, setting: Setting) -> Heard:
    """Conditions as ticks."""
    return _listed(read_conditions(text, setting.sentences))


def medicines(text: str, setting: Setting) -> Heard:
    """Medicines as ticks."""
    return _listed(read_medicines(text, setting.sentences))


def medicines_any(text: str, setting: Setting) -> Heard:
    """Whether any medicine is taken."""
    told = read_medicines(text, setting.sentences)
    if told is None:
        plain = choose(text, "yes_no", setting.sentences)
        return (
            None
            if plain is None
            else Understood("none" if plain.value == NO else "some", plain.sure)
        )
    # Some is the careful answer; none is said back where it may be meant otherwise.
    return Understood("some") if told.value else Understood("none", told.sure)


def health_also(text: str, setting: Setting) -> Mapping[str, JsonValue]:
    """Conditions and medicines for the questions that are still to come."""
    told: dict[str, JsonValue] = {}
    for questions, read in (
        (CONDITION_QUESTIONS, read_conditions(text, setting.sentences)),
        (MEDICINE_QUESTIONS, read_medicines(text, setting.sentences)),
    ):
        if read is not None and read.value:
            told |= {key: list(read.value) for key in questions if key not in setting.given}
    return told


def alone(text: str, setting: Setting) -> Heard:
    """Whether somebody lives alone."""
    return _as_json(lives_alone(text, setting.sentences))


def falls(text: str, setting: Setting) -> Heard:
    """How often somebody fell."""
    return _as_json(read_falls(text, setting.sentences))


def stature(text: str, setting: Setting) -> Heard:
    """A height in cm."""
    return _rounded(read_height(text, setting.sentences))


def mass(text: str, setting: Setting) -> Heard:
    """A weight in kg."""
    return _rounded(read_weight(text, setting.country.units, setting.sentences))


def clock(earliest: str, latest: str, text: str, setting: Setting) -> Heard:
    """A time between two others, as "HH:MM"."""
    told = read_time(text, setting.sentences)
    return _as_json(told) if told is not None and earliest <= told.value <= latest else None


def days(text: str, setting: Setting) -> Heard:
    """Days of the week as their numbers in one text ("135")."""
    told = read_weekdays(text, setting.sentences)
    return None if told is None else Understood("".join(map(str, told.value)), told.sure)


def training_days(text: str, setting: Setting) -> Heard:
    """Days of the week as ticks."""
    told = read_weekdays(text, setting.sentences)
    return None if told is None else Understood([str(day) for day in told.value], told.sure)


def doctor_said(text: str, setting: Setting) -> Heard:
    """The day of a doctor's word, the latest that the words can mean, or "never"."""
    told = read_date(text, setting.today, setting.sentences)
    if told is not None:
        latest = _latest_of(told.value)
        return Understood(min(latest, setting.today).isoformat(), sure=False)
    plain = choose(text, "yes_no", setting.sentences)
    return Understood("never", plain.sure) if plain is not None and plain.value == NO else None


def day(text: str, setting: Setting) -> Heard:
    """A day or a month that is past."""
    told = read_date(text, setting.today, setting.sentences)
    if told is None or told.value > setting.today.isoformat():
        return None
    return _as_json(told)


def no_operations(text: str, setting: Setting) -> Heard:
    """That nothing was operated or replaced, where a sentence plainly says so."""
    told = read_operations(text, setting.sentences)
    return Understood([]) if told is not None and not told.value and told.sure else None


def names_an_operation(words: str, setting: Setting) -> bool:
    """Whether words name something that was done to the body."""
    return setting.sentences.lists["operations"].stands_in(bare(words))


def _latest_of(told: str) -> date:
    """The last day of a month; a day is itself."""
    if len(told) > len("2026-09"):
        return date.fromisoformat(told)
    first = date.fromisoformat(f"{told}-01")
    return (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)


def _listed(told: Understood[Codes] | None) -> Heard:
    return None if told is None else Understood(list(told.value), told.sure)


def _rounded(told: Understood[float] | None) -> Heard:
    return None if told is None else Understood(round(told.value, 1), told.sure)


def _as_json(told: Understood[str] | Understood[int] | Understood[bool] | None) -> Heard:
    return None if told is None else Understood(told.value, told.sure)
