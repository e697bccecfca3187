"""The one use case: something arrived; red flags first, then the conversation.

Three commits carry one arrival: the inbox row (:mod:`bot.storage.inbox`), what the red-flag reader
found, and the conversation's turn. A fault in the third cannot lose the second.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import Enum

from bot.engine import coach_questions
from bot.engine.burst import is_loud, together
from bot.engine.screens import (
    ALWAYS_HEARD,
    DOUBLE_TAP,
    Home,
    home_of,
    is_of_another_day,
    is_repeat,
    is_too_late,
    move_on,
    split_tap,
)
from bot.engine.small_pain import heard_as_small_pain
from bot.engine.speakers import STRANGER, Speakers, likely_speaker, others_perhaps
from bot.engine.speaking import Stage, TurnContext, TurnServices, applying_in, carry_out, speak
from bot.engine.told_numbers import (
    asks_unit,
    is_count_asked_for,
    meter_says,
    named,
    pulse_waits,
    read_again,
    why,
)
from bot.engine.typed_labels import opened_by_label
from bot.errors import BotError
from bot.flows.changes import AddWords, Change, RaiseAlert
from bot.flows.client import feeling, health_change, today
from bot.flows.client.buttons import hand_to_coach
from bot.flows.client.told_numbers import answers_of, fever_told, keep, rests_now
from bot.flows.commands import ASKED_FLOW, clients_found, command_of, own_words_begin
from bot.flows.facts import Alert, Person
from bot.flows.machine import (
    AnsweredInPart,
    AnsweredPlainly,
    AsksOfHealth,
    Begin,
    Button,
    CallbackHandler,
    Event,
    EventKind,
    Flow,
    Rows,
    Say,
    Turn,
)
from bot.flows.record import said_unwell
from bot.flows.routing import who
from bot.flows.routing.fallback import not_understood
from bot.flows.safety import late
from bot.flows.safety.opening import SAFETY, SafetyOpening, begin_safety
from bot.flows.safety.shared_phone import of_others
from bot.invitation_codes import code_hash, code_in
from bot.messages import PLACE_MARK, TYPED, Incoming, IncomingKind, Kind
from bot.storage import conversations, inbox, people
from bot.storage.changes.erasing import erase_the_turn
from bot.storage.conversations import Conversation
from bot.storage.facts import StoreFacts
from bot.storage.guesses import may_try, note_wrong
from bot.storage.inbox import Waiting
from bot.storage.joining import Redeemed, RedeemRefusal, is_known, redeem
from bot.storage.outbox import was_shown, written_at
from bot.storage.people import Address
from bot.storage.questions.chased_alerts import hurry_for
from bot.storage.server.generation import unmarked
from bot.storage.unit import UnitOfWork
from core.answers.names import read_code
from core.red_flags.reader import Reader
from core.red_flags.reading import Reading, TextReasonCode
from core.vocabulary import AlertLevel, PersonId, Role, Sign, TextLevel

COME_BETWEEN = ("safety", "treatment", "feeling", "message", ASKED_FLOW)
"""Conversations that come between; when they end, what was open before is asked again."""


URGENT_FLOWS = (SAFETY, "treatment")
"""Conversations about a sign."""


class SignsRead(Enum):
    """What the red-flag transaction has made of an arrival."""

    NOTHING = "nothing"  # there was no sign in it
    SAID = "said"  # it has been told what to do; the words may answer an open question, too
    ANSWERED = "answered"  # nothing more is to be done about it


ASKS_FOR = "open"
"""Buttons that open a conversation as its command does; they name nothing that may be gone."""

LIST_STAYS = timedelta(minutes=10)
"""So long a list that was shown is still in sight (ours)."""

MOST_BEGINS = 5
"""Conversations that one turn may open one after another; more is a loop, hence a bug."""


@dataclass(frozen=True, slots=True)
class Conversations:
    """Handles arrivals, one at a time per chat. Every method runs on a store thread."""

    services: TurnServices
    reader: Reader
    flows: Mapping[str, Flow]
    handlers: Mapping[str, CallbackHandler]

    @property
    def speakers(self) -> Speakers:
        """Finds out whose arrivals these are."""
        return Speakers(self.flows, self.handlers)

    def handle(
        self, unit: UnitOfWork, row: Waiting, now: datetime, reading: Reading | None = None
    ) -> None:
        """Work off one inbox row; commits twice.

        Args:
            reading: what the red-flag reader made of the words; they are read here when left out.
        """
        at = Address(row.incoming.channel, row.incoming.address)
        speakers = people.speakers(unit, at.channel, at.address)
        person = self.speakers.who(unit, row.incoming, speakers, now)
        # Words that may be a sign are taken for the client who used this phone last.
        likely = person or likely_speaker(speakers)
        code = code_in(row.incoming.text)
        # A code is letters by chance, and some of them look like words about health.
        waits = bool(code) and not may_try(unit, at, now)
        invited = bool(code) and not waits and self._is_invited(unit, at, code, now)
        if person is not None and split_tap(row.incoming.tap)[0] != who.NAME:
            # Before the signs: whoever writes of one can be reached again.
            _used(unit, person, at, now)
        context = self._context(unit, row.incoming, likely or STRANGER, at, now, Stage.SIGNS)
        signs = SignsRead.NOTHING
        if not row.read and not invited:
            perhaps = others_perhaps(person, likely, speakers)
            signs = self._act_on_red_flags(context, row, reading, perhaps)
        if signs is SignsRead.ANSWERED:
            return
        if not speakers:
            self._stranger(unit, row, at, now, waits=waits)
        elif invited:
            context = self._context(unit, row.incoming, person or speakers[0], at, now)
            self._redeem(context, row.incoming.text, waits=False)
        elif person is None:
            context = self._context(unit, row.incoming, speakers[0], at, now)
            context.facts.looked_at.update(one.id for one in speakers)
            tapped = row.incoming.kind is IncomingKind.TAP
            asked = [who.ask_who(row.id, speakers, tapped=tapped)]
            speak(self.services, context, asked, None)
        else:
            if person.role is Role.COACH:
                coach_questions.end_old(unit, person.id, now)
            context = self._turn_or_stale(unit, row, person, at, now, signs, reading)
        self._done(context, [row], person)
        unit.commit()

    def handle_together(self, unit: UnitOfWork, rows: Sequence[Waiting], now: datetime) -> None:
        """Answer many texts of one chat as one; their signs have been dealt with. Commits."""
        last = rows[-1]
        at = Address(last.incoming.channel, last.incoming.address)
        *before, words = together(rows)
        incoming = replace(last.incoming, text=words)
        speakers = people.speakers(unit, at.channel, at.address)
        person = self.speakers.who(unit, incoming, speakers, now)
        someone = person or next(iter(speakers), STRANGER)
        context = self._context(unit, incoming, someone, at, now)
        if person is None:
            asked = who.ask_who(last.id, speakers, tapped=False) if speakers else None
            speak(self.services, context, [asked or Say("engine/stranger")], None)
        else:
            _used(unit, person, at, now)
            more = late.more_words(incoming.text, context.facts)
            open_now = conversations.open_of(unit, person.id)
            asking = [
                one for one in open_now if not one.quiet and conversations.still_asks(one, now)
            ]
            if more is not None:
                added = [AddWords(person.id, piece) for piece in before]
                carry_out(self.services, context, added)
                self._begin_all(context, [more])
            else:
                self._not_understood(context, incoming.text, last.id, asking)
        self._done(context, rows, person)
        unit.commit()

    def look_for_alarms(
        self, unit: UnitOfWork, read: Sequence[tuple[Waiting, Reading]], now: datetime
    ) -> set[int]:
        """Keep the numbers that quiet texts tell, and act on alarming words; commits.

        Gives the ids of the rows that are answered by that.
        """
        answered = set()
        for row, reading in read:
            at = Address(row.incoming.channel, row.incoming.address)
            person = self._who(unit, row.incoming, now)
            if person is not None:
                # As for a single text: whoever writes can be reached again.
                _used(unit, person, at, now)
            speakers = people.speakers(unit, at.channel, at.address)
            likely = person or likely_speaker(speakers) or STRANGER
            context = self._context(unit, row.incoming, likely, at, now, Stage.SIGNS)
            perhaps = others_perhaps(person, likely, speakers)
            if self._act_on_red_flags(context, row, reading, perhaps) is SignsRead.ANSWERED:
                answered.add(row.id)
        unit.commit()
        return answered

    def add_signs(
        self, unit: UnitOfWork, read: Sequence[tuple[Waiting, Reading]], now: datetime
    ) -> set[int]:
        """Put signs on the client's alert that a burst does not answer one by one; commits.

        What would have been asked about is told, as after silence. Gives no row as answered.
        """
        for row, reading in read:
            at = Address(row.incoming.channel, row.incoming.address)
            speakers = people.speakers(unit, at.channel, at.address)
            person = self._who(unit, row.incoming, now)
            likely = person or likely_speaker(speakers) or STRANGER
            context = self._context(unit, row.incoming, likely, at, now, Stage.SIGNS)
            level = reading.level
            if level is TextLevel.ASK:
                level = reading.if_unanswered
            if not self._is_client(context) or level not in (TextLevel.URGENT, TextLevel.EMERGENCY):
                continue
            on = late.alert_on(context.facts)
            told = RaiseAlert(
                likely.id,
                AlertLevel(level.value),
                reading.signs,
                # With an alert on, the words come to it with all others of the burst.
                "" if on is not None else row.incoming.text,
                holds=not reading.for_other,
                for_other=reading.for_other,
            )
            perhaps = [one.id for one in others_perhaps(person, likely, speakers)]
            carry_out(self.services, context, [told, *of_others(perhaps, told)])
        unit.commit()
        return set()

    def _who(self, unit: UnitOfWork, incoming: Incoming, now: datetime) -> Person | None:
        speakers = people.speakers(unit, incoming.channel, incoming.address)
        return self.speakers.who(unit, incoming, speakers, now)

    def _is_invited(self, unit: UnitOfWork, at: Address, code: str, now: datetime) -> bool:
        """Whether a code is one of ours; what is none is counted."""
        known = is_known(unit, code_hash(code, unit.encryption.hashes))
        if not known:
            note_wrong(unit, at, now)
        return known

    def _done(self, context: TurnContext, rows: Sequence[Waiting], person: Person | None) -> None:
        """These arrivals are worked off.

        Where somebody's words are erased, in this turn or before, those of this turn are, too.
        """
        for row in rows:
            about = context.facts.looked_at
            inbox.mark_done(context.unit, row.id, person.id if person else None, about)
        back = person.id if person is not None and person.left else None
        if context.unit.erased or back is not None:
            erase_the_turn(applying_in(self.services, context), back)

    def apologise(self, unit: UnitOfWork, row: Waiting, now: datetime) -> None:
        """Say that something went wrong with a row that has been set aside; commits."""
        at = Address(row.incoming.channel, row.incoming.address)
        speakers = people.speakers(unit, at.channel, at.address)
        person = self.speakers.who(unit, row.incoming, speakers, now) or next(iter(speakers), None)
        if person is not None:
            context = self._context(unit, row.incoming, person, at, now, Stage.SET_ASIDE)
            speak(self.services, context, [Say("engine/apology")], None)
            unit.commit()
            on = late.alert_on(context.facts)
            if on is not None and row.incoming.kind in TYPED:
                # Whatever failed: while an alert is open, what its client types belongs to it.
                none_yet = replace(on, words=())
                self._keep_with_alert(context, none_yet, row.incoming.text)
                unit.commit()

    def wake(self, unit: UnitOfWork, conversation: Conversation, now: datetime) -> None:
        """A conversation's own waking moment has come; the caller commits."""
        person = people.get_person(unit, conversation.person_id)
        cause = f"due:{conversation.id}:{int(now.timestamp())}"
        at = people.chat_to_go_on_in(unit, person.id, conversation.at)
        context = self._context_of(unit, person, at, cause, now)
        event = Event(EventKind.DUE, cause=cause)
        self._step(context, conversation, event)

    def begin(
        self,
        unit: UnitOfWork,
        person_id: PersonId,
        begin: Begin,
        at: Address,
        cause: str,
        now: datetime,
    ) -> None:
        """Open a conversation of our own accord (a prompt); the caller commits."""
        person = people.get_person(unit, person_id)
        context = self._context_of(unit, person, at, cause, now)
        self._begin_all(context, [begin])

    def _act_on_red_flags(
        self,
        context: TurnContext,
        row: Waiting,
        reading: Reading | None,
        perhaps: Sequence[Person] = (),
    ) -> SignsRead:
        """The red-flag transaction, where the words hold a sign or raise an alarm.

        Args:
            perhaps: who else may have written them, on a phone that several clients use.
        """
        person, incoming = context.facts.me, row.incoming
        if incoming.kind not in (*TYPED, IncomingKind.UNREADABLE):
            return SignsRead.NOTHING
        if self._is_count(context, incoming.text):
            return SignsRead.NOTHING
        text = self._meter(context, incoming.text) or incoming.text
        if reading is None or text != incoming.text:
            reading = self.reader.read(text)
        on = late.alert_on(context.facts)
        if self._is_client(context):
            known = read_again(self.reader, text, reading, context.facts)
            if pulse_waits(reading, known):
                speak(self.services, context, [Say("safety/pulse_again", kind=Kind.SAFETY)], None)
                return self._red_flags_read(context, row, on, SignsRead.ANSWERED)
            top = self._top(context)
            asking = top.state if top is not None else None
            reading = heard_as_small_pain(text, known, asking, context.facts)
            # A number counts from now on, whatever else becomes of these words.
            self._keep(context, keep(reading.numbers, context.facts))
        found = reading.level is not TextLevel.NONE or bool(reading.signs)
        unread = incoming.kind is IncomingKind.UNREADABLE
        # Changed words answer no question: the one that was meant is another by now.
        is_answer = incoming.kind is IncomingKind.TEXT
        if found and is_answer and self._was_asked(context, incoming.text, reading):
            return self._red_flags_read(context, row, on, SignsRead.NOTHING)
        # What only the second opinion doubts may be the answer to a question about a sign.
        doubted = reading.because.code is TextReasonCode.SECOND_OPINION
        if not unread and (not found or doubted):
            alarm = late.alarming_words(incoming.text, context.facts)
            answers = is_answer and late.answers_the_question(incoming.text, context.facts)
            if alarm is None and (not found or answers):
                return SignsRead.NOTHING
        else:
            alarm = None
        if alarm is not None:
            self._begin_all(context, [alarm])
            return self._red_flags_read(context, row, on, SignsRead.ANSWERED)
        loud = self._fever(context, incoming.text, reading)
        if loud is not None:
            self._begin_all(context, [loud])
            return self._red_flags_read(context, row, on, SignsRead.ANSWERED)
        answered = reading.level is not TextLevel.NONE or unread
        stranger = person.id == STRANGER.id
        if person.role is Role.COACH:
            if not unread or stranger:
                self._advise(context, reading, unread=unread)
            # A coach's note about a client is still a note; a stranger has nothing else to say.
            whole = stranger and answered
            signs = SignsRead.ANSWERED if whole else SignsRead.NOTHING
            return self._red_flags_read(context, row, on, signs)
        opening = SafetyOpening(
            level=reading.level,
            signs=reading.signs,
            if_unanswered=reading.if_unanswered,
            for_other=reading.for_other,
            perhaps_client=reading.perhaps_client,
            others=tuple(one.id for one in perhaps),
            asks_unit=asks_unit(reading, context.facts),
            numbers=named(reading.numbers),
            words=incoming.text,
            unread=unread,
            why=why(reading.numbers, context.facts),
            tongue=reading.tongue,
        )
        context.facts.looked_at.update(opening.others)
        self._begin_all(replace(context, handed_on=not answered), [begin_safety(opening)])
        signs = SignsRead.ANSWERED if answered else SignsRead.SAID
        return self._red_flags_read(context, row, on, signs)

    def _is_count(self, context: TurnContext, text: str) -> bool:
        """Whether it is just the number of minutes or repetitions that is asked for."""
        top = self._top(context) if self._is_client(context) else None
        return top is not None and is_count_asked_for(text, top.state, context.facts)

    def _meter(self, context: TurnContext, text: str) -> str:
        """The answer "LO" where a sugar is asked for, as a sentence; "" for all else."""
        top = self._top(context) if self._is_client(context) else None
        return meter_says(text, top.state, context.facts) if top is not None else ""

    def _keep(self, context: TurnContext, changes: Sequence[Change]) -> None:
        """Keep what was told of the body; where it makes a day of rest, what is on its way ends."""
        stops = rests_now(changes, context.facts)
        carry_out(self.services, context, changes)
        speak(self.services, context, stops, None)

    def _fever(self, context: TurnContext, text: str, reading: Reading) -> Begin | None:
        """A fever told in words is today's answer; gives the alarm that the rules ask for."""
        told = Sign.FEVER in reading.signs and not reading.for_other
        if not told or reading.level is TextLevel.ASK or not self._is_client(context):
            return None
        changes, loud = fever_told(text, context.facts)
        self._keep(context, changes)
        return loud if reading.level is TextLevel.NONE else None

    def _was_asked(self, context: TurnContext, text: str, reading: Reading) -> bool:
        """Whether the open question asks for just what was read, so that it is an answer."""
        for conversation in conversations.open_of(context.unit, context.facts.me.id):
            if conversation.quiet or late.may_be_passed_over(
                conversation.state, text, context.facts
            ):
                continue
            flow = self.flows.get(conversation.state.flow)
            if not isinstance(flow, AsksOfHealth) or not flow.tells_what_was_asked(
                conversation.state, text, reading, context.facts
            ):
                return False
            beside = ""
            if isinstance(flow, AnsweredInPart):
                beside = flow.beside_the_answer(conversation.state, text, context.facts)
            return not beside or not is_loud(self.reader.read(beside))
        return False

    def _red_flags_read(
        self, context: TurnContext, row: Waiting, on: Alert | None, signs: SignsRead
    ) -> SignsRead:
        """End the red-flag transaction; what it has answered altogether is done with it."""
        unit, me = context.unit, context.facts.me
        inbox.mark_read(unit, row.id)
        if signs is SignsRead.ANSWERED:
            self._keep_with_alert(context, on, row.incoming.text)
            self._done(context, [row], None if me.id == STRANGER.id else me)
        unit.commit()
        return signs

    def _advise(self, context: TurnContext, reading: Reading, *, unread: bool) -> None:
        """Safety advice for somebody who is nobody's client: there is no coach to tell."""
        stranger = context.facts.me.id == STRANGER.id
        template = "safety/for_stranger" if stranger else "safety/for_coach"
        if stranger and reading.for_other and reading.level is TextLevel.EMERGENCY:
            template = "safety/other_for_stranger"
        elif stranger and Sign.SELF_HARM in reading.signs:
            template = "safety/care_for_stranger"
        say = Say(template, {"unread": unread, "tongue": reading.tongue}, kind=Kind.SAFETY)
        speak(self.services, context, [say], None)

    def _stranger(
        self, unit: UnitOfWork, row: Waiting, at: Address, now: datetime, *, waits: bool
    ) -> None:
        """Somebody without an invitation, or with one, perhaps in a sentence."""
        context = self._context(unit, row.incoming, STRANGER, at, now)
        text = row.incoming.text
        code = code_in(text)
        if not code:
            code = read_code(text, self.services.reference.sentences)
            waits = bool(code) and not may_try(unit, at, now)
            if code and not waits:
                # What is no code of ours counts as tried, as a bare one does.
                self._is_invited(unit, at, code, now)
        if not self._redeem(context, code, waits=waits):
            speak(self.services, context, [Say("engine/stranger")], None)

    def _redeem(self, context: TurnContext, text: str, *, waits: bool) -> bool:
        """Take an invitation's code; False when the text holds none."""
        code = code_in(text)
        if not code or context.at is None:
            return False
        found: Redeemed | RedeemRefusal = RedeemRefusal.TOO_MANY
        if not waits:
            hashed = code_hash(code, context.unit.encryption.hashes)
            found = redeem(context.unit, hashed, context.at, context.now)
        if isinstance(found, RedeemRefusal):
            speak(self.services, context, [Say("engine/code_refused", {"why": found.value})], None)
            return True
        person = people.get_person(context.unit, found.person_id)
        if person.role is Role.COACH:
            hurry_for(context.unit, person.id, context.now)
        facts = StoreFacts(context.unit, person, context.now, self.services.reference)
        mine = replace(context, facts=facts)
        for old in found.left:
            speak(self.services, replace(mine, at=old), [Say("engine/chat_closed")], None)
        sharing = people.speakers(mine.unit, context.at.channel, context.at.address)
        facts.looked_at.update(one.id for one in sharing)
        speak(self.services, mine, who.newly_shared(sharing), None)
        if found.rebound:
            conversations.move_open(context.unit, person.id, context.at)
        self._begin_all(mine, [Begin(found.flow, {"rebound": found.rebound})])
        if found.rebound:
            self._ask_on_new_phone(mine)
        return True

    def _ask_on_new_phone(self, context: TurnContext) -> None:
        """What is open about a sign is asked on the new phone: its time runs on."""
        for conversation in conversations.open_of(context.unit, context.facts.me.id):
            if conversation.state.flow in URGENT_FLOWS and not conversation.quiet:
                self._resume(context, conversation)

    def _turn_or_stale(
        self,
        unit: UnitOfWork,
        row: Waiting,
        person: Person,
        at: Address,
        now: datetime,
        signs: SignsRead,
        reading: Reading | None,
    ) -> TurnContext:
        """The turn; a button's value that was never shown and means nothing is an old one.

        Gives the context in which it was answered.
        """
        incoming = row.incoming
        context = self._context(unit, incoming, person, at, now)
        try:
            self._turn(context, incoming, row.id, signs, reading)
        except Exception:
            tapped = incoming.kind is IncomingKind.TAP
            unit.undo()
            if not tapped or was_shown(unit, at, incoming.message_id, incoming.tap):
                raise
            context = self._context(unit, incoming, person, at, now)
            self._stale(context)
        return context

    def _turn(
        self,
        context: TurnContext,
        incoming: Incoming,
        row_id: int,
        signs: SignsRead = SignsRead.NOTHING,
        reading: Reading | None = None,
    ) -> None:
        """The conversation's own transaction, up to the commit."""
        if incoming.kind is IncomingKind.TAP:
            self._tap(context, incoming, row_id)
            return
        if incoming.text.startswith("/start ") and context.at is not None:
            # What was no code of ours has just been counted.
            waits = not may_try(context.unit, context.at, context.now)
            if self._redeem(context, incoming.text, waits=waits):
                return
        on = late.alert_on(context.facts)
        if incoming.kind is IncomingKind.EDITED:
            self._edited(context, incoming.text, signs)
            return
        if incoming.kind is IncomingKind.UNREADABLE:
            # A client's and a stranger's has been answered by now; what a coach was asked waits on.
            speak(self.services, context, [Say("engine/unreadable")], None)
            return
        self._typed(context, incoming, row_id, signs, reading)
        self._keep_with_alert(context, on, incoming.text)

    def _edited(self, context: TurnContext, text: str, signs: SignsRead) -> None:
        """Other words in place of a message: they answer nothing that was asked since then.

        Read for signs they are, and what belongs to an open alert goes to it.
        """
        if signs is SignsRead.SAID:
            return
        more = late.more_words(text, context.facts)
        if more is not None:
            self._begin_all(context, [more])
            return
        speak(self.services, context, [Say("engine/edited")], None)
        self._resume_top(context)

    def _keep_with_alert(self, context: TurnContext, on: Alert | None, text: str) -> None:
        """While an alert is open, what its client types stands on it and goes to the coach.

        Args:
            on: the alert as it was before these words; whatever took them may have added them.
        """
        left_out = late.left_out(text, on, context.facts)
        if left_out is not None:
            carry_out(self.services, context, [left_out])

    def _typed(
        self,
        context: TurnContext,
        incoming: Incoming,
        row_id: int,
        signs: SignsRead,
        reading: Reading | None,
    ) -> None:
        """Words, or a phone number that was shared: whose answer they are, or what they ask for."""
        kind = EventKind.CONTACT if incoming.kind is IncomingKind.CONTACT else EventKind.TEXT
        me = context.facts.me
        if me.role is Role.COACH and reading is None:
            reading = self.reader.read(incoming.text)
        holds_sign = me.role is Role.COACH and reading is not None and bool(reading.signs)
        event = Event(kind, incoming.text, cause=context.cause, holds_sign=holds_sign)
        command = command_of(incoming.text, me.role, self.services.reference.commands)
        open_now: Sequence[Conversation] = [
            conversation
            for conversation in conversations.open_of(context.unit, me.id)
            if not conversation.quiet
        ]
        open_now = self._asked_for(open_now, incoming.text, context)
        said = signs is SignsRead.SAID
        if said and (not open_now or open_now[0].state.flow == SAFETY):
            return
        first = coach_questions.goes_first(incoming.text, open_now, context.facts)
        outright = first is not None or (command is not None and incoming.text.startswith("/"))
        outright = outright or (command is not None and self._is_old(open_now[:1], context))
        named = clients_found(incoming.text, context.facts) if me.role is Role.COACH else None
        outright = outright or (
            named is not None and self._is_passed_over(context, open_now, event)
        )
        if open_now and not outright and self._takes_words(context, open_now[0], event):
            return
        command = first or command or own_words_begin(incoming.text, context.facts)
        command = command or named
        if command is not None and (command.flow == ASKED_FLOW or command.args.get("told")):
            # What cannot be answered here is sent to the coach by its stored words.
            command = replace(command, args={**command.args, "row": str(row_id)})
        if not said:
            command = command or late.more_words(incoming.text, context.facts)
        open_now = [one for one in open_now if conversations.still_asks(one, context.now)]
        if command is not None:
            self._begin_all(context, [command])
            return
        if said:
            self._resume_top(context)
            return
        opened = opened_by_label(incoming.text, me, context.unit, context.at, context.now)
        if opened is not None:
            self._begin_all(context, [opened])
            return
        self._not_understood(context, incoming.text, row_id, open_now, reading)

    def _is_passed_over(
        self, context: TurnContext, open_now: Sequence[Conversation], event: Event
    ) -> bool:
        """Whether a client's name means nothing to the question that stands open."""
        flow = self.flows.get(open_now[0].state.flow) if open_now else None
        if flow is None:
            return False
        return coach_questions.is_passed_over(open_now[0].state, flow, event, context.facts)

    def _takes_words(self, context: TurnContext, conversation: Conversation, event: Event) -> bool:
        """Let a conversation take typed words; False when they meant nothing to it.

        Days later they may mean something else: the question says of which day it is, and is put
        again.
        """
        if not self._is_old([conversation], context):
            return self._step(context, conversation, event)
        flow = self.flows[conversation.state.flow]
        if not flow.step(conversation.state, event, context.facts).understood:
            return False
        asked_on = context.facts.me.local(conversation.touched_at).date()
        speak(self.services, context, [Say("engine/old_question", {"on": asked_on})], None)
        self._resume(context, conversation)
        return True

    def _is_old(self, asking: Sequence[Conversation], context: TurnContext) -> bool:
        """Whether what is asked, if anything, was left on an earlier day."""
        return any(
            is_of_another_day(one, self.flows[one.state.flow], context.facts)
            for one in asking
            if one.state.flow in self.flows
        )

    def _asked_for(
        self, open_now: Sequence[Conversation], text: str, context: TurnContext
    ) -> Sequence[Conversation]:
        """The open conversations, the one first whose question the words plainly answer.

        An alert lies on top for an hour; "7" is the answer to what was asked before it all the
        same.
        """
        state = open_now[0].state if open_now else None
        if state is None or not late.may_be_passed_over(state, text, context.facts):
            return open_now
        for conversation in open_now[1:]:
            flow = self.flows.get(conversation.state.flow)
            if (
                isinstance(flow, AnsweredPlainly)
                and conversations.still_asks(conversation, context.now)
                and flow.plainly_answers(conversation.state, text, context.facts)
            ):
                others = [one for one in open_now if one is not conversation]
                return [conversation, *others]
        return open_now

    def _tap(self, context: TurnContext, incoming: Incoming, row_id: int) -> None:
        name, ref, value = split_tap(incoming.tap)
        me = context.facts.me
        if self._is_of_a_lost_store(context, incoming, name):
            self._stale_unless_wrong(context, name, value)
            return
        if name == who.NAME and ref.isdigit() and value.isdigit():
            self._hand_over(context, int(ref), PersonId(int(value)))
            return
        if name in self.handlers:
            if getattr(self.handlers[name], "ROLE", me.role) is not me.role:
                self._stale(context)
                return
            if self._is_doubled(context, row_id):
                return
            turn = self.handlers[name].tap(ref, value, context.facts)
            carry_out(self.services, context, turn.changes)
            speak(self.services, context, turn.says, None)
            self._begin_all(context, turn.begin)
            return
        home = home_of(ref)
        conversation = (
            conversations.get_conversation(context.unit, home.conversation_id) if home else None
        )
        mine = conversation is not None and conversation.person_id == me.id
        alarm = late.alarming_tap(name, value, context.facts)
        if home is not None and conversation is not None and mine:
            if is_repeat(conversation, home, value, context.now):
                return
            flow = self.flows.get(conversation.state.flow)
            event = Event(EventKind.TAP, value, cause=context.cause)
            over = conversation.closed or is_too_late(
                conversation, home, value, flow, context.facts
            )
            if alarm is not None and not over and flow is not None:
                turn = flow.step(conversation.state, event, context.facts)
                over = late.passes_over(alarm, name, turn)
            if not over and self._step(context, conversation, event, home=home):
                return
        if alarm is not None and (conversation is None or mine):
            self._begin_all(context, [alarm])
            return
        self._stale(context)

    @staticmethod
    def _is_of_a_lost_store(context: TurnContext, incoming: Incoming, name: str) -> bool:
        """Whether what a button names may be gone since a restore, and its id another's by now."""
        unit, at = context.unit, context.at
        if name == ASKS_FOR or unmarked(incoming.tap)[1] == unit.generation or at is None:
            return False
        return not was_shown(unit, at, incoming.message_id, incoming.tap)

    def _stale_unless_wrong(self, context: TurnContext, name: str, value: str) -> None:
        """An old button does nothing; but what tells of something wrong is heard."""
        client = self._is_client(context)
        alarm = late.alarming_tap(name, value, context.facts) if client else None
        if alarm is None and client and value in ALWAYS_HEARD:
            alarm = Begin(feeling.NAME)
        if alarm is not None:
            self._begin_all(context, [alarm])
            return
        self._stale(context)

    def _is_doubled(self, context: TurnContext, row_id: int) -> bool:
        at = context.at
        return at is not None and inbox.tapped_just_before(
            context.unit, row_id, at.channel, at.address, DOUBLE_TAP
        )

    def _hand_over(self, context: TurnContext, row_id: int, person_id: PersonId) -> None:
        """Words from a shared phone go to the person who says they are theirs."""
        unit, at, now = context.unit, context.at, context.now
        speakers = people.speakers(unit, at.channel, at.address) if at is not None else ()
        person = next((one for one in speakers if one.id == person_id), None)
        if at is None or person is None:
            self._stale(context)
            return
        incoming = inbox.hand_over(unit, row_id, at.channel, at.address, person_id)
        if incoming is None:
            self._stale(context)
            return
        _used(unit, person, at, now)
        context = self._context(unit, incoming, person, at, now, Stage.HANDED)
        self._turn(context, incoming, row_id)

    def _stale(self, context: TurnContext) -> None:
        """A button of a conversation that has moved on: say so, and show what is open now."""
        unit, me = context.unit, context.facts.me
        written = written_at(unit, context.at, context.tapped) if context.at is not None else None
        on = None if written is None else me.local(written).date()
        old = on is not None and on != me.local(context.now).date()
        rows: Rows = ()
        if self._top(context) is None:
            offered = "today" if old and me.role is Role.CLIENT else "menu"
            rows = ((Button(offered, handler="open", ref=offered),),)
        say = Say("engine/stale_button", {"on": on if old else None}, rows=rows)
        speak(self.services, context, [say], None)
        self._resume_top(context)

    def _not_understood(
        self,
        context: TurnContext,
        text: str,
        row_id: int,
        open_now: Sequence[Conversation],
        reading: Reading | None = None,
    ) -> None:
        lies_open = bool(open_now) and self._lies_open(open_now[0], context)
        says: Sequence[Say] = not_understood(
            text, row_id, context.facts, asking=bool(open_now), lies_open=lies_open
        )
        if self._is_client(context):
            # Kept when the words were read.
            numbers = self.reader.numbers_in(text) if reading is None else reading.numbers
            if answers_of(numbers, context.facts):
                says = (Say("checkin/number_kept"),)
            if text.startswith(PLACE_MARK):
                # Nobody sends where they are to a question about reps: the coach is to see it.
                handed = hand_to_coach(text, context.facts)
                carry_out(self.services, context, handed.changes)
                says = (Say("engine/place_shared"), *handed.says)
        speak(self.services, context, says, None)
        if open_now and not lies_open:
            self._resume(context, open_now[0])

    def _lies_open(self, conversation: Conversation, context: TurnContext) -> bool:
        """Whether a long list that asks nothing was shown just now: it is not sent once more."""
        state = conversation.state
        just_now = context.now - conversation.touched_at < LIST_STAYS
        return state.flow == today.NAME and today.lies_open(state) and just_now

    @staticmethod
    def _is_client(context: TurnContext) -> bool:
        return context.facts.me.role is not Role.COACH and context.facts.me.id != STRANGER.id

    def _step(
        self,
        context: TurnContext,
        conversation: Conversation,
        event: Event,
        home: Home | None = None,
    ) -> bool:
        """Let a conversation take an event; False when the words meant nothing to it."""
        flow = self.flows.get(conversation.state.flow)
        if flow is None:
            raise BotError(f"no flow is called {conversation.state.flow}")
        turn = flow.step(conversation.state, event, context.facts)
        if not turn.understood:
            return False
        if context.at is not None:
            conversation.at = context.at
        move_on(conversation, event, turn, home)
        self._take(context, conversation, turn)
        ended = turn.state is None and not turn.begin and not turn.unasked
        ended = ended and event.kind is not EventKind.RESUME
        comes_back = turn.resumes or (ended and conversation.state.flow in COME_BETWEEN)
        if comes_back and not context.handed_on:
            resumed = self._resume_top(context)
            if turn.resumes and not turn.says and not resumed:
                # "Go on", and nothing waits: what there is today, or why there is nothing.
                self._begin_all(context, [Begin("today")])
        return True

    def _take(self, context: TurnContext, conversation: Conversation, turn: Turn) -> None:
        """Carry out a turn and write down where the conversation stands."""
        carry_out(self.services, context, turn.changes)
        conversation.closed = turn.state is None
        conversation.state = turn.state or conversation.state
        conversation.quiet = turn.quiet
        speak(self.services, context, turn.says, conversation)
        conversations.save_conversation(context.unit, conversation, context.now, turn.due_at)
        self._begin_all(context, turn.begin)

    def _begin_all(self, context: TurnContext, begins: Sequence[Begin]) -> None:
        if not begins:
            return
        if context.depth == MOST_BEGINS:
            raise BotError("conversations open one another without end")
        context = replace(context, depth=context.depth + 1)
        for begin in begins:
            person_id = begin.person or context.facts.me.id
            other = begin.person is not None and begin.person != context.facts.me.id
            target = context
            if other:
                found = people.addresses_of(context.unit, person_id)
                if not found:
                    continue
                person = people.get_person(context.unit, person_id)
                facts = StoreFacts(context.unit, person, context.now, self.services.reference)
                facts.looked_at |= context.facts.looked_at
                target = replace(context, facts=facts, at=found[0], tapped="")
            if target.at is None:
                raise BotError("a conversation needs a chat")
            held = _held_by(context.unit, person_id, begin)
            if held is not None:
                self._resume(target, held)
                continue
            begin = _asked_anew(context.unit, person_id, begin)
            left = coach_questions.end_for(context.unit, person_id, begin, context.now)
            told = coach_questions.left_half_way(left, target.facts)
            speak(self.services, target, told, None)
            conversation = conversations.open_conversation(
                context.unit, person_id, begin.flow, target.at, context.now
            )
            event = Event(EventKind.BEGIN, args=begin.args, cause=context.cause)
            self._step(target, conversation, event)

    def _resume_top(self, context: TurnContext) -> bool:
        """Ask again what is open; False when nothing is, or only a screen of long ago."""
        conversation = self._top(context)
        if conversation is not None:
            self._resume(context, conversation)
        return conversation is not None

    def _top(self, context: TurnContext) -> Conversation | None:
        """What is open and would be asked again; None when nothing is."""
        for conversation in conversations.open_of(context.unit, context.facts.me.id):
            if not conversation.quiet and conversations.still_asks(conversation, context.now):
                return conversation
        return None

    def _resume(self, context: TurnContext, conversation: Conversation) -> None:
        """Ask again what this conversation waits for, as a new message."""
        fresh = replace(context, tapped="")
        self._step(fresh, conversation, Event(EventKind.RESUME, cause=context.cause))

    def _context(
        self,
        unit: UnitOfWork,
        incoming: Incoming,
        person: Person,
        at: Address,
        now: datetime,
        stage: Stage = Stage.TURN,
    ) -> TurnContext:
        cause = f"in:{incoming.channel}:{incoming.update_id}:{stage}"
        return replace(self._context_of(unit, person, at, cause, now), tapped=incoming.message_id)

    def _context_of(
        self, unit: UnitOfWork, person: Person, at: Address | None, cause: str, now: datetime
    ) -> TurnContext:
        facts = StoreFacts(unit, person, now, self.services.reference)
        return TurnContext(unit, facts, at, cause)


