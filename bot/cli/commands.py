"""The commands.

What a command works with is imported when it runs: ``--help`` must answer at once, and so must a
mistake in an option.
"""

import asyncio
import contextlib
import json
import logging
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console

from bot.cli.coach_commands import app as coach_app
from bot.cli.printing import say
from bot.errors import BotError, SettingsError
from core.vocabulary import Family, Sex

if TYPE_CHECKING:
    from bot.settings import Settings

app = typer.Typer(
    help="Dayrung: between sessions, who is fit to train today, what to do, and who is told "
    "when something is wrong.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
app.add_typer(coach_app, name="coach")
keys = typer.Typer(help="The key with which the records are sealed.", no_args_is_help=True)
app.add_typer(keys, name="key")
practices = typer.Typer(help="Several practices on one machine.", no_args_is_help=True)
app.add_typer(practices, name="practice")
console = Console()
errors = Console(stderr=True)


@app.callback()
def prepare() -> None:
    """Keep secrets out of what is written, before any command does anything."""
    from bot.runtime.secrecy import keep_out_of_reports

    if _log_form() == "json":
        from bot.runtime.log_lines import write_json_lines

        write_json_lines()
    keep_out_of_reports(_confidential())


@app.command(name="try")
def try_command(
    port: Annotated[int, typer.Option(help="Port of the page; 0 picks a free one.")] = 8765,
    fresh: Annotated[bool, typer.Option(help="Throw away the last trial and begin anew.")] = False,
    weeks: Annotated[int, typer.Option(help="Weeks of invented history.", min=0, max=12)] = 3,
) -> None:
    """Try Dayrung on this machine: an invented practice on a page in your browser.

    Nothing leaves the machine and no account is needed. Stop with Ctrl-C; the next start goes on
    where you stopped.
    """
    from bot.runtime.loading import loading

    with loading():
        from bot.trial.trial import try_out

    settings = _settings()
    asyncio.run(try_out(settings, port=port, fresh=fresh, weeks=weeks, console=console))


@app.command()
def init() -> None:
    """Make the store and its key for a new practice; what is there already is left as it is."""
    from bot.runtime.place import make

    settings = _settings()
    made = make(settings)
    if made.key:
        say(
            console,
            f"A key was made: {settings.key_file}. Back it up: without it the records cannot be "
            "read.",
        )
    say(console, "The store was made." if made.store else "There is a store already.")


@app.command()
def serve() -> None:
    """Run the service with real clients. Stop with Ctrl-C; nothing is lost."""
    from bot.runtime.loading import loading

    with loading():
        from bot.runtime.serve import serve as run_service

    settings = _settings()
    asyncio.run(run_service(settings, console))


@app.command(name="invite-coach")
def invite_coach(
    name: Annotated[str, typer.Argument(help="What clients will call the coach.")],
) -> None:
    """Make a way in for a coach: prints a link and a code, good for one use in 7 days."""
    from bot.clock import SystemClock
    from bot.runtime.inviting import invite_coach as make_invitation
    from bot.runtime.place import look_at
    from bot.storage.database import Database
    from bot.storage.encryption import Encryption

    settings = _settings()
    place = look_at(settings)
    if place.key is None or place.missing:
        raise SettingsError(place.missing)
    database = Database(settings.database_address, Encryption(place.key))
    database.upgrade()
    invitation = asyncio.run(make_invitation(settings, database, name, SystemClock().now()))
    database.close()
    say(console, f"Code for {name}: {invitation.code}")
    if invitation.link:
        say(console, f"Link: {invitation.link}")
    console.print("It works once, within 7 days. Give it to the coach only.")


@app.command()
def backup(
    file: Annotated[Path, typer.Argument(help="The backup; it appears when it is whole.")],
    passphrase_file: Annotated[
        Path | None, typer.Option(help="A file with the words that seal it.")
    ] = None,
) -> None:
    """Back up store, key and spool beside the running service, and read the backup again."""
    from bot.clock import SystemClock
    from bot.runtime.backup import back_up

    clients = back_up(_settings(), file, passphrase_file, SystemClock().now())
    say(console, f"Backed up and read again: {clients} clients, in {file}.")
    if passphrase_file is None:
        say(console, "It is not sealed: seal it before it leaves this machine.")


@app.command()
def restore(
    file: Annotated[Path, typer.Argument(help="The backup.")],
    passphrase_file: Annotated[
        Path | None, typer.Option(help="A file with the words that it was sealed with.")
    ] = None,
) -> None:
    """Bring a backup back into an empty place, once it is proven whole and its key is there."""
    from bot.clock import SystemClock
    from bot.runtime.backup import bring_back

    settings = _settings()
    restored = bring_back(settings, file, passphrase_file, SystemClock().now())
    say(
        console,
        f"Restored into {settings.home}: {restored.clients} clients, as they were at "
        f"{restored.made_at}. The store is whole and its key fits.",
    )
    say(
        errors,
        f"WARNING: coaches suspended or removed, clients moved and phones replaced since "
        f"{restored.made_at} are as they were then. Look at `dayrung coach list` before the start.",
        style="bold",
    )
    say(
        errors,
        f"WARNING: pauses, alerts and ends of clearances since {restored.made_at} are gone. So "
        f"training is paused for {restored.paused} clients until a coach ends it. Tell coaches.",
        style="bold",
    )
    if restored.erasures is not None:
        say(console, f"Whoever stands in {restored.erasures} is erased in it again.")
        if restored.damaged:
            text = f"WARNING: {restored.damaged} lines of that list cannot be read."
            say(errors, f"{text} Find a whole copy of it before the first start.", style="bold")
        return
    say(
        errors,
        f"WARNING: there is no list of erasures. Whoever had their words erased after "
        f"{restored.made_at} can be read in this store again. Put the newest list you have into "
        f"{settings.home} (erasures) before the first start.",
        style="bold",
    )


@app.command()
def check() -> None:
    """Look at settings, database and channels to people; says what is wrong in a sentence each."""
    from bot.cli.checks import check_everything

    settings = _settings()
    findings = asyncio.run(check_everything(settings))
    for finding in findings:
        mark = {"ok": "ok     ", "warn": "WARNING", "bad": "WRONG  "}[finding.level]
        say(console, f"{mark} {finding.text}")
    if any(finding.level == "bad" for finding in findings):
        raise typer.Exit(1)


@keys.command(name="change")
def change_key() -> None:
    """Seal everything with a new key while the service runs; goes on where it was stopped."""
    from bot.cli.key_command import KeyCommand
    from bot.clock import SystemClock

    KeyCommand(_settings(), console).change(SystemClock().now())


@keys.command(name="forget")
def forget_key() -> None:
    """Take older keys out of the key file, once nothing needs them any more."""
    from bot.cli.key_command import KeyCommand
    from bot.clock import SystemClock

    KeyCommand(_settings(), console).forget(SystemClock().now())


@practices.command(name="add")
def add_practice(
    name: Annotated[str, typer.Argument(help="Small letters and digits, such as northside.")],
    token_file: Annotated[
        Path | None, typer.Option(help="A file with the token of its bot.")
    ] = None,
    homes: Annotated[Path, typer.Option(help="Where its data folder is made.")] = Path(
        "/var/lib/dayrung"
    ),
    files: Annotated[Path, typer.Option(help="Where its file of settings is made.")] = Path(
        "/etc/dayrung"
    ),
) -> None:
    """Make one more practice: data folder, key, store and settings, all its own.

    With DAYRUNG_DATABASE on PostgreSQL its store is a schema there, with a user of its own.
    """
    from bot.cli.practice_command import add_practice as add

    token = "" if token_file is None else "".join(_open(token_file)[:1]).strip()
    added = add(name, token, _settings(), homes, files)
    say(console, f"The practice {name} is in {added.home}, its settings in {added.settings_file}.")
    say(console, f"Its web server will listen on port {added.port}.")
    if not token:
        say(console, f"Write the token of its bot into {added.settings_file} before the start.")
    say(console, f"Back up its key, {added.home / 'key'}: without it nothing can be read.")


@app.command()
def flags(
    file: Annotated[
        str, typer.Argument(help="A file of texts, one a line; - reads standard input.")
    ] = "-",
) -> None:
    """Read texts for warning signs: one text a line in, one JSON object a line out."""
    from bot.runtime.loading import loading

    with loading():
        from bot.reference.red_flags import load_reader
        from core.red_flags.reader import read_lines

        reader = load_reader()
    lines = sys.stdin if file == "-" else _open(Path(file))
    for row in read_lines(reader, lines):
        sys.stdout.write(json.dumps(row, ensure_ascii=False) + "\n")
    sys.stdout.flush()


@app.command()
def ladder(
    family: Annotated[Family | None, typer.Argument(help="Which movement.")] = None,
    stature: Annotated[float, typer.Option(help="Body height, cm.", min=120, max=220)] = 165,
    mass: Annotated[float, typer.Option(help="Body mass, kg.", min=30, max=250)] = 70,
    sex: Annotated[Sex, typer.Option(help="Body tables of which sex.")] = Sex.FEMALE,
    kit: Annotated[str, typer.Option(help="What is at home, like chair:43,bench:90.")] = "chair:43",
    spare: Annotated[
        str, typer.Option(help="Joints or positions to spare, like wrist,floor.")
    ] = "",
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON instead of a table.")] = False,
    picture: Annotated[Path | None, typer.Option(help="Draw the scale into this file.")] = None,
    sheet: Annotated[Path | None, typer.Option(help="Draw all rungs into this file.")] = None,
) -> None:
    """One movement's rungs for a body and a kit, easy to hard, with their demand."""
    from bot.cli.ladder_command import LadderCommand
    from bot.cli.ladder_table import LadderOptionError, ladder_client, parse_kit, parse_spares

    command = LadderCommand(console, _settings().home)
    if sheet is not None:
        command.sheet(sheet)
    if family is None:
        if sheet is None:
            raise SettingsError(f"Name a movement: {', '.join(Family)}.")
        return
    try:
        client = ladder_client(
            stature_cm=stature,
            mass_kg=mass,
            sex=sex,
            kit=parse_kit(kit),
            spares=parse_spares(spare),
        )
    except LadderOptionError as error:
        raise SettingsError(f"{error}.") from None
    command.show(family, client, as_json=as_json, picture=picture)


@app.command()
def loop(
    file: Annotated[
        str, typer.Argument(help="A file of JSON lines; - reads standard input.")
    ] = "-",
) -> None:
    """Answer a simulated client: one JSON object a line in, one out (see DEVELOPERS.md)."""
    from bot.cli.closed_loop import run_loop

    run_loop(sys.stdin if file == "-" else _open(Path(file)), sys.stdout)


def main() -> None:
    """Run a command; what is wrong is said in one sentence."""
    logging.basicConfig(level=logging.INFO, format="%(asctime)s %(levelname)s %(name)s %(message)s")
    for chatty in ("httpx", "httpcore", "apscheduler", "alembic", "uvicorn.access"):
        logging.getLogger(chatty).setLevel(logging.WARNING)
    try:
        app()
    except BotError as error:
        from bot.runtime.secrecy import hide

        say(errors, hide(str(error), _confidential()), style="bold")
        raise SystemExit(2) from None


def _settings() -> "Settings":
    from bot.settings import load_settings

    return load_settings()


def _confidential() -> list[str]:
    """What must not be shown; wrong settings are said by the commands that need them."""
    with contextlib.suppress(SettingsError):
        return _settings().confidential
    return []


def _log_form() -> str:
    with contextlib.suppress(SettingsError):
        return _settings().log_form
    return "text"


def _open(path: Path) -> list[str]:
    try:
        return path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeError) as error:
        raise SettingsError(f"The file {path} cannot be read: {error}.") from None
