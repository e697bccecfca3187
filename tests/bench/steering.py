"""Tries the ladders of 2,000 invented clients on each row: ``python -m tests.bench.steering``."""

import sys
import time

from core.movements.ladder import ladder
from core.vocabulary import Family
from tests.core.movements.people import catalogue
from tests.support.generated_clients import LATEST, broken_rows, generated_client

CLIENTS = 2000


def main(clients: int = CLIENTS) -> int:
    """Prints what is broken; the exit code says whether anything is."""
    started, steps, broken = time.perf_counter(), 0, 0
    for number in range(clients):
        someone = generated_client(number)
        for family in Family:
            found = ladder(someone, family, catalogue(), LATEST)
            steps += len(found)
            for row, key in broken_rows(someone, catalogue(), found, LATEST):
                broken += 1
                print(f"client {number}: {family.value}: {key} breaks {row}")  # noqa: T201
    took = time.perf_counter() - started
    print(f"{clients} clients, {steps} steps, {broken} broken, {took:.0f} s")  # noqa: T201
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else CLIENTS))
