"""My data reads like a page, and tells a second reader of the phone nothing of a danger at home."""

import json

from bot.flows.client.own_data import EXPORT
from tests.support.practice import Practice

TOLD = "my husband hits me"


async def test_the_page_says_what_is_known_who_sees_it_and_what_for(village: Practice):
    said = (await village.says("mary", "my data"))[-1]
    for part in ("What I know:", "Who sees it: Rua", "What it is for:", "0 days of training"):
        assert part in said
    await village.at("07:00")
    await village.good_morning()
    said = await village.says("mary", "what do you know about me?")
    assert "1 check-in, 0 days" in said[-1]
    assert "What I know:" in said[-1]
    said = await village.taps("mary", "See it and correct it")
    assert "Here is all you told me." in said[-1]


async def test_abuse_stands_in_no_page_answer_or_file(village: Practice):
    await village.says("mary", TOLD)
    assert any("hits" in text for text in village.heard("rua")), "the coach hears of it"
    told = len(village.heard("mary"))
    for asked in ("my data", "why is my training paused?", "menu", "what did I do last week?"):
        await village.says("mary", asked)
    await village.says("mary", "my data")
    await village.taps("mary", "A copy of my data")
    shown = "\n".join(village.heard("mary", told)).lower()
    content, _name = village.app.contents.load(f"{EXPORT}-{village.ids['mary']}")
    copy = json.loads(content)
    assert copy["client"]
    for words in (shown, json.dumps(copy).lower()):
        assert not any(word in words for word in ("hits", "abuse", "safe at home", "husband"))
