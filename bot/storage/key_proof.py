"""Noticing a wrong key at once, and not when the first encrypted words are read."""

from sqlalchemy import select
from sqlmodel import SQLModel

from bot.errors import SettingsError, StoreError
from bot.storage.encryption import Encryption
from bot.storage.tables import KeyProofRow
from bot.storage.unit import UnitOfWork

WORD = "Dayrung"
"""What the proof says; anybody may know it."""


def check_key(unit: UnitOfWork) -> None:
    """Decrypt something that was encrypted before, if there is anything.

    Raises:
        SettingsError: the key is not the one that these records were sealed with.
    """
    refuse_wrong_key(unit.encryption, _proof(unit) or _any_sealed_words(unit))


def refuse_wrong_key(encryption: Encryption, sealed: str) -> None:
    """Decrypt what was encrypted before.

    Raises:
        SettingsError: the key is another.
    """
    try:
        encryption.decrypt(sealed)
    except StoreError:
        raise SettingsError(
            "The key is not the one that the records were sealed with. Set DAYRUNG_KEY, or bring "
            "the key file back, as they were."
        ) from None


def prove_key(unit: UnitOfWork) -> None:
    """The same, and keep a proof of this key when there is none yet; commits.

    Raises:
        SettingsError: the key is not the one that these records were sealed with.
    """
    check_key(unit)
    if not _proof(unit):
        unit.session.add(KeyProofRow(word_sealed=unit.encryption.encrypt(WORD)))
        unit.commit()


def _proof(unit: UnitOfWork) -> str:
    row = unit.session.get(KeyProofRow, 1)
    return "" if row is None else row.word_sealed


def _any_sealed_words(unit: UnitOfWork) -> str:
    """Something encrypted from a store that is older than the proof, or ""."""
    for one in SQLModel.metadata.sorted_tables:
        for sealed in one.columns:
            if sealed.name.endswith("_sealed"):
                found = unit.session.scalar(select(sealed).where(sealed != "").limit(1))
                if found:
                    return str(found)
    return ""
