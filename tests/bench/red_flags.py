"""Scores the red-flag reader: by set, by kind, by sign, with and without each layer; and times it.

    python -m tests.bench.red_flags [SET ...] [--layers] [--kinds] [--timing] [--fuzz]

Sets: the names of tests/redflags/*.jsonl, and ``held_out`` (the eighth that training never sees),
``held_talk`` (the part of it that is talk), the chats: questions and alerts in 500 lines of
ordinary talk (``own_chat`` chose thresholds, so it flatters), and ``numbers_*``: the share of
numbers read right. No text is ever printed. For times set OPENBLAS_NUM_THREADS=1, as the program
does for itself. ``--fuzz`` times the lexicon on long texts made to make expressions and phrases
backtrack.
"""

import argparse
import random
import statistics
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from bot.reference.red_flags import load_lexicon, load_second_opinion, load_signs
from core.readiness.told_numbers import bands_of
from core.red_flags.lexicon import FIGURE, Lexicon
from core.red_flags.reader import Reader
from core.told_number import ToldNumber, When
from tests.redflags import (
    FOLDER,
    TALK,
    TRAINED_ON,
    LabelledNumber,
    LabelledText,
    is_held_out,
    load,
    load_numbers,
)

LOUD = ("emergency", "urgent")
CHATS = (
    *("ordinary_chat", "ordinary_chat_second", "ordinary_chat_third", "own_chat"),
    *("ordinary_chat_fourth", "ordinary_chat_fifth"),
    *("chat_m", "chat_n", "chat_o", "chat_p", "chat_q"),
)
NUMBERS = ("numbers_open", "numbers_apart")
SCOPE_CUES = frozenset(
    {FIGURE, "NEG", "NEG_AFTER", "NEG_AFTER_SOFT", "PERSON", "THEY", "PAST_FAR", "PAST_VAGUE"}
    | {"IF", "IF_EVER", "AVOID", "ASKING", "ASKING_PLAIN", "CAUSE", "THING", "FUN", "LAUGH"}
    | {"FINE_SOON", "TALKING"}
)


def held_out(names: Iterable[str] = TRAINED_ON) -> list[LabelledText]:
    """The eighth of the widening sets that the second opinion was not trained on."""
    rows = [row for name in names for row in load(name)]
    return [row for row in rows if is_held_out(row.text) and row.flags != ("fever",)]


def without(lexicon: Lexicon, concepts: frozenset[str]) -> Lexicon:
    """``lexicon`` that does not know ``concepts``."""
    words = {
        word: tuple(c for c in named if c not in concepts) for word, named in lexicon.words.items()
    }
    phrases = {
        key: tuple(p for p in listed if p.concept not in concepts)
        for key, listed in lexicon.phrases.items()
    }
    return replace(lexicon, words=words, phrases=phrases)


def readers() -> dict[str, Reader]:
    """The reader whole, and with one layer or more taken away."""
    signs, lexicon, opinion = load_signs(), load_lexicon(), load_second_opinion()
    unmended = replace(lexicon, vocabulary=frozenset())
    return {
        "whole": Reader(signs, lexicon, opinion, judge=bands_of),
        "no second opinion": Reader(signs, lexicon, judge=bands_of),
        "nor spelling repair": Reader(signs, unmended, judge=bands_of),
        "nor scope rules": Reader(signs, without(unmended, SCOPE_CUES), judge=bands_of),
    }


def say(text: str) -> None:
    """Write one line of the report."""
    sys.stdout.write(text + "\n")


def share(levels: Sequence[str], wanted: Iterable[str]) -> float:
    """The share of ``levels`` that are among ``wanted``; 0 of nothing is 0."""
    good = set(wanted)
    return sum(level in good for level in levels) / max(1, len(levels))


def line(name: str, rows: Sequence[LabelledText], levels: Sequence[str]) -> str:
    """One line of the table."""
    pairs = list(zip(rows, levels, strict=True))
    positive = [level for row, level in pairs if row.label != "none"]
    harmless = [level for row, level in pairs if row.label == "none"]
    emergency = [level for row, level in pairs if row.label == "emergency"]
    return (
        f"{name:28s} n={len(rows):4d}"
        f"  caught {share(positive, (*LOUD, 'ask')):.3f} of {len(positive)}"
        f"  alerted {share(positive, LOUD):.3f}"
        f"  emergencies {share(emergency, ('emergency', 'ask')):.3f} of {len(emergency)}"
        f"  at once {share(emergency, ('emergency',)):.3f}"
        f"  loud false {share(harmless, LOUD):.3f} of {len(harmless)}"
        f"  asked {share(harmless, ('ask',)):.3f}"
    )


def read_all(reader: Reader, rows: Sequence[LabelledText]) -> list[str]:
    return [reader.read(row.text).level.value for row in rows]


def groups(rows: Sequence[LabelledText], key: Callable[[LabelledText], str]) -> list[str]:
    return sorted(Counter(key(row) for row in rows))


def print_parts(rows: Sequence[LabelledText], levels: Sequence[str]) -> None:
    """The table by kind, then by first sign."""
    keys: list[Callable[[LabelledText], str]] = [
        lambda row: row.kind,
        lambda row: row.flags[0] if row.flags else "no sign",
    ]
    for key in keys:
        for group in groups(rows, key):
            picked = [i for i, row in enumerate(rows) if key(row) == group]
            say(line(f"  {group}", [rows[i] for i in picked], [levels[i] for i in picked]))


