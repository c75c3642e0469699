"""Computes the acoustic features that the recogniser's model was trained on, at steps of 5 ms.

In: samples (one channel, 16 kHz). Out: for each step 39 numbers: 13 cepstra, their slopes and their curvatures.

Conventions: row k is centred at k * 5 ms. The constants are those of the model (its file feat.params: 130 to 6800 Hz,
25 filters, lifter 22, noise removal, mean over the whole recording) and the recogniser's defaults. At steps of 10 ms
(ticks) the cepstra agree with those of the recogniser to 0.01. Noise removal treats the even and the odd rows as two
separate series, because its constants are for steps of one tick.

Sources: mel scale 2595 log10(1 + f / 700), cepstra by cosine transform: Davis & Mermelstein (1980), IEEE Trans. ASSP
28(4):357-366, as the recogniser does it; noise removal: Kim & Stern (2010), "Feature extraction for robust speech
recognition based on maximizing the sharpness of the power distribution", ICASSP, as the recogniser does it.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

RATE_HZ = 16_000
STEP = 80  # samples between rows
STEP_US = 5_000
PER_TICK = 2  # rows in a tick
WINDOW, FFT = 410, 512  # samples
FILTERS, CEPSTRA = 25, 13
PRE_EMPHASIS = 0.97
MEL_LOW_HZ, MEL_HIGH_HZ = 130.0, 6800.0
LIFTER_LENGTH = 22

AROUND = 2  # rows: `change_of` compares what is so far before and after

# Noise removal. The numbers and, in brackets, their names are those of Kim & Stern.
_POWER_KEPT, _POWER_ADDED = 0.7, 0.3  # of the medium-time power at each tick (lambda, and 1 - lambda)
_SLOW_KEPT, _SLOW_ADDED = 0.995, 0.005  # of the lower envelope where it rises (lambda a)
_FAST_KEPT, _FAST_ADDED = 0.5, 0.5  # and where it falls (lambda b)
_PEAK_KEPT = 0.85  # of a peak at each tick (lambda t)
_MASKED = 0.2  # of the peak, what is heard of a sound below it (mu t)
_MOST_GAIN = 20.0
_BANDS_BESIDE = 4  # gains are averaged over so many bands on either side

SMALL_PRODUCT = 200_000  # multiplications; OpenBLAS starts threads above 262,144

Floats = npt.NDArray[np.float64]
Samples = npt.NDArray[np.int16]


def product(rows: npt.NDArray[Any], matrix: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """Return rows @ matrix, in blocks so small that the linear algebra behind numpy stays in one thread.

    Its threads cost twenty times what they save on products of this size, and more on a busy machine.
    """
    block, height = max(1, SMALL_PRODUCT // matrix.size), len(rows)
    out: npt.NDArray[Any] = np.empty((height, matrix.shape[1]), np.result_type(rows, matrix))
    whole = height - height % block
    np.matmul(
        rows[:whole].reshape(-1, block, rows.shape[1]), matrix, out=out[:whole].reshape(-1, block, out.shape[1])
    )
    np.matmul(rows[whole:], matrix, out=out[whole:])
    return out


def _mel_filters() -> Floats:
    """Return filters x bins of the spectrum: triangles of equal area, spaced evenly on the mel scale."""

    def mel(hz: float) -> float:
        return float(2595 * np.log10(1 + hz / 700))

    bin_hz = RATE_HZ / FFT
    corners = 700 * (10 ** (np.linspace(mel(MEL_LOW_HZ), mel(MEL_HIGH_HZ), FILTERS + 2) / 2595) - 1)
    corners = np.round(corners / bin_hz) * bin_hz
    hz = np.arange(FFT // 2 + 1) * bin_hz
    low, middle, high = (corners[k : k + FILTERS, None] for k in range(3))
    sides = np.minimum((hz - low) / (middle - low), (high - hz) / (high - middle))
    filters: Floats = np.maximum(0, sides) * 2 / (high - low)
    return filters


def _cosines() -> Floats:
    """Return the cosine transform, cepstra x filters."""
    table: Floats = np.cos(np.pi * np.arange(CEPSTRA)[:, None] * (np.arange(FILTERS) + 0.5) / FILTERS) * np.sqrt(
        2 / FILTERS
    )
    table[0] *= np.sqrt(0.5)
    return table


MEL = _mel_filters().T
COSINES = _cosines().T
LIFTER = 1 + LIFTER_LENGTH // 2 * np.sin(np.pi * np.arange(CEPSTRA) / LIFTER_LENGTH)


def mel_powers(samples: Samples) -> Floats:
    """Return steps x `FILTERS`: the power in each mel band at each step, windows centred on the steps."""
    sound = samples.astype(np.float64)
    sound[1:] -= PRE_EMPHASIS * samples[:-1]
    padded = np.pad(sound, (WINDOW // 2, WINDOW))
    windows = np.lib.stride_tricks.sliding_window_view(padded, WINDOW)[: len(sound) + 1 : STEP]
    powers: Floats = product(np.abs(np.fft.rfft(windows * np.hamming(WINDOW), FFT)) ** 2, MEL)
    return powers


def change_of(powers: Floats) -> Floats:
    """Return by how many dB the spectrum changes around each step, in the mean over bands.

    The spectra 10 ms before the step and 10 ms after it are compared.

    Power that is more than 40 dB below the 99th percentile hardly counts.
    """
    level = 10 * np.log10(powers + 1e-4 * np.percentile(powers.mean(axis=1), 99) + 1e-4)
    change = np.zeros(len(level))
    if len(level) > 2 * AROUND:
        change[AROUND:-AROUND] = np.abs(level[2 * AROUND :] - level[: -2 * AROUND]).mean(axis=1)
    return change


def features_of(powers: Floats) -> Floats:
    """Return steps x 39 from the mel powers: cepstra, slopes and curvatures."""
    ticks = -(-len(powers) // PER_TICK)
    grids = np.pad(powers, ((0, ticks * PER_TICK - len(powers)), (0, 0)), "edge").reshape(ticks, PER_TICK, FILTERS)
    cleaned = _without_noise(grids).reshape(-1, FILTERS)[: len(powers)]
    cepstra = product(np.log(cleaned + 1e-4), COSINES) * LIFTER
    cepstra -= cepstra.mean(axis=0)

    def ahead(by_ticks: int) -> Floats:
        rows: Floats = cepstra[np.clip(np.arange(len(cepstra)) + by_ticks * PER_TICK, 0, len(cepstra) - 1)]
        return rows

    return np.hstack([cepstra, ahead(2) - ahead(-2), ahead(3) - ahead(-1) - ahead(1) + ahead(-3)])


def _without_noise(powers: Floats) -> Floats:
    """Return the powers without noise: ticks x series x bands, as they came in.

    A lower envelope that rises slowly is the noise; it is subtracted. What follows a peak and is far below it is
    masked. The gains that result are smoothed over neighbouring bands.
    """
    bands = np.arange(FILTERS)
    low, high = np.maximum(bands - _BANDS_BESIDE, 0), np.minimum(bands + _BANDS_BESIDE, FILTERS - 1) + 1
    power = _smoothed(_POWER_ADDED * powers, powers[0])
    signal = np.maximum(power - _envelope(power, powers[0] / _MOST_GAIN), 1.0)
    peak = _peak(signal)
    masked = np.where(signal < _PEAK_KEPT * peak, _MASKED * peak, signal)
    heard = np.maximum(masked, _envelope(signal, powers[0] / _MOST_GAIN))
    gains = np.minimum(np.maximum(heard / np.maximum(power, 1e-30), 1 / _MOST_GAIN), _MOST_GAIN)
    summed = np.pad(np.cumsum(gains, axis=-1), ((0, 0), (0, 0), (1, 0)))
    smooth: Floats = powers * (summed[..., high] - summed[..., low]) / (high - low)
    return smooth


def _smoothed(added: Floats, first: Floats) -> Floats:
    """Return the power smoothed over ticks: at each tick what is added, and `_POWER_KEPT` of the tick before."""
    out, now = np.empty_like(added), first
    for new, row in zip(added, out, strict=True):
        np.multiply(now, _POWER_KEPT, out=row)
        row += new
        now = row
    return out


def _envelope(values: Floats, first: Floats) -> Floats:
    """Return the lower envelope of values over ticks, which rises slowly and falls fast."""
    slow, fast = _SLOW_ADDED * values, _FAST_ADDED * values
    out, now, spare = np.empty_like(values), first, np.empty_like(first)
    for up, down, row in zip(slow, fast, out, strict=True):
        np.multiply(now, _SLOW_KEPT, out=row)
        row += up
        np.multiply(now, _FAST_KEPT, out=spare)
        spare += down
        np.minimum(row, spare, out=row)
        now = row
    return out


def _peak(signal: Floats) -> Floats:
    """Return at each tick what is left of the highest peak before it."""
    out, now = np.empty_like(signal), np.zeros_like(signal[0])
    for own, row in zip(signal, out, strict=True):
        np.multiply(now, _PEAK_KEPT, out=row)
        now = np.maximum(row, own)
    return out
