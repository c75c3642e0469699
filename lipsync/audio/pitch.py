"""Finds the pitch (fundamental frequency) of a voice in spans of a recording.

In: samples and spans of time. Out: for each span a frequency in Hz, None where the sound has no pitch (a whisper, a
breath, noise). The pitch of a span is the median over its windows, so that one octave error does not decide.

The method is the autocorrelation of a windowed stretch divided by that of the window itself: Boersma (1993),
"Accurate short-term analysis of the fundamental frequency and the harmonics-to-noise ratio of a sampled sound",
Proceedings of the Institute of Phonetic Sciences 17:97-110. Chosen here: the range, wide enough for puppets' voices,
and the least strength of a period.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from statistics import median

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from lipsync.audio.features import Floats, Samples
from lipsync.timing import US_PER_S

LOWEST_HZ = 60.0
HIGHEST_HZ = 700.0

# Correlation of a voice from one period to the next, at least; that of noise is lower. Chosen.
_LEAST_STRENGTH = 0.5

# How much more an octave lower must correlate to be taken: twice the true period fits as well as the true one.
# Chosen.
_OCTAVE_COST = 0.03

# Values of the autocorrelation for each sample: the period of a high voice is only a few samples long.
_FINER = 4

# Three of the longest periods; and the distance of one window from the next.
_WINDOW_US = 50_000
_STEP_US = 10_000

_AT_ONCE = 64  # chosen: so many windows take a few megabytes


def pitches_hz(samples: Samples, rate_hz: int, spans: Sequence[tuple[int, int]]) -> tuple[float | None, ...]:
    """Return the pitch of each span of microseconds, to a tenth of a Hz; None where it has none."""
    middles = [_middles(*span) for span in spans]
    found = iter(_pitches_at(samples, rate_hz, [middle for of_span in middles for middle in of_span]))
    return tuple(_of_most([next(found) for _ in of_span]) for of_span in middles)


def _middles(start_us: int, end_us: int) -> range:
    """Return the middles of a span's windows; one that is shorter than a window has one, around its middle."""
    margin_us = min(_WINDOW_US, end_us - start_us) // 2
    return range(start_us + margin_us, max(start_us + margin_us + 1, end_us - margin_us + 1), _STEP_US)


def _of_most(pitches: Sequence[float]) -> float | None:
    """Return the median of a span's pitches, 0 where a window has none; None unless half of them or more have one."""
    found = [hz for hz in pitches if hz]
    return round(median(found), 1) if 2 * len(found) >= len(pitches) else None


def _pitches_at(samples: Samples, rate_hz: int, middles_us: Sequence[int]) -> list[float]:
    """Return the pitch of each window; 0 where it has none, or reaches beyond the sound."""
    size = rate_hz * _WINDOW_US // US_PER_S
    firsts = np.maximum(0, np.array(middles_us, int) * rate_hz // US_PER_S - size // 2)
    within = np.flatnonzero(firsts + size <= len(samples))
    found = np.zeros(len(firsts))
    for at in range(0, len(within), _AT_ONCE):
        block = within[at : at + _AT_ONCE]
        found[block] = _pitches(sliding_window_view(samples, size)[firsts[block]].astype(np.float64), rate_hz)
    pitches: list[float] = found.tolist()
    return pitches


def _pitches(parts: Floats, rate_hz: int) -> Floats:
    """Return the pitch of each row of samples; 0 where it has none."""
    window, of_window = _window(parts.shape[1])
    correlation = _correlation((parts - parts.mean(axis=1, keepdims=True)) * window)
    shortest, longest = int(_FINER * rate_hz / HIGHEST_HZ), int(_FINER * rate_hz / LOWEST_HZ)
    power = np.where(correlation[:, :1] > 0, correlation[:, :1], np.inf)
    strength = correlation[:, : longest + 2] / power / of_window[: longest + 2]
    before, here, after = strength[:, shortest - 1 : -2], strength[:, shortest:-1], strength[:, shortest + 1 :]
    lags = np.arange(shortest, longest + 1)
    is_peak = (here > 0) & (here >= before) & (here >= after)
    best = np.where(is_peak, here - _OCTAVE_COST * np.log2(lags / shortest), -np.inf).argmax(axis=1)
    rows = np.arange(len(parts))
    period = lags[best] + _peak_offset(before[rows, best], here[rows, best], after[rows, best])
    has_one = is_peak[rows, best] & (here[rows, best] >= _LEAST_STRENGTH)
    found: Floats = np.where(has_one, _FINER * rate_hz / period, 0.0)
    return found


def _peak_offset(before: Floats, here: Floats, after: Floats) -> Floats:
    """Return how far from the middle one of three points the top of the parabola through them lies, in points."""
    bend = before - 2 * here + after
    offset: Floats = np.divide(0.5 * (before - after), bend, out=np.zeros_like(bend), where=bend < 0)
    return offset


def _correlation(parts: Floats) -> Floats:
    """Return the autocorrelation of the last axis, computed by FFT, with `_FINER` values for each sample."""
    length = parts.shape[-1]
    size = 1 << (2 * length - 1).bit_length()
    return np.fft.irfft(np.abs(np.fft.rfft(parts, size)) ** 2, _FINER * size)[..., : _FINER * length]


@lru_cache(maxsize=4)
def _window(size: int) -> tuple[Floats, Floats]:
    """Return a Hann window, and its autocorrelation scaled to 1 at lag 0."""
    window = np.hanning(size + 2)[1:-1]
    own = _correlation(window)
    return window, own / own[0]
