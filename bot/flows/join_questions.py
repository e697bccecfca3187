"""The joining questions, in order. Their wording is templates, the names of choices names.yaml."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from rapidfuzz import fuzz, process

from bot.flows.questions import Form, Option, Question, Setting, choice, many, yes_no
from bot.flows.typed import (
    CLOSE_ENOUGH,
    Reask,
    Why,
    plain_words,
    read_choice,
    read_clock,
    read_day,
    read_length,
    read_many,
    read_mass,
    read_number,
    read_phone,
    read_stature,
    read_words,
    read_year,
)
from core.screening import ScreeningSign
from core.vocabulary import Band, Condition, Medicine, Sex, Spare

YOUNGEST, OLDEST = 16, 110
CHECKIN_BETWEEN = ("04:00", "20:00")
PACEMAKER_HEALS = timedelta(weeks=6)
NO_SURFACE = 0
"""Kept for "I have none"; the kit then lacks it."""

CONDITIONS_HEART = (
    Condition.HEART,
    Condition.HEART_FAILURE,
    Condition.ANGINA,
    Condition.PRESSURE,
    Condition.RHYTHM,
    Condition.PACEMAKER,
    Condition.STROKE,
    Condition.HEART_TRANSPLANT,
)
CONDITIONS_OTHER = tuple(item for item in Condition if item not in CONDITIONS_HEART)
MEDICINES_HEART = (
    Medicine.BETA_BLOCKER,
    Medicine.ACE_OR_ARB,
    Medicine.CALCIUM_BLOCKER,
    Medicine.RATE_CALCIUM_BLOCKER,
    Medicine.DIURETIC,
    Medicine.NITRATE,
    Medicine.DIGOXIN,
    Medicine.IVABRADINE,
    Medicine.RHYTHM_MEDICINE,
    Medicine.ALPHA_BLOCKER,
    Medicine.CENTRAL_PRESSURE,
    Medicine.BLOOD_THINNER,
)
MEDICINES_BREATH = (
    Medicine.RELIEVER_INHALER,
    Medicine.LONG_ACTING_INHALER,
    Medicine.ANTICHOLINERGIC_INHALER,
    Medicine.THEOPHYLLINE,
    Medicine.INSULIN,
    Medicine.SULFONYLUREA,
)
MEDICINES_OTHER = tuple(
    item for item in Medicine if item not in (*MEDICINES_HEART, *MEDICINES_BREATH, Medicine.UNKNOWN)
)
SPARES = tuple(item for item in Spare if item is not Spare.FLOOR)
JOINTS = (
    "left knee",
    "right knee",
    "left hip",
    "right hip",
    "left shoulder",
    "right shoulder",
    "other joint",
)
DAYS = ("135", "246", "14", "25", "own")
WEEK = ("1", "2", "3", "4", "5", "6", "7")


def _country(text: str, setting: Setting) -> Any:
    """A country's code, by its code, its name or another name for it."""
    countries = setting.facts.reference.countries
    if text in countries:
        return text
    said = plain_words(text)
    named = {plain_words(country.name): country.code for country in countries.values()}
    for country in countries.values():
        named.update({plain_words(name): country.code for name in country.also})
    if said in named:
        return named[said]
    if len(said) > 3:
        near = process.extractOne(said, list(named), scorer=fuzz.ratio, score_cutoff=CLOSE_ENOUGH)
        if near:
            return named[near[0]]
    return Reask(Why.UNKNOWN_COUNTRY, text)


def _common_countries(setting: Setting) -> Sequence[Option]:
    countries = setting.facts.reference.countries.values()
    return [Option(country.code, country.name) for country in countries if country.common]


def _zone(text: str, setting: Setting) -> Any:
    """A time zone, by its name or that of a town in it."""
    zones = setting.country.zones
    if text in {zone for _town, zone in zones}:
        return text
    said = plain_words(text)
    towns = dict(setting.facts.reference.zones_by_town)
    own = {part: zone for town, zone in zones for part in plain_words(town).split(" or ")}
    towns.update(own)
    if said in towns:
        return towns[said]
    near = process.extractOne(said, list(own), scorer=fuzz.ratio, score_cutoff=CLOSE_ENOUGH)
    return own[near[0]] if near else Reask(Why.UNKNOWN_TOWN, text)


