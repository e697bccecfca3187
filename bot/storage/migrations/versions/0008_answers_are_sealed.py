"""Every answer about health is sealed, and so are the addresses of chats."""

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from alembic import context, op

from bot.storage.encryption import Encryption
from bot.storage.key_proof import refuse_wrong_key

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

AT_ONCE = 500
"""Rows that are read and written at once."""

CHATS = ("address", "inbox", "outbox", "conversation")
"""Tables with a chat's address."""


@dataclass(frozen=True)
class Old:
    """A column in the open; ``default`` in SQL, None where it may be empty."""

    name: str
    kind: type[sa.types.TypeEngine[Any]]
    default: str | None

    def column(self) -> sa.Column[Any]:
        """As it stood in its table."""
        return sa.Column(
            self.name,
            self.kind(),
            nullable=self.default is None,
            server_default=None if self.default is None else sa.text(self.default),
        )


@dataclass(frozen=True)
class Sealed:
    """A sealed column, and those in the open that it takes the place of.

    Attributes:
        pack: the values of the old columns as one.
        unpack: the other way round.
    """

    table: str
    name: str
    old: Sequence[Old]
    pack: Callable[[Mapping[str, Any]], Any]
    unpack: Callable[[Any], Mapping[str, Any]]


def _text(name: str, default: str = "''") -> Old:
    return Old(name, sa.String, default)


def _number(name: str, default: str | None = None) -> Old:
    return Old(name, sa.Integer, default)


def _real(name: str, default: str | None = None) -> Old:
    return Old(name, sa.Float, default)


def _flag(name: str, default: str | None = "false") -> Old:
    return Old(name, sa.Boolean, default)


def _one_text(table: str, name: str) -> Sealed:
    return Sealed(
        table, f"{name}_sealed", (_text(name),), lambda row: row[name], lambda text: {name: text}
    )


def _values(table: str, name: str, old: Sequence[Old], as_json: str = "") -> Sealed:
    """Several columns as one JSON object; the column ``as_json`` held JSON before."""

    def pack(row: Mapping[str, Any]) -> Any:
        packed = {column.name: row[column.name] for column in old}
        return {**packed, as_json: json.loads(packed[as_json] or "[]")} if as_json else packed

    def unpack(value: Any) -> Mapping[str, Any]:
        found = {column.name: value[column.name] for column in old if column.name in value}
        return {**found, as_json: json.dumps(value.get(as_json, []))} if as_json else found

    return Sealed(table, name, old, pack, unpack)


SEALED = (
    _one_text("inbox", "tap"),
    _one_text("audit", "detail"),
    _one_text("hold", "because"),
    _one_text("hold", "cleared_kind"),
    Sealed(
        "conversation",
        "standing_sealed",
        (_text("step"), _text("slots", "'{}'")),
        lambda row: {**json.loads(row["slots"] or "{}"), "#step": row["step"]},
        lambda value: {
            "step": value.get("#step", ""),
            "slots": json.dumps({name: at for name, at in value.items() if name != "#step"}),
        },
    ),
    _values(
        "checkin",
        "result_sealed",
        (
            _real("score"),
            _text("day_plan"),
            _real("certainty"),
            _text("reasons", "'[]'"),
        ),
        as_json="reasons",
    ),
    _values("session", "effort_sealed", (_real("effort"), _text("effort_scale"), _real("minutes"))),
    _values(
        "set",
        "done_sealed",
        (
            _text("family"),
            _text("step_key"),
            _real("demand", "0"),
            _text("unit"),
            _number("sets", "1"),
            _number("planned"),
            _number("amount", "0"),
            _number("left"),
            _flag("slip"),
            _number("pain", "0"),
            _number("stop_at_left", "1"),
            _number("lowest_good_left", "1"),
            _flag("eased"),
            _real("day_shift"),
            _number("planned_top"),
        ),
    ),
    _values(
        "pain",
        "told_sealed",
        (
            _text("family"),
            _text("where"),
            _number("how_much", "0"),
            _flag("sharp"),
            _flag("settled", None),
        ),
    ),
    _values(
        "alert",
        "told_sealed",
        (
            _text("signs", "'[]'"),
            _flag("for_other"),
            _text("called"),
        ),
        as_json="signs",
    ),
)


