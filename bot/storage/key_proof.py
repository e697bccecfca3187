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
    row = unit.session.get(KeyProofRow, 1)
    sealed = _any_sealed_words(unit) if row is None else row.word_sealed
    refuse_wrong_key(unit.encryption, sealed, "" if row is None else row.key_name)


def refuse_wrong_key(encryption: Encryption, sealed: str, name: str = "") -> None:
    """Decrypt what was encrypted before, with the key of this name where that is known.

    Raises:
        SettingsError: the key is another.
    """
    try:
        encryption.decrypt(sealed)
    except StoreError:
        named = f" It was key {name}; this is key {encryption.name}." if name else ""
        raise SettingsError(
            "The key is not the one that the records were sealed with. Set DAYRUNG_KEY, or bring "
            f"the key file back, as they were.{named}"
        ) from None


def prove_key(unit: UnitOfWork) -> None:
    """The same, and keep a proof of this key when there is none yet; commits.

    Raises:
        SettingsError: the key is not the one that these records were sealed with.
    """
    check_key(unit)
    encryption = unit.encryption
    row = unit.session.get(KeyProofRow, 1)
    if row is None:
        row = KeyProofRow(word_sealed=encryption.encrypt(WORD))
        unit.session.add(row)
    row.key_name = row.key_name or encryption.name
    row.chats_name = row.chats_name or encryption.name
    encryption.seal_chats_with(row.chats_name)
    unit.commit()


def _any_sealed_words(unit: UnitOfWork) -> str:
    """Something encrypted from a store that is older than the proof, or ""."""
    for one in SQLModel.metadata.sorted_tables:
        for sealed in one.columns:
            if sealed.name.endswith("_sealed"):
                found = unit.session.scalar(select(sealed).where(sealed != "").limit(1))
                if found:
                    return str(found)
    return ""
