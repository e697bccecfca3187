"""The errors of everything that touches the world.

::

    BotError
    ├── SettingsError           a setting is missing or wrong; one sentence, no traceback
    ├── WordsError              a template is missing or lacks a value (a bug, found by tests)
    ├── StoreError              the database cannot be used now
    │   ├── StoreAway           it cannot be reached or written now; the same work may succeed later
    │   └── Unopened            something in it that no key opens: another key's, or damaged
    └── DeliveryError           a channel could not hand a message over
        ├── Retryable           it surely did not arrive; try again later
        ├── Unknown             nobody knows whether it arrived; send it again
        ├── RateLimited         the platform names a wait for this chat
        ├── Unreachable         the chat is blocked or gone; say nothing more to it
        ├── Moved               the chat has a new address
        ├── EditGone            the message to edit is gone; send it anew
        ├── NothingChanged      an edit that changes nothing: as good as delivered
        ├── Rejected            our fault: the platform will never take this message
        └── ChannelDown         the token is wrong or another process polls: stop

Channels raise only ``DeliveryError``; each translates its platform's errors in one table.
"""

from datetime import timedelta


class BotError(Exception):
    """Base of all errors of ``bot``."""


class SettingsError(BotError):
    """A setting is missing or wrong; the message is one clear sentence for the operator."""


class WordsError(BotError):
    """A template is missing, or lacks a value it names."""


class StoreError(BotError):
    """The database cannot be used now (locked, full, read-only, gone)."""


class StoreAway(StoreError):
    """The database cannot be reached or written just now; the same work may succeed later."""


class Unopened(StoreError):
    """Something sealed that none of the keys opens: another key's, or damaged."""


class StoreNewer(StoreError):
    """The database belongs to a newer version of the program."""


class StoreMissing(StoreError):
    """There is no database, or nothing has been put into it yet."""


class DeliveryError(BotError):
    """A channel could not hand a message over."""


class Retryable(DeliveryError):
    """The message surely did not arrive; try again later."""


class Unknown(DeliveryError):
    """The connection broke after sending: nobody knows whether the message arrived."""


class RateLimited(DeliveryError):
    """The platform asks to wait before writing to this chat again."""

    def __init__(self, wait: timedelta) -> None:
        """``wait``: how long this chat must rest."""
        super().__init__(f"wait {wait.total_seconds():.0f} s")
        self.wait = wait


class Unreachable(DeliveryError):
    """The chat is blocked, gone or was never opened; stop writing to it."""


class Moved(DeliveryError):
    """The chat has a new address."""

    def __init__(self, address: str) -> None:
        """``address``: where the chat is now."""
        super().__init__("the chat has moved")
        self.address = address


class EditGone(DeliveryError):
    """The message to edit no longer exists or is too old; send it anew."""


class NothingChanged(DeliveryError):
    """The edit changes nothing: what should be shown is shown."""


class Rejected(DeliveryError):
    """The platform will never take this message as it is; the operator is told."""


class ChannelDown(DeliveryError):
    """The channel itself cannot work (bad token, a second poller); the process stops."""


def where_it_failed(error: BaseException) -> str:
    """The kind of error and the place in our code, without anybody's words."""
    place = error.__traceback__
    while place is not None and place.tb_next is not None:
        place = place.tb_next
    at = f" at {place.tb_frame.f_code.co_name}:{place.tb_lineno}" if place is not None else ""
    return f"{type(error).__name__}{at}"
