"""Encrypting what people say about their health, before it reaches the database."""

import json
from typing import Any

from cryptography.fernet import Fernet, InvalidToken

from bot.errors import StoreError


class Vault:
    """Seals and opens text with one key (Fernet: AES-128-CBC and HMAC-SHA256)."""

    def __init__(self, key: bytes) -> None:
        """``key``: a Fernet key."""
        self._fernet = Fernet(key)

    def seal(self, text: str) -> str:
        """``text`` encrypted; "" stays ""."""
        return self._fernet.encrypt(text.encode()).decode("ascii") if text else ""

    def open(self, token: str) -> str:
        """What :meth:`seal` was given.

        Raises:
            StoreError: the key is not the one it was sealed with.
        """
        if not token:
            return ""
        try:
            return self._fernet.decrypt(token.encode("ascii")).decode()
        except InvalidToken:
            raise StoreError("the records were sealed with another key (DAYRUNG_KEY)") from None

    def seal_json(self, value: Any) -> str:
        """A plain JSON value, encrypted."""
        return self.seal(json.dumps(value, separators=(",", ":"), ensure_ascii=False))

    def open_json(self, token: str) -> Any:
        """What :meth:`seal_json` was given; ``{}`` for ""."""
        return json.loads(self.open(token)) if token else {}
