"""When to leave off counting coverage: cases of a test that reach nothing new are much alike.

Counting costs some six tenths more of a test's processor time, and most of what is counted has been
counted before.
"""

PATIENCE = 5
"""So many cases of one test, one after the other, that reach nothing new end its counting."""


class Worthwhile:
    """Whether the next case of a test is worth counting, from what the cases before it reached.

    Each process judges for itself, so what one leaves out another may still count.
    """

    def __init__(self) -> None:
        self._in_vain: dict[str, int] = {}

    def is_worth(self, test: str) -> bool:
        """Whether to count the next case of ``test``, which is named without its case."""
        return self._in_vain.get(test, 0) < PATIENCE

    def counted(self, test: str, new: int) -> None:
        """A case of ``test`` was counted, and reached so many steps that none had before it."""
        self._in_vain[test] = 0 if new else self._in_vain.get(test, 0) + 1
