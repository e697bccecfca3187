"""Encrypting what people say about their health, before it reaches the database."""

import json
from collections import OrderedDict
from threading import Lock
from typing import Any

from cryptography.fernet import Fernet, InvalidToken

from bot.errors import StoreError

MOST_OPENED = 2000
"""Sealed texts whose words are kept in memory: what one turn seals the next ones open, often."""


class Vault:
    """Seals and opens text with one key (Fernet: AES-128-CBC and HMAC-SHA256).

    May be used from several threads at once.
    """

    def __init__(self, key: bytes) -> None:
        """``key``: a Fernet key."""
        self._fernet = Fernet(key)
        self._opened: OrderedDict[str, str] = OrderedDict()
        self._lock = Lock()

    def seal(self, text: str) -> str:
        """``text`` encrypted; "" stays ""."""
        if not text:
            return ""
        token = self._fernet.encrypt(text.encode()).decode("ascii")
        self._keep(token, text)
        return token

    def open(self, token: str) -> str:
        """What :meth:`seal` was given.

        Raises:
            StoreError: the key is not the one it was sealed with.
        """
        if not token:
            return ""
        with self._lock:
            known = self._opened.get(token)
        if known is not None:
            return known
        try:
            text = self._fernet.decrypt(token.encode("ascii")).decode()
        except InvalidToken:
            raise StoreError("the records were sealed with another key (DAYRUNG_KEY)") from None
        self._keep(token, text)
        return text

    def _keep(self, token: str, text: str) -> None:
        with self._lock:
            self._opened[token] = text
            if len(self._opened) > MOST_OPENED:
                self._opened.popitem(last=False)

    def forget(self) -> None:
        """Keep no words in memory: somebody wants theirs erased."""
        with self._lock:
            self._opened.clear()

    def seal_json(self, value: Any) -> str:
        """A plain JSON value, encrypted."""
        return self.seal(json.dumps(value, separators=(",", ":"), ensure_ascii=False))

    def open_json(self, token: str) -> Any:
        """What :meth:`seal_json` was given; ``{}`` for ""."""
        return json.loads(self.open(token)) if token else {}
