"""Who lives in the practice, and what they are likely to type. All invented."""

from collections.abc import Mapping
from typing import Any

COACH, STAND_IN, JOINER = "rua", "ana", "wiremu"

CLIENTS: Mapping[str, Mapping[str, Any]] = {
    "mary": {},
    "hemi": {
        "country": "GB",
        "zone": "Europe/London",
        "conditions": ["angina", "pressure"],
        "medicines": ["nitrate", "beta_blocker"],
        "doctor_plan": "One puff under the tongue, sit down, wait five minutes.",
        "limits": {"numbers": ["pressure"]},
    },
    "greta": {
        "country": "DE",
        "zone": "Europe/Berlin",
        "conditions": ["diabetes", "joint_replacement"],
        "replaced_joints": ["left hip"],
        "medicines": ["insulin", "blood_thinner"],
        "limits": {"numbers": ["glucose", "pulse"]},
    },
    "sione": {"country": "FJ", "zone": "Pacific/Fiji", "conditions": ["arthritis"]},
    "aroha": {"cleared": False},
}
"""Clients by chat: what is special about each, as ``Practice.client`` takes it."""

EMERGENCIES = (
    "my chest feels tight",
    "I have a heavy pressure on my chest and it goes down my arm",
    "I passed out in the kitchen just now",
    "my face is drooping on one side and my speech is slurred",
    "i cant catch my breath sitting still",
    "I don't want to live any more",
    "chest pian and sweating",
)
URGENT = (
    "I feel dizzy when I stand up",
    "my heart is racing and skipping",
    "my calf is swollen and sore and red",
    "I had a fall on the stairs this morning",
    "I banged my head on the cupboard and feel sick",
    "my new hip is hot and I cannot put weight on it",
    "my ankles are very swollen today",
)
DOUBTS = (
    "my chest felt odd for a moment",
    "my heart skipped maybe",
    "had a funny turn i think",
    "a bit light headed perhaps",
)
OTHERS = (
    "my wife has collapsed on the floor",
    "my husband has chest pain and is sweating",
    "my neighbour fell and cannot get up",
)
MENTIONS = ("I have a bit of a temperature today", "think i am getting a fever")
DOWNPLAYED = (
    "I'm fine, I was joking",
    "I am fine now, please let me train",
    "it is nothing, all good again",
    "false alarm, sorry",
)
MORE_WORDS = (
    "it started after I made the bed",
    "my daughter is on her way over",
    "it comes and goes since breakfast",
    "the front door is open",
    "I took my spray and sat down",
    "the ambulance people are here now",
)
ANSWERS_TO_ALARMS = ("yes", "no", "I can't", "I cannot call", "yes I have called", "Yes, now!")
CHAT = (
    "the roses are nice this year",
    "can we move thursday to friday, the plumber is coming",
    "thank you dear",
    "what do you think of the weather",
    "I slept like a log",
    "my grandson won his match on saturday",
    "Is it normal to be stiff after the squats?",
    "the chair wobbles a bit",
)
TYPED_ANSWERS = (
    "4",
    "3",
    "good",
    "yes",
    "no",
    "none",
    "10",
    "about 25 minutes",
    "knee",
    "a bit tired",
    "128/76",
    "72",
    "6.2",
    "1950",
    "021 555 0101",
    "12 Hill Road, Napier",
    "Tom, my son",
    "stop",
    "back",
)
MENU = ("message my coach",)
"""Words of the menu that say nothing of anybody."""

CLIENT_COMMANDS = (
    "/today",
    "/today",
    "/checkin",
    "/menu",
    "/progress",
    "/settings",
    "/how_hard",
    "too hard",
    "it hurts",
    "I feel unwell",
    *MENU,
    "/test",
)
LEAVING = "my data"
COACH_COMMANDS = ("/clients", "/clients", "/alerts", "/alerts", "/menu", "/settings")
COACH_WORDS = (
    "Dr Singh, 3 March",
    "Dr Singh",
    "the practice nurse Jane Hill saw her yesterday",
    "3 March",
    "yesterday",
    "he is fine now",
    "feels fine today again",
    "she says it was nothing",
    "Prefers the morning, likes the blue band.",
    "knee is a bit stiff, keep an eye on it",
)
