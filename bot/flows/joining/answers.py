"""Joining answers on their way into the record and back: form keys, profile keys, changes."""

from collections.abc import Sequence
from datetime import date
from typing import TypedDict

from bot.flows.changes import Change, SaveProfile, SetPerson, SetSchedule
from bot.flows.facts import Answers, ClientRecord, Facts, Person
from bot.flows.form_question import Setting
from bot.flows.joining.operation_answers import (
    KEYS,
    LISTS,
    given_operations,
    operations_given,
    settled,
    stored_operations,
)
from bot.flows.joining.phones import shown_phones
from bot.flows.joining.questions import (
    CONDITIONS_HEART,
    CONDITIONS_OTHER,
    JOIN_FORM,
    MEDICINES_BREATH,
    MEDICINES_HEART,
    MEDICINES_OTHER,
    conditions_given,
)
from bot.flows.joining.reading import DAYS, NO_SURFACE
from bot.json_values import JsonValue
from core.client.operations import UNNAMED_CODE, operation_json
from core.client.screening import IntensityWish, Proposal, ScreeningAnswers, ScreeningSign, propose
from core.vocabulary import Condition, Medicine, PersonId

KIT = ("chair", "cushion", "bench", "table", "step", "bottle", "band", "wall", "mat")
AS_GIVEN = (
    "phone",
    "home",
    "contact_name",
    "contact_phone",
    "birth_year",
    "sex",
    "stature_cm",
    "mass_kg",
    "pacemaker_on",
    "doctor_plan",
    "screening_signs",
    "active",
    "wish",
    "doctor_said",
    "doctor_name",
    "changed_since",
    "other_health",
    "spares",
    "floor",
    "falls",
    "fears_falling",
    "walking_aid",
    "lives_alone",
    "own_aim",
)
"""Answers whose profile key is their own."""

JOINING = "joining"
"""Profile key of all answers so far, while joining is under way."""

USUAL_QUIET_UNTIL = "07:00"
MEDICINE_LISTS = ("medicines_heart", "medicines_breath", "medicines_other")
MEDICINES = ("medicines_any", *MEDICINE_LISTS)
CONDITION_LISTS = ("conditions_heart", "conditions_other")
HEALTH = (*CONDITION_LISTS, "pacemaker_on", *LISTS, *KEYS, "screening_signs", "other_health")
"""Answers whose change means that the coach must clear the client anew."""


def changes_of(key: str, client_id: PersonId, given: Answers) -> tuple[Change, ...]:
    """What is to be written down after the answer under ``key`` has changed.

    Args:
        given: all answers so far, the new one among them (missing: it was taken back).
    """
    value = given.get(key)
    match key:
        case "consent" | "country_right":
            return ()
        case "country":
            number = SaveProfile(client_id, {"number_confirmed": None})
            return (SetPerson(client_id, country=value or ""), number)
        case "zone":
            return (SetPerson(client_id, zone=value),) if value else ()
        case "called":
            named = SaveProfile(client_id, {"called": value, "name_confirmed": None})
            return (SetPerson(client_id, name=value), named)
        case "checkin_at":
            # Quiet hours must not swallow an early check-in.
            quiet_until = min(str(value), USUAL_QUIET_UNTIL)
            return (SetSchedule(client_id, checkin_at=value, quiet_until=quiet_until),)
        case "days" | "training_days":
            days = days_given(given)
            return (SetSchedule(client_id, training_days=days),) if days else ()
    answer = _profile_answer(key, given)
    return (SaveProfile(client_id, answer),) if answer else ()


def taken_in(
    key: str, client_id: PersonId, given: Answers, facts: Facts
) -> tuple[dict[str, JsonValue], list[Change]]:
    """The answers after a new one under ``key``, without those it makes needless; the changes."""
    kept = dict(given)
    if key == "country":
        kept.pop("country_right", None)
        kept.pop("zone", None)
    if key in LISTS:
        kept = settled(kept)
    changes = list(changes_of(key, client_id, kept))
    setting = Setting(kept, facts)
    if key == "country" and len(setting.country.zones) == 1:
        # A country with one clock needs no question about it.
        kept["zone"] = setting.country.zones[0][1]
        changes.append(SetPerson(client_id, zone=kept["zone"]))
    for needless in JOIN_FORM.unneeded(setting):
        if needless != "zone":
            del kept[needless]
            changes += changes_of(needless, client_id, kept)
    return kept, changes


