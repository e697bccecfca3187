"""What a bot costs: processor time of its process, and delays in order."""

import asyncio
import os
import sys
from collections.abc import Sequence
from pathlib import Path

TICKS = os.sysconf("SC_CLK_TCK")


def cpu_seconds(process_id: int) -> float:
    """Processor time of a process so far, all threads, its own and the kernel's for it (Linux)."""
    fields = Path(f"/proc/{process_id}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def percentile(delays: Sequence[float], share: float) -> float:
    """The delay that ``share`` of them do not exceed."""
    ordered = sorted(delays)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


class EchoProcess:
    """The echo bot as a process of its own."""

    def __init__(self, api: str) -> None:
        self._api = api
        self._process: asyncio.subprocess.Process | None = None

    @property
    def process_id(self) -> int:
        """The id of the running process."""
        assert self._process is not None
        return self._process.pid

    async def __aenter__(self) -> "EchoProcess":
        self._process = await asyncio.create_subprocess_exec(
            sys.executable,
            "-W",
            "ignore",
            "-m",
            "tests.bench.telegram_echo",
            self._api,
            cwd=Path(__file__).parents[2],
        )
        return self

    async def __aexit__(self, *_error: object) -> None:
        assert self._process is not None
        if self._process.returncode is None:
            self._process.terminate()
        await self._process.wait()
