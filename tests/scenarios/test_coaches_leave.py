"""A lost phone is cut off at once, clients get another coach, a coach goes: all written down."""

from collections.abc import Callable, Mapping

import pytest
from sqlmodel import select

from bot.errors import SettingsError
from bot.flows import changes
from bot.invitation_codes import code_hash
from bot.runtime.inviting import OPERATOR, invite_again
from bot.storage.changes.applying import Applying
from bot.storage.changes.people import set_backup
from bot.storage.changes.staff import (
    coaches_listed,
    hand_over,
    move_clients,
    remove_coach,
    suspend_coach,
)
from bot.storage.tables import AlertRow, AuditRow
from bot.storage.unit import UnitOfWork
from tests.scenarios.test_invitations import new_phone
from tests.support.practice import Practice

SIGN = "my chest hurts and it goes to my arm"


async def _do(village: Practice, work: Callable[[Applying], object]) -> None:
    """As the command does: in a transaction of its own, beside the running service."""

    def change(unit: UnitOfWork) -> None:
        work(Applying(unit, OPERATOR, village.clock.now(), code_hash))
        unit.commit()

    await village.app.database.run(change)
    await village.app.settle()


def _written_down(unit: UnitOfWork) -> set[str]:
    rows = unit.session.exec(select(AuditRow).where(AuditRow.actor_id == OPERATOR)).all()
    return {row.what for row in rows}


def _seen(unit: UnitOfWork) -> list[bool]:
    return [row.seen_at is not None for row in unit.session.exec(select(AlertRow))]


async def test_a_lost_phone_sees_and_closes_nothing_and_who_stands_in_is_told(
    village: Practice,
) -> None:
    rua = village.ids["rua"]
    await village.coach("Kiri", backup_of="rua")
    await village.says("mary", SIGN)
    shown = village.newest_buttons("rua")
    before = len(village.heard("rua"))

    await _do(village, lambda applying: suspend_coach(applying, rua))

    assert any(SIGN in text for text in village.heard("kiri"))
    value = shown.outgoing.choices[0][0].value
    await village.taps_value("rua", value, shown.platform_id)
    assert village.app.database.run_now(_seen) == [False]
    await village.says("mary", "it is worse now, I feel sick")
    await village.wait(30)
    # All that the lost phone hears is that nobody knows it.
    assert all("Mary" not in text for text in village.heard("rua", before))
    assert "coach_suspended" in village.app.database.run_now(_written_down)


@pytest.mark.parametrize("lost", ["rua", "kiri"])
async def test_a_code_made_with_a_lost_phone_brings_nobodys_chat_to_it(
    village: Practice, lost: str
) -> None:
    await village.coach("Kiri", backup_of="rua")
    code = await new_phone(village)

    await _do(village, lambda applying: suspend_coach(applying, village.ids[lost]))
    await village.says("mallory", code)

    assert "Mary" not in "\n".join(village.heard("mallory"))
    await village.says("mary", "/menu")
    assert "code" not in village.last_to("mary"), "Mary's chat speaks for her still"


async def test_a_code_for_a_new_phone_ends_with_the_coach_who_can_have_it(
    village: Practice,
) -> None:
    kiri = await village.coach("Kiri", backup_of="rua")
    rua, mary = village.ids["rua"], village.ids["mary"]
    changed: Mapping[str, Callable[[Applying], object]] = {
        "stand-in": lambda now: set_backup(changes.SetBackup(rua, None), now),
        "another coach": lambda now: hand_over(changes.HandOver(mary, kiri), now),
        "back again": lambda now: hand_over(changes.HandOver(mary, rua), now),
        "moved": lambda now: move_clients(now, rua, kiri),
    }
    for how, change in changed.items():
        code = await new_phone(village, "kiri" if how == "back again" else "rua")
        await _do(village, change)
        await village.says("mallory", code)
        assert "Mary" not in "\n".join(village.heard("mallory")), how

    await village.says("mary", "/menu")
    assert "code" not in village.last_to("mary"), "Mary's chat speaks for her still"


async def test_a_suspended_coach_comes_back_on_a_new_phone(village: Practice) -> None:
    rua = village.ids["rua"]
    await _do(village, lambda applying: suspend_coach(applying, rua))
    app = village.app
    made = await invite_again(app.settings, app.database, rua, village.clock.now())

    await village.says("rua-new", f"/start {made.code.replace('-', '')}")
    await village.says("mary", SIGN)

    assert any(SIGN in text for text in village.heard("rua-new"))


async def test_clients_are_moved_with_their_alerts_and_then_the_coach_can_go(
    village: Practice,
) -> None:
    rua = village.ids["rua"]
    kiri = await village.coach("Kiri")
    await village.says("mary", SIGN)
    with pytest.raises(SettingsError, match="has 1 clients"):
        await _do(village, lambda applying: remove_coach(applying, rua))

    await _do(village, lambda applying: move_clients(applying, rua, kiri))

    assert any(SIGN in text for text in village.heard("kiri"))
    before = len(village.heard("rua"))
    await _do(village, lambda applying: remove_coach(applying, rua))
    listed = {one.name: one for one in village.app.database.run_now(coaches_listed)}
    assert (listed["Rua"].left, listed["Rua"].chats, listed["Rua"].clients) == (True, 0, 0)
    assert (listed["Kiri"].chats, listed["Kiri"].clients) == (1, 1)
    await village.says("rua", "/menu")
    await village.wait(60)
    assert all("Mary" not in text for text in village.heard("rua", before))
    assert {"coach_changed", "coach_removed"} <= village.app.database.run_now(_written_down)


@pytest.mark.parametrize("who", [0, 2, 99])
async def test_what_is_no_coach_is_one_sentence(village: Practice, who: int) -> None:
    for work in (suspend_coach, remove_coach):
        with pytest.raises(SettingsError, match=f"There is no coach {who}"):
            await _do(village, lambda applying, work=work: work(applying, who))
