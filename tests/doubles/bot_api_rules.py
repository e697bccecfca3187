"""What Telegram's Bot API accepts, as its documentation says; refusals carry its error texts."""

import html
import json
import re
from collections.abc import Mapping
from typing import Any

LONGEST_TEXT = 4096
LONGEST_CAPTION = 1024
LONGEST_BUTTON_DATA = 64  # bytes
TAGS = {
    "a", "b", "blockquote", "code", "del", "em", "i", "ins", "pre", "s", "span", "strike",
    "strong", "tg-emoji", "tg-spoiler", "u",
}  # fmt: skip
NAMED = {"lt", "gt", "amp", "quot"}

COMMON = {"chat_id", "reply_markup"}
PARAMETERS: Mapping[str, set[str]] = {
    "getMe": set(),
    "getUpdates": {"offset", "limit", "timeout", "allowed_updates"},
    "setWebhook": {
        "url",
        "secret_token",
        "allowed_updates",
        "max_connections",
        "drop_pending_updates",
    },
    "deleteWebhook": {"drop_pending_updates"},
    "getWebhookInfo": set(),
    "setMyCommands": {"commands", "scope", "language_code"},
    "getMyCommands": {"scope", "language_code"},
    "sendMessage": COMMON | {"text", "parse_mode", "link_preview_options"},
    "sendPhoto": COMMON | {"photo", "caption", "parse_mode"},
    "sendAnimation": COMMON | {"animation", "caption", "parse_mode"},
    "sendDocument": COMMON | {"document", "caption", "parse_mode"},
    "editMessageText": COMMON | {"message_id", "text", "parse_mode", "link_preview_options"},
    "editMessageCaption": COMMON | {"message_id", "caption", "parse_mode"},
    "editMessageMedia": COMMON | {"message_id", "media"},
    "editMessageReplyMarkup": COMMON | {"message_id"},
    "deleteMessage": {"chat_id", "message_id"},
    "answerCallbackQuery": {"callback_query_id", "text", "show_alert"},
    "getFile": {"file_id"},
}
"""The methods, and the parameters of each that this double knows."""


class Refused(Exception):
    """The platform refuses a request."""

    def __init__(self, status: int, description: str, **parameters: Any) -> None:
        super().__init__(description)
        self.status = status
        self.description = description
        self.parameters = parameters


def bad_request(what: str) -> Refused:
    """A 400, in the platform's form."""
    return Refused(400, f"Bad Request: {what}")


def shown_text(text: str, parse_mode: str) -> str:
    """What people see of a text."""
    if not parse_mode:
        return text
    if parse_mode != "HTML":
        raise bad_request("unsupported parse_mode")
    _check_markup(text)
    return html.unescape(re.sub(r"<[^>]*>", "", text))


def check_text(text: str, parse_mode: str = "") -> str:
    """The words of a message, as people see them."""
    shown = shown_text(text, parse_mode).strip()
    if not shown:
        raise bad_request("message text is empty")
    if _units(shown) > LONGEST_TEXT:
        raise bad_request("message is too long")
    return shown


def check_caption(caption: str, parse_mode: str = "") -> str:
    """The words below a picture, as people see them."""
    shown = shown_text(caption, parse_mode).strip()
    if _units(shown) > LONGEST_CAPTION:
        raise bad_request("message caption is too long")
    return shown


def check_markup(raw: str, *, inline_only: bool = False) -> dict[str, Any]:
    """The buttons of a message."""
    if not raw:
        return {}
    markup: dict[str, Any] = json.loads(raw)
    for row in markup.get("inline_keyboard", ()):
        for button in row:
            if not button.get("text"):
                raise bad_request("can't parse inline keyboard button: Text buttons are empty")
            data = button.get("callback_data")
            if data is not None and not 1 <= len(data.encode()) <= LONGEST_BUTTON_DATA:
                raise bad_request("BUTTON_DATA_INVALID")
    if inline_only and markup and "inline_keyboard" not in markup:
        raise bad_request("object expected as reply markup")
    return markup


def check_commands(raw: str) -> list[dict[str, str]]:
    """The commands of a bot."""
    commands: list[dict[str, str]] = json.loads(raw)
    if len(commands) > 100:
        raise bad_request("too much commands specified")
    for one in commands:
        if not re.fullmatch(r"[a-z0-9_]{1,32}", one["command"]):
            raise bad_request("BOT_COMMAND_INVALID")
        if not 1 <= len(one["description"]) <= 256:
            raise bad_request("BOT_COMMAND_DESCRIPTION_INVALID")
    return commands


def check_webhook(url: str, secret: str) -> None:
    """Where updates are to be brought."""
    if url and not url.startswith("https://"):
        raise bad_request("bad webhook: An HTTPS URL must be provided for webhook")
    if secret and not re.fullmatch(r"[A-Za-z0-9_-]{1,256}", secret):
        raise bad_request("secret token contains unallowed characters")


def _units(text: str) -> int:
    return len(text.encode("utf-16-le")) // 2


def _check_markup(text: str) -> None:
    opened: list[str] = []
    for found in re.finditer(r"<(/?)([^\s>]*)[^>]*>?|&(#?\w*;?)|>", text):
        closing, tag, entity = found.groups()
        if entity is not None:
            if entity.endswith(";") and not (entity[0] == "#" or entity[:-1] in NAMED):
                raise bad_request(f"can't parse entities: unsupported entity &{entity}")
            continue
        if tag is None:
            continue
        if tag.lower() not in TAGS or not found.group().endswith(">"):
            raise bad_request(f'can\'t parse entities: unsupported start tag "{tag}"')
        if not closing:
            opened.append(tag.lower())
        elif not opened or opened.pop() != tag.lower():
            raise bad_request("can't parse entities: unmatched end tag")
    if opened:
        raise bad_request(
            f"can't parse entities: can't find end tag corresponding to start tag {opened[-1]}"
        )
