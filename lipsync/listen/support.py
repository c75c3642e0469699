"""Support: how well the sound fits words, against whatever phonemes fit best.

In: the acoustic model, features of each step, and phonemes with the steps between which they lie. Out: the mean, over
what is heard of a word, of the log likelihood of its phoneme less that of the best of all phonemes, each heard alone:
0 where nothing fits better, below it otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lipsync.listen.acoustic_model import PLACE, AcousticModel, Floats, terms_of

EVERY = 8  # steps; chosen: means over words are much the same as over all steps


class Fits:
    """How well each phoneme fits, every few steps."""

    def __init__(self, model: AcousticModel, features: Floats) -> None:
        """Take the features of each step."""
        fits = model.alone(terms_of(features[::EVERY])).max(axis=2)
        self._worse = fits - fits.max(axis=1, keepdims=True)  # (row, phone)

    def support(self, symbols: Sequence[str], edges: Floats) -> float:
        """Return the support of a word from its phonemes and the steps of their edges, one more."""
        first = np.ceil(edges[0] / EVERY)
        rows = np.arange(first, max(first + 1, np.ceil(edges[-1] / EVERY))).astype(int)
        phones = np.clip(np.searchsorted(edges, rows * EVERY, side="right") - 1, 0, len(symbols) - 1)
        places = np.array([PLACE[symbol] for symbol in symbols])[phones]
        return float(self._worse[np.minimum(rows, len(self._worse) - 1), places].mean())
