"""How each joining answer is read from a tapped code or typed words, and what is offered."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from rapidfuzz import fuzz, process

from bot.flows.form_question import Option, Setting
from bot.flows.joining.plausible import answers_something_else
from bot.flows.parsing import (
    CLOSE_ENOUGH,
    KG_PER_POUND,
    Reask,
    Why,
    meant_by,
    plain_words,
    read_choice,
    read_day,
    read_length,
    read_many,
    read_number,
    read_words,
    read_year,
)
from core.answers.said import clauses
from core.client.own_aim import OwnAim
from core.vocabulary import Role

YOUNGEST, OLDEST = 16, 110
LONGEST_HOME, LONGEST_CONTACT = 200, 80
"""Letters of an address; of a contact's name."""
PACEMAKER_HEALS = timedelta(weeks=6)
HALF_A_YEAR = timedelta(days=182)
NO_SURFACE = 0
"""Kept for "I have none"; the kit then lacks it."""

DAYS = ("135", "246", "14", "25", "own")
WEEK = ("1", "2", "3", "4", "5", "6", "7")


def read_country(text: str, setting: Setting) -> str | Reask:
    """A country's code, by its code, its name or another name for it."""
    countries = setting.facts.reference.countries
    if text in countries:
        return text
    said = plain_words(text)
    named = {plain_words(country.name): country.code for country in countries.values()}
    for country in countries.values():
        named.update({plain_words(name): country.code for name in country.also})
    code = meant_by(said, named)
    return Reask(Why.UNKNOWN_COUNTRY, text) if code is None else code


def common_countries(setting: Setting) -> Sequence[Option]:
    """The countries that have a button."""
    countries = setting.facts.reference.countries.values()
    return [Option(country.code, country.name) for country in countries if country.common]


def read_zone(text: str, setting: Setting) -> str | Reask:
    """A time zone of the country, by its name or that of a town in it."""
    zones = setting.country.zones
    if text in {zone for _town, zone in zones}:
        return text
    said = plain_words(text)
    own = {part: zone for town, zone in zones for part in plain_words(town).split(" or ")}
    if said in own:
        return own[said]
    # Elsewhere there are towns of the same name: only one with a clock of this country will do.
    zone = setting.facts.reference.zones_by_town.get(said)
    if zone and any(_same_clock(zone, known, setting.facts.now) for _town, known in zones):
        return zone
    near = process.extractOne(said, list(own), scorer=fuzz.ratio, score_cutoff=CLOSE_ENOUGH)
    if near:
        return own[near[0]]
    return _zone_in_sentence(text, own, setting) or Reask(Why.UNKNOWN_TOWN, text)


def _zone_in_sentence(text: str, own: Mapping[str, str], setting: Setting) -> str:
    """The clock of the one place that a sentence names ("Nelson is the closest"), or ""."""
    said = f" {plain_words(text)} "
    words, country = setting.sentences, setting.country
    places = [
        clause
        for clause in clauses(text, words, words.towns)
        if any(hit.code == country.code for hit in words.towns.hits(clause))
    ]
    if any(words.lists["denying"].stands_in(clause) for clause in clauses(text, words)):
        return ""
    named = {zone for part, zone in own.items() if f" {part} " in said}
    # "Chathams", "Chatham Island": an island half named is no place of the mainland.
    apart = [part.split()[0] for part, zone in own.items() if zone != country.mainland]
    if country.mainland and places and not any(first in said for first in apart):
        named.add(country.mainland)
    return named.pop() if len(named) == 1 else ""


def _same_clock(zone: str, other: str, now: datetime) -> bool:
    moments = (now, now + HALF_A_YEAR)
    return all(
        moment.astimezone(ZoneInfo(zone)).utcoffset()
        == moment.astimezone(ZoneInfo(other)).utcoffset()
        for moment in moments
    )


def zones_offered(setting: Setting) -> Sequence[Option]:
    """One town for each clock of the country."""
    return [Option(zone, town) for town, zone in setting.country.zones]


def _own_name(setting: Setting) -> str:
    me = setting.facts.me
    return me.name if me.role is Role.CLIENT else str(setting.given.get("called") or "")


def read_name(text: str, setting: Setting) -> str | Reask:
    """The name known already, or another one."""
    if text == "keep":
        return _own_name(setting)
    if answers_something_else(text, setting):
        return Reask(Why.OUT_OF_RANGE, text)
    return read_words(text, 40)


