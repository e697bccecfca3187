"""A port for a server that is started later, and perhaps again and again."""

import os
import socket
from itertools import count

FIRST, LAST = 12_000, 31_999
"""Below the ports that Linux gives away by itself: no connection of another test takes one of these
between the look and the start, or between two starts."""

_tried = count(os.getpid() * 97)


def free_port() -> int:
    """A port that nobody listens on; processes of tests begin to look in different places."""
    for number in _tried:
        port = FIRST + number % (LAST - FIRST + 1)
        try:
            with socket.create_server(("127.0.0.1", port)):
                return port
        except OSError:
            continue
    raise AssertionError("a count ends never")
