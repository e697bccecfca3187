"""Every day of ten years in every zone of the tz database, against dateutil.tz.

    python -m tests.bench.time_zones

Takes about a minute. The tests walk the days around each change of the clock in every zone.
"""

import sys
import time as stopwatch
from datetime import UTC, datetime, time

from tests.support.local_days import (
    different_zones,
    expected_moments,
    ten_years,
    walked_moments,
)

AT = time(2, 30)


def main() -> int:
    """Print each zone that differs, then the totals; 1 when there is one."""
    whole = ten_years(datetime.now(UTC).date())
    zones, wrong, days = different_zones(), 0, 0
    begun = stopwatch.perf_counter()
    for name in zones:
        expected = expected_moments(name, whole, AT)
        days += len(expected)
        if walked_moments(name, whole, AT) != expected:
            wrong += 1
            print(f"differs: {name}")  # noqa: T201 - the report of a command
    took = stopwatch.perf_counter() - begun
    print(  # noqa: T201 - the report of a command
        f"{len(zones)} different zones, {days} days, {wrong} zones differ, {took:.0f} s"
    )
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
