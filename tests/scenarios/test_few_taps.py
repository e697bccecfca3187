"""From the day's list to the last word a session costs few taps and few messages."""

from tests.support.practice import Practice
from tests.support.sessions import tap, values

MOST_TAPS, MOST_MESSAGES = 20, 14


async def test_six_movements_with_one_set_each_take_few_taps_and_messages(village: Practice):
    await village.client("Nell", session_minutes=40)
    await village.at("07:00")
    await village.good_morning("nell")
    await tap(village, "today", "nell")
    before = len(village.channel.sent)
    taps, movements, wanted = 0, 0, "start"
    while wanted and taps <= MOST_TAPS:
        await tap(village, wanted, "nell")
        taps += 1
        offered = values(village, "nell")
        planned = [one for one in offered if one.startswith("did=")]
        minutes = [one for one in offered if one.startswith("minutes=")]
        if planned or "done" in offered:
            await village.wait(3)
        movements += bool(planned)
        steps = [*planned[2:3], "done", *minutes[2:3], "start", "ready", "left=3", "effort=3"]
        wanted = next((one for one in steps if one in offered), "")
        if "all written down" in village.last_to("nell"):
            wanted = ""
    new = [one for one in village.channel.sent[before:] if one.address == "nell" and not one.edits]
    assert movements == 6
    assert taps <= MOST_TAPS
    assert len(new) <= MOST_MESSAGES