def _zones(setting: Setting) -> Sequence[Option]:
    return [Option(zone, town) for town, zone in setting.country.zones]


def _called(text: str, setting: Setting) -> Any:
    return setting.facts.me.name if text == "keep" else read_words(text, 40)


def _name_known(setting: Setting) -> Sequence[Option]:
    name = setting.facts.me.name
    return [Option("keep", name)] if name else []


def _contact_phone(text: str, setting: Setting) -> Any:
    phone = read_phone(text)
    if isinstance(phone, str) and phone == setting.given.get("phone"):
        return Reask(Why.OWN_PHONE, text)
    return phone


def _birth_year(text: str, setting: Setting) -> Any:
    year = setting.today.year
    return read_year(text, year - OLDEST, year - YOUNGEST)


def _pacemaker(text: str, setting: Setting) -> Any:
    """The latest day on which it can have been put in: the careful reading."""
    code = read_choice(text, ("recent", "longer"), setting.spoken("pacemaker"))
    if code == "recent":
        return setting.today.isoformat()
    if code == "longer":
        return (setting.today - PACEMAKER_HEALS).isoformat()
    return read_day(text, setting.today)


def _doctor_said(text: str, setting: Setting) -> Any:
    if read_choice(text, ("never",), setting.spoken("doctor_said")) == "never":
        return "never"
    return read_day(text, setting.today)


def _length(low: float, high: float) -> Any:
    def read(text: str, setting: Setting) -> Any:
        if read_choice(text, ("none",), setting.spoken("no_kit")) == "none":
            return NO_SURFACE
        return read_length(text, low, high)

    return read


def _bottle(text: str, setting: Setting) -> Any:
    if read_choice(text, ("none",), setting.spoken("no_kit")) == "none":
        return NO_SURFACE
    pounds = "lb" in text.casefold() or "pound" in text.casefold()
    value = read_number(text, 0.2, 40 if pounds else 20)
    return value if isinstance(value, Reask) or not pounds else round(value * 0.4536, 1)


def _surface(key: str, low: float, high: float, usual: Sequence[int]) -> Question:
    """A height in cm: the usual ones as buttons, any other typed."""
    options = (*(Option(str(cm), f"{cm} cm") for cm in usual), Option("none"))
    return Question(
        key,
        "home",
        _length(low, high),
        group="no_kit",
        options=lambda _setting: options,
        skippable=True,
        columns=3,
    )


def _bottles(_setting: Setting) -> Sequence[Option]:
    sizes = ("0.5", "1", "1.5", "2", "3")
    return (*(Option(size, f"{size} kg") for size in sizes), Option("none"))


def _clocks(_setting: Setting) -> Sequence[Option]:
    clocks = ("06:30", "07:00", "07:30", "08:00", "08:30", "09:00")
    return [Option(clock.replace(":", ""), clock) for clock in clocks]


def _days(text: str, setting: Setting) -> Any:
    """A usual set of days by its code, or the days that were typed."""
    code = read_choice(text, DAYS, setting.spoken("days"))
    if isinstance(code, str):
        return code
    found, unknown = read_many(text, WEEK, setting.spoken("day"))
    return "".join(sorted(found)) if found and not unknown else code


def conditions_given(given: Any) -> frozenset[Condition]:
    """All conditions among the answers so far."""
    named = [*(given.get("conditions_heart") or ()), *(given.get("conditions_other") or ())]
    return frozenset(Condition(item) for item in named)


def _has(*wanted: Condition) -> Any:
    def when(setting: Setting) -> bool:
        return bool(conditions_given(setting.given) & set(wanted))

    return when


def _takes_some(setting: Setting) -> bool:
    return setting.given.get("medicines_any") == "some"


def _doctor_matters(setting: Setting) -> bool:
    return bool(conditions_given(setting.given) or setting.given.get("screening_signs"))


def _doctor_spoke(setting: Setting) -> bool:
    return _doctor_matters(setting) and setting.given.get("doctor_said") not in (None, "never")


def _many_zones(setting: Setting) -> bool:
    return len(setting.country.zones) > 1


