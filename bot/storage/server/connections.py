"""Connections to PostgreSQL that end when the other side is gone, on both sides.

By itself a server keeps the connection of a machine whose power or network went for two hours
(Linux' ``tcp_keepalive_time``), with every lock that it holds; and a client waits a quarter of an
hour for an answer. Neither can be had: the lock on the database decides who works.
"""

from contextlib import suppress
from typing import Any

from sqlalchemy import Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError
from sqlalchemy.pool import NullPool

from bot.errors import SettingsError

ON_OUR_SIDE = {
    "connect_timeout": 4,
    "keepalives": 1,
    "keepalives_idle": 3,
    "keepalives_interval": 2,
    "keepalives_count": 3,
    "tcp_user_timeout": 7000,
}
"""As libpq takes them: seconds, and milliseconds for the last. What an address says itself wins."""

ON_THE_SERVER = {
    "tcp_keepalives_idle": "3",
    "tcp_keepalives_interval": "2",
    "tcp_keepalives_count": "3",
    # Keepalives do not run while something sent waits for its acknowledgement.
    "tcp_user_timeout": "7000",
    # A server in the middle of a statement, or of a wait for a lock, looks at the line too.
    "client_connection_check_interval": "1000",
}
"""What the server is asked to do for this connection; an ordinary user may set all of it."""

MOST_OVER = 2
"""Connections that an engine may have beside its pool, for a moment."""

WRONG_ADDRESS = (
    "The setting DAYRUNG_DATABASE is not the address of a database that can be used here, "
    "such as sqlite:////var/lib/dayrung/dayrung.sqlite3."
)
"""Without the address, which may hold a password."""


def shared_engine(address: str, connections: int) -> Engine:
    """An engine on a server, with a pool of so many connections.

    Raises:
        SettingsError: that is no address, or its driver is missing.
    """
    return _engine(
        address,
        pool_pre_ping=True,
        pool_size=connections,
        # Each of our threads has one at most: many more would only hide a leak.
        max_overflow=MOST_OVER,
        # Connections that rested long in a firewall on the way are made anew.
        pool_recycle=1800,
    )


def lone_engine(address: str) -> Engine:
    """An engine whose connections are made when asked for, and closed when given back.

    Each statement is a transaction of its own.

    Raises:
        SettingsError: that is no address, or its driver is missing.
    """
    return _engine(address, poolclass=NullPool, isolation_level="AUTOCOMMIT")


def _engine(address: str, **more: Any) -> Engine:
    try:
        said = make_url(address).query
        ours = {name: value for name, value in ON_OUR_SIDE.items() if name not in said}
        engine = create_engine(address, connect_args=ours, **more)
    except (ArgumentError, ImportError, ValueError):
        raise SettingsError(WRONG_ADDRESS) from None
    event.listen(engine, "connect", _ask_the_server, insert=True)
    return engine


def _ask_the_server(connection: Any, _record: Any) -> None:
    """In one go, for what this server knows; where its system cannot do it, it stays as it is."""
    from psycopg import Error

    wanted = ", ".join(f"('{name}', '{value}')" for name, value in ON_THE_SERVER.items())
    before, connection.autocommit = connection.autocommit, True
    try:
        with suppress(Error):
            connection.execute(
                "SELECT set_config(name, wanted, false) FROM pg_settings "  # noqa: S608 - our own
                f"JOIN (VALUES {wanted}) AS ours(known, wanted) ON name = known"
            )
    finally:
        connection.autocommit = before
