"""What people are likely to do next, by chance, from what stands on their phones."""

import random
from dataclasses import dataclass, field

from tests.lives import cast
from tests.lives.acts import (
    OLD_BEGINS,
    Act,
    Block,
    Joins,
    Morning,
    Restart,
    Says,
    Tap,
    Together,
    Voice,
    Wait,
)
from tests.lives.chats import Chats, Shown
from tests.lives.store import Person, Record
from tests.support.text_slips import with_slips

ONWARD = (
    "None of these",
    "No, none of these",
    "4",
    "3",
    "Done",
    "All is right",
    "I am ready",
    "Start the session",
    "See today",
    "Yes, I agree",
    "Yes",
    "Skip",
    "No",
    "8+",
)
"""Labels that lead on through a day or a form, as most people tap them."""

COACH_ONWARD = (
    "Both are right",
    "“",
    "Cleared to start",
    "Skip",
    "No word needed",
    "Yes",
    "Ask, in mmol/L",
    "12",
    "Usual",
    "End the pause",
)
CLINICIAN = "Dr Singh"
SIGN_BUTTONS = ("! ", "Yes, now", "Earlier", "I can't", "Something is wrong", "It hurt")
SLIPS = 0.2
STAYS = 0.86
"""How often somebody who has tapped taps on at once."""

CALM = 0.4
"""Share of lives in which signs are rare, so that holds are lifted and sessions follow."""

LONG_PASS = (60, 180, 360)
UNSEEN_PATIENCE = (1, 2, 3, 9)
TRAINING_PATIENCE = (1, 2, 4, 11, 16)


