"""The second route for alerts that nobody has seen: e-mail and SMS gateways, through Apprise."""

import asyncio
import logging
from collections.abc import Sequence
from typing import TYPE_CHECKING

from bot.alerts.escalation import SECOND_ROUTE
from bot.errors import Rejected, Retryable, SettingsError
from bot.messages import Outgoing

if TYPE_CHECKING:
    from apprise import Apprise

TITLE = "Dayrung alert"


class SecondRouteChannel:
    """Sends to the addresses of the settings, which are called "0", "1" ... here."""

    def __init__(self, addresses: Sequence[str]) -> None:
        """``addresses``: as Apprise writes them.

        Raises:
            SettingsError: an address cannot be understood; the sentence does not show it.
        """
        # Here, for most practices have no second route.
        import apprise

        logging.getLogger("apprise").setLevel(logging.CRITICAL)
        self._routes: list[Apprise] = []
        for number, address in enumerate(addresses, 1):
            route = apprise.Apprise()
            if not route.add(address):
                raise SettingsError(
                    f"Address {number} of DAYRUNG_SECOND_ROAD cannot be understood."
                )
            self._routes.append(route)

    @property
    def name(self) -> str:
        """What the channel is called in stored rows."""
        return SECOND_ROUTE

    async def send(self, address: str, outgoing: Outgoing) -> str:
        """Hand the alert to one address.

        Raises:
            Rejected: there is no such address in the settings any more.
            Retryable: it did not take the alert.
        """
        if not address.isdigit() or int(address) >= len(self._routes):
            raise Rejected(f"there is no second route {address}")
        route = self._routes[int(address)]
        sent = await asyncio.to_thread(route.notify, body=outgoing.text, title=TITLE)
        if not sent:
            raise Retryable(f"second route {address} did not take the alert")
        return address

    async def edit(self, address: str, platform_id: str, outgoing: Outgoing) -> str:
        """What was sent by mail cannot be changed.

        Raises:
            Rejected: always.
        """
        raise Rejected(f"{address}: {platform_id} cannot be changed: {len(outgoing.text)}")
