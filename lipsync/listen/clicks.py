"""Takes out clicks in silence before the recogniser hears a recording: a tongue's, a finger's on the microphone.

In and out: samples (one channel, 16 kHz, 16 bits), the same number. A click is a sound of at most 20 ms that stands
out by `STANDS_OUT_DB` from all that is from 15 to 100 ms before it, and behind it; it is brought down to that. A
stop's burst is none: the voice follows sooner, or it is let go less than 100 ms after the voice before it.

Why: the recogniser's noise removal hears an echo of whatever is loud (`features.py`), and behind a click in a quiet
room one of half a second, into which a soft consonant was stretched.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from lipsync.listen.features import STEP, Floats, Samples

FROM, TO = 3, 20  # steps: around a click, where it must be quiet
STANDS_OUT_DB = 15.0  # chosen
QUIETEST_DB = 10.0  # over one unit of 16 bits: below it nothing is a click


def without_clicks(samples: Samples) -> Samples:
    """Return the samples with clicks brought down to what is around them; the same samples where there are none.

    >>> room = np.resize(np.array([10, -10], np.int16), 16_000)
    >>> clicked = room.copy(); clicked[8_000:8_080] = 9_000
    >>> int(without_clicks(clicked).max()), without_clicks(room) is room
    (10, True)
    """
    steps = len(samples) // STEP
    if steps < 2 * TO:
        return samples
    level = _levels_db(samples, steps)
    beside = sliding_window_view(np.pad(level, TO, constant_values=-np.inf), 2 * TO + 1)
    around = np.maximum(beside[:, : TO - FROM + 1].max(axis=1), beside[:, TO + FROM :].max(axis=1))
    over = level - np.maximum(around, QUIETEST_DB)
    clicks = np.flatnonzero(over >= STANDS_OUT_DB)
    if not clicks.size:
        return samples
    out = samples.copy()
    for click in clicks.tolist():
        for step in range(max(0, click - FROM + 1), min(steps, click + FROM)):
            part = out[step * STEP : (step + 1) * STEP]
            down_db = max(0.0, level[step] - max(around[click], QUIETEST_DB))
            part[:] = np.rint(samples[step * STEP : (step + 1) * STEP] * 10 ** (-down_db / 20))
    return out


def _levels_db(samples: Samples, steps: int) -> Floats:
    blocks = samples[: steps * STEP].reshape(steps, STEP)
    power = np.einsum("ij,ij->i", blocks, blocks, dtype=np.float64) / STEP
    levels: Floats = 10 * np.log10(power + 1.0)
    return levels
