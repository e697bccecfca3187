"""Pictures and documents on Telegram: uploaded once, then named by the platform's own file id."""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import PurePath
from typing import Protocol

from telegram import InputFile, InputMedia, InputMediaAnimation, InputMediaPhoto, Message

Load = Callable[[str], tuple[bytes, str]]
"""The bytes and the file name of a content id; runs on a thread. Raises ``KeyError``."""

MOVING = (".gif", ".mp4")


class KnownFiles(Protocol):
    """Remembers what the platform calls a content."""

    async def find(self, content_id: str) -> str:
        """The platform's file id, or ""."""
        ...

    async def keep(self, content_id: str, platform_file: str) -> None:
        """Remember a file id; "" forgets it."""
        ...


class NoKnownFiles:
    """Remembers nothing: everything is uploaded each time."""

    async def find(self, content_id: str) -> str:  # noqa: ARG002 - as the protocol names it
        """Nothing is known."""
        return ""

    async def keep(self, content_id: str, platform_file: str) -> None:
        """Nothing is kept."""


@dataclass(frozen=True, slots=True)
class File:
    """A content ready to be sent.

    Attributes:
        known_as: the platform's file id, or "".
        content, name: the content itself and its file name, where the platform does not know it.
        moving: it is shown as a moving picture.
    """

    content_id: str
    known_as: str
    content: bytes
    name: str
    moving: bool

    def as_input(self) -> str | InputFile:
        """As the platform wants it in a new message."""
        return self.known_as or InputFile(self.content, filename=self.name)

    def as_media(self, caption: str | None) -> InputMedia:
        """As the platform wants it in an edit."""
        kind = InputMediaAnimation if self.moving else InputMediaPhoto
        if self.known_as:
            return kind(self.known_as, caption=caption)
        return kind(self.content, caption=caption, filename=self.name)


class Files:
    """Finds or loads contents, and remembers what the platform called them."""

    def __init__(self, load: Load, known: KnownFiles) -> None:
        """``load`` makes a content; ``known`` outlives the process."""
        self._load = load
        self._known = known

    async def ready(self, content_id: str) -> File:
        """A content by the platform's id where there is one, else loaded.

        Raises:
            KeyError: there is no such content.
        """
        stored = await self._known.find(content_id)
        kind, _, file_id = stored.partition(":")
        if file_id:
            return File(content_id, file_id, b"", "", moving=kind == "moving")
        content, name = await asyncio.to_thread(self._load, content_id)
        moving = PurePath(name).suffix.lower() in MOVING
        return File(content_id, "", content, name, moving)

    async def sent(self, file: File, message: Message) -> None:
        """Remember what the platform calls a content that was just uploaded."""
        if file.known_as:
            return
        if message.animation is not None:
            await self._known.keep(file.content_id, f"moving:{message.animation.file_id}")
        elif message.photo:
            await self._known.keep(file.content_id, f"still:{message.photo[-1].file_id}")

    async def forget(self, file: File) -> None:
        """The platform does not know the file any more."""
        await self._known.keep(file.content_id, "")
