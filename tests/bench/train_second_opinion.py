"""Trains the second opinion of the red-flag reader from prepared texts and writes its weights.

    pip install jax
    python -m tests.bench.prepare_opinion_texts --out TEXTS
    python -m tests.bench.train_second_opinion TEXTS --start FILE --out FOLDER
        [--leave SET,SET ...] [--teachers 4] [--teacher-epochs 5] [--teacher-rate 1e-4]
        [--students 0,2,5 ...] [--epochs 28] [--rate 2e-4] [--label-share 0.4] [--spliced 24000]
        [--seed 11] [--only-folds]

The start is a weights file of six layers: an older one of those that shipped, which goes back to
the published sentence encoder MiniLM-L6 (Wang et al. 2020, arXiv 2002.10957; Apache licence 2.0).
From it several teachers of all its layers are trained, each on texts of its own drawing; then
students of some of its layers learn the teachers' mean opinion on each text beside its label
(distillation: Hinton et al. 2015, arXiv 1503.02531), each beginning from the layers of its first
teacher. They also learn it on texts spliced of two others, which have no label.

One eighth of the labelled texts (by a hash of the text) is held out of all training, to choose
thresholds on. Each ``--leave`` is a fold: teachers and students of their own that meet none of its
sets, to see what is reached on writers never met. All folds train side by side, so on an
accelerator; ``--only-folds`` spares the weights themselves. Written into the folder: a weights file
a student, and ``opinions.npz``: what each student and the teachers' mean answer to every row of the
texts, a fold at a time, the weights rounded as they are kept.

jax is no dependency of the project: install it in an environment of its own. Nobody needs it to
run the reader. ``core/red_flags/README.md`` says how the weights that ship were made. Another kind
of accelerator gives weights near these, not the same; new ones must pass tests/bench/red_flags.py
before they replace those that ship.
"""

import argparse
import io
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np

from tests.support.encoder_training import (
    BATCH,
    Embedding,
    Learner,
    Params,
    Texts,
    crew_of,
    mean_opinion,
    member,
    opinions_of,
)

jax.config.update("jax_default_prng_impl", "rbg")  # quick on accelerators

MATRICES = ("qkv", "attention_out", "widen", "narrow")
PARTS = (
    *(name for matrix in MATRICES for name in (matrix, f"{matrix}_bias")),
    *("norm1_gain", "norm1_offset", "norm2_gain", "norm2_offset"),
)
UNHEARD = -4.0
"""Where the answer to a question begins that the start does not know."""

Arrays = Mapping[str, np.ndarray]


@dataclass(frozen=True)
class Fold:
    """Sets that a crew's models do not meet; of the weights themselves, none."""

    left_out: tuple[str, ...]

    def counts(self, texts: Texts) -> np.ndarray:
        """(R) 1 for each row that may be learnt from."""
        return (~np.isin(texts.names, self.left_out)).astype(np.float32)

    @property
    def name(self) -> str:
        return "+".join(self.left_out) or "all"


def arrays_in(path: Path) -> dict[str, np.ndarray]:
    """The named arrays of a weights file."""
    with np.load(path) as stored:
        return {name: stored[name] for name in stored.files}


def params_of(arrays: Arrays, signs: Sequence[str]) -> Params:
    """Trainable weights of a weights file, with a head for ``signs``."""

    def part(index: int, name: str) -> np.ndarray:
        at = f"layer{index}_{name}"
        scale = arrays[f"{at}_scale"] if name in MATRICES else np.float32(1)
        scaled: np.ndarray = arrays[at].astype(np.float32) * scale
        return scaled

    known = arrays["signs"].tobytes().decode("ascii").split("\n")
    columns = [0, 1, *(2 + known.index(sign) if sign in known else -1 for sign in signs)]
    head, bias = arrays["head"].astype(np.float32), arrays["head_bias"].astype(np.float32)
    unheard = np.zeros(len(head), np.float32)
    layers = range(int(arrays["layer_count"]))
    return {
        "norm_gain": jnp.asarray(arrays["norm_gain"].astype(np.float32)),
        "norm_offset": jnp.asarray(arrays["norm_offset"].astype(np.float32)),
        "layers": {name: jnp.stack([part(i, name) for i in layers]) for name in PARTS},
        "head": jnp.stack([head[:, c] if c >= 0 else unheard for c in columns], 1),
        "head_bias": jnp.asarray([bias[c] if c >= 0 else UNHEARD for c in columns], jnp.float32),
    }