def _profile_answer(key: str, given: Answers) -> dict[str, JsonValue]:
    if key in LISTS or key in KEYS:
        # A new joint is a condition, too.
        return {**stored_operations(given), **_conditions_answer(given)}
    if key in AS_GIVEN:
        return {key: given.get(key)}
    if key in KIT:
        return {"kit": kit_given(given)}
    if key in CONDITION_LISTS:
        return _conditions_answer(given)
    medicines = medicines_given(given)
    return {} if medicines is None else {"medicines": [*medicines]}


def _conditions_answer(given: Answers) -> dict[str, JsonValue]:
    # Half a list would look like a whole one.
    if any(name not in given for name in CONDITION_LISTS):
        return {}
    return {"conditions": [*sorted(conditions_given(given))]}


def kit_given(given: Answers) -> dict[str, JsonValue]:
    """The kit as the profile keeps it; what was skipped is left out."""
    kit: dict[str, JsonValue] = {}
    for item in KIT:
        value = given.get(item)
        if value is None:
            continue
        missing = value == "none" or (not isinstance(value, bool) and value == NO_SURFACE)
        kit[item] = None if missing else value
    return kit


def medicines_given(given: Answers) -> list[str] | None:
    """The medicines, or ``None`` while the questions on them are not all answered."""
    match given.get("medicines_any"):
        case "none":
            return []
        case "not_sure":
            return [Medicine.UNKNOWN.value]
        case "some":
            if any(name not in given for name in MEDICINE_LISTS):
                return None
            named = {item for name in MEDICINE_LISTS for item in given[name] or ()}
            # Some, and none of the classes named: what it is, we do not know.
            return sorted(named) or [Medicine.UNKNOWN.value]
    return None


def days_given(given: Answers) -> tuple[int, ...]:
    """ISO weekdays, or nothing while they are not chosen."""
    days = given.get("days")
    chosen = given.get("training_days") or () if days == "own" else days or ()
    return tuple(int(day) for day in chosen)


def given_of(record: ClientRecord) -> dict[str, JsonValue]:
    """The answers of a client's record, under the form's keys; what is not known is left out."""
    answers, person = record.answers, record.person
    if not record.joined and JOINING in answers:
        return dict(answers[JOINING])
    given: dict[str, JsonValue] = {key: answers[key] for key in AS_GIVEN if key in answers}
    given |= given_operations(answers)
    if answers.get("consented_on"):
        given["consent"] = "agree"
    if person.country:
        given |= {"country": person.country, "country_right": True, "zone": person.zone}
    if answers.get("called"):
        given["called"] = answers["called"]
    for item, value in answers.get("kit", {}).items():
        empty = "none" if item == "band" else NO_SURFACE
        given[item] = empty if value is None else value
    if "conditions" in answers:
        held = set(answers["conditions"])
        given["conditions_heart"] = [item.value for item in CONDITIONS_HEART if item in held]
        given["conditions_other"] = [item.value for item in CONDITIONS_OTHER if item in held]
        if Condition.JOINT_REPLACEMENT in held and not given.get("replaced_joints"):
            given["replaced_joints"] = [UNNAMED_CODE]
    if "medicines" in answers:
        given |= _medicine_answers(answers["medicines"])
    if record.joined:
        given["checkin_at"] = record.client.checkin_at.strftime("%H:%M")
        given |= _day_answers(record.client.training_days)
        # Questions that were skipped are answered: they stay open only while joining.
        skipped = (
            "stature_cm",
            "mass_kg",
            "doctor_plan",
            "other_health",
            "doctor_said",
            "doctor_name",
            "wish",
            "falls",
            "fears_falling",
            "walking_aid",
            "lives_alone",
            "own_aim",
            *LISTS,
            *KIT,
        )
        given |= {key: None for key in skipped if key not in given}
    return given


