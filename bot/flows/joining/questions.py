"""The joining questions, in order. Their wording is templates, the names of choices names.yaml."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Unpack

from bot.flows.facts import Answers
from bot.flows.form_question import (
    FormQuestion,
    Option,
    QuestionParts,
    Setting,
    choice,
    many,
    yes_no,
)
from bot.flows.forms import Form
from bot.flows.joining import sentences
from bot.flows.joining.operation_answers import QUESTIONS as OPERATION_QUESTIONS
from bot.flows.joining.operation_answers import operations_given
from bot.flows.joining.operations_reading import (
    JOINT_CODES,
    OPERATION_CODES,
    read_joints,
    read_other_operations,
    ticked,
)
from bot.flows.joining.phones import read_contact_phone, read_own_phone
from bot.flows.joining.reading import (
    DAYS,
    NO_SURFACE,
    WEEK,
    bottles_offered,
    clocks_offered,
    common_countries,
    length_reader,
    names_offered,
    read_birth_year,
    read_bottle,
    read_contact_name,
    read_country,
    read_days,
    read_doctor_said,
    read_falls,
    read_home,
    read_name,
    read_own_aim,
    read_pacemaker,
    read_zone,
    zones_offered,
)
from bot.flows.parsing import Reask, read_clock, read_mass, read_stature, read_words
from core.client.operations import Joint
from core.client.own_aim import OwnAim
from core.client.screening import IntensityWish, ScreeningSign
from core.movements.dials import THICKEST_CUSHION
from core.vocabulary import Band, Condition, Medicine, Sex, Spare, WalkingAid

CHECKIN_BETWEEN = ("04:00", "20:00")

CONDITIONS_HEART = (
    Condition.HEART,
    Condition.HEART_FAILURE,
    Condition.ANGINA,
    Condition.PRESSURE,
    Condition.RHYTHM,
    Condition.PACEMAKER,
    Condition.STROKE,
    Condition.HEART_TRANSPLANT,
    Condition.VALVE,
    Condition.ANEURYSM,
    Condition.LEG_ARTERIES,
    Condition.DEFIBRILLATOR,
)
CONDITIONS_OTHER = tuple(
    item for item in Condition if item not in (*CONDITIONS_HEART, Condition.JOINT_REPLACEMENT)
)
"""A replaced joint is asked about by itself, of everybody."""
OLDEST_MOTHER = 55
"""Age to which a pregnancy or a birth in the last year is asked about (common practice)."""
SEAT_CONDITIONS = frozenset(
    {
        Condition.ARTHRITIS,
        Condition.RHEUMATOID_ARTHRITIS,
        Condition.HIP_KNEE_ARTHRITIS,
        Condition.STROKE,
        Condition.PARKINSON,
        Condition.MULTIPLE_SCLEROSIS,
        Condition.OBESITY,
    }
)
"""With these, or a leg that was operated on or is spared, a fall or an aid, a cushion is asked for:
it makes the seat higher (ours)."""
LEG_JOINTS = frozenset({Joint.HIP, Joint.KNEE, Joint.ANKLE, Joint.FOOT})
FALLS = ("0", "1", "2", "3")
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
    Medicine.GLINIDE,
    Medicine.SGLT2,
)
MEDICINES_OTHER = tuple(
    item for item in Medicine if item not in (*MEDICINES_HEART, *MEDICINES_BREATH, Medicine.UNKNOWN)
)
SPARES = tuple(item for item in Spare if item is not Spare.FLOOR)


def _surface(key: str, low: float, high: float, usual: Sequence[int]) -> FormQuestion:
    """A height in cm: the usual ones as buttons, any other typed."""
    options = (*(Option(str(cm), f"{cm} cm") for cm in usual), Option("none"))
    return FormQuestion(
        key,
        "home",
        length_reader(low, high),
        group="no_kit",
        options=lambda _setting: options,
        skippable=True,
        columns=3,
    )


def conditions_given(given: Answers) -> frozenset[Condition]:
    """All conditions among the answers so far."""
    named = [*(given.get("conditions_heart") or ()), *(given.get("conditions_other") or ())]
    told = frozenset(Condition(item) for item in named)
    replaced = {Condition.JOINT_REPLACEMENT} if ticked(given.get("replaced_joints")) else set()
    return told | replaced


def _has(*wanted: Condition) -> Callable[[Setting], bool]:
    def when(setting: Setting) -> bool:
        return bool(conditions_given(setting.given) & set(wanted))

    return when


def _other_conditions(setting: Setting) -> Sequence[Option]:
    """The other conditions; pregnancy only where it can be."""
    year, sex = setting.given.get("birth_year"), setting.given.get("sex")
    too_old = year is not None and setting.today.year - int(year) > OLDEST_MOTHER
    impossible = sex == Sex.MALE or too_old
    return tuple(
        Option(item)
        for item in CONDITIONS_OTHER
        if not (impossible and item is Condition.PREGNANCY)
    )


def _takes_some(setting: Setting) -> bool:
    return setting.given.get("medicines_any") == "some"


def _is_active(setting: Setting) -> bool:
    """The table asks for the wish of those only who are active already."""
    return setting.given.get("active") is True


def _doctor_matters(setting: Setting) -> bool:
    given = setting.given
    told = given.get("screening_signs") or given.get("operations")
    return bool(told or conditions_given(given))


def _doctor_spoke(setting: Setting) -> bool:
    return _doctor_matters(setting) and setting.given.get("doctor_said") not in (None, "never")


def _seat_matters(setting: Setting) -> bool:
    """Whether a higher seat may be a help: who gets up from a chair with ease needs none."""
    given = setting.given
    legs = {one.joint for one in operations_given(given)} & {None, *LEG_JOINTS}
    spared = set(given.get("spares") or ()) & {Spare.KNEE, Spare.HIP}
    told = conditions_given(given) & SEAT_CONDITIONS
    aid = given.get("walking_aid") not in (None, WalkingAid.NONE)
    has_chair = given.get("chair") != NO_SURFACE
    return has_chair and bool(legs or spared or told or aid or given.get("falls"))


def _many_zones(setting: Setting) -> bool:
    return len(setting.country.zones) > 1


_CONDITIONS_TOLD: QuestionParts = {
    "sentence": sentences.conditions,
    "also": sentences.health_also,
}


def _words(key: str, section: str, longest: int, **more: Unpack[QuestionParts]) -> FormQuestion:
    def read(text: str, _setting: Setting) -> str | Reask:
        return read_words(text, longest)

    return FormQuestion(key, section, read, free=True, **more)


def _medicines(key: str, classes: Sequence[Medicine]) -> FormQuestion:
    codes = (*classes, Medicine.UNKNOWN)
    return many(
        key,
        "medicines",
        "medicine",
        codes,
        when=_takes_some,
        sentence=sentences.medicines,
        also=sentences.health_also,
    )


QUESTIONS = (
    choice(
        "consent",
        "you",
        "consent",
        ("agree", "decline"),
        final=True,
        sentence=sentences.consent,
    ),
    FormQuestion(
        "country",
        "you",
        read_country,
        options=common_countries,
        columns=2,
        sentence=sentences.country,
        also=sentences.country_also,
    ),
    yes_no("country_right", "you"),
    FormQuestion("zone", "you", read_zone, options=zones_offered, when=_many_zones),
    FormQuestion(
        "called",
        "you",
        read_name,
        options=names_offered,
        free=True,
        sentence=sentences.called,
    ),
    FormQuestion("phone", "you", read_own_phone, asks_contact=True),
    FormQuestion("home", "you", read_home, free=True),
    FormQuestion(
        "contact_name",
        "you",
        read_contact_name,
        free=True,
        sentence=sentences.contact_name,
        also=sentences.contact_also,
    ),
    FormQuestion(
        "contact_phone",
        "you",
        read_contact_phone,
        asks_contact=True,
        sentence=sentences.contact_phone,
    ),
    FormQuestion("birth_year", "you", read_birth_year, sentence=sentences.birth_year),
    choice("sex", "you", "sex", (Sex.FEMALE, Sex.MALE), columns=2, sentence=sentences.sex),
    FormQuestion(
        "own_aim",
        "you",
        read_own_aim,
        group="own_aim",
        options=lambda _setting: tuple(Option(aim) for aim in OwnAim),
        free=True,
        skippable=True,
    ),
    many("conditions_heart", "health", "condition", CONDITIONS_HEART, **_CONDITIONS_TOLD),
    FormQuestion(
        "pacemaker_on",
        "health",
        read_pacemaker,
        group="pacemaker",
        options=lambda _setting: (Option("recent"), Option("longer")),
        when=_has(Condition.PACEMAKER, Condition.DEFIBRILLATOR),
    ),
    replace(
        many("conditions_other", "health", "condition", CONDITIONS_OTHER, **_CONDITIONS_TOLD),
        options=_other_conditions,
    ),
    many(
        "replaced_joints",
        "health",
        "joint",
        JOINT_CODES,
        columns=2,
        read_items=read_joints,
        sentence=sentences.no_operations,
    ),
    many(
        "operations",
        "health",
        "operation",
        tuple(OPERATION_CODES),
        columns=2,
        read_items=read_other_operations,
        sentence=sentences.no_operations,
    ),
    *OPERATION_QUESTIONS,
    _words(
        "doctor_plan",
        "health",
        1000,
        when=_has(Condition.ANGINA, Condition.ASTHMA),
        skippable=True,
    ),
    many("screening_signs", "health", "screening_sign", tuple(ScreeningSign)),
    yes_no("active", "health"),
    choice("wish", "health", "wish", tuple(IntensityWish), when=_is_active),
    FormQuestion(
        "doctor_said",
        "health",
        read_doctor_said,
        group="doctor_said",
        options=lambda _setting: (Option("never"),),
        when=_doctor_matters,
        skippable=True,
        sentence=sentences.doctor_said,
    ),
    _words("doctor_name", "health", 80, when=_doctor_spoke, skippable=True),
    yes_no("changed_since", "health", when=_doctor_spoke),
    _words("other_health", "health", 500, skippable=True),
    choice(
        "medicines_any",
        "medicines",
        "medicines_any",
        ("none", "some", "not_sure"),
        sentence=sentences.medicines_any,
        also=sentences.health_also,
    ),
    _medicines("medicines_heart", MEDICINES_HEART),
    _medicines("medicines_breath", MEDICINES_BREATH),
    _medicines("medicines_other", MEDICINES_OTHER),
    many("spares", "body", "spare", SPARES, columns=2),
    yes_no("floor", "body"),
    FormQuestion(
        "falls",
        "body",
        read_falls,
        group="falls",
        options=lambda _setting: tuple(Option(code) for code in FALLS),
        skippable=True,
        columns=2,
        sentence=sentences.falls,
    ),
    yes_no("fears_falling", "body", skippable=True),
    choice("walking_aid", "body", "walking_aid", tuple(WalkingAid), skippable=True),
    yes_no("lives_alone", "body", skippable=True, sentence=sentences.alone),
    FormQuestion(
        "stature_cm",
        "body",
        lambda text, setting: read_stature(text, setting.words),
        skippable=True,
        sentence=sentences.stature,
    ),
    FormQuestion(
        "mass_kg",
        "body",
        lambda text, setting: read_mass(text, setting.country.units, setting.words),
        skippable=True,
        sentence=sentences.mass,
    ),
    _surface("chair", 25, 75, (40, 43, 46, 50)),
    replace(_surface("cushion", 2, THICKEST_CUSHION, (4, 6, 8, 10)), when=_seat_matters),
    _surface("bench", 60, 130, (85, 90, 95)),
    _surface("table", 50, 110, (70, 74, 78)),
    _surface("step", 5, 45, (15, 17, 20)),
    FormQuestion(
        "bottle",
        "home",
        read_bottle,
        group="no_kit",
        options=bottles_offered,
        skippable=True,
        columns=3,
    ),
    choice("band", "home", "band", ("none", *Band)),
    yes_no("wall", "home"),
    yes_no("mat", "home"),
    FormQuestion(
        "checkin_at",
        "times",
        lambda text, setting: read_clock(text, *CHECKIN_BETWEEN, setting.words),
        options=clocks_offered,
        columns=3,
        sentence=lambda text, setting: sentences.clock(*CHECKIN_BETWEEN, text, setting),
    ),
    FormQuestion(
        "days",
        "times",
        read_days,
        group="days",
        options=lambda _setting: tuple(Option(code) for code in DAYS),
        columns=2,
        sentence=sentences.days,
    ),
    many(
        "training_days",
        "times",
        "day",
        WEEK,
        when=lambda setting: setting.given.get("days") == "own",
        columns=4,
        sentence=sentences.training_days,
    ),
)

JOIN_FORM = Form("join", QUESTIONS)

NEVER_SHOWN = ("consent", "country_right")
"""Questions that belong to the course of joining and are no answers of their own."""
SECTIONS = ("you", "health", "medicines", "body", "home", "times")
