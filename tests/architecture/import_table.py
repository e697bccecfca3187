"""Who may import what beside the arrows between packages (those are contracts in pyproject.toml).

Names are shell patterns; a module beside its package's pattern is named with its reason.
"""

from collections.abc import Mapping

LIBRARIES: Mapping[str, Mapping[str, str]] = {
    "telegram": {"bot.channels.telegram.*": "the channel to Telegram"},
    "jinja2": {"bot.reference.words": "renders templates"},
    "prometheus_client": {"bot.runtime.metrics": "the text form in which a monitor is told"},
    "apscheduler": {"bot.schedule.ticks": "runs the sweeps"},
    "alembic": {"bot.storage.*": "brings the tables up"},
    "sqlite3": {"bot.storage.*": "prepares connections"},
    "cryptography": {
        "bot.storage.encryption": "seals words and addresses",
        "bot.settings": "makes the key",
    },
    "sqlmodel": {"bot.storage.*": "the store"},
    "sqlalchemy": {"bot.storage.*": "the store"},
    "phonenumbers": {"bot.phone_numbers": "the numbering plans of all countries"},
    "uvicorn": {
        "bot.runtime.serve": "serves health and the webhook",
        "bot.runtime.quiet_server": "leaves the signals to the program",
        "bot.runtime.bounded_connection": "closes connections that say nothing",
        "bot.trial.trial": "serves the trial page",
    },
    "httpx": {"bot.runtime.serve": "calls the outside monitor"},
    "apprise": {"bot.channels.second_route": "e-mail and SMS"},
    "typer": {"bot.cli.commands": "the commands", "bot.cli.coach_commands": "the same"},
    "pydantic": {
        "bot.json_values": "turns values into JSON and back",
        "bot.storage.stored_plan": "the same, for the stored shape of a plan",
        "bot.settings": "says which setting is wrong",
        "bot.flows.safety.opening": "a value to and from the conversation's JSON",
    },
    "pydantic_settings": {"bot.settings": "reads the settings"},
}
"""Library -> who may import it -> why."""

TABLES: Mapping[str, str] = {"bot.storage.*": "the store"}
"""Who may import ``bot.storage.tables``, and why."""

HOMES: Mapping[str, Mapping[str, str]] = {
    "datetime.datetime.now": {"bot.clock": "the only place that reads the time"},
    "datetime.datetime.today": {},
    "datetime.datetime.utcnow": {},
    "datetime.date.today": {},
    "time.time": {},
    "time.localtime": {},
    "time.monotonic": {"bot.clock": "the same, for spans"},
    "os.environ": {
        "bot.settings": "the only place that reads the environment",
        "bot.storage.whole_copy": "hands it on, whole, to PostgreSQL's programs",
        "bot.cli.start": "says to numpy, which it must before the settings, how many threads",
    },
    "os.getenv": {"bot.settings": "the same"},
    "random.": {
        "bot.delivery.sender": "spreads retries, so that they do not come in step",
        "bot.trial.*": "invented clients differ; each is seeded by name",
    },
    "secrets.": {
        "bot.invitation_codes": "invitation codes that nobody can guess",
        "bot.storage.server.practices": "the password of a practice's own database user",
    },
    "uuid.": {"bot.channels.page.channel": "ids of arrivals that the page did not number"},
    "numpy.random": {},
}
"""What reads the clock, the environment or chance -> who may -> why."""

NOT_IN_CORE = ("logging.", "asyncio.", "pathlib.", "os.", "sys.", "io.", "time.", "random.")
"""Beginnings of names that never occur in ``core``."""