def _medicine_answers(medicines: Sequence[str]) -> dict[str, JsonValue]:
    if not medicines:
        return {"medicines_any": "none"}
    if list(medicines) == [Medicine.UNKNOWN.value]:
        return {"medicines_any": "not_sure"}
    held = set(medicines)
    lists = (MEDICINES_HEART, MEDICINES_BREATH, (*MEDICINES_OTHER, Medicine.UNKNOWN))
    return {
        "medicines_any": "some",
        **{
            name: [item.value for item in classes if item in held]
            for name, classes in zip(MEDICINE_LISTS, lists, strict=True)
        },
    }


def _day_answers(days: tuple[int, ...]) -> dict[str, JsonValue]:
    code = "".join(str(day) for day in days)
    if code in DAYS:
        return {"days": code}
    return {"days": "own", "training_days": [str(day) for day in days]}


def proposal_of(given: Answers, today: date) -> Proposal:
    """What the screening rules propose to the coach. Not sure counts on the careful side."""
    said = given.get("doctor_said")
    cleared_on = date.fromisoformat(said) if said and said != "never" else None
    operated_since = cleared_on is not None and any(
        one.may_follow(cleared_on) for one in operations_given(given)
    )
    answers = ScreeningAnswers(
        active=bool(given.get("active")),
        conditions=conditions_given(given),
        signs=frozenset(ScreeningSign(sign) for sign in given.get("screening_signs") or ()),
        wish=IntensityWish(given.get("wish") or IntensityWish.LIGHT_OR_MODERATE),
        cleared_by=str(given.get("doctor_name") or ""),
        cleared_on=cleared_on,
        changed_since=given.get("changed_since") is not False or operated_since,
        freshly_operated=any(one.is_fresh(today) for one in operations_given(given)),
    )
    return propose(answers, today)


class ProposalValues(TypedDict):
    """What the screening rules propose, for templates (``coach/proposal.j2``)."""

    decision: str
    needs_doctor: bool
    conditions: list[str]
    signs: list[str]
    wish: str
    vigorous_later: bool
    valid_until: date | None
    operations: list[JsonValue]
    word_of: str
    word_on: date | None
    typed: list[str]


TYPED = ("other_health", "doctor_plan")
"""Answers in own words that stand in the proposal."""


def proposal_values(given: Answers, today: date) -> ProposalValues:
    """The proposal for templates."""
    proposal = proposal_of(given, today)
    return {
        "decision": proposal.decision.value,
        "needs_doctor": proposal.needs_doctor,
        "operations": [operation_json(one) for one in operations_given(given)],
        "word_of": str(given.get("doctor_name") or "") if proposal.word_stands else "",
        "word_on": date.fromisoformat(given["doctor_said"]) if proposal.word_stands else None,
        "typed": [str(given[key]) for key in TYPED if given.get(key)],
        "conditions": [c.value for c in (*proposal.table_conditions, *proposal.our_conditions)],
        "signs": [sign.value for sign in proposal.signs],
        "wish": str(given.get("wish") or ""),
        "vigorous_later": proposal.vigorous_later,
        "valid_until": proposal.valid_until,
    }


def shown_answers(given: Answers, facts: Facts, reader: Person) -> dict[str, JsonValue]:
    """The answers as templates show them to ``reader``.

    Countries and towns by name, days as a list, phone numbers as the reader dials them.
    """
    country = facts.reference.countries.get(str(given.get("country") or ""))
    towns = {zone: town for town, zone in country.zones} if country else {}
    zone = given.get("zone")
    return {
        **given,
        **shown_phones(given, reader.country),
        "country": country.name if country else given.get("country"),
        "zone": towns.get(str(zone), str(zone or "").rpartition("/")[2].replace("_", " ")),
        "days": [str(day) for day in days_given(given)],
    }
