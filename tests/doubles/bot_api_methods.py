"""The methods of the Bot API double, named as the platform names them."""

import json
from typing import Any

from tests.doubles.bot_api_chats import Chat, Chats, Shown, as_message
from tests.doubles.bot_api_rules import (
    bad_request,
    check_caption,
    check_commands,
    check_markup,
    check_text,
    check_webhook,
)
from tests.doubles.http_server import HttpRequest

USERNAME = "dayrung_test_bot"


class Methods:
    """Carries out checked requests on the chats; each gives the platform's result."""

    def __init__(self, chats: Chats) -> None:
        self.chats = chats
        self.commands: list[dict[str, str]] = []
        self.webhook: dict[str, Any] = {"url": ""}
        self.files: dict[str, bytes] = {}

    def getMe(self, _request: HttpRequest) -> Any:  # noqa: N802
        return {
            "id": 1,
            "is_bot": True,
            "first_name": "Test bot",
            "username": USERNAME,
            "can_join_groups": False,
            "can_read_all_group_messages": False,
            "supports_inline_queries": False,
        }

    def setWebhook(self, request: HttpRequest) -> Any:  # noqa: N802
        url, secret = request.parameters["url"], request.parameters.get("secret_token", "")
        check_webhook(url, secret)
        self.webhook = {"url": url, "secret": secret}
        return True

    def deleteWebhook(self, _request: HttpRequest) -> Any:  # noqa: N802
        self.webhook = {"url": ""}
        return True

    def getWebhookInfo(self, _request: HttpRequest) -> Any:  # noqa: N802
        return {
            "url": self.webhook["url"],
            "has_custom_certificate": False,
            "pending_update_count": len(self.chats.waiting),
        }

    def setMyCommands(self, request: HttpRequest) -> Any:  # noqa: N802
        self.commands = check_commands(request.parameters["commands"])
        return True

    def getMyCommands(self, _request: HttpRequest) -> Any:  # noqa: N802
        return self.commands

    def sendMessage(self, request: HttpRequest) -> Any:  # noqa: N802
        given = request.parameters
        chat = self.chats.reachable(given["chat_id"])
        text = check_text(given.get("text", ""), given.get("parse_mode", ""))
        return self.chats.put(chat, Shown(0, text, check_markup(given.get("reply_markup", ""))))

    def sendPhoto(self, request: HttpRequest) -> Any:  # noqa: N802
        return self._send_file(request, "photo")

    def sendAnimation(self, request: HttpRequest) -> Any:  # noqa: N802
        return self._send_file(request, "animation")

    def sendDocument(self, request: HttpRequest) -> Any:  # noqa: N802
        return self._send_file(request, "document")

    def editMessageText(self, request: HttpRequest) -> Any:  # noqa: N802
        given = request.parameters
        chat, shown = self._to_edit(request)
        text = check_text(given.get("text", ""), given.get("parse_mode", ""))
        if shown.media:
            raise bad_request("there is no text in the message to edit")
        return self._changed_to(chat, shown, text=text, markup=self._inline(request))

    def editMessageCaption(self, request: HttpRequest) -> Any:  # noqa: N802
        chat, shown = self._to_edit(request)
        if not shown.media:
            raise bad_request("there is no caption in the message to edit")
        text = check_caption(request.parameters.get("caption", ""))
        return self._changed_to(chat, shown, text=text, markup=self._inline(request))

    def editMessageMedia(self, request: HttpRequest) -> Any:  # noqa: N802
        chat, shown = self._to_edit(request)
        media = json.loads(request.parameters["media"])
        text = check_caption(media.get("caption", ""), media.get("parse_mode", ""))
        file_id = self._file(request, media["media"].removeprefix("attach://"), media["media"])
        return self._changed_to(
            chat,
            shown,
            text=text,
            markup=self._inline(request),
            media=media["type"],
            file_id=file_id,
        )

    def editMessageReplyMarkup(self, request: HttpRequest) -> Any:  # noqa: N802
        chat, shown = self._to_edit(request)
        return self._changed_to(chat, shown, text=shown.text, markup=self._inline(request))

    def deleteMessage(self, request: HttpRequest) -> Any:  # noqa: N802
        chat, shown = self._to_edit(request)
        del chat.said[shown.message_id]
        return True

    def answerCallbackQuery(self, request: HttpRequest) -> Any:  # noqa: N802
        query_id = request.parameters["callback_query_id"]
        if self.chats.queries.get(query_id) is not False:
            raise bad_request(
                "query is too old and response timeout expired or query ID is invalid"
            )
        self.chats.queries[query_id] = True
        return True

    def getFile(self, request: HttpRequest) -> Any:  # noqa: N802
        file_id = request.parameters["file_id"]
        if file_id not in self.files:
            raise bad_request("invalid file_id")
        return {"file_id": file_id, "file_unique_id": file_id, "file_path": f"files/{file_id}"}

    def _send_file(self, request: HttpRequest, media: str) -> Any:
        given = request.parameters
        chat = self.chats.reachable(given["chat_id"])
        text = check_caption(given.get("caption", ""), given.get("parse_mode", ""))
        file_id = self._file(request, media, given.get(media, ""))
        markup = check_markup(given.get("reply_markup", ""))
        return self.chats.put(chat, Shown(0, text, markup, media, file_id))

    def _file(self, request: HttpRequest, name: str, given: str) -> str:
        upload = request.uploads.get(name.removeprefix("attach://"))
        if upload is None and given.startswith("attach://"):
            upload = request.uploads.get(given.removeprefix("attach://"))
        if upload is not None:
            file_id = f"file-{len(self.files) + 1}"
            self.files[file_id] = upload.content
            return file_id
        if given not in self.files:
            raise bad_request("wrong file identifier/HTTP URL specified")
        return given

    def _to_edit(self, request: HttpRequest) -> tuple[Chat, Shown]:
        chat = self.chats.reachable(request.parameters["chat_id"])
        shown = chat.said.get(int(request.parameters["message_id"]))
        if shown is None:
            raise bad_request("message to edit not found")
        return chat, shown

    def _inline(self, request: HttpRequest) -> dict[str, Any]:
        return check_markup(request.parameters.get("reply_markup", ""), inline_only=True)

    def _changed_to(self, chat: Chat, shown: Shown, **now: Any) -> Any:
        if all(getattr(shown, name) == value for name, value in now.items()):
            raise bad_request(
                "message is not modified: specified new message content and reply markup are"
                " exactly the same as a current content and reply markup of the message"
            )
        for name, value in now.items():
            setattr(shown, name, value)
        shown.edits += 1
        return as_message(chat, shown)
