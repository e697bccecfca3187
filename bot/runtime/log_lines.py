"""Log lines as JSON, one object a line, for whoever collects them.

What they say is what the plain lines say: kinds, ids of rows and places in the program, never
anybody's words.
"""

import json
import logging
from datetime import UTC, datetime


class JsonLines(logging.Formatter):
    """A record as one line of JSON."""

    def format(self, record: logging.LogRecord) -> str:
        """The line, without its end."""
        said = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "from": record.name,
            "says": record.getMessage(),
        }
        if record.exc_info:
            said["trace"] = self.formatException(record.exc_info)
        return json.dumps(said, ensure_ascii=False)


def write_json_lines() -> None:
    """From now on; to be called before secrets are kept out of what is written."""
    for handler in logging.getLogger().handlers:
        handler.setFormatter(JsonLines())
