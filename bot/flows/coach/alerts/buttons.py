"""An alert's buttons: seen, called, sent to a doctor, answer, lift the hold, open the card."""

from bot.flows.changes import Change, CoachDid, MarkSeen
from bot.flows.coach.rights import client_for_me, not_yours
from bot.flows.facts import Alert, ClientRecord, Facts
from bot.flows.forms import ASKED
from bot.flows.machine import Begin, Button, Rows, Say, Turn
from bot.flows.safety.told_words import place_told
from bot.messages import Kind
from core.vocabulary import AlertId, AlertLevel, Role, Sign

NAME = "alert"
ROLE = Role.COACH

DID = {"called": "called", "doctor": "sent_to_doctor"}


def tap(ref: str, value: str, facts: Facts) -> Turn:
    """What follows when a coach taps a button of an alert.

    Args:
        ref: the alert's id; with the round of the message where the button ends the chasing.
    """
    ref, _, sent_in = ref.partition(ASKED)
    alert = facts.alert(AlertId(int(ref))) if ref.isdigit() else None
    record = client_for_me(alert.client_id, facts) if alert is not None else None
    if alert is None or record is None:
        return not_yours()
    if value == "lift":
        return Turn(None, begin=(Begin("coach_lift", {"client": str(record.id)}),))
    if value == "card":
        return Turn(None, begin=(Begin("coach_client", {"client": str(record.id)}),))
    if value == "answer":
        return Turn(None, begin=(Begin("coach_answer", {"client": str(record.id)}),))
    if value.partition(ASKED)[0] == "show":
        return Turn(None, says=(alert_shown(alert, record, facts),))
    if value != "seen" and value not in DID:
        return Turn(None, says=(Say("engine/stale_button"),))
    if sent_in and sent_in != str(alert.round) and not alert.closed:
        # It has been opened anew since that message: what is seen is what is shown now.
        return Turn(None, says=(alert_shown(alert, record, facts),))
    return _seen(alert, record, DID.get(value, ""), facts)


def alert_rows(alert: Alert) -> Rows:
    """The buttons that an alert carries; those that are done are left out."""
    ref = str(alert.id)
    seen_in = f"{ref}{ASKED}{alert.round}"
    first: Rows = () if alert.seen_at else ((Button("seen", handler=NAME, ref=seen_in),),)
    if alert.level is AlertLevel.MENTION:
        answer = Button("answer", handler=NAME, ref=ref)
        return (*first, (answer, Button("card", handler=NAME, ref=ref)))
    return (
        *first,
        (Button("called", handler=NAME, ref=seen_in), Button("doctor", handler=NAME, ref=seen_in)),
        (Button("answer", handler=NAME, ref=ref), Button("card", handler=NAME, ref=ref)),
        (Button("lift", handler=NAME, ref=ref),),
    )


def alert_shown(alert: Alert, record: ClientRecord, facts: Facts) -> Say:
    """An alert as it stands now, from the list."""
    values = {
        "alert": alert,
        "client": record,
        "level": alert.level.value,
        "signs": [sign.value for sign in alert.signs],
        "raised": facts.me.local(alert.raised_at),
        "seen": facts.me.local(alert.seen_at) if alert.seen_at else None,
        "newest": facts.me.local(alert.newest_sign_at),
        "place": alert.help_to or place_told(alert.words, facts.reference.places),
        "contact_hidden": Sign.ABUSE in alert.signs,
    }
    return Say("coach/alert_shown", values, rows=alert_rows(alert))


def _seen(alert: Alert, record: ClientRecord, did: str, facts: Facts) -> Turn:
    """Seen, and perhaps more: the chasing ends and the client is told, once."""
    changes: list[Change] = []
    says = [_thanks(alert, record, did, facts)]
    if alert.seen_at is None and not alert.closed:
        changes.append(MarkSeen(alert.id))
        says += _others_are_told(alert, record, facts)
        if alert.level is not AlertLevel.MENTION and Sign.ABUSE not in alert.signs:
            says.append(_client_is_told(record, facts))
    if did:
        changes.append(CoachDid(alert.id, did))
    return Turn(None, says=tuple(says), changes=tuple(changes))


def _thanks(alert: Alert, record: ClientRecord, did: str, facts: Facts) -> Say:
    tells = alert.level is not AlertLevel.MENTION and Sign.ABUSE not in alert.signs
    reached = facts.reaches(record.id)
    values = {
        "name": record.person.name,
        "did": did,
        "seen_by": alert.seen_by if alert.seen_at else "",
        "seen": facts.me.local(alert.seen_at) if alert.seen_at else None,
        "closed": alert.closed,
        "on_hold": facts.hold(record.id) is not None,
        "told": tells and reached,
        "unreached": tells and not reached,
    }
    rows = [row for row in alert_rows(alert) if row[0].value != "seen"]
    return Say("coach/alert_seen", values, rows=tuple(rows))


def _others_are_told(alert: Alert, record: ClientRecord, facts: Facts) -> list[Say]:
    """Whoever was told beside me and need not wonder any more: the coach, or who stands in."""
    if alert.level is AlertLevel.MENTION:
        return []
    backup = facts.backup_of(record.coach_id)
    told = [record.coach_id]
    if backup is not None and alert.backup_told:
        told.append(backup.id)
    values = {"seen_by": facts.me.name, "name": record.person.name, "now": facts.now}
    return [
        Say("coach/seen_by_other", values, to=one, kind=Kind.ALERT)
        for one in told
        if one != facts.me.id
    ]


def _client_is_told(record: ClientRecord, facts: Facts) -> Say:
    return Say(
        "safety/coach_seen",
        {"coach_name": facts.me.name},
        to=record.id,
        kind=Kind.SAFETY,
    )
