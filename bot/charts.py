"""Charts for a phone: plain data to PNG bytes."""

from collections.abc import Callable, Mapping
from typing import Any

CHARTS: Mapping[str, Callable[[Mapping[str, Any]], bytes]] = {}