def upgrade() -> None:
    """Make the change, of all rows or of none: who stops it begins anew.

    Raises:
        SettingsError: the key is not the one that these records were sealed with.
    """
    encryption = _encryption()
    _check_key(encryption)
    for one in SEALED:
        op.add_column(one.table, sa.Column(one.name, sa.Text(), nullable=False, server_default=""))
    for one in SEALED:
        _seal(one, encryption)
    for table in CHATS:
        _rewrite(table, "address", encryption.seal_chat)
    _hash_keys(encryption)
    # Not as a batch: SQLite would copy tables to which other rows point.
    for one in SEALED:
        for column in one.old:
            op.drop_column(one.table, column.name)


def downgrade() -> None:
    """Take it back. Keys of messages stay hashed: nobody can turn them back."""
    encryption = _encryption()
    for one in SEALED:
        for column in one.old:
            op.add_column(one.table, column.column())
    for one in SEALED:
        _open(one, encryption)
    for table in CHATS:
        _rewrite(table, "address", encryption.open_chat)
    for one in SEALED:
        op.drop_column(one.table, one.name)


def _encryption() -> Encryption:
    encryption: Encryption = context.config.attributes["encryption"]
    return encryption


def _check_key(encryption: Encryption) -> None:
    """Nothing may be sealed with a wrong key."""
    for table, column in (
        ("key_proof", "word_sealed"),
        ("person", "name_sealed"),
        ("invitation", "name_sealed"),
    ):
        rows = sa.table(table, sa.column(column))
        sealed = op.get_bind().scalar(
            sa.select(rows.c[column]).where(rows.c[column] != "").limit(1)
        )
        if sealed:
            refuse_wrong_key(encryption, sealed)
            return


def _rows(table: str, columns: Sequence[str]) -> Iterator[Sequence[Mapping[str, Any]]]:
    """All rows by id, some at a time."""
    rows = sa.table(table, sa.column("id"), *map(sa.column, columns))
    last = 0
    while True:
        found = (
            op.get_bind()
            .execute(sa.select(rows).where(rows.c.id > last).order_by(rows.c.id).limit(AT_ONCE))
            .mappings()
            .all()
        )
        if not found:
            return
        last = found[-1]["id"]
        yield [dict(row) for row in found]


def _write(table: str, columns: Sequence[str], changes: Sequence[Mapping[str, Any]]) -> None:
    rows = sa.table(table, sa.column("id"), *map(sa.column, columns))
    if changes:
        op.get_bind().execute(
            sa.update(rows)
            .where(rows.c.id == sa.bindparam("row_id"))
            .values({name: sa.bindparam(f"new_{name}") for name in columns}),
            [
                {"row_id": change["id"], **{f"new_{name}": change[name] for name in columns}}
                for change in changes
            ],
        )


def _seal(one: Sealed, encryption: Encryption) -> None:
    names = [column.name for column in one.old]
    flags = {column.name for column in one.old if column.kind is sa.Boolean}
    for rows in _rows(one.table, names):
        changes = []
        for row in rows:
            # SQLite gives its booleans as numbers.
            plain = {
                name: bool(value) if name in flags and value is not None else value
                for name, value in row.items()
            }
            packed = one.pack(plain)
            seal = encryption.encrypt if isinstance(packed, str) else encryption.encrypt_json
            changes.append({"id": row["id"], one.name: seal(packed, keep=False)})
        _write(one.table, [one.name], changes)


def _open(one: Sealed, encryption: Encryption) -> None:
    names = [column.name for column in one.old]
    typed = sa.table(one.table, sa.column("id"), *(sa.column(c.name, c.kind()) for c in one.old))
    for rows in _rows(one.table, [one.name]):
        for row in rows:
            text = encryption.decrypt(row[one.name], keep=False)
            if text:
                given = one.unpack(text if len(names) == 1 else json.loads(text))
                op.get_bind().execute(
                    sa.update(typed).where(typed.c.id == row["id"]).values(dict(given))
                )


def _rewrite(table: str, column: str, change: Callable[[str], str]) -> None:
    for rows in _rows(table, [column]):
        _write(table, [column], [{"id": row["id"], column: change(row[column])} for row in rows])


def _hash_keys(encryption: Encryption) -> None:
    """The keys of messages end with the address of a chat: a hash takes its place."""
    for rows in _rows("outbox", ["dedupe_key", "channel", "address"]):
        changes = []
        for row in rows:
            address = encryption.open_chat(row["address"])
            key = row["dedupe_key"]
            if key.endswith(f":{row['channel']}:{address}"):
                key = key.removesuffix(address) + encryption.hashed(address)
                changes.append({"id": row["id"], "dedupe_key": key})
        _write("outbox", ["dedupe_key"], changes)
