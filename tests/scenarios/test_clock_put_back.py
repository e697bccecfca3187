"""A clock that went far ahead and was put back: alerts are chased, and mornings come."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import pytest

from bot.clock import ManualClock
from tests.support.practice import Practice

SIGN = "my chest hurts and it goes to my arm"


@pytest.mark.parametrize("ahead", [timedelta(days=400), timedelta(minutes=50)])
async def test_an_alert_of_that_time_is_chased_and_mornings_come(
    village: Practice, ahead: timedelta
) -> None:
    await village.client("Bob")
    right = village.clock.now()
    await village.app.mind_the_clock()
    village.clock.move_to(right + ahead)
    await village.app.settle()
    await village.app.mind_the_clock()
    await village.says("mary", SIGN)
    told = len(village.heard("rua"))

    _put(village, right)
    await village.app.mind_the_clock()
    await village.wait(5)

    assert len(village.heard("rua")) > told
    await village.at("07:00")
    assert village.newest_buttons("bob").outgoing.text


def _put(village: Practice, moment: datetime) -> None:
    """A machine's clock is put back; its steady time never is."""
    village.app.put_back.clock = _Machine(village.clock, village.clock.now())
    village.clock._moment = moment


@dataclass
class _Machine:
    shown: ManualClock
    steady_at: datetime

    def now(self) -> datetime:
        return self.shown.now()

    def steady(self) -> datetime:
        return self.steady_at