def with_layers(params: Params, chosen: Sequence[int]) -> Params:
    """``params`` of some layers only."""
    kept = {name: part[jnp.asarray(chosen)] for name, part in params["layers"].items()}
    return {**params, "layers": kept}


def kept_arrays(params: Params, start: Arrays, signs: Sequence[str]) -> dict[str, np.ndarray]:
    """The named arrays that ``parse_weights`` reads: matrices as int8, vectors as float16."""
    kept = ("words", "words_scale", "pieces", "positions", "heads")
    arrays: dict[str, np.ndarray] = {name: start[name] for name in kept}
    arrays["signs"] = np.frombuffer("\n".join(signs).encode("ascii"), np.uint8)
    for name in ("norm_gain", "norm_offset", "head", "head_bias"):
        arrays[name] = np.asarray(params[name], np.float32)
    layers = {name: np.asarray(part, np.float32) for name, part in params["layers"].items()}
    count = len(layers["qkv"])
    arrays["layer_count"] = np.asarray(count, np.int32)
    for index in range(count):
        for name in PARTS:
            array, at = layers[name][index], f"layer{index}_{name}"
            if name in MATRICES:
                scale = np.abs(array).max(axis=0) / 127 + 1e-12
                arrays[at] = np.round(array / scale).astype(np.int8)
                arrays[f"{at}_scale"] = scale.astype(np.float32)
            else:
                arrays[at] = array.astype(np.float16)
    return arrays


class Drawing:
    """Batches for a crew whose every model belongs to a fold."""

    def __init__(self, texts: Texts, folds: Sequence[Fold], start: Arrays, seed: int) -> None:
        """Put all that is computed with in its place."""
        self.texts = texts
        self.embedding = Embedding.of(start, texts)
        self._row = jnp.asarray(texts.row_of_text())
        self._answers = jnp.asarray(texts.answers, jnp.float32)
        self._labelled = jnp.asarray(texts.labelled)
        self._counts = jnp.asarray(np.stack([fold.counts(texts) for fold in folds]))
        self._rng = np.random.default_rng(seed)
        self._key = jax.random.key(seed)
        self._gather = jax.jit(self._gathered, static_argnums=2)

    def _gathered(self, chosen, keys, length):
        rows, mask = jax.vmap(lambda t, k: self.embedding(t, length, k))(chosen, keys)
        row = self._row[chosen]
        counts = jnp.take_along_axis(self._counts, row, 1)
        return rows, mask, self._answers[row], counts, self._labelled[row]

    def __call__(self):
        """The batches of an epoch: rows, mask, answers, what each counts, whether it is labelled.

        Last, keys for the models' own chance.
        """
        for length, chosen in self.texts.epoch(len(self._counts), self._rng):
            self._key, hiding, dropping = jax.random.split(self._key, 3)
            hidden = jax.random.split(hiding, len(chosen))
            batch = self._gather(jnp.asarray(chosen), hidden, length)
            yield *batch, jax.random.split(dropping, len(chosen))

    def steps(self) -> int:
        """How many batches an epoch has."""
        return sum(1 for _ in self.texts.epoch(1, np.random.default_rng(0)))


