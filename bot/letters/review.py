"""A review of some weeks in two voices: for the client, and for the doctor (with consent)."""

import base64
from collections.abc import Mapping, Sequence
from typing import Any

from bot.flows.coach.client.card import lift_lines
from bot.flows.joining.answers import given_of, shown_answers
from bot.flows.record.gains import Gain, gains_of
from bot.flows.record.home_test_record import result_values, tests_of
from bot.letters.period import NEVER_TOLD, period_of
from bot.pictures.store import PictureStore
from bot.reference.words import Words
from bot.storage.facts import StoreFacts
from core.programme.week import week_of
from core.vocabulary import Family, PersonId

MOST_PICTURES = 3
MOST_LINES = 10
"""So much of each list fits: two A4 pages are the most that is read."""

MOST_LIFTS = 5
MOST_WEEKS = 13


def for_client(
    facts: StoreFacts, client_id: PersonId, days: int, words: Words, pictures: PictureStore
) -> str:
    """Own aim, what was done, gains with pictures then and now, what comes next. No alerts."""
    record = facts.client(client_id)
    period = period_of(facts, record, days)
    gains = gains_of(record, facts)
    week = week_of(record.client, facts.history(record.id), facts.reference.catalogue, period.ends)
    tests = [one for one in tests_of(record.answers) if one.on >= period.begins]
    weeks = period.weeks
    values = {
        **_head(facts, record.id, words),
        "begins": period.begins,
        "ends": period.ends,
        "own_aim": str(given_of(record).get("own_aim") or ""),
        "sessions": len(period.sessions),
        "minutes": sum(one.minutes for one in weeks),
        "walked": sum(one.walked for one in weeks),
        "weeks": len(weeks),
        "gains": [one for one in gains if one["percent"] is not None and one["percent"] > 0],
        "pictures": _pictures(gains, facts, client_id, pictures),
        "tests": [result_values(record, one) for one in tests],
        "next": [(day.on, [one.value for one in day.families]) for day in week.days[:MOST_LINES]],
        "days": sorted(record.client.training_days),
    }
    return words.page("letters/for_client", values)


def for_doctor(facts: StoreFacts, client_id: PersonId, days: int, words: Words) -> str:
    """Dates, minutes, effort, pains, numbers, alerts and what was done, facts as told. Neutral."""
    record = facts.client(client_id)
    client = record.client
    period = period_of(facts, record, days)
    lifts = [one for one in lift_lines(record, facts, days) if not _hidden(one["signs"])]
    given = given_of(record)
    values = {
        **_head(facts, record.id, words),
        "begins": period.begins,
        "ends": period.ends,
        "born": record.answers.get("birth_year"),
        "sex": record.answers.get("sex", ""),
        "conditions": sorted(one.value for one in client.conditions),
        "medicines": sorted(one.value for one in client.medicines),
        "medicine_changed_on": client.medicine_changed_on,
        "operations": shown_answers(given, facts, facts.me).get("operations") or [],
        "clearance": client.clearance if record.cleared else None,
        "weeks": period.weeks[-MOST_WEEKS:],
        "pains": period.pains[-MOST_LINES:],
        "more_pains": max(0, len(period.pains) - MOST_LINES),
        "measured": period.measured,
        "alerts": [
            {
                "at": record.person.local(one.raised_at),
                "level": one.level.value,
                "signs": [sign.value for sign in one.signs],
                "for_other": one.for_other,
                "seen_by": one.seen_by,
                "called": one.called,
            }
            for one in period.alerts[-MOST_LINES:]
        ],
        "more_alerts": max(0, len(period.alerts) - MOST_LINES),
        "lifts": lifts[:MOST_LIFTS],
        "more_lifts": max(0, len(lifts) - MOST_LIFTS),
        "hold": facts.hold(record.id) is not None,
        "tests": [result_values(record, one) for one in tests_of(record.answers)][-3:],
    }
    return words.page("letters/for_doctor", values)


def _hidden(signs: Sequence[str]) -> bool:
    return bool({sign.value for sign in NEVER_TOLD} & set(signs))


def _head(facts: StoreFacts, client_id: PersonId, words: Words) -> Mapping[str, Any]:
    record = facts.client(client_id)
    country = facts.reference.countries.get(record.person.country)
    return {
        "name": record.person.name,
        "coach_name": facts.person(record.coach_id).name,
        "written": facts.me.local(facts.now).date(),
        "emergency": country.emergency if country is not None else "",
        "words": words.word,
    }


def _pictures(
    gains: Sequence[Gain], facts: StoreFacts, client_id: PersonId, pictures: PictureStore
) -> list[Mapping[str, str]]:
    """Then and now of the movements that changed, drawn into the page itself."""
    client = facts.client(client_id).client
    found: list[Mapping[str, str]] = []
    for gain in gains:
        if not gain["changed"] or len(found) == MOST_PICTURES:
            continue
        family = Family(gain["family"])
        content = pictures.then_and_now(gain["then"], gain["now"], client, family)
        if content:
            image, _ = pictures.load(content)
            encoded = base64.b64encode(image).decode()
            found.append({"family": gain["family"], "image": f"data:image/png;base64,{encoded}"})
    return found