def _held_by(unit: UnitOfWork, person_id: PersonId, begin: Begin) -> Conversation | None:
    """A session that waits for breath or for a word on a pain, news that wait for a yes or no."""
    if said_unwell.STANDS in begin.args:
        waiting = conversations.open_of_flow(unit, person_id, begin.flow)
        return next((one for one in waiting if one.state.step == health_change.HEARD), None)
    if begin.flow != today.NAME:
        return None
    open_now = conversations.open_of(unit, person_id)
    return next((one for one in open_now if today.keeps_its_question(one.state)), None)


def _asked_anew(unit: UnitOfWork, person_id: PersonId, begin: Begin) -> Begin:
    """Asked anew what is wrong: silence is told to the coach as before, and one may be fine.

    What waits until it is told goes on waiting.
    """
    if begin.flow != feeling.NAME:
        return begin
    before = conversations.open_of(unit, person_id)
    watched = any(feeling.is_watched(one.state) for one in before)
    if any(feeling.waits_for_word(one.state) for one in before):
        waiting = next(filter(None, (feeling.waited_for(one.state) for one in before)), "")
        then = begin.args.get(said_unwell.THEN) or waiting
        again = {said_unwell.ANEW: True, said_unwell.THEN: then}
        begin = replace(begin, args={**begin.args, **again})
    return replace(begin, args={**begin.args, feeling.WATCHED: True}) if watched else begin


def _used(unit: UnitOfWork, person: Person, at: Address, now: datetime) -> None:
    """This chat was used; a coach who could not be reached before is told what nobody has seen."""
    if people.touch(unit, person.id, at, now) and person.role is Role.COACH:
        hurry_for(unit, person.id, now)
