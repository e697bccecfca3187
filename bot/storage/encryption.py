"""Encrypting what people say about their health, before it reaches the database.

Nothing here is of our own making: Fernet for words, AES-SIV (RFC 5297) for what must be looked up,
HMAC-SHA-256 for hashes, HKDF (RFC 5869) for the keys of the last two, all from ``cryptography``.
"""

import base64
import hashlib
import hmac
import json
import logging
from collections import OrderedDict
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from sys import getsizeof
from threading import Lock
from typing import Any

from cryptography.exceptions import InvalidTag
from cryptography.fernet import Fernet, InvalidToken
from cryptography.hazmat.primitives.ciphers.aead import AESSIV
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from bot.errors import StoreError, Unopened
from bot.private_files import read_small

MOST_DECRYPTED = 4_000_000
"""Bytes of the cache of decrypted texts and their tokens: what one turn encrypts the next ones
often decrypt."""

MOST_CHATS = 4000
"""Size of the cache of sealed addresses of chats."""

MOST_KEY_BYTES = 16_384
"""Some hundred keys: a longer file holds none."""

HASH = 40
"""Characters of a hash (160 bits)."""

SEALED_FILE = b"gAAAA"
"""Fernet's first bytes (version 0x80 and a time of this century)."""

WRONG_KEY = "the records were sealed with another key (DAYRUNG_KEY)"


log = logging.getLogger(__name__)


class _Key:
    """One key and what is derived from it."""

    def __init__(self, key: bytes) -> None:
        self.fernet = Fernet(key)
        self.chats = AESSIV(_derived(key, b"chats", 64))
        self.hashes = _derived(key, b"hashes", 32)
        self.name = key_name(key)


