"""Trains the second opinion of the red-flag reader and writes its weights.

    pip install jax
    python -m tests.bench.train_second_opinion --start FILE [--layers 0 2 5] [--teachers FILE ...]
        [--epochs 4] [--generated 2000] [--rate 8e-5] [--seed 7] [--leave SET ...] [--workers 8]
        [--out FILE] [--report]
    python -m tests.bench.train_second_opinion --mean FILE ... [--out FILE]

The start is a weights file: the one that ships, which goes back to the published sentence encoder
MiniLM-L6 (Wang et al. 2020, arXiv 2002.10957; Apache licence 2.0). ``--layers`` keeps some of its
layers only, for a lighter student. ``--teachers`` are weights whose mean opinion on each text is
learnt beside its label (distillation: Hinton et al. 2015, arXiv 1503.02531), half and half; a
teacher should not have met what the student is checked by. One eighth of the labelled texts (by a
hash of the text) is held out of training, to choose the thresholds on; ``--leave`` keeps whole sets
out, to see what is reached on writers never met, and ``--report`` prints it for the whole reader.
Every text is first varied (slips, dictation, company) and then mended as the reader mends it, which
gives the encoder no other. Questions on signs that the start has no answer to begin from nothing.

jax is no dependency of the project: install it in an environment of its own. With an accelerator
an epoch takes seconds, on one processor core some five minutes; nobody needs either to run the
reader. ``core/red_flags/README.md`` says how the weights that ship were made. A run
gives others, near them at best, which must pass tests/bench/red_flags.py before they replace them.
"""

import argparse
import io
import random
import sys
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np

from bot.reference.red_flags import load_lexicon, load_reader, load_signs
from core.readiness.told_numbers import bands_of
from core.red_flags.reader import Reader
from core.red_flags.second_opinion import MOST_PIECES, Encoder, parse_weights
from core.red_flags.wordpieces import pieces
from core.vocabulary import Sign
from tests.bench.red_flags import line, read_all, say
from tests.redflags import (
    CHATS_TRAINED_ON,
    FOLDER,
    SIX_VOICES,
    TALK,
    TRAINED_ON,
    LabelledText,
    is_held_out,
    load,
)
from tests.support.encoder_training import BATCH, Trainer, batches, forward
from tests.support.red_flag_generator import generate
from tests.support.text_slips import varied

RAISED_ONLY = frozenset({Sign.NEW_PAIN, Sign.SILENT_SESSION, Sign.UNREAD, Sign.UNSURE})
"""Signs that no text is labelled with."""

SIGNS = [sign for sign in Sign if sign not in RAISED_ONLY]
OUT = Path(__file__).parents[2] / "core" / "red_flags" / "second_opinion.npz"
MATRICES = {"qkv", "attention_out", "widen", "narrow"}
LABEL_SHARE = 0.5
"""What a label counts beside the teachers' opinion."""

Arrays = Mapping[str, np.ndarray]


@dataclass(frozen=True)
class Published:
    """What training leaves as it was: word rows, position rows, and the row of each piece."""

    arrays: Arrays
    ids: dict[str, int]

    @classmethod
    def of(cls, arrays: Arrays) -> "Published":
        """The embedding of a weights file."""
        listed = arrays["pieces"].tobytes().decode("ascii").split("\n")
        return cls(arrays, {piece: row for row, piece in enumerate(listed)})

    def embed(self, ids: list[int]) -> np.ndarray:
        """The rows of a text of the pieces ``ids``."""
        rows = self.arrays["words"][ids].astype(np.float32)
        scaled: np.ndarray = rows * self.arrays["words_scale"][ids, None]
        return scaled + self.arrays["positions"][: len(ids)].astype(np.float32)


def arrays_in(path: Path) -> dict[str, np.ndarray]:
    """The named arrays of a weights file."""
    with np.load(path) as stored:
        return {name: stored[name] for name in stored.files}


