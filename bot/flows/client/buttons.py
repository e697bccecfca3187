"""Small callback handlers: buttons that open a conversation, pass words on, or answer a watch."""

from datetime import date, timedelta

from bot.flows.changes import (
    AddNote,
    AddWords,
    Audit,
    EndSession,
    HandOver,
    RaiseAlert,
    SaveProfile,
    TouchSession,
)
from bot.flows.client.feeling import said_on_the_way
from bot.flows.commands import commands_of
from bot.flows.facts import Facts, Person
from bot.flows.forms import ASKED
from bot.flows.machine import SEPARATOR, Begin, Button, Event, EventKind, Say, Turn
from bot.flows.reasons import Reason
from bot.flows.record.planning import Gate, for_sink, status_of_running, training_status
from bot.flows.record.profile import DOCTOR_LETTER_ON
from bot.flows.record.thread import answers_to, office_hours, shortened
from core.vocabulary import AlertLevel, PersonId, Role, SessionId, Sign

HAND_OVER_STANDS = timedelta(days=14)
"""So long an answer to "may another coach look after you?" counts (ours)."""

PAUSED = (Gate.ON_HOLD, Gate.ALERT_OPEN, Gate.NOT_CLEARED, Gate.CLEARANCE_OVER, Gate.LEFT)
"""No session goes on, nor is there one to ask for."""


class OpenHandler:
    """Buttons that ask for what a command asks for; ``ref`` is the command."""

    NAME = "open"

    def tap(self, ref: str, _value: str, facts: Facts) -> Turn:
        """Open the conversation of a command."""
        begin = commands_of(facts.me.role).get(ref)
        if begin is None:
            return Turn(None, says=(Say("engine/stale_button"),))
        return Turn(None, begin=(begin,))


class PassOnHandler:
    """Words that meant nothing here go to the coach; ``ref`` is the stored message."""

    NAME = "pass_on"
    ROLE = Role.CLIENT

    def tap(self, ref: str, value: str, facts: Facts) -> Turn:
        """Hand the stored words to the coach, once."""
        text = facts.said(int(ref)) if ref.isdigit() else ""
        if not text:
            return Turn(None, says=(Say("engine/stale_button"),))
        if facts.was_tapped(SEPARATOR.join((self.NAME, ref, value)), int(ref)):
            return Turn(None, says=(Say("menu/passed_on_before"),))
        return hand_to_coach(text, facts)


class SilenceHandler:
    """The answer to "Is all well" in a silent session; ``ref`` is the session."""

    NAME = "silence"
    ROLE = Role.CLIENT

    def tap(self, ref: str, value: str, facts: Facts) -> Turn:
        """Fine: the watch starts anew where the session may go on, and the coach reads of it.

        Unwell: the questions about it.
        """
        running, place = facts.running_session(facts.me.id), training_status(facts)
        asked = running is not None and str(running.id) == ref
        if value == "unwell" and asked and running is not None:
            # As on a walk: the questions have a watch of their own, and the session is over.
            stop = EndSession(running.id, finished=False)
            return Turn(None, changes=(stop,), begin=(said_on_the_way(),))
        if value == "unwell":
            return Turn(None, begin=(Begin("feeling"),))
        if asked and running is not None:
            # Over midnight it goes on as of its own day.
            place = status_of_running(running.on, facts, beside_sink=for_sink(running))
        goes_on = asked and running is not None and running.on == place.today
        paused = place.gate in PAUSED
        ended = paused or place.gate in (Gate.REST_DAY, Gate.OVER_TODAY)
        values = {"goes_on": goes_on and not ended, "paused": paused}
        said = Say("session/good_to_hear", values)
        if running is not None and values["goes_on"]:
            return Turn(None, says=(said,), changes=(TouchSession(SessionId(running.id)),))
        if running is not None and asked:
            over = EndSession(SessionId(running.id), finished=False)
            return Turn(None, says=(said,), changes=(over,))
        open_one = facts.open_alert(facts.me.id)
        if open_one is None or Sign.SILENT_SESSION not in open_one.signs:
            return Turn(None, says=(said,))
        why = Reason("coach", "tapped_fine")
        return Turn(None, says=(said,), changes=(AddWords(facts.me.id, why=why),))


