"""What is kept decrypted is bounded by its size, whatever people write."""

import tracemalloc

from bot.storage import encryption
from bot.storage.encryption import Encryption
from tests.doubles.store import KEY


def test_long_texts_do_not_fill_the_memory() -> None:
    sealing = Encryption(KEY)
    long = "my knee is sore " * 2_500
    tracemalloc.start()
    tokens = [sealing.encrypt(f"{place} {long}") for place in range(300)]
    kept_tokens = sum(map(len, tokens))
    kept, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()

    # The tokens are this test's own; all texts together would be three times the bound.
    assert kept - kept_tokens < encryption.MOST_DECRYPTED
    assert sealing.decrypt(tokens[0]).startswith("0 my knee")
    assert sealing.decrypt(tokens[-1]).startswith("299 my knee")


def test_what_is_put_in_twice_counts_once_and_nothing_is_left_when_it_is_forgotten() -> None:
    sealing = Encryption(KEY)
    token = Encryption(KEY).encrypt("a word " * 1000)
    for _ in range(2_000):
        sealing.decrypt(token)
    other = sealing.encrypt("another")
    sealing.forget()

    assert sealing.decrypt(token) == "a word " * 1000
    assert sealing.decrypt(other) == "another"