class Encryption:
    """Encrypts with the newest key, and decrypts with any of the keys that are known.

    Where a store asks for it (:meth:`hold_newest_back`), a new key seals nothing before the store
    has a proof of it: else the older key alone would pass for the right one.

    Words: Fernet (AES-128-CBC and HMAC-SHA256). May be used from several threads at once.
    """

    def __init__(self, keys: bytes, file: Path | None = None) -> None:
        """Nothing is read yet.

        Args:
            keys: Fernet keys with white space between, the newest first.
            file: where they stand; when it changes, :meth:`refresh` reads them anew.
        """
        self._decrypted: OrderedDict[str, str] = OrderedDict()
        self._size = 0
        self._sealed_chats: OrderedDict[str, str] = OrderedDict()
        self._lock = Lock()
        self._keys = _read(keys)
        self._sealing = self._keys[0]
        self._for_chats = self._keys[0]
        self._file = file
        self._seen = _state_of(file)

    def refresh(self) -> bool:
        """Take other keys over, where the file of keys has changed; costs one look at it.

        Keys without the one in use are those of another practice: what they seal nobody could open
        beside the rest, so they are not taken. Keys known before stay known until the program ends.

        Returns:
            Whether there are keys that were not known before.
        """
        state = _state_of(self._file)
        if state == self._seen or state is None or self._file is None:
            return False
        try:
            keys = _read(read_small(self._file, MOST_KEY_BYTES))
        except (OSError, ValueError, IndexError):
            # Half written or gone: those of before are still good.
            return False
        known = self.names
        self._seen = state
        if known[0] not in [one.name for one in keys]:
            log.critical("the key file lacks the key in use, %s: it is not taken over", known[0])
            return False
        named = {one.name: one for one in (*keys, *self._keys)}
        self._keys = list(named.values())
        if self._sealing.name not in [one.name for one in keys]:
            # Forgotten: the next start would not know it.
            self._sealing = self._keys[0]
        log.warning("the keys were read anew; the newest is %s", self.name)
        return any(one.name not in known for one in keys)

    @property
    def name(self) -> str:
        """What the newest key is called; it tells nothing of the key."""
        return self._keys[0].name

    @property
    def newest_waits(self) -> bool:
        """Whether the newest key opens, but does not seal yet."""
        return self._sealing is not self._keys[0]

    def hold_newest_back(self) -> None:
        """Seal with the oldest key until :meth:`seal_with_newest`."""
        self._sealing = self._keys[-1]

    def seal_with_newest(self) -> None:
        """The store has a proof of the newest key: it seals from now on."""
        self._sealing = self._keys[0]

    def sealed_with_newest(self, text: str) -> str:
        """``text`` encrypted with the newest key although it waits: the proof of it."""
        return self._keys[0].fernet.encrypt(text.encode()).decode("ascii")

    @property
    def names(self) -> Sequence[str]:
        """The names of all keys, the newest first."""
        return [one.name for one in self._keys]

    @property
    def chats_sealed_with(self) -> str:
        """The name of the key with which chats are sealed now."""
        return self._for_chats.name

    def seal_chats_with(self, name: str) -> None:
        """Seal chats with the key of this name, as the rows of the store are.

        Raises:
            StoreError: it is not known here.
        """
        found = [one for one in self._keys if one.name == name]
        if not found:
            raise StoreError(WRONG_KEY)
        with self._lock:
            self._for_chats = found[0]
            self._sealed_chats.clear()

    def is_newest(self, token: str) -> bool:
        """Whether this was encrypted with the newest key."""
        try:
            self._keys[0].fernet.decrypt(token.encode("ascii"))
        except InvalidToken:
            return False
        return True

    def encrypt(self, text: str, *, keep: bool = True) -> str:
        """``text`` encrypted; "" stays "". ``keep``: it is likely to be read soon."""
        if not text:
            return ""
        token = self._sealing.fernet.encrypt(text.encode()).decode("ascii")
        if keep:
            self._keep(token, text)
        return token

    def decrypt(self, token: str, *, keep: bool = True) -> str:
        """What :meth:`encrypt` was given.

        Raises:
            Unopened: the key is not the one it was encrypted with, or it is damaged.
        """
        if not token:
            return ""
        with self._lock:
            known = self._decrypted.get(token)
        if known is not None:
            return known
        try:
            text = self.open_file(token.encode("ascii")).decode()
        except UnicodeEncodeError:
            raise Unopened(WRONG_KEY) from None
        if keep:
            self._keep(token, text)
        return text

    def opened(self, token: str, otherwise: str = "") -> str:
        """The same, but ``otherwise`` where no key opens it: one damaged row stops no others."""
        try:
            return self.decrypt(token)
        except Unopened:
            log.error("something in the store cannot be opened: it is damaged, or of another key")
            return otherwise

    def opened_json(self, token: str) -> dict[str, Any] | None:
        """A plain JSON object, ``{}`` for ""; None where no key opens it."""
        text = self.opened(token)
        if not text:
            return None if token else {}
        return dict(json.loads(text))

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
            sealed = self._for_chats.chats.encrypt(address.encode(), None)
            known = base64.urlsafe_b64encode(sealed).decode("ascii")
            with self._lock:
                self._sealed_chats[address] = known
                if len(self._sealed_chats) > MOST_CHATS:
                    self._sealed_chats.popitem(last=False)
        return known

    def open_chat(self, sealed: str) -> str:
        """What :meth:`seal_chat` was given.

        Raises:
            Unopened: the key is not the one it was sealed with, or it is damaged.
        """
        if not sealed:
            return ""
        for key in (self._for_chats, *self._keys):
            with suppress(InvalidTag, ValueError):
                return key.chats.decrypt(base64.urlsafe_b64decode(sealed), None).decode()
        if self.refresh():
            return self.open_chat(sealed)
        raise Unopened(WRONG_KEY)

    def hashed(self, text: str) -> str:
        """A hash of ``text`` that nobody can work out without the key; 40 letters and digits."""
        return self.hashes(text)[0]

    def hashes(self, text: str) -> Sequence[str]:
        """The same with each key, the newest first: what it may be found by."""
        return [
            hmac.new(one.hashes, text.encode(), hashlib.sha256).hexdigest()[:HASH]
            for one in self._keys
        ]

    def seal_file(self, content: bytes) -> bytes:
        """The content of a file, encrypted."""
        return self._sealing.fernet.encrypt(content)

    def open_file(self, sealed: bytes) -> bytes:
        """What :meth:`seal_file` was given.

        Raises:
            Unopened: the key is not the one it was sealed with, or it is damaged.
        """
        for key in self._keys:
            with suppress(InvalidToken):
                return key.fernet.decrypt(sealed)
        # A change of the key may have begun since the keys were looked at.
        if self.refresh():
            return self.open_file(sealed)
        raise Unopened(WRONG_KEY)


def key_name(key: bytes) -> str:
    """What a key is called: the same key has the same name everywhere, and it tells nothing."""
    return hashlib.sha256(b"dayrung key " + key).hexdigest()[:8]


def _read(keys: bytes) -> Sequence[_Key]:
    """The keys, the newest first.

    Raises:
        ValueError: one has the wrong form.
        IndexError: there is none.
    """
    found = [_Key(one) for one in keys.split()]
    return [found[0], *found[1:]]


def _state_of(file: Path | None) -> tuple[int, int, int] | None:
    """What differs whenever a file is another; None where there is none."""
    try:
        state = file.stat() if file is not None else None
    except OSError:
        return None
    return None if state is None else (state.st_mtime_ns, state.st_size, state.st_ino)


def _derived(key: bytes, use: bytes, length: int) -> bytes:
    """A key for one use alone."""
    raw = base64.urlsafe_b64decode(key)
    return HKDF(SHA256(), length, salt=None, info=b"dayrung " + use).derive(raw)