def _words(key: str, section: str, longest: int, **more: Any) -> Question:
    def read(text: str, _setting: Setting) -> Any:
        return read_words(text, longest)

    return Question(key, section, read, free=True, **more)


def _medicines(key: str, classes: Sequence[Medicine]) -> Question:
    codes = (*classes, Medicine.UNKNOWN)
    return many(key, "medicines", "medicine", codes, when=_takes_some)


QUESTIONS = (
    choice("consent", "you", "consent", ("agree", "decline")),
    Question("country", "you", _country, options=_common_countries, columns=2),
    yes_no("country_right", "you"),
    Question("zone", "you", _zone, options=_zones, when=_many_zones),
    Question("called", "you", _called, options=_name_known, free=True),
    Question("phone", "you", lambda text, _setting: read_phone(text), asks_contact=True),
    _words("home", "you", 200),
    _words("contact_name", "you", 80),
    Question("contact_phone", "you", _contact_phone, asks_contact=True),
    Question("birth_year", "you", _birth_year),
    choice("sex", "you", "sex", (Sex.FEMALE, Sex.MALE), columns=2),
    many("conditions_heart", "health", "condition", CONDITIONS_HEART),
    Question(
        "pacemaker_on",
        "health",
        _pacemaker,
        group="pacemaker",
        options=lambda _setting: (Option("recent"), Option("longer")),
        when=_has(Condition.PACEMAKER),
    ),
    many("conditions_other", "health", "condition", CONDITIONS_OTHER),
    many(
        "replaced_joints",
        "health",
        "joint",
        JOINTS,
        when=_has(Condition.JOINT_REPLACEMENT),
        columns=2,
    ),
    _words(
        "doctor_plan",
        "health",
        1000,
        when=_has(Condition.ANGINA, Condition.ASTHMA),
        skippable=True,
    ),
    many("screening_signs", "health", "screening_sign", tuple(ScreeningSign)),
    yes_no("active", "health"),
    Question(
        "doctor_said",
        "health",
        _doctor_said,
        group="doctor_said",
        options=lambda _setting: (Option("never"),),
        when=_doctor_matters,
        skippable=True,
    ),
    yes_no("changed_since", "health", when=_doctor_spoke),
    _words("other_health", "health", 500, skippable=True),
    choice("medicines_any", "medicines", "medicines_any", ("none", "some", "not_sure")),
    _medicines("medicines_heart", MEDICINES_HEART),
    _medicines("medicines_breath", MEDICINES_BREATH),
    _medicines("medicines_other", MEDICINES_OTHER),
    many("spares", "body", "spare", SPARES, columns=2),
    yes_no("floor", "body"),
    Question("stature_cm", "body", lambda text, _setting: read_stature(text), skippable=True),
    Question(
        "mass_kg",
        "body",
        lambda text, setting: read_mass(text, setting.country.units),
        skippable=True,
    ),
    _surface("chair", 25, 75, (40, 43, 46, 50)),
    _surface("bench", 60, 130, (85, 90, 95)),
    _surface("table", 50, 110, (70, 74, 78)),
    _surface("step", 5, 45, (15, 17, 20)),
    Question(
        "bottle", "home", _bottle, group="no_kit", options=_bottles, skippable=True, columns=3
    ),
    choice("band", "home", "band", ("none", *Band)),
    yes_no("wall", "home"),
    yes_no("mat", "home"),
    Question(
        "checkin_at",
        "times",
        lambda text, _setting: read_clock(text, *CHECKIN_BETWEEN),
        options=_clocks,
        columns=3,
    ),
    Question(
        "days",
        "times",
        _days,
        group="days",
        options=lambda _setting: tuple(Option(code) for code in DAYS),
        columns=2,
    ),
    many(
        "training_days",
        "times",
        "day",
        WEEK,
        when=lambda setting: setting.given.get("days") == "own",
        columns=4,
    ),
)

JOIN_FORM = Form("join", QUESTIONS)

NEVER_SHOWN = ("consent", "country_right")
"""Questions that belong to the course of joining and are no answers of their own."""
SECTIONS = ("you", "health", "medicines", "body", "home", "times")
