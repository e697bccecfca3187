"""Forty hard messages, and the steps of a day at which they may be typed.

Half of them are warning signs told badly or beside the point, half only sound like one. Written by
hand for this list; what each asks for follows the levels of ``core/red_flags/signs.yaml``.
"""

from collections.abc import Awaitable, Callable, Mapping
from enum import StrEnum

from tests.support.practice import Practice
from tests.support.sessions import begin, do_movement, tap, values


class Wanted(StrEnum):
    """What must come back, whatever question was open."""

    NUMBER = "advice or a question, with the emergency number, and the coach hears of it"
    CALM = "no alert and no emergency"


SIGNS = (
    "band of iron round me chest since the second set, sweating like a pig lol",
    "my left hand dropped the cup and the words come out porridge",
    "cant get a full sentence out, puffer done nothing",
    "went down like a sack in the hall, banged my head, I'm on warfarin",
    "heart flapping like a budgie and I nearly blacked out",
    "sugar 2.4 and my hands wont do as theyre told",
    "sugars 26 and I keep being sick",
    "tongue's gone fat since that new blood pressure tablet",
    "wife here, he's on the floor and not making sense",
    "worst headache of my life, came on like a hammer",
    "temp 39 and shaking so hard the bed rattles",
    "one calf fat and hot since the flight, tight as a drum",
    "black as tar in the pan this morning and I feel faint",
    "took my heart tablets twice by mistake, feel woozy",
    "numb down below and I can't tell if I've peed",
    "it's like a curtain came down over my right eye",
    "hip clunked, leg's turned out and I can't stand on it",
    "not much point me going on is there, they'd be better off",
    "he hit me again, please don't ring back",
    "195 over 122 and my head is thumping",
)
CALM = (
    "ha ha that one nearly killed me, lovely",
    "my heart wasn't in it today, wrong music",
    "burning in the thighs on the last two, as it should be",
    "I could murder a cup of tea after that",
    "puffed but could talk, all good",
    "the doctor wants my pressure at 130 over 80 by Christmas",
    "Dad had a stroke at 61, that's why I train",
    "the stick fell over and gave the cat a fright",
    "dead on my feet after the grandchildren, slept like a log",
    "I did 12 and then 10, the chair is 43 high",
    "my arms feel like jelly, good jelly",
    "cant see the words on this little screen, where are my glasses",
    "had chest pain in 2009, all sorted with stents",
    "no pain, no dizziness, just lazy",
    "is it all right to train after a flu jab?",
    "my daughter broke her wrist skiing, silly girl",
    "the news is a headache these days",
    "knees creak like an old gate, nothing new",
    "we lost at bowls again, heartbreaking",
)
MESSAGES: Mapping[str, Wanted] = {
    **dict.fromkeys(SIGNS, Wanted.NUMBER),
    **dict.fromkeys(CALM, Wanted.CALM),
    "I am fine, it is the neighbour who coughs": Wanted.CALM,
}

Walk = Callable[[Practice, str], Awaitable[None]]
MORNING = ("None of these", "4", "4", "4", "4", "4")


def _checkin(after: int) -> Walk:
    async def walk(practice: Practice, who: str) -> None:
        await practice.says(who, "check-in")
        await practice.taps(who, *MORNING[:after])

    return walk


async def _list(practice: Practice, who: str) -> None:
    await practice.says(who, "check-in")
    await practice.good_morning(who)
    await practice.says(who, "/today")


async def _ready(practice: Practice, who: str) -> None:
    await _list(practice, who)
    await practice.taps(who, "Start")


async def _warm_up(practice: Practice, who: str) -> None:
    await _ready(practice, who)
    await practice.taps(who, "I am ready")


async def _movement(practice: Practice, who: str) -> None:
    await practice.says(who, "check-in")
    await begin(practice, who)


async def _left(practice: Practice, who: str) -> None:
    await _movement(practice, who)
    done = [value for value in values(practice, who) if value.startswith("did=")]
    await tap(practice, done[2], who)


async def _where_it_hurts(practice: Practice, who: str) -> None:
    await _movement(practice, who)
    await practice.taps(who, "It hurts")


async def _second_movement(practice: Practice, who: str) -> None:
    await _movement(practice, who)
    await do_movement(practice, who)


async def _stopping(practice: Practice, who: str) -> None:
    await _movement(practice, who)
    await practice.says(who, "stop")


STEPS: Mapping[str, Walk] = {
    **{f"question {number + 1} of the check-in": _checkin(number) for number in range(6)},
    "today's list": _list,
    "the ready check": _ready,
    "the warm-up": _warm_up,
    "a movement": _movement,
    "how many were left": _left,
    "where it hurts": _where_it_hurts,
    "the second movement": _second_movement,
    "why the session stops": _stopping,
}


async def unmet(practice: Practice, name: str, step: str, text: str) -> str:
    """What was wrong when a new client called ``name`` typed ``text`` at ``step``; else ""."""
    who = name.lower()
    await practice.client(name)
    await STEPS[step](practice, who)
    before = len(practice.channel.sent)
    await practice.says(who, text)
    sent = practice.channel.sent[before:]
    told = [one.outgoing.text for one in sent if one.address == who]
    coach = [one.outgoing.text for one in sent if one.address == "rua"]
    alarmed = [text for text in coach if "EMERGENCY" in text or "URGENT" in text]
    if MESSAGES[text] is Wanted.CALM:
        return f"{step}: {text}: alarmed" if alarmed else ""
    if not any("111" in one for one in told):
        return f"{step}: {text}: {told}"
    if any("Is this happening now?" in one for one in told):
        before = len(practice.channel.sent)
        await practice.taps(who, "Yes, now")
        coach = [
            one.outgoing.text for one in practice.channel.sent[before:] if one.address == "rua"
        ]
    heard = any(name in one for one in coach)
    return "" if heard else f"{step}: {text}: the coach heard nothing"
