"""The second road for alerts that nobody has seen: e-mail and SMS gateways, through Apprise."""

import asyncio
import logging

import apprise

from bot.alerts.rounds import SECOND_ROAD
from bot.errors import Rejected, Retryable, SettingsError
from bot.messages import Outgoing

TITLE = "Dayrung alert"


class SecondRoadChannel:
    """Sends to every address of the settings at once; one that fails makes the whole try again."""

    def __init__(self, addresses: str) -> None:
        """``addresses``: Apprise addresses, comma separated.

        Raises:
            SettingsError: an address cannot be understood; the sentence does not show it.
        """
        logging.getLogger("apprise").setLevel(logging.CRITICAL)
        self._apprise = apprise.Apprise()
        for number, address in enumerate(part.strip() for part in addresses.split(",")):
            if address and not self._apprise.add(address):
                raise SettingsError(
                    f"Address {number + 1} of DAYRUNG_SECOND_ROAD cannot be understood."
                )

    @property
    def name(self) -> str:
        """What the channel is called in stored rows."""
        return SECOND_ROAD

    async def send(self, address: str, outgoing: Outgoing) -> str:
        """Hand the alert to all addresses.

        Raises:
            Retryable: at least one address did not take it.
        """
        sent = await asyncio.to_thread(self._apprise.notify, body=outgoing.text, title=TITLE)
        if not sent:
            raise Retryable("the second road did not take the alert")
        return address

    async def edit(self, address: str, platform_id: str, outgoing: Outgoing) -> str:
        """What was sent by mail cannot be changed.

        Raises:
            Rejected: always.
        """
        raise Rejected(f"{address}: {platform_id} cannot be changed: {len(outgoing.text)}")
