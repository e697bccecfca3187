"""The encoder of ``core/red_flags/second_opinion.py``, trainable: many of one shape at a time.

Needs jax, which the project does not depend on: it is used to make the weights, never to run them.
Word and position rows stay as they were published, so that words that no training text holds
keep their place beside their like.

Parameters are a tree of arrays; a *crew* is such a tree with a first axis more, one place a model,
trained in step, each on texts of its own drawing.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np

HEADS = 12
MOST_PIECES = 96
LENGTHS = (24, 44, MOST_PIECES)
BATCH = 64
QUICK = jnp.bfloat16
"""What training multiplies matrices in."""

DROPOUT = 0.1
HIDDEN_TEXTS, HIDDEN_PIECES = 0.5, 0.1
"""In a part of the texts, a part of the pieces is hidden, so that no single word decides."""

SMOOTHING = 0.02  # the two main questions are trained toward 0.02 and 0.98
WEIGHT_DECAY = 0.01
HEAD_RATE = 10.0  # the head starts from nothing and learns faster than the layers

Params = dict[str, Any]


@dataclass(frozen=True)
class Texts:
    """The prepared texts (tests/bench/prepare_opinion_texts.py); R rows, T texts, Q questions.

    ``pieces`` (T, MOST_PIECES) holds -1 where a text has ended; row r has ``variants[r]`` texts
    from ``first[r]`` on, the first of them as it was written. ``answers`` (R, Q) are known where
    ``labelled`` (R) is 1; ``shown`` (R): how often an epoch shows a row; ``names`` (R): its set;
    ``signs``: questions from the third on.
    """

    pieces: np.ndarray
    first: np.ndarray
    variants: np.ndarray
    answers: np.ndarray
    labelled: np.ndarray
    shown: np.ndarray
    names: np.ndarray
    signs: tuple[str, ...]

    @classmethod
    def read(cls, path: Path) -> "Texts":
        """The texts in the file ``path``."""
        with np.load(path) as stored:
            given = {name: stored[name] for name in stored.files}
        lengths = given["lengths"].astype(int)
        table = np.full((len(lengths), MOST_PIECES), -1, np.int16)
        inside = np.arange(MOST_PIECES) < lengths[:, None]
        table[inside] = given["pieces"]
        ends = np.cumsum(given["variants"].astype(int))
        return cls(
            pieces=table,
            first=ends - given["variants"],
            variants=given["variants"].astype(int),
            answers=given["answers"].astype(np.float32),
            labelled=np.ones(len(ends), np.float32),
            shown=given["shown"].astype(int),
            names=given["set_names"][given["sets"]],
            signs=tuple(str(sign) for sign in given["signs"]),
        )

    def room(self) -> np.ndarray:
        """For each row, the least of LENGTHS that holds all its variants."""
        lengths = (self.pieces >= 0).sum(1)
        longest = np.maximum.reduceat(lengths, self.first)
        return np.asarray(LENGTHS)[np.searchsorted(LENGTHS, longest)]

    def row_of_text(self) -> np.ndarray:
        """(T) the row of each text."""
        return np.repeat(np.arange(len(self.first)), self.variants)

    def with_spliced(self, count: int, rng: np.random.Generator) -> "Texts":
        """These and ``count`` rows more: the beginning of a text and the end of another of its set.

        Nobody has labelled them; a teacher's opinion on them is something to learn.
        """
        lengths, made, names = (self.pieces >= 0).sum(1), [], []
        shown = np.flatnonzero(self.shown)
        alike = {name: shown[self.names[shown] == name] for name in np.unique(self.names[shown])}
        for one in rng.choice(shown, count):
            other = rng.choice(alike[self.names[one]])
            begun, ended = self.first[one], self.first[other]
            head = self.pieces[begun, : rng.integers(1, lengths[begun])]
            tail = self.pieces[ended, rng.integers(1, lengths[ended]) : lengths[ended]]
            row = np.full(MOST_PIECES, -1, np.int16)
            ids = np.concatenate([head, tail])[-MOST_PIECES:]
            row[: len(ids)] = ids
            made.append(row)
            names.append(self.names[one])
        ones, texts = np.ones(count, int), len(self.pieces)
        return replace(
            self,
            pieces=np.concatenate([self.pieces, np.stack(made)]),
            first=np.concatenate([self.first, texts + np.arange(count)]),
            variants=np.concatenate([self.variants, ones]),
            answers=np.concatenate([self.answers, np.zeros((count, self.answers.shape[1]))]),
            labelled=np.concatenate([self.labelled, np.zeros(count)]).astype(np.float32),
            shown=np.concatenate([self.shown, ones]),
            names=np.concatenate([self.names, np.asarray(names)]),
        )

    def epoch(self, crew: int, rng: np.random.Generator) -> Iterator[tuple[int, np.ndarray]]:
        """Batches in random order: the length they need, and texts (crew, BATCH) of each model."""
        room = self.room()
        planned: list[tuple[int, np.ndarray]] = []
        for length in LENGTHS:
            rows = np.repeat(np.arange(len(room)), self.shown * (room == length))
            if not len(rows):
                continue
            drawn = rng.permuted(np.tile(rows, (crew, 1)), axis=1)
            short = -len(rows) % BATCH
            drawn = np.concatenate([drawn, rng.choice(rows, (crew, short))], 1)
            texts = self.first[drawn] + rng.integers(0, self.variants[drawn])
            planned += [(length, part) for part in np.split(texts, drawn.shape[1] // BATCH, 1)]
        for place in rng.permutation(len(planned)):
            yield planned[place]


def forward(
    params: Mapping,
    rows: jax.Array,
    mask: jax.Array,
    key: jax.Array | None = None,
    kind: jnp.dtype = jnp.float32,
) -> jax.Array:
    """Logits (batch, questions) of embedded texts ``rows`` (batch, length, width).

    ``kind``: what the matrices are multiplied in; sums and norms stay float32.
    """
    count = len(params["layers"]["qkv"])
    keys = None if key is None else jax.random.split(key, 2 * count + 2)
    x = _norm(rows, params["norm_gain"], params["norm_offset"])
    x = _drop(x, None if keys is None else keys[-1])
    batch, length, width = x.shape
    hidden = (1 - mask)[:, None, None, :] * -1e9

    def through(x, given):
        layer, own = given
        near = {name: part.astype(kind) for name, part in layer.items()}
        query, key_rows, value = (
            part.reshape(batch, length, HEADS, width // HEADS).transpose(0, 2, 1, 3)
            for part in jnp.split(x.astype(kind) @ near["qkv"] + near["qkv_bias"], 3, -1)
        )
        scores = (query @ key_rows.transpose(0, 1, 3, 2)).astype(jnp.float32)
        weights = jax.nn.softmax(scores / np.sqrt(width // HEADS) + hidden, -1).astype(kind)
        seen = (weights @ value).transpose(0, 2, 1, 3)
        seen = seen.reshape(batch, length, width) @ near["attention_out"]
        seen = _drop(seen + near["attention_out_bias"], None if own is None else own[0])
        x = _norm(x + seen, layer["norm1_gain"], layer["norm1_offset"])
        wide = x.astype(kind) @ near["widen"] + near["widen_bias"]
        back = jax.nn.gelu(wide, approximate=True) @ near["narrow"] + near["narrow_bias"]
        back = _drop(back, None if own is None else own[1])
        return _norm(x + back, layer["norm2_gain"], layer["norm2_offset"]), None

    pairs = None if keys is None else keys[: 2 * count].reshape(count, 2, *keys.shape[1:])
    x, _ = jax.lax.scan(through, x, (params["layers"], pairs))
    seen_words = mask[:, :, None]
    mean = (x * seen_words).sum(1) / seen_words.sum(1)
    highest = jnp.where(seen_words > 0, x, -1e9).max(1)
    pooled = jnp.concatenate([mean, highest], -1)
    pooled = _drop(pooled, None if keys is None else keys[-2])
    return pooled @ params["head"] + params["head_bias"]


def _norm(x: jax.Array, gain: jax.Array, offset: jax.Array) -> jax.Array:
    mean = x.mean(-1, keepdims=True)
    spread = ((x - mean) ** 2).mean(-1, keepdims=True)
    return (x - mean) * jax.lax.rsqrt(spread + 1e-12) * gain + offset


def _drop(x: jax.Array, key: jax.Array | None) -> jax.Array:
    if key is None:
        return x
    return jnp.where(jax.random.bernoulli(key, 1 - DROPOUT, x.shape), x / (1 - DROPOUT), 0)


def loss(params: Mapping, rows, mask, answers, counts, key) -> jax.Array:
    """Cross-entropy: any sign (twice), an emergency (half), each sign (0.3 together)."""
    logits = forward(params, rows, mask, key, QUICK)
    main = jnp.arange(answers.shape[1]) < 2
    wanted = answers * (1 - 2 * SMOOTHING) + SMOOTHING * main
    cross = jnp.maximum(logits, 0) - logits * wanted + jnp.log1p(jnp.exp(-jnp.abs(logits)))
    each = cross[:, 0] * 2.0 + cross[:, 1] * 0.5 + cross[:, 2:].sum(1) * 0.3
    return (each * counts).sum() / jnp.maximum(counts.sum(), 1)


@jax.tree_util.register_dataclass
@dataclass(frozen=True)
class Embedding:
    """Texts as rows of numbers: what training leaves as it was published."""

    words: jax.Array
    positions: jax.Array
    texts: jax.Array

    @classmethod
    def of(cls, arrays: Mapping[str, np.ndarray], texts: Texts) -> "Embedding":
        """Put the word rows of a weights file and the texts where they are computed with."""
        words = arrays["words"].astype(np.float32) * arrays["words_scale"][:, None]
        positions = arrays["positions"].astype(np.float32)
        pieces = texts.pieces.astype(np.int32)
        return cls(jnp.asarray(words), jnp.asarray(positions), jnp.asarray(pieces))

    def __call__(self, chosen: jax.Array, length: int, key: jax.Array | None = None):
        """Rows (batch, length, width) and mask (batch, length) of the texts ``chosen``."""
        ids = self.texts[chosen][:, :length]
        mask = ids >= 0
        rows = self.words[jnp.maximum(ids, 0)] + self.positions[:length]
        if key is not None:
            in_text, in_piece = jax.random.split(key)
            poor = jax.random.bernoulli(in_text, HIDDEN_TEXTS, (len(chosen), 1))
            gone = poor & jax.random.bernoulli(in_piece, HIDDEN_PIECES, ids.shape)
            mask = mask & ~gone.at[:, 0].set(False)
        return rows, mask.astype(jnp.float32)


class Learner:
    """A crew in training: AdamW (Loshchilov and Hutter 2019), warmed up, falling to 2 %."""

    def __init__(self, crew: Params, steps: int, rate: float) -> None:
        self.crew = crew
        self._steps, self._rate, self._done = steps, rate, 0
        self._mean = jax.tree.map(jnp.zeros_like, crew)
        self._square = jax.tree.map(jnp.zeros_like, crew)

    def take(self, rows, mask, answers, counts, keys) -> jax.Array:
        """One step of every model, on arrays with an axis more than ``loss`` takes; its loss."""
        self._done += 1
        part = self._done / self._steps
        rate = self._rate * min(1.0, part * 10) * max(0.02, 1 - part)
        given = (rows, mask, answers, counts, keys)
        self.crew, self._mean, self._square, cost = _step(
            self.crew, self._mean, self._square, float(self._done), rate, given
        )
        return cost


@jax.jit
def _step(crew, mean, square, done, rate, given):
    return jax.vmap(_step_of_one, (0, 0, 0, None, None, 0))(crew, mean, square, done, rate, given)


def _step_of_one(params, mean, square, done, rate, given):
    cost, grads = jax.value_and_grad(loss)(params, *given)
    size = jnp.sqrt(sum(jnp.sum(g * g) for g in jax.tree.leaves(grads)))
    grads = jax.tree.map(lambda g: g * jnp.minimum(1, 1.0 / size), grads)
    mean = jax.tree.map(lambda m, g: 0.9 * m + 0.1 * g, mean, grads)
    square = jax.tree.map(lambda s, g: 0.999 * s + 0.001 * g * g, square, grads)
    rates = {
        name: jax.tree.map(lambda _, n=name: HEAD_RATE if n.startswith("head") else 1.0, value)
        for name, value in params.items()
    }

    def moved(value, m, s, own):
        toward = (m / (1 - 0.9**done)) / (jnp.sqrt(s / (1 - 0.999**done)) + 1e-8)
        return value - rate * own * (toward + WEIGHT_DECAY * value / jnp.maximum(own, 1))

    return jax.tree.map(moved, params, mean, square, rates), mean, square, cost


def crew_of(models: Sequence[Params]) -> Params:
    """A crew of ``models``, all of one shape."""
    return jax.tree.map(lambda *parts: jnp.stack(parts), *models)


def member(crew: Params, place: int) -> Params:
    """One model of a crew."""
    return jax.tree.map(lambda part: part[place], crew)


@partial(jax.jit, static_argnums=3)
def _read(params: Params, embedding: Embedding, chosen: jax.Array, length: int) -> jax.Array:
    return forward(params, *embedding(chosen, length))


def opinions_of(model: Params, texts: Texts, embedding: Embedding) -> np.ndarray:
    """Logits (R, Q) of one model on each row as it was written."""
    room = texts.room()
    logits = np.zeros(texts.answers.shape, np.float32)
    for length in LENGTHS:
        rows = np.flatnonzero(room == length)
        for begin in range(0, len(rows), 8 * BATCH):
            part = rows[begin : begin + 8 * BATCH]
            filled = jnp.asarray(texts.first[np.resize(part, 8 * BATCH)])
            logits[part] = np.asarray(_read(model, embedding, filled, length))[: len(part)]
    return logits


def _mean_opinion(teachers: Params, rows: jax.Array, mask: jax.Array) -> jax.Array:
    """Chances (students, batch, questions): the mean of each student's own teachers.

    ``teachers`` has two axes more than a model: students, teachers; ``rows`` one more.
    """
    quickly = partial(forward, kind=QUICK)
    of_each = jax.vmap(jax.vmap(quickly, (0, None, None)), (0, 0, 0))
    return jax.nn.sigmoid(of_each(teachers, rows, mask)).mean(1)


mean_opinion = jax.jit(_mean_opinion)
