"""Loading much at once: without the collector on the way, and with what was loaded left out of it.

Imports and data files make a million objects that all stay. The collector would walk them again and
again while they are made (a third of the start), and later in every full round.
"""

import contextlib
import ctypes
import gc
import sys
from collections.abc import Iterator


@contextlib.contextmanager
def loading() -> Iterator[None]:
    """What is made inside stays: the collector does not look at it, now or later."""
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.enable()
        _give_back()


def _give_back() -> None:
    """Give memory that was needed for loading only back to the system, where its library can."""
    if sys.platform != "linux":
        return
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None)
    # Linux is also built on libraries that have no such call.
    if trim is not None:
        trim(0)
