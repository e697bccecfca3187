"""Noticing a wrong key at once, and not when the first encrypted words are read."""

from collections.abc import Collection, Mapping
from typing import Any

from sqlalchemy import inspect, select
from sqlmodel import SQLModel

from bot.errors import SettingsError, StoreError
from bot.storage.encryption import Encryption
from bot.storage.tables import KeyProofRow
from bot.storage.unit import UnitOfWork

WORD = "Dayrung"
"""What the proof says; anybody may know it."""


PROOF = KeyProofRow.metadata.tables["key_proof"]

_NAMED = ("key_name", "chats_name")
"""Its columns that name a key."""


def check_key(unit: UnitOfWork) -> None:
    """Decrypt something that was encrypted before, if there is anything, in a store of any form.

    Until a change of the key has come to its end both keys are needed: the proof is sealed with the
    new one before anything else is (:func:`prove_newest`) and names the older one.

    Raises:
        SettingsError: the key is not the one that these records were sealed with.
    """
    proof = _proof(unit)
    sealed = proof["word_sealed"] if proof else _any_sealed_words(unit)
    refuse_wrong_key(unit.encryption, sealed, proof.get("key_name", ""))
    for name in filter(None, (proof.get(column, "") for column in _NAMED)):
        if name not in unit.encryption.names:
            raise SettingsError(_sentence(unit.encryption, name))


def refuse_wrong_key(encryption: Encryption, sealed: str, name: str = "") -> None:
    """Decrypt what was encrypted before, with the key of this name where that is known.

    Raises:
        SettingsError: the key is another.
    """
    try:
        encryption.decrypt(sealed)
    except StoreError:
        raise SettingsError(_sentence(encryption, name)) from None


def _sentence(encryption: Encryption, name: str) -> str:
    named = f" It was key {name}; this is key {encryption.name}." if name else ""
    return (
        "The key is not the one that the records were sealed with. Set DAYRUNG_KEY, or bring the "
        f"key file back, as they were.{named}"
    )


def prove_key(unit: UnitOfWork) -> None:
    """The same, and keep a proof of this key when there is none yet; commits.

    Raises:
        SettingsError: the key is not the one that these records were sealed with.
    """
    check_key(unit)
    encryption = unit.encryption
    row = unit.session.get(KeyProofRow, 1)
    if row is None:
        row = KeyProofRow(word_sealed=encryption.sealed_with_newest(WORD))
        unit.session.add(row)
    row.key_name = row.key_name or encryption.name
    row.chats_name = row.chats_name or encryption.name
    encryption.seal_chats_with(row.chats_name)
    unit.commit()


def follow_proof(unit: UnitOfWork) -> None:
    """Seal with the newest key where the proof is sealed with it by now; changes nothing."""
    sealed = _proof(unit).get("word_sealed", "")
    if sealed and unit.encryption.is_newest(sealed):
        unit.encryption.seal_with_newest()
    unit.undo()


def prove_newest(unit: UnitOfWork) -> None:
    """Seal the proof with the newest key, and from then on everything; commits.

    Whoever then brings the older key back alone is told so, and does not go on without what was
    sealed meanwhile.
    """
    encryption = unit.encryption
    row = unit.session.get(KeyProofRow, 1)
    if row is None:
        return
    if not encryption.is_newest(row.word_sealed):
        row.word_sealed = encryption.sealed_with_newest(WORD)
        unit.commit()
    encryption.seal_with_newest()


def _proof(unit: UnitOfWork) -> Mapping[str, Any]:
    """The proof as far as a store of this form has it; empty where there is none."""
    there = _columns_there(unit, PROOF.name)
    if not there:
        return {}
    columns = [one for one in PROOF.columns if one.name in there]
    row = unit.session.execute(select(*columns)).mappings().first()
    return {} if row is None else dict(row)


def _columns_there(unit: UnitOfWork, table: str) -> Collection[str]:
    """The columns that a table of this store has, none where it has no such table."""
    inspector = inspect(unit.session.connection())
    if not inspector.has_table(table):
        return ()
    return {one["name"] for one in inspector.get_columns(table)}


def _any_sealed_words(unit: UnitOfWork) -> str:
    """Something encrypted from a store that is older than the proof, or ""."""
    for one in SQLModel.metadata.sorted_tables:
        there = _columns_there(unit, one.name)
        for sealed in one.columns:
            if sealed.name.endswith("_sealed") and sealed.name in there:
                found = unit.session.scalar(select(sealed).where(sealed != "").limit(1))
                if found:
                    return str(found)
    return ""
