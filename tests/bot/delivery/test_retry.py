"""What follows an error is decided by a pure function; nothing that matters is dropped early."""

from datetime import UTC, datetime, timedelta

import pytest

from bot import errors
from bot.delivery.retry import (
    KEEP_TRYING,
    Anew,
    AsSent,
    CloseChat,
    Decision,
    GiveUp,
    GiveUpReason,
    MoveTo,
    RetryAt,
    StopChannel,
    after_error,
    back_off,
)
from bot.messages import Kind

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def decide(error: errors.DeliveryError, kind: Kind = Kind.REPLY, age: timedelta = timedelta(0)):
    return after_error(error, kind=kind, attempts=0, created_at=NOW - age, now=NOW, jitter=1.0)


@pytest.mark.parametrize(
    ("error", "decision"),
    [
        (errors.NothingChanged(), AsSent()),
        (errors.EditGone(), Anew()),
        (errors.Moved("-100"), MoveTo("-100")),
        (errors.Unreachable(), CloseChat()),
        (errors.Rejected("x"), GiveUp(GiveUpReason.REJECTED)),
        (errors.ChannelDown(), StopChannel()),
        (errors.Retryable(), RetryAt(NOW + timedelta(seconds=1))),
        (errors.Unknown(), RetryAt(NOW + timedelta(seconds=1))),
        (
            errors.RateLimited(timedelta(seconds=9)),
            RetryAt(NOW + timedelta(seconds=9), chat_rests=True),
        ),
    ],
    ids=lambda value: type(value).__name__,
)
def test_each_error_has_its_decision(error: errors.DeliveryError, decision: Decision) -> None:
    assert decide(error) == decision


def test_every_delivery_error_is_covered() -> None:
    covered = {
        errors.NothingChanged,
        errors.EditGone,
        errors.Moved,
        errors.Unreachable,
        errors.Rejected,
        errors.ChannelDown,
        errors.Retryable,
        errors.Unknown,
        errors.RateLimited,
    }

    assert set(errors.DeliveryError.__subclasses__()) == covered


@pytest.mark.parametrize("kind", list(Kind))
def test_a_message_is_given_up_only_when_it_means_nothing_any_more(kind: Kind) -> None:
    almost = KEEP_TRYING[kind] - timedelta(seconds=1)

    assert isinstance(decide(errors.Unknown(), kind, almost), RetryAt)
    assert decide(errors.Unknown(), kind, KEEP_TRYING[kind]) == GiveUp(GiveUpReason.TOO_OLD)


@pytest.mark.parametrize("kind", list(Kind))
def test_pauses_double_up_to_a_bound_that_is_short_for_what_is_urgent(kind: Kind) -> None:
    pauses = [back_off(kind, attempts, 1.0) for attempts in range(40)]

    assert pauses[:3] == [timedelta(seconds=1), timedelta(seconds=2), timedelta(seconds=4)]
    assert pauses == sorted(pauses)
    assert pauses[-1] == timedelta(seconds=15 if kind >= Kind.ALERT else 120)


def test_chance_moves_a_pause_between_half_and_whole() -> None:
    assert back_off(Kind.REPLY, 3, 0.0) == timedelta(seconds=4)
    assert back_off(Kind.REPLY, 3, 1.0) == timedelta(seconds=8)