def names_offered(setting: Setting) -> Sequence[Option]:
    """The name known already."""
    name = _own_name(setting)
    return [Option("keep", name)] if name else []


def read_home(text: str, setting: Setting) -> str | Reask:
    """An address as it was typed; a date or a question is none."""
    if answers_something_else(text, setting):
        return Reask(Why.OUT_OF_RANGE, text)
    return read_words(text, LONGEST_HOME)


def read_contact_name(text: str, setting: Setting) -> str | Reask:
    """Who to call, as it was typed; what is told of oneself is no name."""
    if answers_something_else(text, setting):
        return Reask(Why.NOT_A_NAME, text)
    return read_words(text, LONGEST_CONTACT)


def read_birth_year(text: str, setting: Setting) -> int | Reask:
    """A year that a grown person can be born in."""
    year = setting.today.year
    return read_year(text, year - OLDEST, year - YOUNGEST)


def read_pacemaker(text: str, setting: Setting) -> str | Reask:
    """The latest day on which it can have been put in: the careful reading."""
    code = read_choice(text, ("recent", "longer"), setting.spoken("pacemaker"))
    if code == "recent":
        return setting.today.isoformat()
    if code == "longer":
        return (setting.today - PACEMAKER_HEALS).isoformat()
    return read_day(text, setting.today, setting.words)


def read_doctor_said(text: str, setting: Setting) -> str | Reask:
    """The latest day that the words can mean, or "never"."""
    if read_choice(text, ("never",), setting.spoken("doctor_said")) == "never":
        return "never"
    return read_day(text, setting.today, setting.words)


MOST_FALLS = 50
AIM_LETTERS = 120


def read_falls(text: str, setting: Setting) -> int | Reask:
    """How often somebody fell; of more words than a number the signs are read first."""
    code = read_choice(text, ("0", "1", "2", "3"), setting.spoken("falls"))
    if isinstance(code, str):
        return int(code)
    if len(text.split()) > LONGEST_COUNT:
        return code
    number = read_number(text, 0, MOST_FALLS, setting.words.numbers)
    return number if isinstance(number, Reask) else round(number)


LONGEST_COUNT = 2
"""Words of a count that is nothing else ("4 times")."""


def read_own_aim(text: str, setting: Setting) -> str | Reask:
    """An aim that has a button, or own words."""
    code = read_choice(text, tuple(OwnAim), setting.spoken("own_aim"))
    return code if isinstance(code, str) else read_words(text, AIM_LETTERS)


def length_reader(low: float, high: float) -> Callable[[str, Setting], float | Reask]:
    """Reads a height of furniture, or that there is none."""

    def read(text: str, setting: Setting) -> float | Reask:
        if read_choice(text, ("none",), setting.spoken("no_kit")) == "none":
            return NO_SURFACE
        return read_length(text, low, high, setting.words)

    return read


def read_bottle(text: str, setting: Setting) -> float | Reask:
    """A weight in kg; pounds where they are named."""
    if read_choice(text, ("none",), setting.spoken("no_kit")) == "none":
        return NO_SURFACE
    pounds = setting.words.units.pounds.search(text.casefold()) is not None
    value = read_number(text, 0.2, 40 if pounds else 20, setting.words.numbers)
    return value if isinstance(value, Reask) or not pounds else round(value * KG_PER_POUND, 1)


def bottles_offered(_setting: Setting) -> Sequence[Option]:
    """Usual bottles and hand weights."""
    sizes = ("0.5", "1", "1.5", "2", "3")
    return (*(Option(size, f"{size} kg") for size in sizes), Option("none"))


def clocks_offered(_setting: Setting) -> Sequence[Option]:
    """Usual times of a morning."""
    clocks = ("06:30", "07:00", "07:30", "08:00", "08:30", "09:00")
    return [Option(clock.replace(":", ""), clock) for clock in clocks]


def read_days(text: str, setting: Setting) -> str | Reask:
    """A usual set of days by its code, or the days that were typed."""
    code = read_choice(text, DAYS, setting.spoken("days"))
    if isinstance(code, str):
        return code
    found, unknown = read_many(text, WEEK, setting.spoken("day"), setting.words)
    return "".join(sorted(found)) if found and not unknown else code
