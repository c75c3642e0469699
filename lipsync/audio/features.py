"""What the acoustic model hears, at steps of 5 ms: the recogniser's front end, written out.

In: samples (one channel, 16 kHz). Out: for each step 39 numbers: cepstra, their slopes and their curvatures.

Conventions: row k is centred at k * 5 ms. The constants are the model's own (its file feat.params: 130 to 6800 Hz, 25
filters, lifter 22, noise removal, mean over the whole) and the recogniser's defaults; with steps of 10 ms the cepstra
agree with its own to 0.01. Noise removal runs along every second row, as if each 10 ms grid were heard alone, for its
memory counts ticks.

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
PER_TICK = 2
WINDOW, FFT, FILTERS, CEPSTRA = 410, 512, 25, 13

AROUND = 2  # steps

SMALL_PRODUCT = 200_000  # multiplications; OpenBLAS starts threads above 262,144

Floats = npt.NDArray[np.float64]
Samples = npt.NDArray[np.int16]


def product(rows: npt.NDArray[Any], matrix: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """Return rows @ matrix, in blocks so small that the linear algebra behind numpy stays in one thread.

    Its threads cost twenty times what they save on products of this size, and more on a busy machine.
    """
    block = max(1, SMALL_PRODUCT // matrix.size)
    out: npt.NDArray[Any] = np.empty((len(rows), matrix.shape[1]), np.result_type(rows, matrix))
    for at in range(0, len(rows), block):
        np.matmul(rows[at : at + block], matrix, out=out[at : at + block])
    return out


def _mel_filters(low_hz: float = 130.0, high_hz: float = 6800.0) -> Floats:
    def mel(hz: float) -> float:
        return float(2595 * np.log10(1 + hz / 700))

    bin_hz = RATE_HZ / FFT
    corners = 700 * (10 ** (np.linspace(mel(low_hz), mel(high_hz), FILTERS + 2) / 2595) - 1)
    corners = np.round(corners / bin_hz) * bin_hz
    hz = np.arange(FFT // 2 + 1) * bin_hz
    low, middle, high = (corners[k : k + FILTERS, None] for k in range(3))
    sides = np.minimum((hz - low) / (middle - low), (high - hz) / (high - middle))
    filters: Floats = np.maximum(0, sides) * 2 / (high - low)
    return filters


def _cosines() -> Floats:
    table: Floats = np.cos(np.pi * np.arange(CEPSTRA)[:, None] * (np.arange(FILTERS) + 0.5) / FILTERS) * np.sqrt(
        2 / FILTERS
    )
    table[0] *= np.sqrt(0.5)
    return table


MEL = _mel_filters().T
COSINES = _cosines().T
LIFTER = 1 + 11 * np.sin(np.pi * np.arange(CEPSTRA) / 22)


def mel_powers(samples: Samples) -> Floats:
    """Return the power in each mel band at each step, windows centred on the steps."""
    sound = samples.astype(np.float64)
    sound[1:] -= 0.97 * samples[:-1]
    padded = np.pad(sound, (WINDOW // 2, WINDOW))
    windows = np.lib.stride_tricks.sliding_window_view(padded, WINDOW)[: len(sound) + 1 : STEP]
    powers: Floats = product(np.abs(np.fft.rfft(windows * np.hamming(WINDOW), FFT)) ** 2, MEL)
    return powers


def change_of(powers: Floats) -> Floats:
    """Return by how many dB the spectrum changes from 10 ms before each step to 10 ms after it, the mean over bands.

    What is more than 40 dB below the loudest hundredth counts as nothing.
    """
    level = 10 * np.log10(powers + 1e-4 * np.percentile(powers.mean(axis=1), 99) + 1e-4)
    change = np.zeros(len(level))
    if len(level) > 2 * AROUND:
        change[AROUND:-AROUND] = np.abs(level[2 * AROUND :] - level[: -2 * AROUND]).mean(axis=1)
    return change


def features_of(powers: Floats) -> Floats:
    """Return the 39 numbers a step that the model was trained on."""
    ticks = -(-len(powers) // PER_TICK)
    grids = np.pad(powers, ((0, ticks * PER_TICK - len(powers)), (0, 0)), "edge").reshape(ticks, PER_TICK, FILTERS)
    cleaned = _without_noise(grids).reshape(-1, FILTERS)[: len(powers)]
    cepstra = product(np.log(cleaned + 1e-4), COSINES) * LIFTER
    cepstra -= cepstra.mean(axis=0)

    def ahead(ticks: int) -> Floats:
        rows: Floats = cepstra[np.clip(np.arange(len(cepstra)) + ticks * PER_TICK, 0, len(cepstra) - 1)]
        return rows

    return np.hstack([cepstra, ahead(2) - ahead(-2), ahead(3) - ahead(-1) - ahead(1) + ahead(-3)])


def _without_noise(powers: Floats) -> Floats:
    """Track a slow lower envelope as noise, mask short echoes, smooth the gains over neighbouring bands.

    In and out: (tick, grid, band).
    """
    bands = np.arange(FILTERS)
    low, high = np.maximum(bands - 4, 0), np.minimum(bands + 4, FILTERS - 1) + 1
    power = _followed(0.3 * powers, powers[0])
    signal = np.maximum(power - _envelope(power, powers[0] / 20), 1.0)
    peak = _peak(signal)
    masked = np.where(signal < 0.85 * peak, 0.2 * peak, signal)
    heard = np.maximum(masked, _envelope(signal, powers[0] / 20))
    gains = np.minimum(np.maximum(heard / np.maximum(power, 1e-30), 1 / 20), 20)
    summed = np.pad(np.cumsum(gains, axis=-1), ((0, 0), (0, 0), (1, 0)))
    smooth: Floats = powers * (summed[..., high] - summed[..., low]) / (high - low)
    return smooth


def _followed(shares: Floats, first: Floats) -> Floats:
    """Return what follows at each tick, slowly: its share of now, and 0.7 of what it was."""
    out, now = np.empty_like(shares), first
    for share, row in zip(shares, out, strict=True):
        np.multiply(now, 0.7, out=row)
        row += share
        now = row
    return out


def _envelope(values: Floats, first: Floats) -> Floats:
    """Return what follows values upwards slowly and downwards fast: the lower of the two ways to follow."""
    slow, fast = 0.005 * values, 0.5 * values
    out, now, spare = np.empty_like(values), first, np.empty_like(first)
    for up, down, row in zip(slow, fast, out, strict=True):
        np.multiply(now, 0.995, out=row)
        row += up
        np.multiply(now, 0.5, out=spare)
        spare += down
        np.minimum(row, spare, out=row)
        now = row
    return out


def _peak(signal: Floats) -> Floats:
    """Return at each tick what is left of the peaks before it."""
    out, now = np.empty_like(signal), np.zeros_like(signal[0])
    for own, row in zip(signal, out, strict=True):
        np.multiply(now, 0.85, out=row)
        now = np.maximum(row, own)
    return out
