"""What a client was told in the last two weeks, word for word, for the coach.

What was said around a word of abuse is left out, as in each document that may lie about.
"""

from datetime import datetime, timedelta
from itertools import groupby

from bot.reference.words import Words
from bot.storage.facts import StoreFacts
from bot.storage.questions.private import private_of
from bot.storage.questions.told_words import told_words
from core.vocabulary import PersonId

TOLD_DAYS = 14


def told_page(facts: StoreFacts, client_id: PersonId, words: Words) -> str:
    """One self-contained page, on the client's own clock; by day, oldest first."""
    record = facts.client(client_id)
    since = facts.now - timedelta(days=TOLD_DAYS)
    private = private_of(facts.unit, client_id)
    told = told_words(facts.unit, client_id, since, facts.now)
    said = [one for one in told if not private.at(one.at)]

    def local(moment: datetime) -> datetime:
        return record.person.local(moment)

    days = [
        {
            "on": day,
            "messages": [{"at": local(one.at), "said": one} for one in found],
        }
        for day, found in groupby(said, key=lambda one: local(one.at).date())
    ]
    values = {
        "name": record.person.name,
        "since": local(since).date(),
        "today": local(facts.now).date(),
        "days": days,
    }
    return words.page("letters/told", values)
