"""The routes between page and program: what is accepted, what is refused, and to whom."""

import asyncio
import json
from datetime import timedelta
from uuid import uuid4

import pytest
from sqlmodel import select
from starlette.datastructures import Headers

from bot.channels.page.channel import Bell, PageChannel
from bot.channels.page.guard import is_from_the_page
from bot.messages import Kind, Outgoing, ReplyButton
from bot.storage.tables import InboxRow
from bot.storage.unit import UnitOfWork
from bot.trial.server import LONGEST_BODY, MOST_STREAMS
from tests.bot.channels.page import page_practice
from tests.bot.channels.page.page_practice import ORIGIN, Practice

practice = page_practice.practice


def arrived(practice: Practice) -> list[tuple[str, str, str]]:
    def read(unit: UnitOfWork) -> list[tuple[str, str, str]]:
        return [
            (
                row.address,
                row.kind,
                unit.encryption.decrypt(row.text_sealed) or unit.encryption.decrypt(row.tap_sealed),
            )
            for row in unit.session.exec(select(InboxRow))
        ]

    return practice.database.run_now(read)


def text(practice: Practice, words: str, update: str = "") -> dict[str, str]:
    phone = practice.at(practice.mere).address
    return {"phone": phone, "update": update or uuid4().hex, "kind": "text", "text": words}


async def test_an_answer_is_on_the_disk_before_it_is_confirmed(practice: Practice) -> None:
    async with practice.page() as page:
        answer = await page.post("/send", json=text(practice, "I slept well"))
    assert answer.status_code == 200
    assert arrived(practice) == [(practice.at(practice.mere).address, "text", "I slept well")]


async def test_the_same_answer_sent_again_arrives_once(practice: Practice) -> None:
    body = text(practice, "I slept well")
    async with practice.page() as page:
        answers = [await page.post("/send", json=body) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [200, 200, 200]
    assert len(arrived(practice)) == 1


async def test_an_answer_that_the_store_cannot_take_is_not_confirmed(practice: Practice) -> None:
    practice.broken = True
    async with practice.page() as page:
        answer = await page.post("/send", json=text(practice, "I slept well"))
    assert answer.status_code == 503
    assert arrived(practice) == []


async def test_a_tap_names_its_button_and_its_message(practice: Practice) -> None:
    body = {
        "phone": practice.at(practice.mere).address,
        "update": uuid4().hex,
        "kind": "tap",
        "tap": "today.3.easier",
        "message": "m1",
    }
    async with practice.page() as page:
        answer = await page.post("/send", json=body)
    assert answer.status_code == 200
    assert arrived(practice) == [(body["phone"], "tap", "today.3.easier")]


@pytest.mark.parametrize(
    "change",
    [
        {"phone": "somebody"},
        {"phone": "phone-1'; drop"},
        {"update": "1"},
        {"kind": "contact"},
        {"kind": "tap", "tap": ""},
        {"kind": "tap", "tap": "x" * 65},
        {"text": "   "},
        {"text": 5},
        {"text": "x" * LONGEST_BODY},
    ],
)
async def test_a_message_that_makes_no_sense_is_refused(
    practice: Practice, change: dict[str, object]
) -> None:
    async with practice.page() as page:
        answer = await page.post("/send", json={**text(practice, "hello"), **change})
    assert answer.status_code == 400
    assert arrived(practice) == []


@pytest.mark.parametrize("body", [b"", b"[]", b"{", b"\xff", b"[" * 50_000])
async def test_a_body_that_is_no_message_is_refused(practice: Practice, body: bytes) -> None:
    async with practice.page() as page:
        answer = await page.post("/send", content=body)
    assert answer.status_code == 400


async def test_half_characters_and_signs_that_turn_a_line_around_are_left_out(
    practice: Practice,
) -> None:
    body = json.dumps({**text(practice, ""), "text": "my \ud83d chest\x00 \u202ehurts"})
    async with practice.page() as page:
        answer = await page.post("/send", content=body)
    assert answer.status_code == 200
    [(_, _, said)] = arrived(practice)
    assert said == "my ? chest hurts"


async def test_a_text_of_4000_characters_is_accepted(practice: Practice) -> None:
    async with practice.page() as page:
        answer = await page.post("/send", json=text(practice, "é" * 4000))
    assert answer.status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://elsewhere.example"},
        {"Origin": "null"},
        {"Host": "elsewhere.example"},
        {"Host": "elsewhere.example", "Origin": "http://elsewhere.example"},
        {"Content-Type": "text/plain"},
        {"Origin": "http://127.0.0.1:9999"},
        {"Origin": "http://[::1"},
        {"Host": "[::1"},
        {"Host": "[::1", "Origin": "http://[::1"},
        {"Host": "evil.com@127.0.0.1", "Origin": "http://evil.com@127.0.0.1"},
        {"Host": "127.0.0.1:many", "Origin": "http://127.0.0.1:many"},
        {"Host": "127.0.0.1/x", "Origin": "http://127.0.0.1/x"},
    ],
)
async def test_another_site_can_send_nothing(practice: Practice, headers: dict[str, str]) -> None:
    async with practice.page(**headers) as page:
        body = json.dumps(text(practice, "from elsewhere"))
        answer = await page.post("/send", content=body)
    assert answer.status_code == 403
    assert arrived(practice) == []


