"""The closed loop: one JSON line in, one JSON line out, so that any simulator can test the dose.

Lines and their answers are described in the project's developer notes. A line that cannot be used
is answered by ``{"error": ...}`` and changes nothing. The sentences of errors are for the person
who writes a simulator, not for clients.
"""

import json
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from typing import Any, Final, TextIO

from bot.cli.closed_loop_client import LoopClient
from bot.cli.closed_loop_profile import BadLineError, choice, flag, number, profile_client
from bot.reference.catalogue import load_catalogue
from core.dose.history import MOST_LEFT_TOLD, Ended
from core.dose.prior import steps_of
from core.movements.catalogue import Catalogue
from core.readiness.morning_questions import IllKind, Morning
from core.vocabulary import Family

LONGEST_LINE: Final = 100_000
_MOST_REPS: Final = 1000
_FAMILIES: Final = tuple(family.value for family in Family)

Answer = dict[str, Any]


class Loop:
    """A conversation of lines about one client at a time; a profile line begins a new one."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._client: LoopClient | None = None
        self._kinds: Mapping[str, Callable[[Mapping[str, Any]], Answer]] = {
            "profile": self._profile,
            "morning": self._morning,
            "next": self._next,
            "set": self._set,
            "end": self._end,
        }

    def answer(self, line: str) -> str:
        """The answer to one line, as one line of JSON without its line end."""
        try:
            return json.dumps(self._answer(line), separators=(", ", ": "))
        except BadLineError as wrong:
            return json.dumps({"error": str(wrong)})

    def _answer(self, line: str) -> Answer:
        if len(line) > LONGEST_LINE:
            raise BadLineError(f"A line has at most {LONGEST_LINE} characters.")
        try:
            message = json.loads(line)
        except (ValueError, RecursionError) as wrong:
            raise BadLineError("This line is not JSON.") from wrong
        if not isinstance(message, dict):
            raise BadLineError("A line is one JSON object.")
        kinds = [kind for kind in self._kinds if kind in message]
        if len(kinds) != 1:
            names = ", ".join(self._kinds)
            raise BadLineError(f"A line has exactly one of these keys: {names}.")
        content = message[kinds[0]]
        if not isinstance(content, dict):
            raise BadLineError(f"{kinds[0]} holds an object.")
        return self._kinds[kinds[0]](content)

    def _profile(self, content: Mapping[str, Any]) -> Answer:
        client, wanted = profile_client(content)
        ladders = {
            family: steps
            for family in wanted
            if (steps := steps_of(client, family, self._catalogue))
        }
        empty = [family.value for family in wanted if family not in ladders]
        self._client = LoopClient(client, ladders, self._catalogue, wanted=wanted)
        return {"ok": True, "nothing_for": empty} if empty else {"ok": True}

    def _known(self) -> LoopClient:
        if self._client is None:
            raise BadLineError("A profile line comes first.")
        return self._client

    def _morning(self, content: Mapping[str, Any]) -> Answer:
        known = self._known()
        on = _day(content.get("date"))
        if known.on is not None and on < known.on:
            raise BadLineError(f"{on} lies before {known.on}, which is open already.")
        answers = None
        if not flag(content, "missing", default=False):
            # What kind of illness it is was not asked, so the more serious kind is assumed.
            ill = IllKind.BELOW_NECK if flag(content, "ill", default=False) else IllKind.NONE
            answers = Morning(
                on,
                sleep=_item(content, "sleep"),
                tiredness=_item(content, "tiredness"),
                soreness=_item(content, "soreness"),
                stress=_item(content, "stress"),
                mood=_item(content, "mood"),
                ill=ill,
            )
        readiness = known.morning(on, answers)
        return {
            "readiness": round(readiness.score, 1),
            "day": readiness.plan.value,
            "certainty": round(readiness.certainty, 3),
            "reasons": [
                {"code": reason.code.value, **reason.numbers} for reason in readiness.reasons
            ],
        }

    def _family(self, content: Mapping[str, Any]) -> Family:
        family = Family(choice(content, "family", _FAMILIES))
        known = self._known()
        if family not in known.wanted:
            raise BadLineError(f"{family.value} is not among the families of the profile.")
        if family not in known.families():
            raise BadLineError(f"This body and kit have no rung of {family.value}.")
        return family

    def _next(self, content: Mapping[str, Any]) -> Answer:
        known = self._known()
        given = known.next_set(self._family(content))
        return {
            "rung": given.step.rung,
            "dial": dict(given.step.setting),
            "demand": given.step.demand,
            "reps": given.amount,
            "stop_at_left": given.stop_at_left,
            "aim_left": list(given.left_target),
            "calibration": given.calibration,
            "predicted_left": round(given.predicted_left, 2),
            "unit": given.unit.value,
            "why": [{"code": one.code.value, **one.numbers} for one in given.reasons],
        }

    def _set(self, content: Mapping[str, Any]) -> Answer:
        known = self._known()
        family = self._family(content)
        if known.given(family) is None:
            raise BadLineError(f"Ask for the next set of {family.value} before telling of one.")
        amount = number(content, "reps", 0, _MOST_REPS)
        left = None
        if content.get("left") is not None:
            left = min(round(number(content, "left", 0, _MOST_REPS)), MOST_LEFT_TOLD)
        pain = round(number(content, "pain", 0, 10, default=0.0))
        slip = flag(content, "slip", default=False)
        ended = None
        if content.get("ended") is not None:
            ended = Ended(choice(content, "ended", [why.value for why in Ended]))
        known.set_done(family, int(amount), left, slip=slip, pain=pain, ended=ended)
        return {}

    def _end(self, content: Mapping[str, Any]) -> Answer:
        known = self._known()
        number(content, "effort", 0, 10, default=0.0)
        number(content, "minutes", 0, 24 * 60, default=0.0)
        known.end()
        return {}


def _day(told: object) -> date:
    try:
        return date.fromisoformat(str(told))
    except ValueError as wrong:
        raise BadLineError('A morning has a date such as "2026-01-05".') from wrong


def _item(content: Mapping[str, Any], name: str) -> int | None:
    if content.get(name) is None:
        return None
    return round(number(content, name, 1, 5))


def run_loop(lines: Iterable[str], out: TextIO) -> None:
    """Answer every line in turn until the lines end. Empty lines are passed over.

    Args:
        lines: such as ``sys.stdin``.
        out: such as ``sys.stdout``.
    """
    loop = Loop(load_catalogue())
    for line in lines:
        if line.strip():
            out.write(loop.answer(line) + "\n")
            out.flush()
