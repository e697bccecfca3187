"""Updates of every kind of the Bot API ("Update"), and what a fault may make of them."""

import copy
import random
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

USER = {"id": 501, "is_bot": False, "first_name": "Ada", "language_code": "en"}
PRIVATE = {"id": 501, "type": "private", "first_name": "Ada"}
GROUP = {"id": -1001, "type": "supergroup", "title": "Friends"}
DATE = 1_772_000_000
FILE = {"file_id": "f", "file_unique_id": "u"}
SIZED = {**FILE, "width": 9, "height": 9}
MEMBER = {"user": USER, "status": "member"}


def _message(**content: Any) -> dict[str, Any]:
    return {"message_id": 12, "date": DATE, "chat": PRIVATE, "from": USER, **content}


CONTENTS: Sequence[Mapping[str, Any]] = (
    {"text": "my knee is sore", "entities": [{"type": "bold", "offset": 0, "length": 2}]},
    {"text": "/start ABCD2345"},
    {"photo": [SIZED], "caption": "my knee"},
    {"voice": {**FILE, "duration": 3}},
    {"video_note": {**FILE, "length": 9, "duration": 3}},
    {"document": {**FILE, "thumbnail": SIZED}},
    {"sticker": {**SIZED, "type": "regular", "is_animated": False, "is_video": False}},
    {"contact": {"phone_number": "12025550100", "first_name": "Ada", "user_id": 501}},
    {"location": {"latitude": 1.5, "longitude": 2.5}},
    {"dice": {"emoji": "🎲", "value": 3}},
    {"poll": {"id": "1", "question": "?", "options": [], "total_voter_count": 0}},
    {"pinned_message": _message(text="pinned")},
    {"reply_to_message": _message(text="before"), "text": "yes", "quote": {"text": "before"}},
    {"forward_origin": {"type": "user", "date": DATE, "sender_user": USER}, "text": "see"},
    {"new_chat_members": [USER]},
)

KINDS: Sequence[Mapping[str, Any]] = (
    *({"message": _message(**content)} for content in CONTENTS),
    {"message": {**_message(text="in a group"), "chat": GROUP}},
    {"edited_message": _message(text="my knee is fine", edit_date=DATE)},
    {"channel_post": _message(text="post")},
    {"edited_channel_post": _message(text="post", edit_date=DATE)},
    {"business_message": _message(text="shop")},
    {"business_connection": {"id": "1", "user": USER, "user_chat_id": 501, "date": DATE}},
    {"message_reaction": {"chat": PRIVATE, "message_id": 12, "date": DATE, "user": USER}},
    {"inline_query": {"id": "1", "from": USER, "query": "q", "offset": ""}},
    {"chosen_inline_result": {"result_id": "1", "from": USER, "query": "q"}},
    {
        "callback_query": {
            "id": "q1",
            "from": USER,
            "chat_instance": "501",
            "data": "checkin.1.4",
            "message": _message(text="How did you sleep?"),
        }
    },
    {"shipping_query": {"id": "1", "from": USER, "invoice_payload": "p", "shipping_address": {}}},
    {"poll": {"id": "1", "question": "?", "options": [], "total_voter_count": 0}},
    {"poll_answer": {"poll_id": "1", "option_ids": [0], "user": USER}},
    {
        "my_chat_member": {
            "chat": PRIVATE,
            "from": USER,
            "date": DATE,
            "old_chat_member": MEMBER,
            "new_chat_member": {"user": USER, "status": "kicked", "until_date": 0},
        }
    },
    {"chat_join_request": {"chat": GROUP, "from": USER, "user_chat_id": 501, "date": DATE}},
    {"removed_chat_boost": {"chat": GROUP, "boost_id": "1", "remove_date": DATE, "source": {}}},
)


def _nested(depth: int) -> Any:
    value: Any = []
    for _ in range(depth):
        value = [value]
    return value


JUNK: Sequence[Any] = (
    None,
    True,
    0,
    -1,
    7,
    2**31,
    2**63,
    -(2**80),
    10**400,
    1.5,
    1e308,
    float("nan"),
    float("inf"),
    "",
    "7",
    "\x00",
    "\ud83d",
    "\ud83d\ude00 \udfff",
    "\u202eevil\u202c",
    "x" * 20_000,
    [],
    {},
    [{}],
    {"id": {}},
    _nested(200),
)


def mutations(number: int, seed: int) -> Iterator[Mapping[str, Any]]:
    """So many contents of updates, each with one to three faults, the kinds in turn."""
    chance = random.Random(seed)
    for place in range(number):
        content = copy.deepcopy(dict(KINDS[place % len(KINDS)]))
        for _ in range(chance.choice((1, 1, 2, 3))):
            _spoil(content, chance)
        yield content


def _spoil(content: dict[str, Any], chance: random.Random) -> None:
    """Put junk into one place, take the place away, double it, or put it elsewhere."""
    places = list(_places(content))
    if not places:
        return
    holder, name = chance.choice(places)
    match chance.randrange(5):
        case 0:
            del holder[name]
        case 1 if isinstance(holder, list):
            holder.append(holder[name])
        case 2:
            other, elsewhere = chance.choice(places)
            holder[name] = copy.deepcopy(other[elsewhere])
        case _:
            holder[name] = copy.deepcopy(chance.choice(JUNK))


def _places(value: Any) -> Iterator[tuple[Any, Any]]:
    """Every place in a JSON value: what holds it, and its name or number there."""
    names = value.keys() if isinstance(value, dict) else range(len(value))
    for name in names:
        yield value, name
        if isinstance(value[name], dict | list):
            yield from _places(value[name])
