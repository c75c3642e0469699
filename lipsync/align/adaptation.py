"""Adapts the acoustic model to a voice: one linear transform of its means for each feature stream.

In: the model, and lines of one voice as they were aligned: features of each step, phonemes and where they lie. Out: the
transform under which they are likeliest, drawn towards none where there is little to learn it from.

Source: maximum likelihood linear regression, one class for all phonemes (Leggetter and Woodland 1995, Computer Speech
and Language 9(2):171-185), here with a prior of `CAUTION` ticks that stand for no change, in each row of the matrix.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lipsync.align.acoustic_model import STREAMS, WIDTH, AcousticModel, Floats, terms_of
from lipsync.audio.features import PER_TICK

CAUTION = 300.0  # ticks


@dataclass(frozen=True, slots=True, eq=False)
class Accumulated:
    """What a transform is computed from; sums over lines are sums of these.

    Attributes:
        square: (stream, width, 1 + width, 1 + width), the weighed outer products of the means.
        cross: (stream, width, 1 + width), the weighed means times what was heard.
        ticks: how much was heard.
    """

    square: Floats
    cross: Floats
    ticks: float

    def __add__(self, other: Accumulated) -> Accumulated:
        return Accumulated(self.square + other.square, self.cross + other.cross, self.ticks + other.ticks)


def accumulated(
    model: AcousticModel, features: Floats, phones: Sequence[tuple[str, float, float]]
) -> Accumulated:
    """Return what phones, with the ticks between which they lie, tell of a voice; features are one row a tick."""
    square = np.zeros((STREAMS, WIDTH, 1 + WIDTH, 1 + WIDTH))
    cross = np.zeros((STREAMS, WIDTH, 1 + WIDTH))
    heard = 0
    for symbol in sorted({symbol for symbol, _, _ in phones}):
        rows = np.concatenate([
            np.arange(round(start), max(round(start) + 1, round(end)))
            for own, start, end in phones
            if own == symbol
        ])
        rows = rows[rows < len(features)]
        if not len(rows):
            continue
        heard += len(rows)
        shares = model.occupancy(terms_of(features[rows]), symbol, model.states(symbol))  # (stream, row, gaussian)
        mean, inverse = model.gaussians(symbol)
        extended = np.concatenate([np.ones((STREAMS, mean.shape[1], 1)), mean], axis=2)  # (stream, gaussian, 1 + width)
        own = features[rows].reshape(-1, STREAMS, WIDTH)
        count = shares.sum(axis=1)
        summed = np.einsum("srg,rsi->sgi", shares, own)
        square += np.einsum("sg,sgi,sga,sgb->siab", count, inverse, extended, extended, optimize=True)
        cross += np.einsum("sgi,sgi,sga->sia", inverse, summed, extended, optimize=True)
    return Accumulated(square, cross, float(heard))


def transform_of(heard: Accumulated, caution: float = CAUTION) -> Floats:
    """Return the transform: for each stream a matrix (width, 1 + width), the first column what is added."""
    none = np.concatenate([np.zeros((WIDTH, 1)), np.eye(WIDTH)], axis=1)
    out = np.empty((STREAMS, WIDTH, 1 + WIDTH))
    for stream in range(STREAMS):
        for row in range(WIDTH):
            square = heard.square[stream, row]
            prior = caution / max(1.0, heard.ticks) * np.diag(np.diag(square)) + 1e-9 * np.eye(1 + WIDTH)
            out[stream, row] = np.linalg.solve(square + prior, heard.cross[stream, row] + prior @ none[row])
    return out


def features_a_tick(features: Floats) -> Floats:
    """Return every second row."""
    return features[::PER_TICK]
