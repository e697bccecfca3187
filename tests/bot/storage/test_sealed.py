"""What people say lies in the database file in no readable form, nor in its log beside it."""

from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from tests.support.practice import NEW_ZEALAND, practice

START = datetime(2026, 3, 2, 18, 0, tzinfo=ZoneInfo(NEW_ZEALAND))
SECRETS = {
    "the client's name": "Philippa",
    "the coach's name": "Aroha-Jane",
    "a phone number": "+64215557733",
    "a home": "77 Rimu Crescent",
    "whom to call": "Bartholomew",
    "a warning sign in own words": "my chest feels awfully squashed",
    "a message for the coach": "grandson birthday",
    "who cleared her": "Doctor Finch",
    "advice that was sent": "Call 111",
    "a chat": "philippa",
    "a chat in a key": "record:philippa",
    "a sign": "chest_pain",
    "an answer": "sleep=4",
    "a part of a question": "trouble",
    "what a morning came to": "as_planned",
    "a reason": "sleep_low",
}


@pytest.fixture
async def everything_on_the_disk(tmp_path: Path) -> bytes:
    async with practice(tmp_path, START, database="") as village:
        await village.coach("Aroha-Jane")
        await village.client(
            "Philippa",
            "aroha-jane",
            phone="+64215557733",
            home="77 Rimu Crescent",
            contact_name="Bartholomew",
            cleared_by="Doctor Finch",
        )
        await village.at("07:00")
        await village.good_morning("philippa")
        await village.says("philippa", "grandson birthday")
        await village.says("philippa", "my chest feels awfully squashed")
        await village.says("philippa", "it is still there")
        alert = village.last_to("aroha-jane")
        assert "my chest feels awfully squashed" in "\n".join(village.heard("aroha-jane"))
        assert "021 555 7733" in alert
        village.app.pictures.chart("climb", {"title": "Philippa", "signs": "chest_pain"})
        # Read while the store is open, so that the write-ahead log is there too.
        return database_files(tmp_path)


def database_files(home: Path) -> bytes:
    files = [path for path in home.rglob("*") if path.is_file() and path.name != "key"]
    assert any(path.name.endswith("-wal") and path.stat().st_size for path in files)
    assert any(path.parent.name == "pictures" for path in files)
    return b"".join(path.read_bytes() for path in files)


async def test_no_plain_word_or_answer_of_anybody_is_on_the_disk(everything_on_the_disk: bytes):
    found = [what for what, secret in SECRETS.items() if secret.encode() in everything_on_the_disk]

    assert found == []


async def test_the_search_would_find_what_is_not_sealed(everything_on_the_disk: bytes):
    for plain in (b"emergency", b"checkin", b"Pacific/Auckland"):
        assert plain in everything_on_the_disk
