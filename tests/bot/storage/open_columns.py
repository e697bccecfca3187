"""Every column that stays open, and why: a column that is not sealed and not named here fails.

Kinds of reason: ids and order; moments and days that sweeps and questions look for; codes by which
rows are found; what the platforms call things; names of our own parts.
"""

from collections.abc import Mapping

ID = "a number of ours"
MOMENT = "sweeps and questions look for it; it says when, not what"
DAY = "questions look for it; it says that there was something on a day, not what"
FOUND_BY = "rows are found by it"
COUNT = "how often something of ours was tried or told"
LOOKED_UP = "sealed so that it can be looked up (AES-SIV)"
PLATFORM = "the platform's own name of a message, an arrival or a file"
OURS = "the name of a part of the program, or an error's place"
TIMES = "when somebody wants to be asked; the sweeps need it and it says nothing of health"
KEY = "the name of a key, a hash that tells nothing of it: a backup names its key by it"
PLACE = "whose emergency number and clock count; the lifeline needs it without delay"

OPEN: Mapping[str, Mapping[str, str]] = {
    "address": {
        "id": ID,
        "channel": OURS,
        "address": LOOKED_UP,
        "person_id": ID,
        "bound_at": MOMENT,
        "used_at": MOMENT,
        "blocked_at": MOMENT,
        "unbound_at": MOMENT,
    },
    "alert": {
        "id": ID,
        "client_id": ID,
        "level": "that an alert was raised, and how loud, must be found and stays for safety",
        "raised_at": MOMENT,
        "newest_sign_at": MOMENT,
        "round": COUNT,
        "chases": COUNT,
        "chase_due_at": MOMENT,
        "unseen_since": MOMENT,
        "backup_told": COUNT,
        "told_upto": COUNT,
        "untold": COUNT,
        "client_told": COUNT,
        "client_due_at": MOMENT,
        "seen_at": MOMENT,
        "seen_by_id": ID,
        "closed_at": MOMENT,
    },
    "audit": {"id": ID, "at": MOMENT, "actor_id": ID, "subject_id": ID, "what": OURS},
    "checkin": {
        "id": ID,
        "client_id": ID,
        "on_date": DAY,
        "signs_asked_at": MOMENT,
        "started_at": MOMENT,
        "finished_at": MOMENT,
    },
    "client": {
        "person_id": ID,
        "coach_id": ID,
        "joined_at": MOMENT,
        "cleared_at": MOMENT,
        "checkin_at": TIMES,
        "training_days": TIMES,
        "quiet_from": TIMES,
        "quiet_until": TIMES,
        "away_until": DAY,
        "checkin_due_at": MOMENT,
        "reminder_due_at": MOMENT,
        "week_word_day": TIMES,
        "week_word_due_at": MOMENT,
        "health_asked_on": DAY,
        "erase_asked_at": MOMENT,
    },
    "coach": {"person_id": ID, "backup_id": ID, "digest_at": TIMES, "digest_due_at": MOMENT},
    "conversation": {
        "id": ID,
        "person_id": ID,
        "flow": "an open conversation is found by it; which question it asks is sealed. Its name "
        "can say something (later_low: a low sugar is looked after), as SAFETY.md says",
        "version": COUNT,
        "quiet": FOUND_BY,
        "channel": OURS,
        "address": LOOKED_UP,
        "opened_at": MOMENT,
        "touched_at": MOMENT,
        "due_at": MOMENT,
        "closed_at": MOMENT,
    },
    "guess": {"id": ID, "channel": OURS, "address": LOOKED_UP, "at": MOMENT},
    "hold": {
        "id": ID,
        "client_id": ID,
        "alert_id": ID,
        "placed_at": MOMENT,
        "lifted_at": MOMENT,
        "lifted_by_id": ID,
        "cleared_on": DAY,
        "restart_easiest": "what the coach decided about training",
    },
    "inbox": {
        "id": ID,
        "channel": OURS,
        "update_id": PLATFORM,
        "address": LOOKED_UP,
        "person_id": ID,
        "about": "ids of clients, by which rows are found that are erased with them",
        "kind": "whether it was words, a tap, a contact or what cannot be read",
        "message_id": PLATFORM,
        "received_at": MOMENT,
        "status": FOUND_BY,
        "read": FOUND_BY,
        "attempts": COUNT,
        "last_error": OURS,
    },
    "invitation": {
        "id": ID,
        "code_hash": "a keyed hash; nobody can work out the code without the key",
        "role": "client or coach",
        "coach_id": ID,
        "rebinds_id": ID,
        "made_at": MOMENT,
        "expires_at": MOMENT,
        "used_at": MOMENT,
        "used_by_id": ID,
    },
    "key_proof": {"id": ID, "key_name": KEY, "chats_name": KEY, "changed_at": MOMENT},
    "note": {
        "id": ID,
        "client_id": ID,
        "author_id": ID,
        "at": MOMENT,
        "to_client": "which way the words went",
        "pinned": FOUND_BY,
        "edited_at": MOMENT,
    },
    "outbox": {
        "id": ID,
        "dedupe_key": "ids, and a keyed hash of the chat: the same message is not put in twice",
        "person_id": ID,
        "about": "ids of clients, by which rows are found that are erased with them",
        "channel": OURS,
        "address": LOOKED_UP,
        "kind": "the sender sends what is urgent first",
        "edits_id": ID,
        "created_at": MOMENT,
        "due_at": MOMENT,
        "status": FOUND_BY,
        "forgets": FOUND_BY,
        "attempts": COUNT,
        "sent_at": MOMENT,
        "platform_id": PLATFORM,
        "last_error": OURS,
    },
    "pain": {"id": ID, "client_id": ID, "on_date": "that something hurt on a day; what, is sealed"},
    "person": {
        "id": ID,
        "role": "client or coach",
        "country": PLACE,
        "zone": PLACE,
        "created_at": MOMENT,
        "left_at": MOMENT,
    },
    "picture": {"content_id": "a keyed hash", "channel": OURS, "platform_file": PLATFORM},
    "round": {"name": OURS, "handled_until": MOMENT},
    "session": {
        "id": ID,
        "client_id": ID,
        "on_date": DAY,
        "status": FOUND_BY,
        "started_at": MOMENT,
        "touched_at": MOMENT,
        "silence_due_at": MOMENT,
        "silence_stage": COUNT,
        "ended_at": MOMENT,
    },
    "set": {"id": ID, "session_id": ID, "client_id": ID, "on_date": DAY, "at": MOMENT},
    "walk": {
        "id": ID,
        "client_id": ID,
        "on_date": DAY,
        "status": FOUND_BY,
        "started_at": MOMENT,
        "ended_at": MOMENT,
    },
}
"""Table -> open column -> why."""
