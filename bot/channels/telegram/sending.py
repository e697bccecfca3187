"""Messages of ours as calls of Telegram's Bot API."""

import contextlib
import logging
from collections import OrderedDict
from dataclasses import replace

from telegram import (
    Bot,
    CopyTextButton,
    InlineKeyboardButton,
    InlineKeyboardMarkup,
    KeyboardButton,
    LinkPreviewOptions,
    Message,
    ReplyKeyboardMarkup,
)
from telegram.error import BadRequest, TelegramError

from bot.channels.telegram.errors import is_bad_file, translate
from bot.channels.telegram.files import File, Files
from bot.channels.telegram.text import LONGEST_CAPTION, LONGEST_TEXT, length, split
from bot.errors import EditGone, NothingChanged, Rejected
from bot.messages import Outgoing, ReplyButton

NO_PREVIEW = LinkPreviewOptions(is_disabled=True)
"""An invitation is a link; a preview of it would be noise."""

MOST_PICTURES = 10_000
"""Messages that are remembered to be pictures; of older ones the platform says so itself."""

MEDIA_SECONDS = 30.0
"""How long an upload may take."""

Markup = InlineKeyboardMarkup | ReplyKeyboardMarkup | None

logger = logging.getLogger(__name__)


class Writing:
    """Sends and edits messages. Raises only :class:`bot.errors.DeliveryError`."""

    def __init__(self, bot: Bot, files: Files, contact_label: str) -> None:
        """``contact_label``: words of the button that shares one's own phone number."""
        self._bot = bot
        self._files = files
        self._contact_label = contact_label
        self._pictures: OrderedDict[tuple[int, int], None] = OrderedDict()

    async def send(self, chat_id: int, outgoing: Outgoing) -> str:
        """Send a new message; gives the platform's id of the part that carries the buttons."""
        try:
            return str((await self._send(chat_id, outgoing)).message_id)
        except TelegramError as error:
            raise translate(error) from None

    async def edit(self, chat_id: int, message_id: int, outgoing: Outgoing) -> str:
        """Change a message in place; gives its id.

        Raises:
            EditGone: it is gone, or cannot become what it should: send it anew.
        """
        fits = LONGEST_CAPTION if outgoing.picture else LONGEST_TEXT
        becomes_text = not outgoing.picture and (chat_id, message_id) in self._pictures
        too_long = length(outgoing.text) > fits
        if too_long or becomes_text or outgoing.document or outgoing.asks_contact:
            await self._strip_buttons(chat_id, message_id)
            raise EditGone
        try:
            if outgoing.picture:
                await self._edit_picture(chat_id, message_id, outgoing)
            else:
                await self._bot.edit_message_text(
                    outgoing.text,
                    chat_id=chat_id,
                    message_id=message_id,
                    reply_markup=inline(outgoing),
                    link_preview_options=NO_PREVIEW,
                )
        except TelegramError as error:
            ours = translate(error)
            if isinstance(ours, EditGone):
                # It is still there when only its kind does not fit (a picture of an earlier start
                # becomes a text).
                await self._strip_buttons(chat_id, message_id)
            elif isinstance(ours, NothingChanged):
                return str(message_id)
            raise ours from None
        return str(message_id)

    async def _send(self, chat_id: int, outgoing: Outgoing) -> Message:
        if outgoing.document:
            return await self._send_document(chat_id, outgoing)
        if outgoing.picture:
            file = await self._picture(outgoing)
            if file is not None:
                return await self._send_picture(chat_id, outgoing, file)
            logger.error("a picture could not be made: %s", outgoing.picture)
        text = outgoing.text
        if outgoing.picture and outgoing.picture_text:
            text = f"{text}\n\n{outgoing.picture_text}"
        return await self._send_parts(chat_id, split(text, LONGEST_TEXT), outgoing)

    async def _send_parts(self, chat_id: int, parts: list[str], outgoing: Outgoing) -> Message:
        """Several texts; the last carries the buttons."""
        for part in parts[:-1]:
            await self._send_text(chat_id, part, None)
        last = await self._send_text(chat_id, parts[-1], self._markup(outgoing))
        if outgoing.asks_contact and outgoing.choices:
            # One message cannot carry both kinds of buttons.
            await self._send_text(chat_id, self._contact_label, self._contact_button())
        return last

    async def _send_text(self, chat_id: int, text: str, markup: Markup) -> Message:
        return await self._bot.send_message(
            chat_id, text, reply_markup=markup, link_preview_options=NO_PREVIEW
        )

    async def _send_picture(self, chat_id: int, outgoing: Outgoing, file: File) -> Message:
        """A picture with its text below; what does not fit follows in messages of its own."""
        parts = split(outgoing.text, LONGEST_CAPTION)
        markup = self._markup(outgoing) if len(parts) == 1 else None
        try:
            message = await self._send_file(chat_id, file, parts[0] or None, markup)
        except BadRequest as error:
            if not isinstance(translate(error), Rejected):
                raise
            if file.known_as and is_bad_file(error):
                await self._files.forget(file)
                return await self._send(chat_id, outgoing)
            # Whatever is wrong with the picture, its words go out.
            logger.error("a picture was refused: %s", outgoing.picture)
            return await self._send(chat_id, replace(outgoing, picture=""))
        if len(parts) > 1:
            return await self._send_parts(chat_id, parts[1:], outgoing)
        return message

    async def _send_file(
        self, chat_id: int, file: File, caption: str | None, markup: Markup
    ) -> Message:
        if file.moving:
            message = await self._bot.send_animation(
                chat_id,
                file.as_input(),
                caption=caption,
                reply_markup=markup,
                read_timeout=MEDIA_SECONDS,
                write_timeout=MEDIA_SECONDS,
            )
        else:
            message = await self._bot.send_photo(
                chat_id,
                file.as_input(),
                caption=caption,
                reply_markup=markup,
                read_timeout=MEDIA_SECONDS,
                write_timeout=MEDIA_SECONDS,
            )
        self._is_picture(chat_id, message.message_id)
        await self._files.sent(file, message)
        return message

    async def _send_document(self, chat_id: int, outgoing: Outgoing) -> Message:
        try:
            file = await self._files.ready(outgoing.document)
        except KeyError:
            raise Rejected("no such document") from None
        parts = split(outgoing.text, LONGEST_CAPTION)
        message = await self._bot.send_document(
            chat_id,
            file.as_input(),
            caption=parts[0] or None,
            reply_markup=self._markup(outgoing) if len(parts) == 1 else None,
            read_timeout=MEDIA_SECONDS,
            write_timeout=MEDIA_SECONDS,
        )
        if len(parts) > 1:
            return await self._send_parts(chat_id, parts[1:], outgoing)
        return message

    async def _edit_picture(self, chat_id: int, message_id: int, outgoing: Outgoing) -> None:
        file = await self._picture(outgoing)
        if file is None:
            raise EditGone
        try:
            message = await self._bot.edit_message_media(
                file.as_media(outgoing.text or None),
                chat_id=chat_id,
                message_id=message_id,
                reply_markup=inline(outgoing),
                read_timeout=MEDIA_SECONDS,
                write_timeout=MEDIA_SECONDS,
            )
        except BadRequest as error:
            if not isinstance(translate(error), Rejected):
                raise
            # A new message takes the usual care of pictures that the platform refuses.
            raise EditGone from None
        self._is_picture(chat_id, message_id)
        if isinstance(message, Message):
            await self._files.sent(file, message)

    def _is_picture(self, chat_id: int, message_id: int) -> None:
        """Remember what can never become a text: to try costs a request that is refused."""
        self._pictures[chat_id, message_id] = None
        if len(self._pictures) > MOST_PICTURES:
            self._pictures.popitem(last=False)

    async def _picture(self, outgoing: Outgoing) -> File | None:
        """The picture; ``None`` when it cannot be made: its words must go out all the same."""
        try:
            return await self._files.ready(outgoing.picture)
        except Exception:  # noqa: BLE001 - whatever the drawing does, the words go out
            return None

    async def _strip_buttons(self, chat_id: int, message_id: int) -> None:
        """Take the buttons off a message that another one replaces; best effort."""
        with contextlib.suppress(TelegramError):
            await self._bot.edit_message_reply_markup(chat_id=chat_id, message_id=message_id)

    def _markup(self, outgoing: Outgoing) -> Markup:
        if outgoing.asks_contact and not outgoing.choices:
            return self._contact_button()
        return inline(outgoing)

    def _contact_button(self) -> ReplyKeyboardMarkup:
        return ReplyKeyboardMarkup(
            [[KeyboardButton(self._contact_label, request_contact=True)]],
            resize_keyboard=True,
            one_time_keyboard=True,
        )


def inline(outgoing: Outgoing) -> InlineKeyboardMarkup | None:
    """The buttons below a message."""
    if not outgoing.choices:
        return None
    return InlineKeyboardMarkup([[_button(choice) for choice in row] for row in outgoing.choices])


def _button(choice: ReplyButton) -> InlineKeyboardButton:
    if choice.copies:
        return InlineKeyboardButton(choice.label, copy_text=CopyTextButton(choice.copies))
    return InlineKeyboardButton(choice.label, callback_data=choice.value)
