"""What people can ask for at any moment, by a typed word, a slash command or a menu button."""

from collections.abc import Mapping

from bot.flows.client_names import meant
from bot.flows.facts import Facts
from bot.flows.machine import Begin
from bot.flows.morning_words import morning_of
from bot.flows.own_words import health_news_told, is_small_talk, question_asked
from bot.flows.parsing import plain_words
from bot.flows.walk_words import walk_of, wished_activity
from bot.flows.wishes import wish_of
from core.answers.moments import read_date
from core.vocabulary import Role

CLIENT_COMMANDS: Mapping[str, Begin] = {
    "menu": Begin("menu"),
    "start": Begin("menu"),
    "help": Begin("menu", {"help": True}),
    "checkin": Begin("checkin"),
    "today": Begin("today"),
    "easier": Begin("today", {"wish": "easier"}),
    "harder": Begin("today", {"wish": "harder"}),
    "hurts": Begin("feeling", {"hurts": True}),
    "unwell": Begin("feeling"),
    "test": Begin("home_test"),
    "walk": Begin("walk"),
    "undo": Begin("walk", {"undo": True}),
    "changeanswer": Begin("checkin", {"change": True}),
    "balance": Begin("balance"),
    "how_hard": Begin("how_hard"),
    "progress": Begin("progress"),
    "settings": Begin("settings"),
    "length": Begin("settings", {"length": True}),
    "message": Begin("message"),
    "mydata": Begin("own_data"),
}

COACH_COMMANDS: Mapping[str, Begin] = {
    "menu": Begin("coach_menu"),
    "start": Begin("coach_menu"),
    "help": Begin("coach_menu", {"help": True}),
    "clients": Begin("coach_clients"),
    "alerts": Begin("coach_alerts"),
    "invite": Begin("coach_invite"),
    "settings": Begin("coach_settings"),
}


SCREENS = frozenset(
    {"menu", "help", "checkin", "today", "test", "walk", "progress", "settings", "message"}
)
"""Commands that say nothing of whoever types them."""

COURTESY = "courtesy"
"""Where the language's other ways to ask keep words that ask for nothing ("please")."""

CHECKIN_FLOW = "checkin"
ASKED_FLOW = "asked"
NOT_TODAY = "not_today"
HEALTH_FLOW = "health_change"
"""The conversation that answers a client's own question."""


def commands_of(role: Role) -> Mapping[str, Begin]:
    """The commands of a role by their plain name."""
    return CLIENT_COMMANDS if role is Role.CLIENT else COACH_COMMANDS


def command_of(text: str, role: Role, spoken: Mapping[str, str]) -> Begin | None:
    """The command that a text asks for, if it is one.

    Args:
        spoken: other ways to say a command, in plain words ("too hard": "easier").
    """
    said = plain_words(text.strip().removeprefix("/").split("@", 1)[0])
    known = commands_of(role)
    for asked in (said, _without_courtesy(said, spoken)):
        found = known.get(asked) or known.get(spoken.get(asked, ""))
        if found is not None:
            return found
    return None


def screen_named(text: str, facts: Facts) -> Begin | None:
    """The screen whose very name a text is: no words for anybody, even where words are asked for.

    Other ways to ask for it ("how am I doing") may be meant for whoever the words are for.
    """
    name = plain_words(text).replace("-", "")
    return commands_of(facts.me.role).get(name) if name in SCREENS else None


def _without_courtesy(said: str, spoken: Mapping[str, str]) -> str:
    """ "check-in please" is the check-in."""
    words = said.split()
    while len(words) > 1 and spoken.get(words[-1]) == COURTESY:
        words.pop()
    while len(words) > 1 and spoken.get(words[0]) == COURTESY:
        words.pop(0)
    return " ".join(words)


def asks_for_something(text: str, facts: Facts) -> bool:
    """Whether words ask for a screen or an answer, whatever question is open."""
    me, commands = facts.me, facts.reference.commands
    return command_of(text, me.role, commands) is not None or (
        own_words_begin(text, facts) is not None
    )


def own_words_begin(text: str, facts: Facts) -> Begin | None:
    """What words that are no command mean: a client's walk or wish, the card that a coach names."""
    if facts.me.role is Role.CLIENT:
        news = health_news_told(text, facts.reference.health_news)
        if news and facts.client(facts.me.id).joined:
            return Begin(HEALTH_FLOW, {"heard": news, "words": text.strip()})
        walk = walk_of(text, facts.reference.walks, facts.reference.words.numbers)
        if walk is not None:
            told = {"minutes": walk.minutes, "activity": walk.activity.value}
            return Begin("walk", {**told, "ago": walk.days_ago, "talked": walk.could_talk})
        rather = wished_activity(text, facts.reference.walks)
        if rather is not None:
            return Begin("walk", {"rather": rather.value})
        asked = _asked_begin(text, facts)
        if asked is not None:
            return asked
        wish = wish_of(text, facts.reference.wishes)
        if wish:
            return Begin("today", {"wish": wish.what, "family": wish.family})
        morning = morning_of(text, facts)
        return Begin(CHECKIN_FLOW, {"told": morning}) if morning else None
    return card_named(text, facts)


def _asked_begin(text: str, facts: Facts) -> Begin | None:
    """What a question, or mere thanks, opens."""
    sentences = facts.reference.sentences
    if is_small_talk(text, sentences) and facts.open_alert(facts.me.id) is None:
        return Begin(ASKED_FLOW, {"about": "small_talk"})
    asked = question_asked(text, facts.reference.questions)
    if _says_alone(text, NOT_TODAY, facts):
        return Begin(ASKED_FLOW, {"about": NOT_TODAY})
    if asked == "other_days":
        return Begin("settings")
    if asked == "shorter":
        return Begin("today")
    if asked == "did_on":
        told = read_date(text, facts.me.local(facts.now).date(), sentences)
        return Begin(ASKED_FLOW, {"about": asked, "on": told.value if told is not None else ""})
    return Begin(ASKED_FLOW, {"about": asked}) if asked else None


def _says_alone(text: str, answer: str, facts: Facts) -> bool:
    """Whether words are just an answer of a session, with nothing open that asks for it."""
    named = facts.reference.answers["session"].items()
    return plain_words(text) in [words for words, code in named if code == answer]


def card_named(text: str, facts: Facts) -> Begin | None:
    """The card of the client whose whole name a coach typed; a list of namesakes to choose from."""
    names = {str(record.id): plain_words(record.person.name) for record in facts.clients()}
    whole = [client_id for client_id, name in names.items() if name == plain_words(text)]
    if len(whole) > 1:
        return Begin("coach_clients", {"only": whole})
    return Begin("coach_client", {"client": whole[0]}) if whole else None


def clients_found(text: str, facts: Facts) -> Begin | None:
    """What part of a name or initials mean to a coach: one card, or a list to choose from."""
    names = {str(record.id): record.person.name for record in facts.clients()}
    found = meant(text, names)
    if len(found) == 1:
        return Begin("coach_client", {"client": found[0]})
    return Begin("coach_clients", {"only": found}) if found else None
