"""What the tests of faults share."""

from collections.abc import AsyncIterator

import pytest

from tests.doubles.bot_api import BotApi


@pytest.fixture
async def api() -> AsyncIterator[BotApi]:
    """The platform; what its documentation does not allow fails the test."""
    async with BotApi() as double:
        yield double
    assert double.complaints == []