def params_of(arrays: Arrays, layers: Sequence[int] = ()) -> dict:
    """Trainable weights; of ``layers`` only, where any are named, and with a head for ``SIGNS``."""
    chosen = list(layers) or range(int(arrays["layer_count"]))
    params: dict = {
        name: jnp.asarray(arrays[name].astype(np.float32)) for name in ("norm_gain", "norm_offset")
    }
    for place, index in enumerate(chosen):
        at = f"layer{index}_"
        parts = [
            name.removeprefix(at)
            for name in arrays
            if name.startswith(at) and not name.endswith("_scale")
        ]
        params[f"layer{place}"] = {
            part: jnp.asarray(
                arrays[at + part].astype(np.float32)
                * arrays.get(f"{at}{part}_scale", np.float32(1))
            )
            for part in parts
        }
    known = arrays["signs"].tobytes().decode("ascii").split("\n")
    columns = [0, 1, *(2 + known.index(sign) if sign in known else -1 for sign in SIGNS)]
    head, bias = arrays["head"], arrays["head_bias"]
    params["head"] = jnp.asarray(
        np.stack([head[:, c] if c >= 0 else np.zeros(len(head)) for c in columns], 1), jnp.float32
    )
    params["head_bias"] = jnp.asarray([bias[c] if c >= 0 else -4.0 for c in columns], jnp.float32)
    return params


def answers_to(label: str, flags: tuple[str, ...]) -> np.ndarray:
    """Any sign, an emergency, then each sign: 1 or 0."""
    named = [float(sign.value in flags) for sign in SIGNS]
    return np.array([label != "none", label == "emergency", *named], np.float32)


def as_arrays(params: Mapping, encoder: Published) -> dict[str, np.ndarray]:
    """The named arrays that ``parse_weights`` reads: matrices as int8, vectors as float16."""
    kept = ("words", "words_scale", "pieces", "positions", "heads")
    arrays: dict[str, np.ndarray] = {name: encoder.arrays[name] for name in kept}
    arrays["signs"] = np.frombuffer("\n".join(s.value for s in SIGNS).encode("ascii"), np.uint8)
    arrays["layer_count"] = np.asarray(sum(name.startswith("layer") for name in params), np.int32)
    for name, value in params.items():
        if not isinstance(value, dict):
            arrays[name] = np.asarray(value, np.float32)
            continue
        for part, given in value.items():
            array = np.asarray(given, np.float32)
            if part in MATRICES:
                scale = np.abs(array).max(axis=0, keepdims=True) / 127 + 1e-12
                arrays[f"{name}_{part}"] = np.round(array / scale).astype(np.int8)
                arrays[f"{name}_{part}_scale"] = scale.ravel().astype(np.float32)
            else:
                arrays[f"{name}_{part}"] = array.astype(np.float16)
    return arrays


def mean_of(runs: Sequence[dict]) -> dict:
    """The mean of the weights of ``runs``, which began from the same encoder.

    One set of weights that mostly reads better than each (Wortsman et al. 2022, arXiv 2203.05482).
    """
    return jax.tree.map(lambda *parts: sum(parts) / len(parts), *runs)


@cache
def _mend() -> object:
    return load_reader(without_second_opinion=True).for_second_opinion


def _prepared(text: str, talk: Sequence[str], ids: Mapping[str, int], seed: int) -> list[int]:
    """The pieces of a text, varied and mended."""
    mended = _mend()(varied(text, talk, random.Random(seed)))  # type: ignore[operator]
    return pieces(mended, ids, MOST_PIECES)


def rows_to_train_on(leave: Sequence[str], generated: int, seed: int) -> list[LabelledText]:
    """Labelled texts, those nearest to what clients write twice, chat, and some of the grammar."""
    names = [name for name in TRAINED_ON if name not in leave]
    twice = [name for name in (*TALK, *SIX_VOICES) if name in names]
    rows = [row for name in (*names, *twice) for row in load(name)]
    for name in CHATS_TRAINED_ON:
        if name not in leave:
            lines = (FOLDER / f"{name}.txt").read_text(encoding="utf-8").splitlines()
            rows += [LabelledText(text, "none", (), "chat") for text in lines if text.strip()]
    seen = [row for row in rows if not is_held_out(row.text)]
    made = generate(generated, seed)
    return [*seen, *(LabelledText(one.text, one.label, one.flags, "made") for one in made)]


class Teachers:
    """The mean opinion of some weights, as chances of each question."""

    def __init__(self, paths: Sequence[Path]) -> None:
        """Read the weights."""
        self._params = [params_of(arrays_in(path)) for path in paths]
        self._forward = jax.jit(forward)

    def __call__(self, rows: np.ndarray, mask: np.ndarray) -> np.ndarray:
        """Chances (batch, questions)."""
        given = [jax.nn.sigmoid(self._forward(params, rows, mask)) for params in self._params]
        mean: np.ndarray = np.mean([np.asarray(one) for one in given], axis=0)
        return mean


