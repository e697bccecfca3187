"""Joining and clearing through the real engine, by taps, as a phone would."""

from collections.abc import Mapping
from typing import Any

from bot.flows.facts import ClientRecord
from bot.storage import people
from bot.storage.facts import StoreFacts
from bot.trial.acts import CODE
from tests.support.facts import reference
from tests.support.practice import CHANNEL, Practice

PLAIN: Mapping[str, Any] = {
    "consent": "agree",
    "country": "NZ",
    "country_right": "yes",
    "zone": "Pacific/Auckland",
    "called": "keep",
    "phone": "021 555 123",
    "home": "12 Hill Road, Napier",
    "contact_name": "Tom, my son",
    "contact_phone": "021 555 999",
    "birth_year": "1950",
    "sex": "f",
    "own_aim": "stairs",
    "active": "no",
    "wish": "light_or_moderate",
    "medicines_any": "none",
    "floor": "yes",
    "falls": "0",
    "fears_falling": "no",
    "walking_aid": "none",
    "lives_alone": "no",
    "stature_cm": "165 cm",
    "mass_kg": "68 kg",
    "chair": "43",
    "bench": "90",
    "table": "74",
    "step": "17",
    "bottle": "1.5",
    "band": "light",
    "wall": "yes",
    "mat": "yes",
    "checkin_at": "0700",
    "days": "135",
    "doctor_said": "never",
}
"""A healthy client; scenarios change parts of it. A list ticks, "" skips."""

QUESTIONS_AT_MOST = 90


def offered(village: Practice, who: str) -> list[str]:
    """The values of the newest buttons of a chat."""
    shown = village.newest_buttons(who)
    return [choice.value for row in shown.outgoing.choices for choice in row]


async def taps_code(village: Practice, who: str, code: str) -> list[str]:
    """Tap the newest button whose value ends so."""
    value = next(value for value in offered(village, who) if value.endswith(code))
    shown = village.newest_buttons(who)
    return await village.taps_value(who, value, shown.edits or shown.platform_id)


def question_of(village: Practice, who: str) -> str:
    """Key of the open question of a form, or ""."""
    for value in offered(village, who):
        if "~" in value:
            return value.rpartition("~")[0].rpartition(".")[2]
    return ""


async def answers_form(
    village: Practice, who: str, answers: Mapping[str, Any], asked: dict[str, str]
) -> None:
    """Answer the open question; ``asked`` gets its text by its key."""
    key = question_of(village, who)
    asked[key] = village.last_to(who)
    wish = answers.get(key)
    codes = [value.rpartition("~")[2] for value in offered(village, who)]
    if wish == "" or (wish is None and "skip" in codes and "none" not in codes):
        await taps_code(village, who, f"{key}~skip")
    elif wish is None or wish == []:
        await taps_code(village, who, f"{key}~none")
    elif isinstance(wish, list):
        for code in wish:
            if code in codes:
                await taps_code(village, who, f"{key}~{code}")
            else:
                await village.says(who, code)
        await taps_code(village, who, f"{key}~done")
    elif wish in codes:
        await taps_code(village, who, f"{key}~{wish}")
    else:
        await village.says(who, wish)


async def joins(village: Practice, name: str, **answers: Any) -> dict[str, str]:
    """The coach Rua invites somebody, who answers everything; gives what was asked, by key."""
    who = name.lower()
    await village.says("rua", "/invite")
    said = await village.says("rua", name)
    code = CODE.search("\n".join(said))
    assert code is not None, said
    await village.says(who, code.group())
    asked: dict[str, str] = {}
    for _ in range(QUESTIONS_AT_MOST):
        if any(value.endswith("right") and "~" not in value for value in offered(village, who)):
            break
        await answers_form(village, who, {**PLAIN, **answers}, asked)
    await taps_code(village, who, "right")
    return asked


async def clears(village: Practice, name: str, **answers: Any) -> dict[str, str]:
    """The coach Rua clears the client who has just joined; gives what she was asked, by key."""
    told: dict[str, Any] = {
        "identity": "right",
        "word": "Dr Singh, by letter",
        "word_on": "today",
        "sure": "sure",
        "sugar": "mmol",
        "until": "12",
        **answers,
    }
    asked: dict[str, str] = {}
    await taps_code(village, "rua", "clear")
    for _ in range(QUESTIONS_AT_MOST):
        if not question_of(village, "rua"):
            return asked
        await answers_form(village, "rua", told, asked)
    raise AssertionError(f"{name} was never cleared")


def record_of(village: Practice, name: str) -> ClientRecord:
    """What the store knows of the client of a chat."""
    with village.app.database.unit() as unit:
        (person,) = people.speakers(unit, CHANNEL, name.lower())
        now = village.clock.now()
        return StoreFacts(unit, person, now, reference()).client(person.id)
