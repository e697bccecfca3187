"""A warning sign has a name for the client and one for the coach; without it no message is said."""

import pytest
import yaml

from core.vocabulary import Sign
from tests.architecture.test_templates import WORDS

NAMES = yaml.safe_load((WORDS / "names.yaml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("group", ["sign", "sign_coach"])
def test_every_sign_and_no_other_has_a_name(group: str):
    assert set(NAMES[group]) == {sign.value for sign in Sign}
    assert all(NAMES[group].values())
