"""Taking turns: few at one time, urgent ones first, and no turn is lost."""

import asyncio

from bot.engine.turns import Turns


async def holds(turns: Turns, name: str, order: list[str], *, urgent: bool = False) -> None:
    async with turns.turn(urgent=urgent):
        order.append(name)
        await asyncio.sleep(0)


async def test_urgent_ones_go_before_others_that_came_first_and_each_kind_in_order():
    turns, order = Turns(1), []
    async with turns.turn(urgent=False):
        waiting = [
            asyncio.create_task(holds(turns, name, order, urgent=name.startswith("sign")))
            for name in ("word 1", "word 2", "sign 1", "sign 2")
        ]
        await asyncio.sleep(0)

    await asyncio.gather(*waiting)

    assert order == ["sign 1", "sign 2", "word 1", "word 2"]


async def test_no_more_than_so_many_hold_a_turn_at_one_time():
    turns, now, most = Turns(2), 0, 0

    async def work() -> None:
        nonlocal now, most
        async with turns.turn(urgent=False):
            now += 1
            most = max(most, now)
            await asyncio.sleep(0)
            now -= 1

    await asyncio.gather(*(work() for _ in range(9)))

    assert most == 2


async def test_a_turn_passes_on_from_one_that_failed_and_from_one_that_gave_up_waiting():
    turns, order, go_on = Turns(1), [], asyncio.Event()

    async def fails() -> None:
        async with turns.turn(urgent=False):
            await go_on.wait()
            raise ValueError

    failing = asyncio.create_task(fails())
    await asyncio.sleep(0)
    gives_up = asyncio.create_task(holds(turns, "gives up", order))
    stays = asyncio.create_task(holds(turns, "stays", order))
    await asyncio.sleep(0)
    gives_up.cancel()
    go_on.set()

    await asyncio.gather(failing, gives_up, stays, return_exceptions=True)

    assert order == ["stays"]


async def test_a_turn_that_comes_just_as_its_owner_gives_up_is_not_lost():
    turns, order = Turns(1), []
    async with turns.turn(urgent=False):
        gives_up = asyncio.create_task(holds(turns, "gives up", order))
        stays = asyncio.create_task(holds(turns, "stays", order))
        await asyncio.sleep(0)
    # The turn has been handed over, and nobody has run since.
    gives_up.cancel()

    await asyncio.gather(gives_up, stays, return_exceptions=True)

    assert order == ["stays"]