@pytest.mark.parametrize(
    "headers",
    [
        {"Host": "elsewhere.example"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "https://elsewhere.example"},
    ],
)
@pytest.mark.parametrize("path", ["/", "/state", "/events", "/content/seat.png", "/static/page.js"])
async def test_another_site_can_read_nothing(
    practice: Practice, headers: dict[str, str], path: str
) -> None:
    async with practice.page(**headers) as page:
        answer = await page.get(path)
    assert answer.status_code == 403


@pytest.mark.parametrize("path", ["/", "/state", "/static/page.css", "/content/none", "/nowhere"])
async def test_every_answer_lets_the_page_load_only_from_itself(
    practice: Practice, path: str
) -> None:
    async with practice.page() as page:
        answer = await page.get(path)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_a_host_can_be_added_and_others_stay_out() -> None:
    hosts = ("page.practice.example",)
    assert is_from_the_page("GET", Headers({"host": "page.practice.example"}), hosts)
    assert not is_from_the_page("GET", Headers({"host": "practice.example"}), hosts)


async def test_the_state_names_people_and_shows_the_asked_phones(practice: Practice) -> None:
    practice.tell(
        practice.mere, Outgoing("Good morning.", ((ReplyButton("Start", "today.1.go"),),))
    )
    phone = practice.at(practice.mere).address
    async with practice.page() as page:
        state = (await page.get("/state", params={"phone": phone})).json()
    assert [one["name"] for one in state["phones"]] == [
        "Huia Marsden",
        "Piers Standish",
        "Mere Tolhurst",
        "Basil Quarmby",
    ]
    (entry,) = state["chats"][phone]["entries"]
    assert entry["choices"] == [[["Start", "today.1.go"]]]
    assert entry["messageId"] == "m1"


async def test_a_phone_of_nobody_is_empty(practice: Practice) -> None:
    async with practice.page() as page:
        state = (await page.get("/state", params={"phone": "phone-new-1"})).json()
    assert state["chats"]["phone-new-1"] == {"entries": [], "more": False}


@pytest.mark.parametrize("most", ["9" * 5000, "-1", "many", "\N{SUPERSCRIPT TWO}"])
async def test_a_number_that_makes_no_sense_is_left_out(practice: Practice, most: str) -> None:
    async with practice.page() as page:
        answer = await page.get("/state", params={"most": most})
    assert answer.status_code == 200


@pytest.mark.parametrize("phones", [["x"], ["phone-1", "phone-2", "phone-3"], ["phone-A"]])
async def test_a_state_of_no_phone_is_refused(practice: Practice, phones: list[str]) -> None:
    async with practice.page() as page:
        answer = await page.get("/state", params={"phone": phones})
    assert answer.status_code == 400


