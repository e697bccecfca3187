"""The commands."""

import asyncio
import json
import logging
import sys
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console

from bot.checks import check_everything
from bot.clock import SystemClock
from bot.errors import BotError, SettingsError
from bot.inviting import invite_coach as make_invitation
from bot.red_flag_data import load_reader
from bot.serve import serve as run_service
from bot.settings import Settings, load_key, load_settings
from bot.storage.database import Database
from bot.storage.vault import Vault
from bot.trial import try_out

app = typer.Typer(
    help="Dayrung: between sessions, who is fit to train today, what to do, and who is told "
    "when something is wrong.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
console = Console()
errors = Console(stderr=True)


@app.command(name="try")
def try_command(
    port: Annotated[int, typer.Option(help="Port of the page; 0 picks a free one.")] = 8765,
    fresh: Annotated[bool, typer.Option(help="Throw away the last trial and begin anew.")] = False,
    weeks: Annotated[int, typer.Option(help="Weeks of invented history.", min=0, max=12)] = 4,
) -> None:
    """Try Dayrung on this machine: an invented practice on a page in your browser.

    Nothing leaves the machine and no account is needed. Stop with Ctrl-C; the next start goes on
    where you stopped.
    """
    settings = _settings()
    asyncio.run(try_out(settings, port=port, fresh=fresh, weeks=weeks, console=console))


@app.command()
def serve() -> None:
    """Run the service with real clients. Stop with Ctrl-C; nothing is lost."""
    settings = _settings()
    asyncio.run(run_service(settings, console))


@app.command(name="invite-coach")
def invite_coach(
    name: Annotated[str, typer.Argument(help="What clients will call the coach.")],
) -> None:
    """Make a way in for a coach: prints a link and a code, good for one use in 7 days."""
    settings = _settings()
    key, made = load_key(settings)
    _say_key(settings, made=made)
    database = Database(settings.database_address, Vault(key))
    database.migrate()
    invitation = asyncio.run(make_invitation(settings, database, name, SystemClock().now()))
    database.close()
    console.print(f"Code for {name}: [bold]{invitation.code}[/bold]")
    if invitation.link:
        console.print(f"Link: {invitation.link}")
    console.print("It works once, within 7 days. Give it to the coach only.")


@app.command()
def check() -> None:
    """Look at settings, database and roads to people; says what is wrong in a sentence each."""
    settings = _settings()
    findings = asyncio.run(check_everything(settings))
    for finding in findings:
        mark = {"ok": "ok     ", "warn": "WARNING", "bad": "WRONG  "}[finding.level]
        console.print(f"{mark} {finding.text}", highlight=False, soft_wrap=True)
    if any(finding.level == "bad" for finding in findings):
        raise typer.Exit(1)


@app.command()
def flags(
    file: Annotated[
        str, typer.Argument(help="A file of texts, one a line; - reads standard input.")
    ] = "-",
) -> None:
    """Read texts for warning signs: one text a line in, one JSON object a line out."""
    reader = load_reader()
    lines = sys.stdin if file == "-" else _open(Path(file))
    for line in lines:
        text = line.rstrip("\n")
        row = reader.read(text).as_row(text)
        sys.stdout.write(json.dumps(row, ensure_ascii=False) + "\n")
    sys.stdout.flush()


def main() -> None:
    """Run a command; what is wrong is said in one sentence."""
    logging.basicConfig(level=logging.INFO, format="%(asctime)s %(levelname)s %(name)s %(message)s")
    for chatty in ("httpx", "httpcore", "apscheduler", "alembic", "uvicorn.access"):
        logging.getLogger(chatty).setLevel(logging.WARNING)
    try:
        app()
    except BotError as error:
        errors.print(str(error), style="bold", highlight=False, soft_wrap=True)
        raise SystemExit(2) from None


def _settings() -> Settings:
    return load_settings()


def _say_key(settings: Settings, *, made: bool) -> None:
    if made:
        errors.print(
            f"A key was made: {settings.key_file}. Back it up: without it the records cannot be "
            "read.",
            highlight=False,
            soft_wrap=True,
        )


def _open(path: Path) -> list[str]:
    try:
        return path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeError) as error:
        raise SettingsError(f"The file {path} cannot be read: {error}.") from None
