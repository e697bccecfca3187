"""``/metrics``: what the service counts of itself, in the text form that Prometheus reads.

Only numbers, channels, kinds and levels: no name, address, id of a person or word of anybody.
"""

import asyncio
import hmac
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from itertools import accumulate

from prometheus_client import CollectorRegistry, ProcessCollector, generate_latest
from prometheus_client.exposition import CONTENT_TYPE_LATEST
from prometheus_client.metrics_core import (
    CounterMetricFamily,
    GaugeMetricFamily,
    HistogramMetricFamily,
    Metric,
)
from prometheus_client.registry import Collector
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from bot.errors import StoreError
from bot.measures import BOUNDS, Counted, Measures, Timed
from bot.messages import Kind
from bot.runtime.app import PROBED_WITHIN, App
from bot.storage.questions.queues import Queue, Queues, queues

PATH = "/metrics"

COUNTED = {
    Counted.ARRIVALS: ("dayrung_arrivals", "Messages from people that were put on the disk."),
    Counted.SENDS: ("dayrung_sends", "Tries to hand a message over, by how they ended."),
    Counted.COMMITS: ("dayrung_commits", "Transactions that were kept."),
}
TIMED = {
    Timed.STORE_WAIT: ("dayrung_store_wait_seconds", "Until a thread of the store took work up."),
    Timed.STORE_WORK: ("dayrung_store_work_seconds", "Work in the store."),
    Timed.READER: ("dayrung_reader_seconds", "Reading a text for warning signs."),
}


class _Scrape(Collector):
    """One look: what has been counted, and what waits; without a store only the first."""

    def __init__(self, measures: Measures, waiting: Queues | None, now: datetime) -> None:
        self._measures = measures
        self._waiting = waiting
        self._now = now

    def collect(self) -> Iterable[Metric]:
        yield from map(self._counter, COUNTED)
        yield from map(self._histogram, TIMED)
        swept = self._measures.swept_at
        if swept is not None:
            age = (self._now - swept).total_seconds()
            said = "Since all that was due had last been done."
            yield GaugeMetricFamily("dayrung_last_sweep_age_seconds", said, age)
        up = int(self._waiting is not None)
        yield GaugeMetricFamily("dayrung_store_answers", "1 while the store answers.", up)
        if self._waiting is not None:
            yield from self._queues(self._waiting)

    def _counter(self, what: Counted) -> Metric:
        name, said = COUNTED[what]
        family = CounterMetricFamily(name, said, labels=what.told_apart_by)
        counts = self._measures.counts(what)
        if not what.told_apart_by and not counts:
            family.add_metric((), 0)
        for told_apart, count in counts.items():
            family.add_metric(told_apart, count)
        return family

    def _histogram(self, what: Timed) -> Metric:
        name, said = TIMED[what]
        spans = self._measures.spans(what)
        ends = [*map(str, BOUNDS), "+Inf"]
        classes = list(zip(ends, accumulate(spans.classes), strict=True))
        family = HistogramMetricFamily(name, said)
        family.add_metric((), classes, spans.total)
        return family

    def _queues(self, waiting: Queues) -> Iterable[Metric]:
        kinds = {kind.name.lower(): waiting.messages.get(kind) for kind in Kind}
        inbox = {"": waiting.arrivals}
        yield from self._both("dayrung_inbox", "Arrivals not worked off", "", inbox)
        yield from self._both("dayrung_outbox", "Messages to people that wait", "kind", kinds)
        yield from self._both(
            "dayrung_alerts_unseen", "Alerts that nobody has seen", "level", waiting.alerts
        )

    def _both(
        self, name: str, said: str, label: str, found: Mapping[str, Queue | None]
    ) -> Sequence[Metric]:
        """How many wait and how long the oldest has; 0 where none waits."""
        labels = (label,) if label else ()
        counts = GaugeMetricFamily(name, f"{said}.", labels=labels)
        ages = GaugeMetricFamily(f"{name}_oldest_seconds", f"{said}: the oldest.", labels=labels)
        for which, queue in found.items():
            values = (which,) if label else ()
            since = None if queue is None else queue.oldest
            age = 0.0 if since is None else (self._now - since).total_seconds()
            counts.add_metric(values, 0 if queue is None else queue.count)
            ages.add_metric(values, max(0.0, age))
        return (counts, ages)


def metrics_route(app: App, token: str) -> Route:
    """The route for the web server; who asks must show the token."""
    expected = f"Bearer {token}".encode()

    async def answer(request: Request) -> Response:
        shown = request.headers.get("Authorization", "").encode()
        if not hmac.compare_digest(shown, expected):
            return PlainTextResponse("forbidden", 403)
        return Response(await metrics_text(app), media_type=CONTENT_TYPE_LATEST)

    return Route(PATH, answer)


async def metrics_text(app: App) -> bytes:
    """What is to be seen now."""
    now = app.clock.now()
    waiting = None
    try:
        async with asyncio.timeout(PROBED_WITHIN):
            waiting = await app.database.read(queues, now)
    except (StoreError, TimeoutError):
        # What was counted is told all the same; that the store is silent is told by its own number.
        waiting = None
    registry = CollectorRegistry()
    registry.register(_Scrape(app.database.measures, waiting, now))
    ProcessCollector(registry=registry)
    return generate_latest(registry)
