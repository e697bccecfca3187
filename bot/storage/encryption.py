"""Encrypting what people say about their health, before it reaches the database."""

import json
from collections import OrderedDict
from sys import getsizeof
from threading import Lock
from typing import Any

from cryptography.fernet import Fernet, InvalidToken

from bot.errors import StoreError

MOST_DECRYPTED = 4_000_000
"""Bytes of the cache of decrypted texts and their tokens: what one turn encrypts the next ones
often decrypt."""


class Encryption:
    """Encrypts and decrypts text with one key (Fernet: AES-128-CBC and HMAC-SHA256).

    May be used from several threads at once.
    """

    def __init__(self, key: bytes) -> None:
        """``key``: a Fernet key."""
        self._fernet = Fernet(key)
        self._decrypted: OrderedDict[str, str] = OrderedDict()
        self._size = 0
        self._lock = Lock()

    def encrypt(self, text: str) -> str:
        """``text`` encrypted; "" stays ""."""
        if not text:
            return ""
        token = self._fernet.encrypt(text.encode()).decode("ascii")
        self._keep(token, text)
        return token

    def decrypt(self, token: str) -> str:
        """What :meth:`encrypt` was given.

        Raises:
            StoreError: the key is not the one it was encrypted with.
        """
        if not token:
            return ""
        with self._lock:
            known = self._decrypted.get(token)
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
            if token not in self._decrypted:
                self._size += getsizeof(token) + getsizeof(text)
            self._decrypted[token] = text
            while self._size > MOST_DECRYPTED:
                self._size -= sum(map(getsizeof, self._decrypted.popitem(last=False)))

    def forget(self) -> None:
        """Keep no words in memory: somebody wants theirs erased."""
        with self._lock:
            self._decrypted.clear()
            self._size = 0

    def encrypt_json(self, value: Any) -> str:
        """A plain JSON value, encrypted."""
        return self.encrypt(json.dumps(value, separators=(",", ":"), ensure_ascii=False))

    def decrypt_json(self, token: str) -> Any:
        """What :meth:`encrypt_json` was given; ``{}`` for ""."""
        return json.loads(self.decrypt(token)) if token else {}
