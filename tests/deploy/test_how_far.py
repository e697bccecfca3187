"""The arithmetic of the page "How far it carries" in OPERATIONS.md.

The rates are this project's own figures (measured where the page says so); about 30 messages a
second are the documentation's of Telegram, from memory.
"""

import re

import pytest

from bot.storage.database import POSTGRES_THREADS
from bot.storage.server.connections import MOST_OVER
from bot.storage.server.practices import MOST_CONNECTIONS
from tests.deploy.test_operations import FLAT

TURNS_A_DAY, MESSAGES_A_DAY, IN_BUSIEST_HOUR = 25, 30, 1 / 3
SENDS_A_SECOND = 30


def _clients(a_second: float, a_day: float) -> float:
    return a_second * 3600 / (a_day * IN_BUSIEST_HOUR)


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (_clients(SENDS_A_SECOND, MESSAGES_A_DAY), 10_800),
        (_clients(77, TURNS_A_DAY), 33_000),
        (_clients(240, TURNS_A_DAY), 103_000),
    ],
)
def test_clients_of_one_bot(found: float, said: int):
    assert found == pytest.approx(said, rel=0.02)
    assert f"{said:,}" in FLAT


def test_connections_of_a_practice():
    # A pool, what it may have over, and the lock.
    of_a_service = POSTGRES_THREADS + 1 + MOST_OVER + 1

    assert f"{of_a_service} a service and 2 a standby at most" in FLAT
    assert of_a_service + 2 <= MOST_CONNECTIONS
    assert int(re.findall(r"in use, (\d+) if all", FLAT)[0]) == 200 // MOST_CONNECTIONS
    assert 200 // (of_a_service + 2) == 20


def test_a_year_of_the_store():
    assert pytest.approx(290, rel=0.02) == 8 * 365 * 100 / 1000
