"""What the table that steers says to people: cautions, signs to watch for, what is to be asked."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import TypedDict

from bot.flows.facts import Facts
from bot.flows.record.planning import Training
from core.client.client import Client
from core.client.steering import Steering, steering_of
from core.client.told import CHOICES
from core.movements.cautions import beside

ASKED_ELSEWHERE: Mapping[str, str] = {
    "approach": "operation1_approach",
    "date": "operation1_on",
    "device_date": "pacemaker_on",
    "falls": "falls",
    "how_many": "falls",
    "new_pills": "medicine_changed_on",
    "own_plan": "doctor_plan",
    "reliever_here": "session/ready",
    "side": "replaced_joints",
    "something_sweet": "session/ready",
    "sugar_medicines": "medicines_breath",
    "surgeons_limits": "operation1_limits",
    "swelling": "screening_signs",
    "thinner": "medicines_heart",
    "which": "walking_aid",
    "who_calls": "contact_phone",
}
"""What a row wants asked and a question of ours asks already: key of a question at joining, of a
limit that the coach sets, or the message that asks it. The rest is put to the coach."""


class StartValues(TypedDict):
    """What is said before a session: codes of cautions, and of signs at which to stop."""

    warns: list[str]
    watches: list[str]


def steering_today(client: Client, facts: Facts, today: date) -> Steering:
    """What holds for a client on a day."""
    return steering_of(client, facts.reference.catalogue.steering, today)


def start_values(training: Training) -> StartValues:
    """Cautions and signs for the start of today's session."""
    place = training.place
    steering = steering_today(place.record.client, training.facts, place.today)
    return {"warns": list(steering.warns), "watches": [sign.value for sign in steering.watches]}


def cautions_beside(training: Training, rung_id: str) -> list[str]:
    """Codes of the cautions of a movement, as this client is told them."""
    place, catalogue = training.place, training.facts.reference.catalogue
    steering = steering_today(place.record.client, training.facts, place.today)
    rung = catalogue.by_id[rung_id]
    return list(steering.as_told((*rung.cautions, *beside(rung, steering.warns))))


def asks_of_coach(client: Client, facts: Facts, today: date) -> list[str]:
    """What the rows of this client want asked, and neither a question of ours asks nor is told."""
    asks = steering_today(client, facts, today).asks
    told = {ask for ask, _ in client.told}
    return [ask for ask in asks if ask not in ASKED_ELSEWHERE and ask not in told]


def asks_with_choices(client: Client, facts: Facts, today: date) -> list[str]:
    """What the coach is asked at a clearing, with answers that steer; the told ones anew."""
    asks = steering_today(replace(client, told=frozenset()), facts, today).asks
    return [ask for ask in asks if ask in CHOICES]
