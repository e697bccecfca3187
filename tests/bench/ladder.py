"""How long a client's ladder takes, warm and cold: ``python -m tests.bench.ladder``.

Warm: the files are loaded and the first body has been weighed; each run is another body, so that
nothing comes from the cache. The whole ladder is all families.
"""

import statistics
import time

from bot.reference.catalogue import load_catalogue
from core.client.client import Client, KitAtHome, Limits
from core.movements.ladder import ladder
from core.vocabulary import Band, Family, Sex

KIT = KitAtHome(chair=43.0, bench=90.0, table=75.0, step=17.0, bottle=5.0, band=Band.HEAVY)
RUNS = 40


def body(number: int, more: float = 0.0) -> Client:
    """A client whose body no other has."""
    return Client(
        name="",
        sex=Sex.FEMALE if number % 2 else Sex.MALE,
        stature_cm=150.0 + 0.7 * number,
        mass_kg=60.0 + 0.3 * number + more,
        kit=KIT,
        floor_ok=True,
        limits=Limits(overhead_allowed=True),
    )


def main() -> None:
    """Prints milliseconds."""
    start = time.perf_counter()
    catalogue = load_catalogue()
    print(f"load {len(catalogue)} rungs {1000 * (time.perf_counter() - start):.0f} ms")  # noqa: T201
    families = list(Family)

    def milliseconds(client: Client, which: list[Family]) -> float:
        # Processor time: other work on the machine does not count.
        begin = time.process_time()
        for family in which:
            ladder(client, family, catalogue)
        return 1000 * (time.process_time() - begin)

    print(f"first client, all families {milliseconds(body(0), families):.1f} ms")  # noqa: T201
    new = sorted(milliseconds(body(n), families) for n in range(1, RUNS))
    print(f"new body, all families: median {statistics.median(new):.1f}, max {new[-1]:.1f} ms")  # noqa: T201
    one = sorted(milliseconds(body(0, 0.05 * n + 0.02), [Family.PUSH]) for n in range(RUNS))
    print(f"new body, push alone: median {statistics.median(one):.1f}, max {one[-1]:.1f} ms")  # noqa: T201
    again = sorted(milliseconds(body(1), families) for _ in range(RUNS))
    print(f"known body, all families: median {statistics.median(again):.2f} ms")  # noqa: T201


if __name__ == "__main__":
    main()
