"""Every sign, told once in somebody's own words, is met by the chat and reaches the coach.

The words are the first of each sign by writers who had not seen the lexicon (``tests/redflags``).
"""

import json
from pathlib import Path

from core.vocabulary import Sign
from tests.support.practice import Practice

TEXTS = Path(__file__).parents[1] / "redflags"
SETS = ("breadth_m", "breadth_n", "breadth_o", "breadth_i", "breadth_a", "public")
OWN = {
    Sign.HEAD_THINNER: "banged my head hard on the cupboard door and I take warfarin",
    Sign.JOINT_REPLACEMENT: "my new hip suddenly hurts badly and I cannot put weight on the leg",
}
"""Signs of which those sets hold none by that name."""

NOT_TOLD = {
    Sign.FEVER,  # a mention; its deadly company are signs of their own
    Sign.NEW_PAIN,
    Sign.SILENT_SESSION,
    Sign.UNREAD,
    Sign.UNSURE,
}
"""Signs that come of a tap, of silence, or of what nobody can read."""


def told() -> dict[Sign, str]:
    """The first text of each sign."""
    found: dict[Sign, str] = dict(OWN)
    for name in SETS:
        for line in (TEXTS / f"{name}.jsonl").read_text("utf-8").splitlines():
            text = json.loads(line)
            if text["label"] == "emergency" or text["label"] == "urgent":
                for flag in text["flags"][:1]:
                    found.setdefault(Sign(flag), text["text"])
    return found


async def test_every_sign_is_met_by_advice_or_a_question_and_reaches_the_coach(village: Practice):
    unmet: list[str] = []
    for sign, text in told().items():
        name = f"C{list(Sign).index(sign)}"
        await village.client(name)
        before = len(village.channel.sent)
        await village.says(name.lower(), text)
        answered = [
            one.outgoing
            for one in village.channel.sent[before:]
            if one.address == name.lower() and "111" in one.outgoing.text
        ]
        if not answered:
            unmet.append(f"{sign}: {text}")
            continue
        if "Is this happening now?" in answered[0].text:
            await village.taps(name.lower(), "Yes, now")
        heard = [one for one in village.channel.sent[before:] if one.address == "rua"]
        if not any(f": {name}\n" in one.outgoing.text for one in heard):
            unmet.append(f"{sign}, coach: {text}")
    assert unmet == []


def test_no_sign_is_left_out() -> None:
    assert set(Sign) - set(told()) - NOT_TOLD == set()
