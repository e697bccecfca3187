"""The encoder of ``core/red_flags/second_opinion.py``, trainable: forward pass, loss and steps.

Needs jax, which the project does not depend on: it is used to make the weights, never to run them.
Word and position rows stay as they were published, so that words that no training text holds
keep their place beside their like.
"""

from collections.abc import Iterator, Mapping, Sequence

import jax
import jax.numpy as jnp
import numpy as np

HEADS = 12
LENGTHS = (16, 24, 32, 48, 64, 96)
BATCH = 32
DROPOUT = 0.1
SMOOTHING = 0.02  # the two main questions are trained toward 0.02 and 0.98
WEIGHT_DECAY = 0.01
HEAD_RATE = 10.0  # the head starts from nothing and learns faster than the layers

Params = dict[str, object]


def forward(params: Mapping, rows: jax.Array, mask: jax.Array, key: jax.Array | None = None):
    """Logits (batch, questions) of embedded texts ``rows`` (batch, length, width)."""
    count = sum(name.startswith("layer") for name in params)
    keys = jax.random.split(key, 2 * count + 2) if key is not None else [None] * (2 * count + 2)
    x = _drop(_norm(rows, params["norm_gain"], params["norm_offset"]), keys[-1])
    batch, length, width = x.shape
    hidden = (1 - mask)[:, None, None, :] * -1e9
    for index in range(count):
        layer = params[f"layer{index}"]
        query, key_rows, value = (
            part.reshape(batch, length, HEADS, width // HEADS).transpose(0, 2, 1, 3)
            for part in jnp.split(x @ layer["qkv"] + layer["qkv_bias"], 3, -1)
        )
        scores = query @ key_rows.transpose(0, 1, 3, 2) / np.sqrt(width // HEADS) + hidden
        seen = (jax.nn.softmax(scores, -1) @ value).transpose(0, 2, 1, 3)
        seen = seen.reshape(batch, length, width) @ layer["attention_out"]
        seen = _drop(seen + layer["attention_out_bias"], keys[2 * index])
        x = _norm(x + seen, layer["norm1_gain"], layer["norm1_offset"])
        wide = jax.nn.gelu(x @ layer["widen"] + layer["widen_bias"], approximate=True)
        back = _drop(wide @ layer["narrow"] + layer["narrow_bias"], keys[2 * index + 1])
        x = _norm(x + back, layer["norm2_gain"], layer["norm2_offset"])
    seen_words = mask[:, :, None]
    mean = (x * seen_words).sum(1) / seen_words.sum(1)
    highest = jnp.where(seen_words > 0, x, -1e9).max(1)
    pooled = _drop(jnp.concatenate([mean, highest], -1), keys[-2])
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
    logits = forward(params, rows, mask, key)
    main = jnp.arange(answers.shape[1]) < 2
    wanted = answers * (1 - 2 * SMOOTHING) + SMOOTHING * main
    cross = jnp.maximum(logits, 0) - logits * wanted + jnp.log1p(jnp.exp(-jnp.abs(logits)))
    each = cross[:, 0] * 2.0 + cross[:, 1] * 0.5 + cross[:, 2:].sum(1) * 0.3
    return (each * counts).sum() / counts.sum()


def batches(
    texts: Sequence[tuple[list[int], np.ndarray]], embed, rng
) -> Iterator[tuple[np.ndarray, ...]]:
    """Shuffled batches of texts of like length: rows, mask, answers, counts."""
    order = list(range(len(texts)))
    rng.shuffle(order)
    groups: list[list[int]] = []
    for begin in range(0, len(order), BATCH * 16):
        chunk = sorted(order[begin : begin + BATCH * 16], key=lambda i: len(texts[i][0]))
        groups.extend(chunk[i : i + BATCH] for i in range(0, len(chunk), BATCH))
    rng.shuffle(groups)
    for group in groups:
        length = next(n for n in LENGTHS if n >= max(len(texts[i][0]) for i in group))
        width, questions = embed([0]).shape[1], len(texts[0][1])
        rows = np.zeros((BATCH, length, width), np.float32)
        mask = np.zeros((BATCH, length), np.float32)
        mask[:, 0] = 1
        answers = np.zeros((BATCH, questions), np.float32)
        counts = np.zeros(BATCH, np.float32)
        for place, index in enumerate(group):
            ids, answer = texts[index]
            rows[place, : len(ids)], mask[place, : len(ids)] = embed(ids), 1
            answers[place], counts[place] = answer, 1
        yield rows, mask, answers, counts


class Trainer:
    """AdamW (Loshchilov and Hutter 2019) with a warm-up of a tenth and a straight fall to 2 %."""

    def __init__(self, params: Params, steps: int, rate: float, seed: int) -> None:
        self.params = params
        self._steps, self._rate, self._done = steps, rate, 0
        self._key = jax.random.PRNGKey(seed)
        self._mean = jax.tree.map(jnp.zeros_like, params)
        self._square = jax.tree.map(jnp.zeros_like, params)
        self._step = jax.jit(self._make_step())

    def _make_step(self):
        rates = {
            name: jax.tree.map(lambda _: 1.0, value)
            if isinstance(value, dict)
            else (HEAD_RATE if name.startswith("head") else 1.0)
            for name, value in self.params.items()
        }
        slope = jax.value_and_grad(loss)

        def step(params, mean, square, done, rate, batch, key):
            cost, grads = slope(params, *batch, key)
            size = jnp.sqrt(sum(jnp.sum(g * g) for g in jax.tree.leaves(grads)))
            grads = jax.tree.map(lambda g: g * jnp.minimum(1, 1.0 / size), grads)
            mean = jax.tree.map(lambda m, g: 0.9 * m + 0.1 * g, mean, grads)
            square = jax.tree.map(lambda s, g: 0.999 * s + 0.001 * g * g, square, grads)

            def moved(value, m, s, own):
                toward = (m / (1 - 0.9**done)) / (jnp.sqrt(s / (1 - 0.999**done)) + 1e-8)
                return value - rate * own * (toward + WEIGHT_DECAY * value / jnp.maximum(own, 1))

            return jax.tree.map(moved, params, mean, square, rates), mean, square, cost

        return step

    def take(self, batch: tuple[np.ndarray, ...]) -> float:
        """One step; returns the loss."""
        self._done += 1
        part = self._done / self._steps
        rate = self._rate * min(1.0, part * 10) * max(0.02, 1 - part)
        self._key, key = jax.random.split(self._key)
        self.params, self._mean, self._square, cost = self._step(
            self.params, self._mean, self._square, float(self._done), rate, batch, key
        )
        return float(cost)
