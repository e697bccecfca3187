"""The people's side of the Bot API double: chats, what stands in them, and what people do."""

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import count
from typing import Any

from tests.doubles.bot_api_rules import Refused, bad_request

Update = dict[str, Any]
START_OF_TIME = 1_772_000_000
"""Messages carry this date; nothing reads it."""


@dataclass
class Shown:
    """A message of the bot as it stands in a chat now.

    ``media`` is "" for a text, else photo, animation or document. ``markup`` is the raw value.
    """

    message_id: int
    text: str
    markup: Mapping[str, Any] = field(default_factory=dict)
    media: str = ""
    file_id: str = ""
    edits: int = 0

    @property
    def buttons(self) -> list[tuple[str, str]]:
        """(label, value) of each inline button."""
        rows = self.markup.get("inline_keyboard", ())
        return [(one["text"], one.get("callback_data", "")) for row in rows for one in row]


@dataclass
class Chat:
    """One private chat. ``said`` is what the bot has sent there, in order."""

    id: int
    blocked: bool = False
    said: dict[int, Shown] = field(default_factory=dict)

    @property
    def texts(self) -> list[str]:
        """The bot's texts, as they stand now."""
        return [one.text for one in self.said.values()]

    @property
    def last(self) -> Shown:
        """The bot's latest message."""
        return list(self.said.values())[-1]

    def with_button(self, label: str) -> tuple[Shown, str]:
        """The latest message that has a button so labelled, and the button's value."""
        for one in reversed(self.said.values()):
            for text, value in one.buttons:
                if text == label:
                    return one, value
        raise AssertionError(f"chat {self.id} shows no button {label!r}: {self.texts[-3:]}")


class Chats:
    """All chats, and the updates that wait for the bot."""

    def __init__(self) -> None:
        self.by_id: dict[int, Chat] = {}
        self.waiting: deque[Update] = deque()
        self.queries: dict[str, bool] = {}
        self.confirmed_until = 0
        self._update_ids = count(700_001)
        self._message_ids = count(11)
        self._query_ids = count(1)

    def chat(self, chat_id: int) -> Chat:
        """A chat that a person has opened."""
        return self.by_id.setdefault(chat_id, Chat(chat_id))

    def reachable(self, raw_id: str) -> Chat:
        """The chat that the bot means."""
        chat = self.by_id.get(int(raw_id))
        if chat is None:
            raise bad_request("chat not found")
        if chat.blocked:
            raise Refused(403, "Forbidden: bot was blocked by the user")
        return chat

    def say(self, chat_id: int, text: str) -> int:
        """A person writes; gives the update's id."""
        return self._message(chat_id, text=text)

    def send(self, chat_id: int, **content: Any) -> int:
        """A person sends something else: a voice note, a photo with or without a caption, ..."""
        return self._message(chat_id, **content)

    def change(self, chat_id: int, text: str) -> int:
        """A person corrects a message."""
        return self._add("edited_message", {**self._frame(chat_id), "text": text})

    def share_contact(self, chat_id: int, phone: str) -> int:
        """A person shares their own phone number."""
        contact = {"phone_number": phone, "first_name": "Ada", "user_id": chat_id}
        return self._message(chat_id, contact=contact)

    def tap(self, chat_id: int, label: str) -> int:
        """A person taps the latest button so labelled."""
        shown, value = self.chat(chat_id).with_button(label)
        return self.tap_value(chat_id, shown.message_id, value)

    def tap_value(self, chat_id: int, message_id: int, value: str) -> int:
        """A person taps a button below a message."""
        query_id = f"q{next(self._query_ids)}"
        self.queries[query_id] = False
        return self._add(
            "callback_query",
            {
                "id": query_id,
                "from": _user(chat_id),
                "chat_instance": str(chat_id),
                "data": value,
                "message": {
                    "message_id": message_id,
                    "date": START_OF_TIME,
                    "chat": _private(chat_id),
                    "text": "shown",
                },
            },
        )

    def in_group(self, chat_id: int, text: str) -> int:
        """Somebody writes in a group that the bot was added to."""
        group = {"id": -chat_id, "type": "group", "title": "Friends"}
        return self._add("message", {**self._frame(chat_id), "chat": group, "text": text})

    def add_update(self, kind: str, content: Mapping[str, Any]) -> int:
        """Any other update."""
        return self._add(kind, dict(content))

    def repeat(self, update: Update) -> None:
        """The platform brings an update once more."""
        self.waiting.appendleft(update)

    def take(self, offset: int, most: int) -> list[Update]:
        """The next updates; those below the offset are confirmed and forgotten."""
        if offset > 0:
            self.confirmed_until = max(self.confirmed_until, offset)
            while self.waiting and self.waiting[0]["update_id"] < offset:
                self.waiting.popleft()
        return [self.waiting[place] for place in range(min(most, len(self.waiting)))]

    def put(self, chat: Chat, shown: Shown) -> dict[str, Any]:
        """A new message of the bot; gives it as the platform answers."""
        shown.message_id = next(self._message_ids)
        chat.said[shown.message_id] = shown
        return as_message(chat, shown)

    def _message(self, chat_id: int, **content: Any) -> int:
        return self._add("message", {**self._frame(chat_id), **content})

    def _frame(self, chat_id: int) -> dict[str, Any]:
        self.chat(chat_id)
        return {
            "message_id": next(self._message_ids),
            "date": START_OF_TIME,
            "chat": _private(chat_id),
            "from": _user(chat_id),
        }

    def _add(self, kind: str, content: Mapping[str, Any]) -> int:
        update_id = next(self._update_ids)
        self.waiting.append({"update_id": update_id, kind: content})
        return update_id


def as_message(chat: Chat, shown: Shown) -> dict[str, Any]:
    """A message of the bot in the platform's form."""
    message: dict[str, Any] = {
        "message_id": shown.message_id,
        "date": START_OF_TIME,
        "chat": _private(chat.id),
        "from": {"id": 1, "is_bot": True, "first_name": "Test bot"},
    }
    if not shown.media:
        return {**message, "text": shown.text}
    size = {
        "file_id": shown.file_id,
        "file_unique_id": shown.file_id,
        "width": 1,
        "height": 1,
    }
    contents: dict[str, dict[str, Any]] = {
        "photo": {"photo": [size]},
        "animation": {"animation": {**size, "duration": 1}},
        "document": {"document": {"file_id": shown.file_id, "file_unique_id": shown.file_id}},
    }
    return {**message, **contents[shown.media], "caption": shown.text}


def _user(chat_id: int) -> dict[str, Any]:
    return {"id": chat_id, "is_bot": False, "first_name": "Ada"}


def _private(chat_id: int) -> dict[str, Any]:
    return {"id": chat_id, "type": "private", "first_name": "Ada"}
