"""The library's HTTP client, with floods told without a warning."""

import warnings
from datetime import timedelta
from http import HTTPStatus
from typing import Any

from telegram.error import RetryAfter
from telegram.request import HTTPXRequest


class Request(HTTPXRequest):
    """HTTP by httpx.

    The library warns of its own plans whenever it says how long to wait. Nobody can act on that
    at run time, and a log full of it hides what matters.
    """

    async def do_request(self, *args: Any, **kwargs: Any) -> tuple[int, bytes]:
        """One request; status and body. Raises ``RetryAfter`` when the platform names a wait."""
        status, body = await super().do_request(*args, **kwargs)
        if status == HTTPStatus.TOO_MANY_REQUESTS:
            wait = self.parse_json_payload(body).get("parameters", {}).get("retry_after")
            if wait:
                with warnings.catch_warnings():
                    warnings.simplefilter("ignore")
                    raise RetryAfter(timedelta(seconds=wait))
        return status, body
