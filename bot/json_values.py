"""Values as plain JSON and back, by their types: what goes into a sealed column or a file.

Built on pydantic's ``TypeAdapter``: enums become their values, dates ISO 8601, tuples lists. Fields
that a stored value lacks take their defaults; those that it has too many are left out.
"""

from typing import Any, TypeVar

from pydantic import JsonValue, TypeAdapter

__all__ = ["JsonValue", "from_json", "to_json"]

Value = TypeVar("Value")

_ADAPTERS: dict[object, TypeAdapter[Any]] = {}
"""By type: building one takes a thousand times as long as using it."""


def to_json(value: object) -> dict[str, JsonValue]:
    """A dataclass as a plain JSON value that :func:`from_json` reads back."""
    plain: dict[str, JsonValue] = _adapter(type(value)).dump_python(value, mode="json")
    return plain


def from_json(kind: type[Value], data: JsonValue) -> Value:
    """The value of type ``kind`` that :func:`to_json` gave.

    Raises:
        ValueError: it is not such a value.
    """
    value: Value = _adapter(kind).validate_python(data)
    return value


def _adapter(kind: type[Value]) -> TypeAdapter[Any]:
    known = _ADAPTERS.get(kind)
    if known is None:
        known = _ADAPTERS[kind] = TypeAdapter(kind)
    return known