@dataclass(slots=True)
class Habits:
    """Chooses acts. One for each life."""

    chance: random.Random
    clients: list[str]
    with_stand_in: bool
    _busy: str = ""
    _joined: bool = False
    _invited: int = 0
    _blocked: set[str] = field(default_factory=set)
    _calm: bool = False

    def __post_init__(self) -> None:
        """Draw what kind of life it is."""
        self._calm = self.chance.random() < CALM

    def next(self, record: Record, chats: Chats) -> Act:
        """What happens next."""
        busy = self._goes_on_with(record, chats)
        if busy is not None:
            return busy
        roll = self.chance.random()
        if roll < 0.44:
            return self._pass(record)
        if roll < 0.45:
            return Restart()
        if roll < 0.46:
            return self._block()
        unseen = any(one.open and not one.seen for one in record.alerts.values())
        held = any(one.lifted_at is None for one in record.holds.values())
        if roll < (0.76 if unseen else 0.66 if held else 0.54):
            return self._coach(record, chats)
        if roll > 0.99 and not self._calm:
            return self._together()
        who = self.chance.choice(self.clients)
        person = record.called(who)
        if who == cast.JOINER and person is None:
            return Joins(who)
        return self._client(who, person, record, chats)

    def _goes_on_with(self, record: Record, chats: Chats) -> Act | None:
        """Somebody in the middle of a form, a session or a card taps on at once."""
        if not self._busy or self.chance.random() > STAYS:
            self._busy = ""
            return None
        if self._busy not in (cast.COACH, cast.STAND_IN):
            return self._tap(self._busy, chats, ONWARD)
        lifting = self._seeing_to(self._busy, record, chats)
        if isinstance(lifting, Tap) or lifting == Says(self._busy, CLINICIAN):
            return lifting
        return self._tap(self._busy, chats, COACH_ONWARD)

    def _pass(self, record: Record) -> Act:
        """Time goes on: not for long while somebody waits to be seen, as chases take time."""
        unseen = any(one.asked or (one.open and not one.seen) for one in record.alerts.values())
        training = any(one.status == "running" for one in record.sessions.values())
        if unseen and self._blocked and self.chance.random() < 0.3:
            return self._block()
        if (unseen or training) and self.chance.random() < 0.985:
            return Wait(self.chance.choice(UNSEEN_PATIENCE if unseen else TRAINING_PATIENCE))
        roll = self.chance.random()
        if roll < 0.15:
            return Wait(round(self.chance.uniform(0.2, 6), 1))
        if roll < 0.27:
            return Wait(self.chance.randrange(8, 40))
        if roll < 0.45:
            return Wait(self.chance.choice(LONG_PASS))
        return Morning(self.chance.choice(("07:00", "07:20", "18:00", "20:30")))

    def _block(self) -> Act:
        if self._blocked and self.chance.random() < 0.8:
            who = sorted(self._blocked)[0]
            self._blocked.discard(who)
            return Block(who, opens=True)
        who = self.chance.choice([cast.COACH, cast.COACH, *self.clients])
        self._blocked.add(who)
        return Block(who)

    def _together(self) -> Act:
        said = [
            Says(who, self.chance.choice((*cast.EMERGENCIES, *cast.URGENT, *cast.MORE_WORDS)))
            for who in self.clients
            if who != cast.JOINER
        ]
        return Together(tuple(self.chance.sample(said, min(2, len(said)))))

    def _client(self, who: str, person: Person | None, record: Record, chats: Chats) -> Act:
        troubled = person is not None and (
            record.paused(person.id) or record.question(person.id) is not None
        )
        roll = self.chance.random()
        if troubled and roll < (0.10 if self._calm else 0.30):
            pool = self.chance.choice(
                (cast.MORE_WORDS, cast.DOWNPLAYED, cast.ANSWERS_TO_ALARMS, cast.CHAT)
            )
            return self._typed(who, pool)
        roll = self.chance.random()
        if roll < 0.58:
            return self._tap(who, chats, ONWARD) or Says(who, "/today")
        if roll < 0.64:
            return self._old_tap(who, chats) or Says(who, "/menu")
        if roll < 0.80:
            return Says(who, self.chance.choice(cast.CLIENT_COMMANDS))
        if roll < 0.86:
            return self._typed(who, cast.CHAT)
        if roll < 0.93:
            return Says(who, self.chance.choice(cast.TYPED_ANSWERS))
        if roll < 0.935 and who != cast.JOINER:
            return Says(who, cast.LEAVING)
        if roll < 0.95:
            return Voice(who)
        if self._calm and self.chance.random() < 0.8:
            return Says(who, "/today")
        pool = self.chance.choice(
            (cast.EMERGENCIES, cast.URGENT, cast.DOUBTS, cast.DOUBTS, cast.OTHERS, cast.MENTIONS)
        )
        return self._typed(who, pool)

    def _typed(self, who: str, pool: tuple[str, ...]) -> Act:
        text = self.chance.choice(pool)
        if self.chance.random() < SLIPS:
            text = with_slips(text, self.chance, 0.3)
        return Says(who, text)

    def _coach(self, record: Record, chats: Chats) -> Act:
        stand_in = self.with_stand_in and self.chance.random() < 0.25
        who = cast.STAND_IN if stand_in else cast.COACH
        if not self._joined and self.chance.random() < 0.1:
            return self._invites(chats)
        roll = self.chance.random()
        asked = chats.newest_text(who).lower()
        if ("type" in asked or "who has" in asked or "when " in asked) and roll < 0.7:
            return Says(who, self.chance.choice(cast.COACH_WORDS))
        wanted = self._seeing_to(who, record, chats)
        if wanted is not None and self.chance.random() < 0.75:
            self._busy = who
            return wanted
        if roll < 0.60:
            return self._tap(who, chats, COACH_ONWARD) or Says(who, "/alerts")
        if roll < 0.66:
            return self._old_tap(who, chats) or Says(who, "/clients")
        if roll < 0.84:
            return Says(who, self.chance.choice(cast.COACH_COMMANDS))
        if roll < 0.95:
            named = self.chance.choice(self.clients)
            return Says(who, named)
        return Says(who, self.chance.choice(cast.COACH_WORDS))

    def _seeing_to(self, who: str, record: Record, chats: Chats) -> Act | None:
        """What somebody who cares does about an alert or a pause."""
        shown = chats.newest(who)
        labels = [label for label, _ in shown.buttons] if shown is not None else []
        for label in ("I have seen this", "A doctor", "Today", "End the pause"):
            if label in labels:
                return Tap(who, label)
        if shown is not None and "what is the name?" in shown.text:
            return Says(who, CLINICIAN)
        if any(one.open and not one.seen for one in record.alerts.values()):
            alert = next(
                (one for one in chats.older(who) if one.buttons[0][0] == "I have seen this"), None
            )
            if alert is not None:
                return Tap(who, "I have seen this", old=alert.text[:OLD_BEGINS])
            return Says(who, "/alerts")
        held = [one.client_id for one in record.holds.values() if one.lifted_at is None]
        return Says(who, record.people[held[0]].name) if held else None

    def _invites(self, chats: Chats) -> Act:
        """Invite a client: the command, the name; then the code can be typed."""
        self._invited += 1
        if self._invited == 1:
            return Says(cast.COACH, "/invite")
        self._joined = True
        self.clients.append(cast.JOINER)
        return Says(cast.COACH, cast.JOINER.capitalize())

    def _tap(self, who: str, chats: Chats, onward: tuple[str, ...]) -> Act | None:
        shown = chats.newest(who)
        if shown is None:
            return None
        self._busy = who
        return Tap(who, self._label(shown, onward), twice=self.chance.random() < 0.07)

    def _label(self, shown: Shown, onward: tuple[str, ...]) -> str:
        labels = [label for label, _ in shown.buttons]
        calm = [label for label in labels if not label.startswith(SIGN_BUTTONS)]
        likely = [label for label in labels if label.startswith(onward)]
        roll = self.chance.random()
        if likely and roll < 0.6:
            return likely[0] if self.chance.random() < 0.7 else self.chance.choice(likely)
        return self.chance.choice(calm if calm and roll < 0.94 else labels)

    def _old_tap(self, who: str, chats: Chats) -> Act | None:
        older = chats.older(who)[:40]
        if not older:
            return None
        shown = self.chance.choice(older)
        label = self.chance.choice(shown.buttons)[0]
        twice = self.chance.random() < 0.1
        return Tap(who, label, old=shown.text[:OLD_BEGINS], twice=twice)
