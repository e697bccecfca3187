"""Print totals by question for sets of answers; with ``--lines``, each line that is not right.

``python -m tests.answers FILE ... [--lines]``. Lines of a closed set are never printed.
"""

import sys
from collections import Counter
from pathlib import Path

from tests.answers.score import answers_in, totals, verdict_on, words_of_sets


def main(arguments: list[str]) -> None:
    """Score the named files."""
    paths = [Path(one) for one in arguments if not one.startswith("--")]
    words = words_of_sets()
    verdicts = [verdict_on(answer, words) for path in paths for answer in answers_in(path)]
    whole: Counter[str] = Counter()
    for question, counted in totals(verdicts).items():
        whole.update(counted)
        say(question, counted)
    say("all", whole)
    closed = any(path.stem.startswith("closed") for path in paths)
    if "--lines" in arguments and not closed:
        for one in verdicts:
            if not one.right:
                asked = one.answer
                mark = "WRONG" if one.wrong else "     "
                line = f"{mark} {asked.question}: {asked.text!r}: {asked.meant}, read {one.read}"
                sys.stdout.write(f"{line}\n")


def say(name: str, counted: Counter[str]) -> None:
    """One line of totals."""
    line = f"{name:12} {counted['right']:4} of {counted['lines']:4}, wrong {counted['wrong']}"
    sys.stdout.write(f"{line}\n")


main(sys.argv[1:])
