"""What a monitor is told: read back by the reader of the format's own library."""

import json
import logging
from collections.abc import AsyncIterator
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import httpx
import pytest
from prometheus_client.parser import text_string_to_metric_families
from starlette.applications import Starlette

from bot.measures import Counted, Measures, Timed
from bot.runtime.log_lines import JsonLines
from bot.runtime.metrics import PATH, metrics_route, metrics_text
from tests.support.practice import NEW_ZEALAND, Practice, practice

EVENING = datetime(2026, 3, 2, 18, 0, tzinfo=ZoneInfo(NEW_ZEALAND))
SIGN = "my chest hurts and it goes to my arm"


@pytest.fixture
async def village(tmp_path: Path) -> AsyncIterator[Practice]:
    async with practice(tmp_path, EVENING) as running:
        await running.coach("Rua")
        await running.client("Mary")
        yield running


async def _told(village: Practice) -> dict[tuple[str, ...], float]:
    """Name and labels -> value."""
    text = (await metrics_text(village.app)).decode()
    return {
        (sample.name, *sample.labels.values()): sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }


async def test_arrivals_sends_alerts_and_the_reader_are_counted(village: Practice):
    await village.says("mary", SIGN)
    village.clock.move_to(village.clock.now() + timedelta(seconds=90))
    told = await _told(village)

    assert told["dayrung_arrivals_total", "record", "text"] == 1
    assert told["dayrung_sends_total", "record", "sent"] == len(village.channel.sent)
    assert told["dayrung_commits_total",] >= 3
    assert told["dayrung_reader_seconds_count",] == 1
    assert told["dayrung_alerts_unseen", "emergency"] == 1
    assert told["dayrung_alerts_unseen_oldest_seconds", "emergency"] == 90
    assert told["dayrung_inbox",] == 0
    assert told["dayrung_store_answers",] == 1


async def test_no_name_chat_or_word_of_anybody_is_told(village: Practice):
    await village.says("mary", SIGN)
    text = (await metrics_text(village.app)).decode().lower()

    for word in ("mary", "rua", "chest", "64215550101"):
        assert word not in text


async def test_a_message_that_waits_has_its_age_and_one_for_later_does_not_wait(village: Practice):
    await village.says("mary", "hello")
    before = await _told(village)
    assert before["dayrung_outbox", "reply"] == 0

    village.app.sender._lanes.clear()
    await village.says("mary", "hello")
    village.clock.move_to(village.clock.now() + timedelta(seconds=40))
    told = await _told(village)

    assert told["dayrung_outbox", "reply"] >= 1
    assert told["dayrung_outbox_oldest_seconds", "reply"] == 40


async def test_a_store_that_does_not_answer_is_told_beside_what_was_counted(village: Practice):
    await village.says("mary", "hello")
    village.app.database.engine.dispose()
    vars(village.app.database)["read"] = _fails
    told = await _told(village)

    assert told["dayrung_store_answers",] == 0
    assert told["dayrung_arrivals_total", "record", "text"] == 1
    assert ("dayrung_inbox",) not in told


async def _fails(*_given: object) -> None:
    raise TimeoutError


async def test_only_who_shows_the_token_is_told(village: Practice):
    web = httpx.ASGITransport(Starlette(routes=[metrics_route(village.app, "a-secret")]))
    async with httpx.AsyncClient(transport=web, base_url="http://here") as client:
        for shown in ({}, {"Authorization": "Bearer another"}):
            assert (await client.get(PATH, headers=shown)).status_code == 403
        answer = await client.get(PATH, headers={"Authorization": "Bearer a-secret"})

    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/plain")
    assert b"dayrung_commits_total" in answer.content


def test_spans_are_sorted_into_classes():
    measures = Measures()
    for seconds in (0.0005, 0.001, 0.3, 60.0):
        measures.took(Timed.READER, seconds)
    measures.count(Counted.COMMITS)

    spans = measures.spans(Timed.READER)
    assert (spans.classes[0], spans.classes[7], spans.classes[-1]) == (2, 1, 1)
    assert spans.total == pytest.approx(60.3015)
    assert measures.counts(Counted.COMMITS) == {(): 1}


def test_a_log_line_is_one_json_object():
    record = logging.LogRecord("bot.x", logging.ERROR, "", 1, "row %d\nfailed", (7,), None)
    record.created = 0.0

    assert json.loads(JsonLines().format(record)) == {
        "at": "1970-01-01T00:00:00.000+00:00",
        "level": "error",
        "from": "bot.x",
        "says": "row 7\nfailed",
    }
    assert "\n" not in JsonLines().format(record)
