"""A channel on which things go wrong as told."""

import asyncio
from collections.abc import Mapping

from bot.messages import Outgoing
from tests.doubles.record_channel import RecordChannel


class TroubledChannel(RecordChannel):
    """Raises, for each text, the errors listed for it, one a try; then it sends.

    ``gate``: when given, a send of a text listed in ``held`` waits for it first.
    """

    def __init__(
        self,
        trouble: Mapping[str, list[Exception]] | None = None,
        *,
        held: tuple[str, ...] = (),
        gate: asyncio.Event | None = None,
    ) -> None:
        super().__init__()
        self._trouble = {text: list(errors) for text, errors in (trouble or {}).items()}
        self._held = held
        self._gate = gate
        self.tries: list[str] = []

    async def send(self, address: str, outgoing: Outgoing) -> str:
        await self._meet_trouble(outgoing)
        return await super().send(address, outgoing)

    async def edit(self, address: str, platform_id: str, outgoing: Outgoing) -> str:
        await self._meet_trouble(outgoing)
        return await super().edit(address, platform_id, outgoing)

    async def _meet_trouble(self, outgoing: Outgoing) -> None:
        self.tries.append(outgoing.text)
        if self._gate is not None and outgoing.text in self._held:
            await self._gate.wait()
        errors = self._trouble.get(outgoing.text)
        if errors:
            raise errors.pop(0)
