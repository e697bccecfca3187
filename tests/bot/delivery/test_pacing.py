"""The platform's limits are kept, and safety replies never wait for a morning's prompts.

The limits (30 a second over all chats, 1 a second to one chat) are Telegram's own ("Bots FAQ").
"""

from datetime import UTC, datetime, timedelta

from bot.delivery.pacing import Pacing, PacingLimits

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def after(seconds: float) -> datetime:
    return START + timedelta(seconds=seconds)


def test_a_long_drain_goes_at_thirty_a_second() -> None:
    pacing = Pacing(PacingLimits(), START)
    sent, now = 0, START
    while now < after(60):
        if pacing.allowance(now).ordinary:
            pacing.spend(f"chat {sent}", now)
            sent += 1
        else:
            now = pacing.next_change(now) or now

    assert 1795 <= sent <= 1810


def test_no_second_holds_much_more_than_thirty_messages() -> None:
    pacing = Pacing(PacingLimits(), START)
    sent = 0
    for thousandth in range(1000):
        now = after(thousandth / 1000)
        while pacing.allowance(now).all:
            pacing.spend(f"chat {sent}", now)
            sent += 1

    assert sent <= 36


def test_tokens_are_set_aside_for_what_is_urgent() -> None:
    pacing = Pacing(PacingLimits(), START)
    while pacing.allowance(START).ordinary:
        pacing.spend("prompt", START)

    assert pacing.allowance(START).all >= 3


def test_a_chat_rests_for_a_second_and_others_do_not() -> None:
    pacing = Pacing(PacingLimits(), START)
    pacing.spend("1", START)

    assert set(pacing.resting(after(0.99))) == {"1"}
    assert set(pacing.resting(after(1.0))) == set()


def test_a_chat_that_was_told_to_wait_is_limited_alone_and_for_the_longest_wait() -> None:
    pacing = Pacing(PacingLimits(), START)
    pacing.limit("1", after(9))
    pacing.limit("1", after(5))

    assert set(pacing.limited(after(8.9))) == {"1"}
    assert set(pacing.limited(after(9))) == set()


def test_without_a_pause_no_chat_rests() -> None:
    pacing = Pacing(PacingLimits(between=timedelta(0)), START)
    pacing.spend("1", START)

    assert set(pacing.resting(START)) == set()