def say(text: str) -> None:
    """Write one line at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def taught(start: Arrays, texts: Texts, folds: Sequence[Fold], chosen: argparse.Namespace):
    """The teachers of each fold: a crew of crews."""
    of_all = [fold for fold in folds for _ in range(chosen.teachers)]
    drawing = Drawing(texts, of_all, start, chosen.seed)
    crew = crew_of([params_of(start, texts.signs)] * len(of_all))
    learner = Learner(crew, chosen.teacher_epochs * drawing.steps(), chosen.teacher_rate)
    for epoch in range(chosen.teacher_epochs):
        began = time.monotonic()
        costs = [
            learner.take(rows, mask, answers, counts, keys)
            for rows, mask, answers, counts, _, keys in drawing()
        ]
        cost = float(np.mean(jax.device_get(costs)))
        say(f"teachers, epoch {epoch}: loss {cost:.3f}, {time.monotonic() - began:.0f} s")
    return jax.tree.map(
        lambda part: part.reshape(len(folds), chosen.teachers, *part.shape[1:]), learner.crew
    )


def learnt(
    teachers: Params,
    start: Arrays,
    texts: Texts,
    folds: Sequence[Fold],
    chosen: argparse.Namespace,
) -> dict[str, Params]:
    """For each choice of layers, its students: a crew of one a fold."""
    rng = np.random.default_rng(chosen.seed)
    drawing = Drawing(texts.with_spliced(chosen.spliced, rng), folds, start, chosen.seed + 1)
    learners = {}
    for layers in chosen.students:
        places = [int(place) for place in layers.split(",")]
        firsts = [member(member(teachers, place), 0) for place in range(len(folds))]
        crew = crew_of([with_layers(first, places) for first in firsts])
        learners[layers] = Learner(crew, chosen.epochs * drawing.steps(), chosen.rate)
    for epoch in range(chosen.epochs):
        began = time.monotonic()
        costs: dict[str, list] = {layers: [] for layers in learners}
        for rows, mask, answers, counts, labelled, keys in drawing():
            share = chosen.label_share * labelled[..., None]
            wanted = share * answers + (1 - share) * mean_opinion(teachers, rows, mask)
            for layers, learner in learners.items():
                costs[layers].append(learner.take(rows, mask, wanted, counts, keys))
        told = {layers: float(np.mean(jax.device_get(c))) for layers, c in costs.items()}
        losses = "  ".join(f"{layers}: {cost:.3f}" for layers, cost in told.items())
        say(f"students, epoch {epoch}: {losses}, {time.monotonic() - began:.0f} s")
    return {layers: learner.crew for layers, learner in learners.items()}


def answered(
    teachers: Params,
    students: Mapping[str, Params],
    texts: Texts,
    folds: Sequence[Fold],
    start: Arrays,
) -> dict[str, np.ndarray]:
    """Any sign, an emergency, the likeliest sign and its chance, of each row by each reader."""
    embedding, told = Embedding.of(start, texts), {}
    for place, fold in enumerate(folds):
        crew = member(teachers, place)
        each = [member(crew, one) for one in range(len(crew["head"]))]
        read = [1 / (1 + np.exp(-opinions_of(one, texts, embedding))) for one in each]
        told[f"{fold.name}:teachers"] = np.mean(read, 0)
        for layers, students_of in students.items():
            rounded = kept_arrays(member(students_of, place), start, texts.signs)
            logits = opinions_of(params_of(rounded, texts.signs), texts, embedding)
            told[f"{fold.name}:{layers}"] = 1 / (1 + np.exp(-logits))
    likeliest = {name: chances[:, 2:].argmax(1) for name, chances in told.items()}
    return {
        name: np.column_stack(
            [chances[:, :2], likeliest[name], chances[:, 2:].max(1)],
        ).astype(np.float32)
        for name, chances in told.items()
    }


def write(arrays: Arrays, out: Path) -> None:
    """Store the file ``out``."""
    buffer = io.BytesIO()
    named: Any = dict(arrays)
    np.savez_compressed(buffer, **named)
    out.write_bytes(buffer.getvalue())


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("texts", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--start", type=Path, required=True, help="weights of six layers")
    parser.add_argument("--leave", nargs="*", default=[], help="folds: sets between commas")
    parser.add_argument("--only-folds", action="store_true")
    parser.add_argument("--teachers", type=int, default=4, help="of each fold")
    parser.add_argument("--teacher-epochs", type=int, default=5)
    parser.add_argument("--teacher-rate", type=float, default=1e-4, help="the highest")
    parser.add_argument("--students", nargs="*", default=["0,2,5"], help="layers between commas")
    parser.add_argument("--epochs", type=int, default=28)
    parser.add_argument("--rate", type=float, default=2e-4, help="the highest")
    parser.add_argument("--spliced", type=int, default=24000, help="texts without a label")
    parser.add_argument("--label-share", type=float, default=0.4, help="beside the teachers'")
    parser.add_argument("--seed", type=int, default=11)
    chosen = parser.parse_args()
    texts, start = Texts.read(chosen.texts), arrays_in(chosen.start)
    whole = [] if chosen.only_folds else [Fold(())]
    folds = [*whole, *(Fold(tuple(names.split(","))) for names in chosen.leave)]
    say(f"{len(texts.first)} rows, {texts.shown.sum()} shown an epoch, batches of {BATCH}")
    teachers = taught(start, texts, folds, chosen)
    students = learnt(teachers, start, texts, folds, chosen)
    chosen.out.mkdir(parents=True, exist_ok=True)
    write(answered(teachers, students, texts, folds, start), chosen.out / "opinions.npz")
    if whole:
        for layers, crew in students.items():
            arrays = kept_arrays(member(crew, 0), start, texts.signs)
            write(arrays, chosen.out / f"layers_{layers.replace(',', '_')}.npz")


if __name__ == "__main__":
    main()
