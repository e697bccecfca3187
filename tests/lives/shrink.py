"""The shortest list of acts that still breaks a law: chunks left out, waits made shorter."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tests.lives.acts import Act, diary_line, shorter_waits
from tests.lives.life import Fault, Lived, Setting, live_again

MOST_TRIES = 70


@dataclass(frozen=True, slots=True)
class Shrunk:
    """A fault with the shortest life that was found for it."""

    law: str
    what: str
    setting: Setting
    acts: tuple[Act, ...]

    def diary(self) -> list[str]:
        """The life, a line for each act."""
        there = ", ".join(self.setting.clients)
        coaches = "rua (her stand-in: ana)" if self.setting.with_stand_in else "rua"
        lines = [f"There are {there}, and the coach {coaches}."]
        return [*lines, *(diary_line(act) for act in self.acts), f"=> {self.what}"]


async def shrunk(
    lived: Lived, fault: Fault, tried: Callable[[int, int], None] = lambda _tries, _acts: None
) -> Shrunk:
    """Replay with less and less, as long as the same law breaks.

    Args:
        tried: called after each replay with how many there were and how many acts are left.
    """
    acts, what, tries = [*lived.acts[: fault.act + 1]], fault.what, 0

    async def breaks(shorter: Sequence[Act]) -> str:
        nonlocal tries
        tries += 1
        again = await live_again(lived.setting, shorter, (fault.law,), to_the_fault=True)
        tried(tries, len(acts))
        return next((one.what for one in again.faults if one.law == fault.law), "")

    chunk = max(1, len(acts) // 2)
    while tries < MOST_TRIES:
        at, gone = 0, False
        while at < len(acts) and tries < MOST_TRIES:
            shorter = [*acts[:at], *acts[at + chunk :]]
            found = await breaks(shorter) if shorter else ""
            if found:
                acts, what, gone = shorter, found, True
            else:
                at += chunk
        if chunk == 1 and not gone:
            break
        chunk = max(1, chunk // 2)
    for at, act in enumerate(acts):
        for simpler in shorter_waits(act):
            other = [*acts[:at], simpler, *acts[at + 1 :]]
            found = await breaks(other) if tries < 2 * MOST_TRIES else ""
            if found:
                acts, what = other, found
                break
    return Shrunk(fault.law, what, lived.setting, tuple(acts))
