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
    """A fresh code, 8 characters in two groups (32^8, about 10^12 possibilities)."""
    letters = [secrets.choice(ALPHABET) for _ in range(2 * GROUP)]
    return "".join(letters[:GROUP]) + "-" + "".join(letters[GROUP:])


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
