"""What a platform calls the pictures that were uploaded to it."""

from bot.errors import StoreError
from bot.storage.database import Database
from bot.storage.tables import PictureRow
from bot.storage.unit import UnitOfWork


class StoredFiles:
    """File ids of one channel, kept in the store.

    A fault of the store costs a second upload and nothing else, so it is not passed on.
    """

    def __init__(self, database: Database, channel: str) -> None:
        """``channel``: whose ids these are."""
        self._database = database
        self._channel = channel
        self._seen: dict[str, str] = {}

    async def find(self, content_id: str) -> str:
        """The platform's file id, or ""."""
        if content_id not in self._seen:
            try:
                self._seen[content_id] = await self._database.run(self._find, content_id)
            except StoreError:
                return ""
        return self._seen[content_id]

    async def keep(self, content_id: str, platform_file: str) -> None:
        """Remember a file id; "" forgets it."""
        self._seen[content_id] = platform_file
        try:
            await self._database.run(self._keep, content_id, platform_file)
        except StoreError:
            return

    def _find(self, unit: UnitOfWork, content_id: str) -> str:
        row = unit.session.get(PictureRow, (content_id, self._channel))
        return row.platform_file if row is not None else ""

    def _keep(self, unit: UnitOfWork, content_id: str, platform_file: str) -> None:
        row = unit.session.get(PictureRow, (content_id, self._channel))
        if row is None:
            row = PictureRow(content_id=content_id, channel=self._channel, platform_file="")
        row.platform_file = platform_file
        unit.session.add(row)
        unit.commit()
