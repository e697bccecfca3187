"""Practices beside each other in one PostgreSQL database: for each a schema and a user of its own.

The user sees nothing of another practice's, and its connections are bounded, so that one service
that goes wrong cannot keep the others from theirs.
"""

import re
import secrets
from typing import Any

from sqlalchemy import Connection, make_url, text
from sqlalchemy.exc import SQLAlchemyError

from bot.errors import SettingsError, StoreError
from bot.storage.server.connections import lone_engine

NAME = re.compile(r"[a-z][a-z0-9]{0,29}")
"""What a practice may be called: it becomes a schema, a user, a folder and a unit's name."""

USER = "dayrung_"
"""What stands before the practice's name in its user's."""

MOST_CONNECTIONS = 24
"""Of one practice: a working service and a standby (8 each at most), commands, a backup."""


def add_schema(address: str, name: str) -> str:
    """Make a schema and a user for a practice, both or none; gives the address for its service.

    Args:
        address: of the database, for a user who may make users and schemas.

    Raises:
        SettingsError: the name cannot be used, or there is such a practice.
        StoreError: the database cannot be used, or this user may not do that.
    """
    check_name(name)
    user, password = f"{USER}{name}", secrets.token_urlsafe(24)
    engine = lone_engine(address)
    try:
        with engine.connect() as plain:
            connection = plain.execution_options(isolation_level="READ COMMITTED")
            with connection.begin():
                _refuse_what_is_there(connection, name, user)
                sealed = _sealed(connection, user, password)
                # Names are checked; what is sealed is base64 of the driver's own.
                for statement in (
                    f"CREATE ROLE {user} LOGIN CONNECTION LIMIT {MOST_CONNECTIONS}",
                    f"ALTER ROLE {user} PASSWORD '{sealed}'",
                    f"GRANT {user} TO CURRENT_USER",
                    f"CREATE SCHEMA {name} AUTHORIZATION {user}",
                    f"ALTER ROLE {user} SET search_path = {name}",
                ):
                    connection.exec_driver_sql(statement)
    except SQLAlchemyError as error:
        origin = type(getattr(error, "orig", error)).__name__
        raise StoreError(f"the practice cannot be added to the database: {origin}") from None
    finally:
        engine.dispose()
    url = make_url(address).set(username=user, password=password)
    return url.render_as_string(hide_password=False)


def drop_schema(address: str, name: str) -> None:
    """Take away what :func:`add_schema` has made, with all that is in it.

    Raises:
        StoreError: the database cannot be used.
    """
    check_name(name)
    engine = lone_engine(address)
    try:
        with engine.connect() as connection:
            connection.exec_driver_sql(f"DROP SCHEMA {name} CASCADE")
            connection.exec_driver_sql(f"DROP ROLE {USER}{name}")
    except SQLAlchemyError as error:
        origin = type(getattr(error, "orig", error)).__name__
        raise StoreError(f"the practice cannot be taken away: {origin}") from None
    finally:
        engine.dispose()


def check_name(name: str) -> None:
    """Refuse what cannot be a practice's name.

    Raises:
        SettingsError: it is none.
    """
    if not NAME.fullmatch(name) or name == "public" or name.startswith("pg"):
        raise SettingsError(
            "A practice's name is at most 30 small letters and digits, the first a letter, such as "
            "northside."
        )


def _refuse_what_is_there(connection: Connection, name: str, user: str) -> None:
    asked = (
        "SELECT EXISTS (SELECT FROM pg_namespace WHERE nspname = :name) "
        "OR EXISTS (SELECT FROM pg_roles WHERE rolname = :user)"
    )
    if connection.scalar(text(asked), {"name": name, "user": user}):
        raise SettingsError(f"There is a practice {name} in this database already.")


def _sealed(connection: Connection, user: str, password: str) -> str:
    """The password as the server keeps it: statements may stand in its log."""
    driver: Any = connection.connection.driver_connection
    sealed: bytes = driver.pgconn.encrypt_password(
        password.encode(), user.encode(), b"scram-sha-256"
    )
    return sealed.decode("ascii")
