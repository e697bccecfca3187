"""Every error of the library has a meaning for us, and none says more than it should."""

import inspect
import logging
import warnings
from datetime import UTC, datetime, timedelta

import httpx
import pytest
from telegram import error as platform

from bot import errors as ours
from bot.channels.telegram.channel import TelegramChannel
from bot.channels.telegram.errors import TABLE, translate
from bot.delivery.retry import CloseChat, GiveUp, MoveTo, RetryAt, StopChannel, after_error
from bot.messages import Kind, Outgoing
from tests.bot.channels.conftest import Make
from tests.doubles.bot_api import TOKEN, BotApi


def flood(wait: int | timedelta) -> platform.RetryAfter:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return platform.RetryAfter(wait)


def caused_by(cause: Exception) -> platform.NetworkError:
    error = platform.NetworkError(str(cause))
    error.__cause__ = cause
    return error


@pytest.mark.parametrize(
    ("error", "meaning"),
    [
        (flood(3), ours.RateLimited),
        (flood(timedelta(seconds=3)), ours.RateLimited),
        (platform.Forbidden("Forbidden: bot was blocked by the user"), ours.Unreachable),
        (platform.ChatMigrated(-100), ours.Moved),
        (platform.BadRequest("Message is not modified: same"), ours.NothingChanged),
        (platform.BadRequest("Message to edit not found"), ours.EditGone),
        (platform.BadRequest("Message can't be edited"), ours.EditGone),
        (platform.BadRequest("Chat not found"), ours.Unreachable),
        (platform.BadRequest("PEER_ID_INVALID"), ours.Unreachable),
        (platform.BadRequest("BUTTON_DATA_INVALID"), ours.Rejected),
        (platform.TimedOut(), ours.Unknown),
        (platform.NetworkError("Bad Gateway"), ours.Unknown),
        (caused_by(httpx.ReadError("reset")), ours.Unknown),
        (caused_by(httpx.ConnectError("refused")), ours.Retryable),
        (platform.InvalidToken(f"The token `{TOKEN}` was rejected"), ours.ChannelDown),
        (platform.Conflict("terminated by other getUpdates request"), ours.ChannelDown),
        (platform.EndPointNotFound("sendX"), ours.Rejected),
        (platform.PassportDecryptionError("x"), ours.Rejected),
        (platform.TelegramError("Invalid server response"), ours.Unknown),
    ],
    ids=lambda value: f"{type(value).__name__}" if isinstance(value, Exception) else "",
)
def test_each_error_has_one_meaning(
    error: platform.TelegramError, meaning: type[ours.DeliveryError]
) -> None:
    assert type(translate(error)) is meaning


def errors_of_the_library() -> dict[str, type[platform.TelegramError]]:
    """Every error in the library's module, public or not."""
    return {
        name: kind
        for name, kind in inspect.getmembers(platform, inspect.isclass)
        if issubclass(kind, platform.TelegramError)
    }


GIVEN = {"message": "Something", "new_chat_id": -100, "retry_after": timedelta(seconds=3)}
"""What the library's errors are made with, by parameter."""

IN_SHORT = {
    "BadRequest": (ours.Rejected, GiveUp),
    "ChatMigrated": (ours.Moved, MoveTo),
    "Conflict": (ours.ChannelDown, StopChannel),
    "EndPointNotFound": (ours.Rejected, GiveUp),
    "Forbidden": (ours.Unreachable, CloseChat),
    "InvalidToken": (ours.ChannelDown, StopChannel),
    "NetworkError": (ours.Unknown, RetryAt),
    "PassportDecryptionError": (ours.Rejected, GiveUp),
    "RetryAfter": (ours.RateLimited, RetryAt),
    "TelegramError": (ours.Unknown, RetryAt),
    "TimedOut": (ours.Unknown, RetryAt),
}
"""Each error at its plainest: what it means, and what becomes of an alert that met it."""


def made(kind: type[platform.TelegramError]) -> platform.TelegramError:
    """An error of a kind, made as the library makes it."""
    parameters = list(inspect.signature(kind).parameters)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return kind(*(GIVEN[name] for name in parameters))


def test_the_table_names_every_error_of_the_library() -> None:
    everything = errors_of_the_library()

    assert {kind for kind, _ in TABLE} == set(everything.values())
    assert set(IN_SHORT) == set(everything)
    # Nothing in the library is raised that is not in this module.
    assert set(everything) == set(platform.__all__)


@pytest.mark.parametrize("name", sorted(errors_of_the_library()))
def test_every_error_of_the_library_has_a_meaning_and_a_consequence(name: str) -> None:
    meaning, consequence = IN_SHORT[name]
    now = datetime(2026, 3, 2, tzinfo=UTC)

    translated = translate(made(errors_of_the_library()[name]))
    decision = after_error(
        translated, kind=Kind.ALERT, attempts=0, created_at=now, now=now, jitter=0.5
    )

    assert type(translated) is meaning
    assert type(decision) is consequence


@pytest.mark.parametrize("name", sorted(errors_of_the_library()))
def test_an_error_that_a_later_library_adds_below_a_known_one_means_the_same(name: str) -> None:
    kind = errors_of_the_library()[name]
    newer = type("Newer", (kind,), {})

    assert type(translate(made(newer))) is IN_SHORT[name][0]


@pytest.mark.parametrize("name", sorted(errors_of_the_library()))
def test_no_error_s_meaning_repeats_a_token(name: str) -> None:
    kind = errors_of_the_library()[name]
    if "message" not in inspect.signature(kind).parameters:
        return
    for said in (f"https://api.example/bot{TOKEN}/getMe", f'"{TOKEN}"', f"Bad Request: <{TOKEN}>"):
        assert TOKEN.partition(":")[2] not in repr(translate(kind(said)))


def test_no_error_stands_in_the_table_behind_one_that_covers_it() -> None:
    kinds = [kind for kind, _ in TABLE]
    for place, kind in enumerate(kinds):
        assert not any(issubclass(kind, earlier) for earlier in kinds[:place])


def test_the_wait_is_kept() -> None:
    translated = translate(flood(12))

    assert isinstance(translated, ours.RateLimited)
    assert translated.wait == timedelta(seconds=12)


@pytest.mark.parametrize(
    "said",
    [
        'Can\'t parse entities: unsupported start tag "my chest hurts" at byte offset 3',
        "wrong text <my chest hurts>",
        "text 'my chest hurts' is bad",
    ],
)
def test_a_refusal_does_not_repeat_our_text(said: str) -> None:
    assert "chest" not in str(translate(platform.BadRequest(said)))


async def test_the_token_and_people_s_words_are_in_no_log_even_at_its_most_talkative(
    api: BotApi, make: Make, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    channel: TelegramChannel = make()
    api.chat(501)
    await channel.send("501", Outgoing("my chest hurts"))
    await channel.who()
    with pytest.raises(ours.DeliveryError):
        await channel.send("999", Outgoing("my chest hurts"))
    await api.stop()
    with pytest.raises(ours.DeliveryError) as caught:
        await channel.send("501", Outgoing("my chest hurts"))

    secret = TOKEN.partition(":")[2]
    assert secret not in caplog.text
    assert secret not in repr(caught.value)
    assert "chest" not in caplog.text
    api.complaints.clear()
