"""The invented practice: people differ, everything they do takes the real path, nothing is left."""

import asyncio
from collections.abc import Iterator

import pytest
from cryptography.fernet import Fernet
from sqlmodel import col, func, select

from bot.channels.page.channel import NAME
from bot.flows.joining.questions import JOIN_FORM
from bot.settings import Settings
from bot.storage import shown
from bot.storage.database import Database
from bot.storage.encryption import Encryption
from bot.storage.shown import Phone
from bot.storage.tables import AlertRow, CheckinRow, ClientRow, InboxRow, OutboxRow, SessionRow
from bot.storage.unit import UnitOfWork
from bot.trial.people import ITEMS, load_practice
from bot.trial.practice import is_made, make_practice
from core.vocabulary import AlertLevel, Role
from tests.support.loaded import loaded


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Database]:
    """The practice after one week."""
    key = Fernet.generate_key()
    home = tmp_path_factory.mktemp("practice")
    settings = Settings(home=home, key=key.decode("ascii"), _env_file=None)
    asyncio.run(make_practice(settings, key, loaded(), weeks=1, seen=lambda _done, _of: None))
    database = Database(settings.database_address, Encryption(key))
    yield database
    database.close()


def phones(store: Database) -> dict[str, Phone]:
    return {phone.person.name: phone for phone in store.run_now(shown.phones, NAME)}


def test_six_clients_a_coach_and_her_back_up_have_phones(store: Database) -> None:
    found = phones(store)
    clients = [phone for phone in found.values() if phone.person.role is Role.CLIENT]
    coaches = [phone for phone in found.values() if phone.person.role is Role.COACH]
    assert len(clients) == 6
    assert [phone.stands_in for phone in coaches] == [True, False]
    assert len({phone.person.zone for phone in clients}) >= 4


def test_everybody_has_joined_and_one_waits_to_be_cleared(store: Database) -> None:
    found = phones(store).values()
    assert all(phone.joined for phone in found)
    assert [phone.person.name for phone in found if not phone.cleared] == ["Lorraine"]


def test_one_client_is_on_hold_and_the_coach_has_seen_why(store: Database) -> None:
    found = phones(store).values()
    assert [phone.person.name for phone in found if phone.on_hold] == ["Bernard"]
    assert not any(phone.unseen_alert for phone in found)


def test_one_mention_waits_for_the_coach(store: Database) -> None:
    def mentions(unit: UnitOfWork) -> list[str]:
        rows = unit.session.exec(
            select(AlertRow).where(
                AlertRow.level == AlertLevel.MENTION, col(AlertRow.seen_at).is_(None)
            )
        )
        return [str(unit.encryption.decrypt_json(row.words_sealed)) for row in rows]

    assert any("hay fever" in words for words in store.run_now(mentions))


def test_clients_have_checked_in_and_finished_sessions(store: Database) -> None:
    def counts(unit: UnitOfWork) -> tuple[int, int, int]:
        finished = select(func.count()).where(col(CheckinRow.finished_at).is_not(None))
        trained = select(func.count()).where(SessionRow.status == "finished")
        running = select(func.count()).where(SessionRow.status == "running")
        return (
            unit.session.exec(finished).one(),
            unit.session.exec(trained).one(),
            unit.session.exec(running).one(),
        )

    checkins, trained, running = store.run_now(counts)
    assert checkins >= 20
    assert trained >= 6
    assert running == 0


def test_nothing_failed_and_nothing_waits(store: Database) -> None:
    def states(unit: UnitOfWork) -> tuple[set[str], set[str]]:
        return (
            set(unit.session.exec(select(InboxRow.status))),
            set(unit.session.exec(select(OutboxRow.status))),
        )

    inbox, outbox = store.run_now(states)
    assert inbox == {"done"}
    assert outbox <= {"sent", "replaced"}
    assert store.run_now(is_made)


def test_health_words_of_the_practice_are_sealed_too(store: Database) -> None:
    def profiles(unit: UnitOfWork) -> list[str]:
        return [row.profile_sealed for row in unit.session.exec(select(ClientRow))]

    assert all(profile and "Street" not in profile for profile in store.run_now(profiles))


def test_the_invented_people_answer_questions_that_are_asked() -> None:
    for client in load_practice().clients:
        unknown = set(client.answers) - {question.key for question in JOIN_FORM.questions}
        assert not unknown, client.name
        assert set(client.usual) == set(ITEMS)
        for different in client.days.values():
            assert set(different) <= {"morning", "says", "at", "wish", "train", "test", "counts"}


def test_home_tests_that_the_coach_asked_for_are_on_the_record(store: Database) -> None:
    def tests(unit: UnitOfWork) -> dict[str, list[str]]:
        found = {}
        for row in unit.session.exec(select(ClientRow)):
            profile = unit.encryption.decrypt_json(row.profile_sealed)
            found[profile.get("called", "")] = (
                [one["test"] for one in profile["home_tests"]] if ("home_tests" in profile) else []
            )
        return found

    done = store.run_now(tests)
    assert done["Tavita"] == ["chair_stand"]
    assert set(done["Gordon"]) <= {"arm_curl", "one_leg_stand"}
    assert done["Gordon"]
    assert done["Aroha"] == []
