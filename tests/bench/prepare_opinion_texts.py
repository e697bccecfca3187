"""Varies and mends the labelled texts for training the second opinion, once, and keeps the pieces.

    python -m tests.bench.prepare_opinion_texts --out FILE [--variants 10] [--generated 8000]
        [--seed 7] [--workers 2]

The encoder is given texts as the reader mends them, so that every text is first varied (slips,
dictation, company) and then mended: a quarter of an hour on one processor core, and the training
then needs neither the reader nor its lexicon. The file holds for each labelled text its pieces as
they stand and as ``--variants`` others might have sent it; texts of the grammar come once.
Company is talk of the same writer, so that a writer left out of training is left out wholly.
"""

import argparse
import random
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path

import numpy as np

from bot.reference.red_flags import load_reader
from core.red_flags.second_opinion import MOST_PIECES
from core.red_flags.wordpieces import pieces
from core.vocabulary import Sign
from tests.redflags import (
    CHATS_TRAINED_ON,
    FIVE_WRITERS,
    FOLDER,
    FOUR_ANGLES,
    SIX_VOICES,
    TALK,
    TRAINED_ON,
    LabelledText,
    is_held_out,
    load,
)
from tests.support.red_flag_generator import generate
from tests.support.text_slips import varied

WEIGHTS = Path(__file__).parents[2] / "core" / "red_flags" / "second_opinion.npz"
RAISED_ONLY = frozenset({Sign.NEW_PAIN, Sign.SILENT_SESSION, Sign.UNREAD, Sign.UNSURE})
"""Signs that no text is labelled with."""

SIGNS = [sign for sign in Sign if sign not in RAISED_ONLY]
CHECKED_BY = "own_chat"
"""Talk that no weights meet: it helps to choose thresholds."""

COMPANY = [*TALK, "harmless_b"]
"""Whose talk keeps company with the texts of a set that has none itself."""

SHOWN_TWICE = frozenset([*TALK, *SIX_VOICES, *FOUR_ANGLES, *CHATS_TRAINED_ON])
SHOWN_THRICE = frozenset(FIVE_WRITERS)
"""Sets nearest to what clients write, and the few texts that hold the rarer signs."""

MADE = "made"


def chat(name: str) -> list[LabelledText]:
    """The lines of a chat as texts without a sign."""
    lines = (FOLDER / f"{name}.txt").read_text(encoding="utf-8").splitlines()
    return [LabelledText(text, "none", (), "chat") for text in lines if text.strip()]


def answers_to(row: LabelledText) -> list[int]:
    """Any sign, an emergency, then each sign: 1 or 0."""
    named = [int(sign.value in row.flags) for sign in SIGNS]
    return [int(row.label != "none"), int(row.label == "emergency"), *named]


def shown(name: str, row: LabelledText) -> int:
    """How often an epoch shows a text; 0: it only checks."""
    if name == CHECKED_BY or (name not in (MADE, *CHATS_TRAINED_ON) and is_held_out(row.text)):
        return 0
    return 3 if name in SHOWN_THRICE else 2 if name in SHOWN_TWICE else 1


@cache
def _ids() -> Mapping[str, int]:
    with np.load(WEIGHTS) as stored:
        listed = stored["pieces"].tobytes().decode("ascii").split("\n")
    return {piece: row for row, piece in enumerate(listed)}


@cache
def _reader() -> object:
    return load_reader(without_second_opinion=True)


def _pieces_of(work: tuple[str, Sequence[str], int, int]) -> list[list[int]]:
    """The pieces of a text as it stands, then of its variants."""
    text, company, variants, seed = work
    rng = random.Random(seed)
    texts = [text, *(varied(text, company, rng) for _ in range(variants))]
    known: dict[str, list[int]] = {}
    for one in texts:
        if one not in known:
            mended = _reader().for_second_opinion(one)  # type: ignore[attr-defined]
            known[one] = pieces(mended, _ids(), MOST_PIECES)
    return [known[one] for one in texts]


def rows_of_all(generated: int, seed: int) -> list[tuple[str, LabelledText]]:
    """Every text with the name of its set."""
    rows = [(name, row) for name in TRAINED_ON for row in load(name)]
    rows += [(name, row) for name in (*CHATS_TRAINED_ON, CHECKED_BY) for row in chat(name)]
    made = generate(generated, seed)
    return rows + [(MADE, LabelledText(m.text, m.label, m.flags, m.kind)) for m in made]


def company_of(rows: Sequence[tuple[str, LabelledText]]) -> dict[str, list[str]]:
    """For each set, the talk that may keep its texts company: the writer's own where there is."""
    talk: dict[str, list[str]] = {name: [] for name, _ in rows}
    for name, row in rows:
        if row.label == "none" and not row.flags and shown(name, row):
            talk[name].append(row.text)
    lent = [text for name in COMPANY for text in talk[name]]
    return {name: lent if name == MADE or not own else own for name, own in talk.items()}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--variants", type=int, default=10)
    parser.add_argument("--generated", type=int, default=8000)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--workers", type=int, default=2)
    chosen = parser.parse_args()
    rows = rows_of_all(chosen.generated, chosen.seed)
    company, rng = company_of(rows), random.Random(chosen.seed)
    work = [
        (
            row.text,
            company[name],
            chosen.variants if name != MADE and shown(name, row) else 0,
            rng.randrange(2**31),
        )
        for name, row in rows
    ]
    with ProcessPoolExecutor(chosen.workers) as pool:
        cut = list(pool.map(_pieces_of, work, chunksize=64))
    names = sorted({name for name, _ in rows})
    texts = [ids for group in cut for ids in group]
    np.savez_compressed(
        chosen.out,
        pieces=np.concatenate([np.asarray(ids, np.int16) for ids in texts]),
        lengths=np.asarray([len(ids) for ids in texts], np.int16),
        variants=np.asarray([len(group) for group in cut], np.int16),
        answers=np.asarray([answers_to(row) for _, row in rows], np.uint8),
        shown=np.asarray([shown(name, row) for name, row in rows], np.uint8),
        sets=np.asarray([names.index(name) for name, _ in rows], np.uint8),
        set_names=np.asarray(names),
        signs=np.asarray([sign.value for sign in SIGNS]),
    )


if __name__ == "__main__":
    main()
