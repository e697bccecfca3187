"""Who may import what beside the arrows between packages (those are contracts in pyproject.toml).

Names are shell patterns; a module beside its package's pattern is named with its reason.
"""

from collections.abc import Mapping

LIBRARIES: Mapping[str, Mapping[str, str]] = {
    "telegram": {"bot.channels.telegram.*": "the channel to Telegram"},
    "jinja2": {"bot.reference.words": "renders templates"},
    "apscheduler": {"bot.schedule.ticks": "runs the sweeps"},
    "alembic": {"bot.storage.*": "brings the tables up"},
    "sqlite3": {"bot.storage.*": "prepares connections"},
    "cryptography": {
        "bot.storage.encryption": "seals words",
        "bot.settings": "makes the key",
    },
    "sqlmodel": {
        "bot.storage.*": "the store",
        "bot.alerts.escalation": "claims alerts whose moment has come",
        "bot.schedule.due": "claims due rows: one query beside each sweep",
        "bot.storage.joining": "takes an invitation under a row lock",
        "bot.runtime.export": "copies every row about one client, whatever the table",
        "bot.cli.checks": "counts rows for the operator",
        "bot.trial.practice": "empties tables of an invented practice",
        "bot.trial.acts": "looks at what invented clients were told to do",
        "bot.trial.hands": "looks at the messages that invented clients got",
    },
    "sqlalchemy": {
        "bot.storage.*": "the store",
        "bot.schedule.due": "the earliest of the due moments",
    },
    "uvicorn": {
        "bot.runtime.serve": "serves health and the webhook",
        "bot.trial.trial": "serves the trial page",
    },
    "httpx": {"bot.runtime.serve": "calls the outside monitor"},
    "apprise": {"bot.channels.second_route": "e-mail and SMS"},
    "typer": {"bot.cli.commands": "the commands"},
    "pydantic": {
        "bot.settings": "says which setting is wrong",
        "bot.flows.safety.opening": "a value to and from the conversation's JSON",
    },
    "pydantic_settings": {"bot.settings": "reads the settings"},
}
"""Library -> who may import it -> why."""

TABLES: Mapping[str, str] = {
    "bot.storage.*": "the store",
    "bot.alerts.escalation": "claims due alerts",
    "bot.runtime.app": "hurries alerts whose coach cannot be reached; asks for the store's health",
    "bot.cli.checks": "counts rows for the operator",
    "bot.runtime.export": "copies every row about one client",
    "bot.storage.joining": "turns an invitation into a person",
    "bot.schedule.due": "claims due rows",
    "bot.trial.*": "makes and reads an invented practice",
}
"""Who may import ``bot.storage.tables``, and why."""

HOMES: Mapping[str, Mapping[str, str]] = {
    "datetime.datetime.now": {"bot.clock": "the only place that reads the time"},
    "datetime.datetime.today": {},
    "datetime.datetime.utcnow": {},
    "datetime.date.today": {},
    "time.time": {},
    "time.localtime": {},
    "os.environ": {"bot.settings": "the only place that reads the environment"},
    "os.getenv": {"bot.settings": "the same"},
    "random.": {
        "bot.delivery.sender": "spreads retries, so that they do not come in step",
        "bot.trial.*": "invented clients differ; each is seeded by name",
    },
    "secrets.": {"bot.invitation_codes": "invitation codes that nobody can guess"},
    "uuid.": {"bot.channels.page.channel": "ids of arrivals that the page did not number"},
    "numpy.random": {},
}
"""What reads the clock, the environment or chance -> who may -> why."""

NOT_IN_CORE = ("logging.", "asyncio.", "pathlib.", "os.", "sys.", "io.", "time.", "random.")
"""Beginnings of names that never occur in ``core``."""
