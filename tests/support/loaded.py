"""The program's data files, read once for all tests of a process."""

import gc
from collections.abc import Callable
from dataclasses import replace
from functools import cache

from bot.reference.catalogue import load_catalogue
from bot.reference.reference import Loaded, load_all
from core.movements.catalogue import Catalogue


def loaded(invitation_link: Callable[[str], str] = lambda _code: "") -> Loaded:
    """All data files; a text that was read before is not read again.

    ``invitation_link``: as :func:`bot.reference.reference.load_all` takes it.
    """
    once = _once()
    return replace(once, reference=replace(once.reference, invitation_link=invitation_link))


@cache
def catalogue() -> Catalogue:
    """The shipped movements."""
    return load_catalogue()


@cache
def _once() -> Loaded:
    read = load_all(lambda _code: "")
    # A reading depends on nothing but the words and what is known of the writer.
    vars(read.reader)["read"] = cache(read.reader.read)
    # It is never garbage: nobody needs to look through it again and again.
    gc.freeze()
    return read