@pytest.mark.parametrize(
    ("to", "hours"),
    # 19:00 UTC is 8:00 on Tuesday in Auckland; Wednesday is a training day.
    [("ten-minutes", 1 / 6), ("morning", 24), ("session", 24)],
)
async def test_the_clock_moves_to_the_moment_that_was_asked_for(
    practice: Practice, to: str, hours: float
) -> None:
    before = practice.clock.now()
    async with practice.page() as page:
        answer = await page.post(
            "/clock", json={"to": to, "phone": practice.at(practice.mere).address}
        )
    assert answer.status_code == 200
    assert practice.moves == [before + timedelta(hours=hours)]


@pytest.mark.parametrize("body", [{"to": "yesterday"}, {}, {"to": "morning", "phone": "phone-1"}])
async def test_the_clock_does_not_move_without_a_moment(
    practice: Practice, body: dict[str, str]
) -> None:
    # Whoever has phone-1 is a coach: she has no check-in to go to.
    async with practice.page() as page:
        answer = await page.post("/clock", json=body)
    assert answer.status_code == 400
    assert practice.moves == []


async def test_a_picture_is_served_by_its_content_id(practice: Practice) -> None:
    async with practice.page() as page:
        found = await page.get("/content/seat.png")
        missing = await page.get("/content/none.png")
        odd = await page.get("/content/..%2Fkey")
    assert (found.status_code, found.content) == (200, b"picture")
    assert found.headers["content-type"] == "image/png"
    assert "immutable" in found.headers["cache-control"]
    assert missing.status_code == odd.status_code == 404


async def test_health_follows_the_program(practice: Practice) -> None:
    async with practice.page() as page:
        well = await page.get("/health")
        practice.broken = True
        ill = await page.get("/health")
    assert (well.status_code, ill.status_code) == (200, 503)


async def test_the_stream_tells_of_a_new_message_and_ends_when_the_program_stops(
    practice: Practice,
) -> None:
    async def speak_then_stop() -> None:
        async with asyncio.timeout(120):
            while not practice.bell.waiting:  # noqa: ASYNC110 - a stream that opens rings no bell
                await asyncio.sleep(0.02)
        await asyncio.to_thread(practice.tell, practice.mere, Outgoing("New."))
        practice.bell.ring()
        await asyncio.sleep(0.3)
        practice.bell.close()

    speaking = asyncio.create_task(speak_then_stop())
    async with practice.page() as page:
        answer = await page.get("/events")
    await speaking
    marks = [line for line in answer.text.splitlines() if line.startswith("data: ")]
    assert len(marks) == len(set(marks)) == 2
    assert answer.headers["content-type"].startswith("text/event-stream")


async def test_hundreds_of_open_pages_do_not_keep_the_store_from_people(
    practice: Practice,
) -> None:
    for _ in range(MOST_STREAMS):
        practice.bell.join()
    async with practice.page() as page:
        answer = await page.get("/events")
    assert answer.status_code == 503


async def test_handing_over_names_the_message_and_rings_the_bell() -> None:
    bell = Bell()
    rung = bell.join()
    channel = PageChannel(bell)
    first = await channel.send("phone-1", Outgoing("One."))
    assert rung.is_set()
    second = await channel.send("phone-1", Outgoing("Two."))
    assert first != second
    assert await channel.edit("phone-1", first, Outgoing("One, changed.")) == first


async def test_a_message_of_an_alert_says_that_it_is_one(practice: Practice) -> None:
    practice.tell(practice.coach, Outgoing("Mere needs you."), kind=Kind.ALERT)
    phone = practice.at(practice.coach).address
    async with practice.page() as page:
        state = (await page.get("/state", params={"phone": phone})).json()
    assert state["chats"][phone]["entries"][0]["kind"] == "alert"


async def test_the_page_is_served_with_its_parts(practice: Practice) -> None:
    async with practice.page() as page:
        index = await page.get("/")
        script = await page.get("/static/page.js")
    assert "text/html" in index.headers["content-type"]
    assert "javascript" in script.headers["content-type"]
    assert ORIGIN not in index.text