def print_chat(name: str, reader: Reader) -> None:
    """Questions and alerts in ordinary talk, and the signs that they name."""
    lines = (FOLDER / f"{name}.txt").read_text(encoding="utf-8").splitlines()
    texts = [text for text in lines if text.strip()]
    readings = [reader.read(text) for text in texts]
    for level in ("ask", "urgent", "emergency"):
        found = [reading for reading in readings if reading.level.value == level]
        signs = Counter(sign.value for reading in found for sign in reading.signs[:1])
        reasons = Counter(reading.because.code.value for reading in found)
        per_500 = 500 * len(found) / len(texts)
        say(
            f"{name}: {len(texts)} lines, {level} {len(found)} ({per_500:.1f} in 500)"
            f" {dict(signs)} {dict(reasons)}"
        )


def is_right(row: LabelledNumber, found: Sequence[ToldNumber]) -> bool:
    """Whether what counts now is just what was told: nothing of aims, the past and other things."""
    now = [number for number in found if number.when is When.NOW]
    if row.kind == "none" or row.when != "now":
        return not now
    of_kind = [one for one in now if one.kind.value.split("_")[0] == row.kind]
    values = {
        value
        for one in of_kind
        for value in (*one.values, *([one.off_scale.value] if one.off_scale else []))
    }
    told = {value if isinstance(value, str) else float(value) for value in row.values}
    return values == told and all(one.who.value == row.who for one in of_kind)


def print_numbers(name: str, reader: Reader) -> None:
    """The share of numbers read right, by kind."""
    rows = load_numbers(name)
    right = Counter(row.kind for row in rows if is_right(row, reader.numbers_in(row.text)))
    every = Counter(row.kind for row in rows)
    parts = "  ".join(f"{kind} {right[kind]}/{every[kind]}" for kind in sorted(every))
    say(f"{name}: {sum(right.values())} of {len(rows)} right  {parts}")


def print_timing(named: dict[str, Reader]) -> None:
    """Processor milliseconds a text, and the longest message."""
    texts = [row.text for row in load("public")]
    longest = " ".join(texts)[:4000]
    for name in ("no second opinion", "whole"):
        spent = []
        for text in texts:
            began = time.process_time()
            named[name].read(text)
            spent.append((time.process_time() - began) * 1000)
        long = []
        for _ in range(9):
            began = time.process_time()
            named[name].read(longest)
            long.append((time.process_time() - began) * 1000)
        whole = statistics.median(long)
        say(f"{name:20s} median {statistics.median(spent):.2f} ms, 4,000 letters {whole:.1f} ms")


def print_fuzz(reader: Reader, texts: int = 1000, length: int = 4000) -> None:
    """Milliseconds for texts of one unit over and over, of telling words shuffled, of any signs."""
    rng = random.Random(5)
    telling = [word for row in load("public")[:40] for word in row.text.split()]
    signs = "abcdefghijklmnopqrstuvwxyz .,!?-0123456789💔😵’–"
    spent = []
    for _ in range(texts):
        unit = rng.choice(
            [
                "".join(rng.choices(signs, k=rng.randint(1, 6))),
                " ".join(rng.choices(telling, k=rng.randint(1, 8))) + " ",
                "".join(rng.choices(signs, k=length)),
                " ".join(rng.choices(telling, k=length // 4)),
            ]
        )
        text = (unit * (length // len(unit) + 1))[: length - 1] + "~"
        twice = []
        for _ in range(2):  # the better of two: a pause of the collector is not the text's fault
            began = time.process_time()
            reader.read(text)
            twice.append((time.process_time() - began) * 1000)
        spent.append(min(twice))
    spent.sort()
    say(
        f"fuzz: {texts} texts of {length} letters, median {statistics.median(spent):.1f} ms,"
        f" 99 in 100 below {spent[texts * 99 // 100]:.1f} ms, slowest {spent[-1]:.1f} ms"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sets", nargs="*", default=["public"])
    parser.add_argument("--layers", action="store_true", help="take the layers away one by one")
    parser.add_argument("--kinds", action="store_true", help="by kind and by sign as well")
    parser.add_argument("--timing", action="store_true")
    parser.add_argument("--fuzz", action="store_true")
    chosen = parser.parse_args()
    named = readers()
    for name in chosen.sets:
        if name in CHATS:
            print_chat(name, named["whole"])
            continue
        if name in NUMBERS:
            print_numbers(name, named["no second opinion"])
            continue
        parts = {"held_out": TRAINED_ON, "held_talk": TALK}
        rows = held_out(parts[name]) if name in parts else load(name)
        for layer in named if chosen.layers else ["whole"]:
            levels = read_all(named[layer], rows)
            say(line(f"{name}, {layer}", rows, levels))
            if chosen.kinds and layer == "whole":
                print_parts(rows, levels)
    if chosen.timing:
        print_timing(named)
    if chosen.fuzz:
        print_fuzz(named["no second opinion"])


if __name__ == "__main__":
    main()
