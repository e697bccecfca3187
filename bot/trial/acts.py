"""What the invented people do: join, check in, train, feel unwell, and what the coach does then."""

import random
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from bot.channels.page.channel import NAME
from bot.clock import ManualClock
from bot.errors import BotError
from bot.flows.coach.client.clearing import NOT_KNOWN, TOLD_OF
from bot.flows.forms import ASKED
from bot.runtime.app import App
from bot.storage.facts import StoreFacts
from bot.storage.people import speakers
from bot.storage.questions.due import next_due
from bot.storage.unit import UnitOfWork
from bot.trial.hands import Hands
from bot.trial.people import InventedClient, InventedCoach

CODE = re.compile(r"\b[A-Z2-9]{4}-[A-Z2-9]{4}\b")
QUESTIONS_AT_MOST = 80
STEPS_AT_MOST = 150
A_MOMENT = timedelta(seconds=1)
SET_WITH_REST = timedelta(minutes=4)
PART_OF_TEST = timedelta(minutes=1)
PART_OF_WARM_UP = timedelta(minutes=3)
USUAL_EFFORTS = ("4", "4", "5", "5", "6")


@dataclass
class Acts:
    """Things that people do, each through their own phone."""

    app: App
    clock: ManualClock
    hands: Hands
    trained: dict[str, int] = field(default_factory=dict)

    async def coach_joins(self, coach: InventedCoach, code: str) -> None:
        """A coach types the code that the operator gave her, and answers."""
        await self.hands.type(coach.phone, code)
        await self._fill_in(coach.phone, coach.answers)

    async def client_joins(self, client: InventedClient, coach: InventedCoach, today: date) -> None:
        """The coach invites, the client types the code and answers every question."""
        await self.hands.type(coach.phone, "/invite")
        await self.hands.type(coach.phone, client.name)
        code = CODE.search(self.hands.text(coach.phone))
        if code is None:
            raise BotError(f"no invitation for {client.name}: {self.hands.text(coach.phone)}")
        await self.hands.type(client.phone, code.group())
        await self._fill_in(client.phone, client.joining_answers(today))
        if not await self.hands.tap(client.phone, "right"):
            raise BotError(f"{client.name} did not get to the end of joining")

    async def coach_clears(self, client: InventedClient, coach: InventedCoach) -> None:
        """The coach looks at the answers and says "cleared to start"."""
        await self.hands.tap(coach.phone, "open", handler="client")
        await self._go(coach.phone, "clear", f"identity{ASKED}right")
        await self._coach_does_not_know(coach.phone)
        if client.doctor:
            await self.hands.type(coach.phone, client.doctor)
            await self._go(coach.phone, f"word_on{ASKED}today")
        else:
            await self._go(coach.phone, f"word{ASKED}own")
            await self.hands.tap(coach.phone, f"sure{ASKED}sure")
        await self._go(coach.phone, f"until{ASKED}6")

    async def _coach_does_not_know(self, phone: str) -> None:
        """What is asked about conditions before clearing stays not known: the careful answer."""
        for _ in range(QUESTIONS_AT_MOST):
            unknown = [
                value
                for value in self.hands.offered(phone)
                if value.startswith(TOLD_OF) and value.endswith(f"{ASKED}{NOT_KNOWN}")
            ]
            if not unknown:
                return
            await self.hands.tap(phone, unknown[0])

    async def checks_in(
        self, client: InventedClient, chance: random.Random, different: Mapping[str, Any]
    ) -> None:
        """The morning questions, one after the other."""
        answers = client.morning(chance, different)
        for _ in range(QUESTIONS_AT_MOST):
            asked = {value.partition("=")[0] for value in self.hands.offered(client.phone)}
            question = next((key for key in answers if key in asked), None)
            if question is None:
                if "nothing" in asked:
                    # Once a month: has anything in your health changed?
                    await self.hands.tap(client.phone, "nothing")
                    return
                if "skip" in asked and "words" in answers:
                    await self.hands.type(client.phone, answers.pop("words"))
                    continue
                return
            await self.hands.tap(client.phone, f"{question}={answers.pop(question)}")

    async def trains(self, client: InventedClient, chance: random.Random, wish: str = "") -> None:
        """Today's session, from the list to the minutes."""
        if "today" not in self.hands.offered(client.phone):
            return
        await self.hands.tap(client.phone, "today", handler="open")
        if "start" not in self.hands.offered(client.phone):
            return
        await self.hands.tap(client.phone, "start")
        for _ in range(STEPS_AT_MOST):
            offered = self.hands.offered(client.phone)
            if wish and wish in offered:
                await self.hands.tap(client.phone, wish)
                wish = ""
                continue
            value = await self._next_in_session(client, offered, chance)
            if not value:
                break
            await self.hands.tap(client.phone, value)
            if value.startswith("minutes="):
                # The last answer of a session; the cards above it still show their buttons.
                break
        self.trained[client.name] = self.trained.get(client.name, 0) + 1

    async def tests(
        self, client: InventedClient, coach: InventedCoach, test: str, counts: Sequence[str]
    ) -> None:
        """The coach asks for a home test; the client does it with somebody in the room."""
        await self.hands.type(coach.phone, "/clients")
        for label in self.hands.labelled(coach.phone, client.name):
            await self.hands.tap(coach.phone, label)
        await self._go(coach.phone, "tests", f"test{ASKED}{test}", "ask")
        for value in ("go_on", "both", "ready"):
            if not await self.hands.tap(client.phone, value):
                # Not a day for a test: it waits in the menu.
                return
        for count in counts:
            await self.pass_time(PART_OF_TEST)
            await self.hands.type(client.phone, count)
        if {"yes", "no"} <= set(self.hands.offered(client.phone)):
            await self.hands.tap(client.phone, "no")

    async def says(self, client: InventedClient, words: str) -> None:
        """Words that are a warning sign; whatever is asked then is answered."""
        await self.hands.type(client.phone, words)
        if "now" in self.hands.offered(client.phone):
            await self.hands.tap(client.phone, "now")
        await self.hands.tap(client.phone, "called")

    async def coach_sees(self, coach: InventedCoach) -> None:
        """The coach taps "seen" on the newest alert."""
        await self.hands.tap(coach.phone, "seen", handler="alert")

    async def pass_time(self, span: timedelta) -> None:
        """Let time go on, with everything that falls due on the way."""
        await self.until(self.clock.now() + span)

    async def until(self, moment: datetime) -> None:
        """Let time go on to ``moment``, stopping where something falls due."""
        while True:
            due = await self.app.database.run(next_due)
            if due is None or due > moment:
                break
            self.clock.move_to(max(due, self.clock.now() + A_MOMENT))
            await self.app.ticks.catch_up(self.clock.now())
            await self.hands.look()
        self.clock.move_to(moment)

    async def _fill_in(self, phone: str, answers: Mapping[str, Any]) -> None:
        """Answer a form, question by question, until it asks no more."""
        for _ in range(QUESTIONS_AT_MOST):
            offered = self.hands.offered(phone)
            question = next((value.partition(ASKED)[0] for value in offered if ASKED in value), "")
            if not question:
                return
            await self._answer(phone, question, answers.get(question), offered)
        raise BotError(f"a form on {phone} never ended")

    async def _answer(self, phone: str, question: str, answer: Any, offered: list[str]) -> None:
        def button(code: str) -> str:
            return f"{question}{ASKED}{code}"

        if isinstance(answer, list):
            for code in answer:
                await self.hands.tap(phone, button(code))
            await self.hands.tap(phone, button("done" if answer else "none"))
        elif answer is None:
            for code in ("skip", "none", "no", "keep"):
                if button(code) in offered:
                    await self.hands.tap(phone, button(code))
                    return
            raise BotError(f"nobody on {phone} knows what to say to {question}")
        elif button(str(answer)) in offered:
            await self.hands.tap(phone, button(str(answer)))
        else:
            await self.hands.type(phone, str(answer))

    async def _go(self, phone: str, *values: str) -> None:
        for value in values:
            if not await self.hands.tap(phone, value):
                raise BotError(f"no button {value} on {phone}")

    async def _next_in_session(
        self, client: InventedClient, offered: list[str], chance: random.Random
    ) -> str:
        """What to tap next, "" when the session is over."""
        amounts = [value for value in offered if value.startswith("did=")]
        minutes = [value for value in offered if value.startswith("minutes=")]
        if amounts:
            await self.pass_time(SET_WITH_REST)
            return amounts[len(amounts) // 2]
        if any(value.startswith("left=") for value in offered):
            expected = await self.app.database.run(self._expected_left, client.phone)
            sessions = self.trained.get(client.name, 0)
            return f"left={client.left_in_hand(chance, expected, sessions)}"
        if any(value.startswith("effort=") for value in offered):
            return f"effort={chance.choice(USUAL_EFFORTS)}"
        if minutes:
            return minutes[len(minutes) // 2]
        if "done" in offered and "stop" in offered:
            await self.pass_time(PART_OF_WARM_UP)
            return "done"
        return next(
            (value for value in ("ready", "on", "not_used") if value in offered), _signs(offered)
        )

    def _expected_left(self, unit: UnitOfWork, phone: str) -> float:
        """What the plan expects to be left in hand after the set that is being logged."""
        (person, *_others) = speakers(unit, NAME, phone)
        facts = StoreFacts(unit, person, self.clock.now(), self.app.loaded.reference)
        session = facts.running_session(person.id)
        if session is None:
            return 3.0
        logged = facts.history(person.id).sets
        families = {one.family for one in logged if one.on == session.on}
        items = session.plan.prescriptions if session.plan is not None else ()
        open_items = [item for item in items if item.family not in families]
        return open_items[0].predicted_left if open_items else 3.0


def _signs(offered: list[str]) -> str:
    """The question on warning signs, put again before a session."""
    return "none" if "none" in offered and "sign" in offered else ""