class HandOverHandler:
    """The client's answer to "may another coach look after you?".

    ``ref``: the new one, the old one, and the day (UTC) on which it was asked.
    """

    NAME = "hand_over"
    ROLE = Role.CLIENT

    def tap(self, ref: str, value: str, facts: Facts) -> Turn:
        """Yes: the record goes along, and both coaches hear of it. No: all stays.

        To a coach whom nothing reaches any more nobody goes.
        """
        new_id, old_id, asked = (*ref.split(ASKED), "", "")[:3]
        record = facts.client(facts.me.id)
        new = next((one for one in facts.coaches() if str(one.id) == new_id), None)
        late = asked < f"{facts.now - HAND_OVER_STANDS:%Y%m%d}"
        if late or new is None or str(record.coach_id) != old_id or record.person.left:
            return Turn(None, says=(Say("engine/stale_button"),))
        old = facts.person(record.coach_id)
        values = {"name": record.person.name, "new_name": new.name, "coach_name": old.name}
        if value != "yes":
            told = Say("coach/hand_over_declined", values, to=old.id)
            return Turn(None, says=(Say("join/hand_over_declined", values), told))
        card = ((Button("card", handler="client", ref=str(record.id)),),)
        if not facts.reaches(new.id):
            told = Say("coach/hand_over_not_now", values, rows=card, to=old.id)
            return Turn(None, says=(Say("join/hand_over_not_now", values), told))
        says = (
            Say("join/handed_over", values),
            Say("coach/hand_over_done", {**values, "mine": False}, to=old.id),
            Say("coach/hand_over_done", {**values, "mine": True}, rows=card, to=new.id),
        )
        return Turn(None, says=says, changes=(HandOver(record.id, new.id),))


class LetterHandler:
    """The client's answer to "may the doctor have a letter?"; ``ref`` is the coach who asked."""

    NAME = "letter"
    ROLE = Role.CLIENT

    def tap(self, ref: str, value: str, facts: Facts) -> Turn:
        """The newest answer counts: a later "no" takes an earlier "yes" back."""
        record = facts.client(facts.me.id)
        if str(record.coach_id) != ref and not _stands_in(ref, record.coach_id, facts):
            return Turn(None, says=(Say("engine/stale_button"),))
        yes = value == "yes"
        today = facts.me.local(facts.now).date().isoformat()
        values = {"name": record.person.name, "yes": yes}
        card = ((Button("card", handler="client", ref=str(record.id)),),)
        told = Say("coach/letter_answer", values, rows=card, to=PersonId(int(ref)))
        saved = SaveProfile(record.id, {DOCTOR_LETTER_ON: today if yes else None})
        audit = Audit(record.id, "letter_agreed" if yes else "letter_declined")
        said = Say("own_data/letter_answered", values)
        return Turn(None, says=(said, told), changes=(saved, audit))


def _stands_in(ref: str, coach_id: PersonId, facts: Facts) -> bool:
    backup = facts.backup_of(coach_id)
    return backup is not None and str(backup.id) == ref


class QuietHandler:
    """The answer to a note after days of silence."""

    NAME = "quiet"
    ROLE = Role.CLIENT

    def tap(self, ref: str, value: str, facts: Facts) -> Turn:
        """Away: until when. Not well: the questions about it. Too much: the coach reads it."""
        if value == "holiday":
            return Turn(None, begin=(Begin("settings", {"away": True}),))
        if value == "unwell":
            return Turn(None, begin=(Begin("feeling"),))
        why = Reason("coach", "too_much")
        told = RaiseAlert(facts.me.id, AlertLevel.MENTION, (), why=why, holds=False, passed_on=True)
        return Turn(None, says=(Say("silence/too_much"),), changes=(told,))


def of_another_day(event: Event, on: date) -> tuple[Say, ...]:
    """Of which day a tapped button is, before today's screen; nothing where none was tapped."""
    tapped = event.kind is EventKind.TAP
    return (Say("engine/stale_button", {"on": on}),) if tapped else ()


def hand_to_coach(text: str, facts: Facts) -> Turn:
    """Keep a client's words and give them to the coach, said to both.

    While an alert is open they belong to it, and go out with it.
    """
    record = facts.client(facts.me.id)
    on = facts.open_alert(record.id)
    if on is not None:
        if text.strip() in on.words:
            return Turn(None, says=(Say("menu/passed_on_before"),))
        added = AddWords(record.id, text)
        return Turn(
            None,
            says=(Say("menu/message_sent", {"office": None, "at_once": True}),),
            changes=(added,),
        )
    answered = answers_to(record.id, facts)
    wrote = answered.by_id if answered is not None else None
    # Whoever stands in and asked is told the answer, too.
    readers = [record.coach_id]
    if wrote not in (None, record.coach_id) and _stands_in(str(wrote), record.coach_id, facts):
        readers.append(PersonId(wrote))
    told = tuple(
        message_from(
            record.person,
            text,
            to=reader,
            answers=shortened(answered.text) if answered is not None else "",
            asked_by="" if answered is None or wrote == reader else answered.by_name,
        )
        for reader in readers
    )
    sent = Say("menu/message_sent", {"office": office_hours(record.id, facts), "at_once": False})
    return Turn(None, says=(sent, *told), changes=(AddNote(record.id, text),))


def message_from(
    client: Person, text: str, *, to: PersonId, answers: str = "", asked_by: str = ""
) -> Say:
    """A client's words for a coach; ``answers``: what they answer, ``asked_by`` somebody else."""
    buttons = (Button(value, handler="client", ref=str(client.id)) for value in ("answer", "card"))
    values = {
        "client_name": client.name,
        "text": text,
        "answers": answers,
        "asked_by": asked_by,
    }
    return Say("menu/message_from_client", values, rows=(tuple(buttons),), to=to)
