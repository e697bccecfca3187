"""The second road for alerts that nobody has seen: e-mail and SMS gateways, through Apprise."""

import asyncio
import logging
from collections.abc import Sequence

import apprise

from bot.alerts.escalation import SECOND_ROAD
from bot.errors import Rejected, Retryable, SettingsError
from bot.messages import Outgoing

TITLE = "Dayrung alert"


class SecondRoadChannel:
    """Sends to the addresses of the settings, which are called "0", "1" ... here."""

    def __init__(self, addresses: Sequence[str]) -> None:
        """``addresses``: as Apprise writes them.

        Raises:
            SettingsError: an address cannot be understood; the sentence does not show it.
        """
        logging.getLogger("apprise").setLevel(logging.CRITICAL)
        self._roads: list[apprise.Apprise] = []
        for number, address in enumerate(addresses, 1):
            road = apprise.Apprise()
            if not road.add(address):
                raise SettingsError(
                    f"Address {number} of DAYRUNG_SECOND_ROAD cannot be understood."
                )
            self._roads.append(road)

    @property
    def name(self) -> str:
        """What the channel is called in stored rows."""
        return SECOND_ROAD

    async def send(self, address: str, outgoing: Outgoing) -> str:
        """Hand the alert to one address.

        Raises:
            Rejected: there is no such address in the settings any more.
            Retryable: it did not take the alert.
        """
        if not address.isdigit() or int(address) >= len(self._roads):
            raise Rejected(f"there is no second road {address}")
        road = self._roads[int(address)]
        sent = await asyncio.to_thread(road.notify, body=outgoing.text, title=TITLE)
        if not sent:
            raise Retryable(f"second road {address} did not take the alert")
        return address

    async def edit(self, address: str, platform_id: str, outgoing: Outgoing) -> str:
        """What was sent by mail cannot be changed.

        Raises:
            Rejected: always.
        """
        raise Rejected(f"{address}: {platform_id} cannot be changed: {len(outgoing.text)}")
