"""``dayrung coach``: who coaches, and what to do when a phone is lost or a coach goes.

As with all commands, what one works with is imported when it runs.
"""

import asyncio
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer
from rich.console import Console

from bot.cli.printing import say
from bot.errors import SettingsError
from core.vocabulary import PersonId

if TYPE_CHECKING:
    from bot.storage.changes.applying import Applying
    from bot.storage.changes.staff import CoachListed
    from bot.storage.database import Database
    from bot.storage.unit import UnitOfWork

Result = TypeVar("Result")
Number = Annotated[int, typer.Argument(help="Her number in dayrung coach list.")]

app = typer.Typer(
    help="Coaches: list them, cut a lost phone off, let one go, give clients to another.",
    no_args_is_help=True,
)
console = Console()


@app.command(name="list")
def list_coaches() -> None:
    """Name every coach, with her clients and whether she can be reached."""
    from bot.storage.changes.staff import coaches_listed

    for one in _with_store(lambda store: store.run_now(coaches_listed)):
        say(console, _line(one))


@app.command()
def suspend(number: Number) -> None:
    """Cut a coach's chats off at once (a lost phone); alerts and words go on to who stands in.

    She stays the coach of her clients. readmit makes her way back in.
    """
    from bot.runtime.cutting_off import corrections_of, cut_off
    from bot.settings import load_settings
    from bot.storage.changes.staff import suspend_coach

    work = partial(suspend_coach, coach_id=PersonId(number))
    corrections = partial(corrections_of, load_settings())
    _changed(lambda applying: cut_off(applying, work, corrections))
    say(console, f"No chat speaks for coach {number} any more.")
    say(console, f"Her way back in: dayrung coach readmit {number}")


@app.command()
def readmit(number: Number) -> None:
    """Make a way back in for a coach, on a new phone: prints a code, good for one use."""
    from bot.clock import SystemClock
    from bot.runtime.inviting import invite_again
    from bot.settings import load_settings

    settings = load_settings()
    now = SystemClock().now()
    made = _with_store(
        lambda store: asyncio.run(invite_again(settings, store, PersonId(number), now))
    )
    say(console, f"Code for coach {number}: {made.code}")
    if made.link:
        say(console, f"Link: {made.link}")


@app.command()
def remove(number: Number) -> None:
    """Let a coach go who has no clients any more."""
    from bot.runtime.cutting_off import corrections_of, cut_off
    from bot.settings import load_settings
    from bot.storage.changes.staff import remove_coach

    work = partial(remove_coach, coach_id=PersonId(number))
    corrections = partial(corrections_of, load_settings())
    _changed(lambda applying: cut_off(applying, work, corrections))
    say(console, f"Coach {number} is removed.")


@app.command()
def move(
    source: Annotated[int, typer.Argument(help="Whose clients.")],
    target: Annotated[int, typer.Argument(help="Who becomes their coach.")],
) -> None:
    """Give all clients of one coach to another; unseen alerts reach her at once."""
    from bot.storage.changes.staff import move_clients

    moved = _changed(lambda applying: move_clients(applying, PersonId(source), PersonId(target)))
    say(console, f"{moved} clients of coach {source} are coach {target}'s now. Tell her and them.")


def _line(one: "CoachListed") -> str:
    name = one.name or "(no name)"
    if one.left:
        return f"{one.id}: {name}: removed."
    reached = "can be reached" if one.chats else "cannot be reached: no open chat"
    stands_in = f", coach {one.backup} stands in" if one.backup is not None else ""
    return f"{one.id}: {name}: {one.clients} clients, {reached}{stands_in}."


def _changed(work: "Callable[[Applying], Result]") -> Result:
    """Carry a change out in one transaction, written down as the operator's."""

    from bot.clock import SystemClock
    from bot.runtime.inviting import by_operator

    def change(unit: "UnitOfWork") -> Result:
        result = work(by_operator(unit, SystemClock().now()))
        unit.commit()
        return result

    return _with_store(lambda store: store.run_now(change))


def _with_store(work: "Callable[[Database], Result]") -> Result:
    from bot.runtime.place import look_at
    from bot.settings import load_settings
    from bot.storage.database import Database
    from bot.storage.encryption import Encryption

    place = look_at(load_settings())
    if place.key is None or place.missing:
        raise SettingsError(place.missing)
    store = Database(load_settings().database_address, Encryption(place.key))
    try:
        store.upgrade()
        return work(store)
    finally:
        store.close()