def train(params: dict, encoder: Published, chosen: argparse.Namespace) -> dict:
    """Train ``params`` as ``chosen`` says."""
    rows = rows_to_train_on(chosen.leave, chosen.generated, chosen.seed)
    talk = [row.text for row in rows if row.label == "none" and not row.flags]
    rng = random.Random(chosen.seed)
    teachers = Teachers(chosen.teachers) if chosen.teachers else None
    trainer = Trainer(params, chosen.epochs * -(-len(rows) // BATCH), chosen.rate, chosen.seed)
    work = partial(_prepared, talk=talk, ids=encoder.ids)
    with ProcessPoolExecutor(chosen.workers) as pool:
        for epoch in range(chosen.epochs):
            seeds = [rng.randrange(2**31) for _ in rows]
            texts = pool.map(_each, [work] * len(rows), (r.text for r in rows), seeds, chunksize=64)
            answered = [
                (ids, answers_to(r.label, r.flags)) for ids, r in zip(texts, rows, strict=True)
            ]
            costs = []
            for embedded, mask, answers, counts in batches(answered, encoder.embed, rng):
                if teachers is not None:
                    opinion = teachers(embedded, mask)
                    answers = LABEL_SHARE * answers + (1 - LABEL_SHARE) * opinion
                costs.append(trainer.take((embedded, mask, answers, counts)))
            say(f"epoch {epoch}: loss {np.mean(costs):.3f} over {len(rows)} texts")
            sys.stdout.flush()
    return trainer.params


def _each(work: partial, text: str, seed: int) -> list[int]:
    ids: list[int] = work(text, seed=seed)
    return ids


def report(arrays: Arrays, leave: Sequence[str]) -> None:
    """What the whole reader makes of the held-out eighth, and of each set that was left out."""
    reader = Reader(load_signs(), load_lexicon(), Encoder(parse_weights(arrays)), judge=bands_of)
    held_out = [row for name in TRAINED_ON for row in load(name) if is_held_out(row.text)]
    for name, rows in [
        ("held_out", held_out),
        *((name, load(name)) for name in leave if name in TRAINED_ON),
    ]:
        say(line(name, rows, read_all(reader, rows)))
    for name in leave:
        if name in CHATS_TRAINED_ON:
            lines = (FOLDER / f"{name}.txt").read_text(encoding="utf-8").splitlines()
            rows = [LabelledText(text, "none", (), "chat") for text in lines if text.strip()]
            say(line(name, rows, read_all(reader, rows)))


def write(arrays: Arrays, out: Path) -> None:
    """Store the weights file ``out``."""
    buffer = io.BytesIO()
    named: Any = dict(arrays)
    np.savez_compressed(buffer, **named)
    out.write_bytes(buffer.getvalue())


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--start", type=Path, default=OUT, help="weights to train further")
    parser.add_argument("--layers", type=int, nargs="*", default=[], help="keep these only")
    parser.add_argument("--teachers", type=Path, nargs="*", default=[])
    parser.add_argument("--epochs", type=int, default=4)
    parser.add_argument("--generated", type=int, default=2000)
    parser.add_argument("--rate", type=float, default=8e-5, help="the highest")
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--leave", nargs="*", default=[], help="sets not to train on, to check by")
    parser.add_argument("--workers", type=int, default=8)
    parser.add_argument("--report", action="store_true")
    parser.add_argument("--mean", nargs="*", type=Path, help="only write the mean of these runs")
    parser.add_argument("--out", type=Path, default=OUT)
    chosen = parser.parse_args()
    start = arrays_in(chosen.mean[0] if chosen.mean else chosen.start)
    encoder = Published.of(start)
    if chosen.mean:
        params = mean_of([params_of(arrays_in(path)) for path in chosen.mean])
    else:
        params = train(params_of(start, chosen.layers), encoder, chosen)
    arrays = as_arrays(params, encoder)
    write(arrays, chosen.out)
    if chosen.report:
        report(arrays, chosen.leave)


if __name__ == "__main__":
    main()
