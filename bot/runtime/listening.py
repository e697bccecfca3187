"""Listening on the address that the settings name; what is wrong with it is one sentence."""

import errno
import socket

from bot.errors import SettingsError


class PortTaken(SettingsError):
    """Another program listens on that port."""


def listen(host: str, port: int) -> socket.socket:
    """A listening socket. It may ask for a name's address: not for the event loop.

    Args:
        host: a name or an address, of this machine, IPv4 or IPv6.
        port: 0 picks a free one.

    Raises:
        PortTaken: another program has it.
        SettingsError: nobody can listen there.
    """
    try:
        family = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][0]
        return socket.create_server((host, port), family=family)
    except PermissionError:
        raise SettingsError(f"Port {port} (DAYRUNG_PORT) may not be used here.") from None
    except (OSError, UnicodeError) as error:
        if isinstance(error, OSError) and error.errno == errno.EADDRINUSE:
            raise PortTaken(
                f"Port {port} (DAYRUNG_PORT) is taken: stop the other program, or name another."
            ) from None
        raise SettingsError(
            f"{host!a} (DAYRUNG_HOST) is no address of this machine that can be listened on."
        ) from None
