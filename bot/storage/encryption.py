"""Encrypting what people say about their health, before it reaches the database.

Nothing here is of our own making: Fernet for words, AES-SIV (RFC 5297) for what must be looked up,
HMAC-SHA-256 for hashes, HKDF (RFC 5869) for the keys of the last two, all from ``cryptography``.
"""

import base64
import hashlib
import hmac
import json
from collections import OrderedDict
from threading import Lock
from typing import Any

from cryptography.exceptions import InvalidTag
from cryptography.fernet import Fernet, InvalidToken
from cryptography.hazmat.primitives.ciphers.aead import AESSIV
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from bot.errors import StoreError

MOST_DECRYPTED = 2000
"""Size of the cache of decrypted texts: what one turn encrypts the next ones often decrypt."""

MOST_CHATS = 4000
"""Size of the cache of sealed addresses of chats."""

HASH = 40
"""Characters of a hash (160 bits)."""

SEALED_FILE = b"gAAAA"
"""Fernet's first bytes (version 0x80 and a time of this century)."""

WRONG_KEY = "the records were sealed with another key (DAYRUNG_KEY)"


class Encryption:
    """Encrypts and decrypts text with one key (Fernet: AES-128-CBC and HMAC-SHA256).

    May be used from several threads at once.
    """

    def __init__(self, key: bytes) -> None:
        """``key``: a Fernet key."""
        self._fernet = Fernet(key)
        self._chats = AESSIV(_derived(key, b"chats", 64))
        self._hashes = _derived(key, b"hashes", 32)
        self._decrypted: OrderedDict[str, str] = OrderedDict()
        self._sealed_chats: OrderedDict[str, str] = OrderedDict()
        self._lock = Lock()

    def encrypt(self, text: str, *, keep: bool = True) -> str:
        """``text`` encrypted; "" stays "". ``keep``: it is likely to be read soon."""
        if not text:
            return ""
        token = self._fernet.encrypt(text.encode()).decode("ascii")
        if keep:
            self._keep(token, text)
        return token

    def decrypt(self, token: str, *, keep: bool = True) -> str:
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
        except (InvalidToken, UnicodeEncodeError):
            raise StoreError(WRONG_KEY) from None
        if keep:
            self._keep(token, text)
        return text

    def _keep(self, token: str, text: str) -> None:
        with self._lock:
            self._decrypted[token] = text
            if len(self._decrypted) > MOST_DECRYPTED:
                self._decrypted.popitem(last=False)

    def forget(self) -> None:
        """Keep no words in memory: somebody wants theirs erased."""
        with self._lock:
            self._decrypted.clear()

    def encrypt_json(self, value: Any, *, keep: bool = True) -> str:
        """A plain JSON value, encrypted."""
        text = json.dumps(value, separators=(",", ":"), ensure_ascii=False)
        return self.encrypt(text, keep=keep)

    def decrypt_json(self, token: str, *, keep: bool = True) -> Any:
        """What :meth:`encrypt_json` was given; ``{}`` for ""."""
        return json.loads(self.decrypt(token, keep=keep)) if token else {}

    def seal_chat(self, address: str) -> str:
        """A chat's address, always the same for the same address, so that it can be looked up."""
        if not address:
            return ""
        with self._lock:
            known = self._sealed_chats.get(address)
        if known is None:
            sealed = self._chats.encrypt(address.encode(), None)
            known = base64.urlsafe_b64encode(sealed).decode("ascii")
            with self._lock:
                self._sealed_chats[address] = known
                if len(self._sealed_chats) > MOST_CHATS:
                    self._sealed_chats.popitem(last=False)
        return known

    def open_chat(self, sealed: str) -> str:
        """What :meth:`seal_chat` was given.

        Raises:
            StoreError: the key is not the one it was sealed with.
        """
        if not sealed:
            return ""
        try:
            return self._chats.decrypt(base64.urlsafe_b64decode(sealed), None).decode()
        except (InvalidTag, ValueError):
            raise StoreError(WRONG_KEY) from None

    def hashed(self, text: str) -> str:
        """A hash of ``text`` that nobody can work out without the key; 40 letters and digits."""
        return hmac.new(self._hashes, text.encode(), hashlib.sha256).hexdigest()[:HASH]

    def seal_file(self, content: bytes) -> bytes:
        """The content of a file, encrypted."""
        return self._fernet.encrypt(content)

    def open_file(self, sealed: bytes) -> bytes:
        """What :meth:`seal_file` was given.

        Raises:
            StoreError: the key is not the one it was sealed with.
        """
        try:
            return self._fernet.decrypt(sealed)
        except InvalidToken:
            raise StoreError(WRONG_KEY) from None


def _derived(key: bytes, use: bytes, length: int) -> bytes:
    """A key for one use alone."""
    raw = base64.urlsafe_b64decode(key)
    return HKDF(SHA256(), length, salt=None, info=b"dayrung " + use).derive(raw)
