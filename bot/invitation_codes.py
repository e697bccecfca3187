"""Invitation codes: made by chance, read out of a text, and hashed for the store."""

import hashlib
import re
import secrets
from collections.abc import Callable
from typing import TypeVar

ALPHABET = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""No letter that can be taken for a digit, or the other way round."""

GROUP = 4
CODE = re.compile(
    rf"^(?:/start\s+)?([{ALPHABET}]{{{GROUP}}}-?[{ALPHABET}]{{{GROUP}}})$", re.IGNORECASE
)


def new_code() -> str:
    """A fresh code, 8 characters in two groups (about 5 * 10^11 possibilities).

    Each group has a letter and a digit: typed in small letters within a sentence it is no word.
    """
    return f"{_group()}-{_group()}"


def _group() -> str:
    while True:
        drawn = "".join(secrets.choice(ALPHABET) for _ in range(GROUP))
        if not drawn.isalpha() and not drawn.isdigit():
            return drawn


def code_in(text: str) -> str:
    """The code that a text consists of, in its plain form, or ""."""
    found = CODE.match(text.strip())
    return found.group(1).upper().replace("-", "") if found else ""


Hashed = TypeVar("Hashed")


def code_hash(code: str, keyed: Callable[[str], Hashed]) -> Hashed:
    """What is stored instead of the code; case and the hyphen do not matter.

    Args:
        keyed: hashes a text with the practice's key, or with each of its keys. What it is given is
            itself a hash, because that alone was stored in earlier versions.
    """
    plain = code.upper().replace("-", "")
    return keyed(hashlib.sha256(f"dayrung invitation {plain}".encode()).hexdigest())
