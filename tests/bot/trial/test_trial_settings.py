"""The trial touches nothing of a real practice, its key least of all."""

from pathlib import Path

from cryptography.fernet import Fernet

from bot.settings import Settings, load_key
from bot.trial.trial import _trial_settings


def test_the_trial_has_a_key_of_its_own_also_where_there_is_no_folder_yet(tmp_path: Path) -> None:
    home, real = tmp_path / "new", Fernet.generate_key()
    for given in ({"key": real.decode()}, {"key_command": "false"}, {"key_path": "/nowhere"}):
        settings = _trial_settings(Settings(home=home, telegram_token="", **given))

        key, _ = load_key(settings)

        assert key.strip() == (home / "trial" / "key").read_bytes().strip()
        assert key.strip() != real
