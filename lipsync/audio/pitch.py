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
import numpy.typing as npt

from lipsync.audio.features import Samples
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


def pitches_hz(samples: Samples, rate_hz: int, spans: Sequence[tuple[int, int]]) -> tuple[float | None, ...]:
    """Return the pitch of each span of microseconds, to a tenth of a Hz; None where it has none."""
    return tuple(_pitch(samples, rate_hz, start_us, end_us) for start_us, end_us in spans)


def _pitch(samples: Samples, rate_hz: int, start_us: int, end_us: int) -> float | None:
    # A span shorter than a window has one window, around its middle.
    margin_us = min(_WINDOW_US, end_us - start_us) // 2
    middles = range(start_us + margin_us, max(start_us + margin_us + 1, end_us - margin_us + 1), _STEP_US)
    found = [hz for middle in middles if (hz := _pitch_at(samples, rate_hz, middle)) is not None]
    # The span has a pitch if at least half of its windows have one.
    return round(median(found), 1) if 2 * len(found) >= len(middles) else None


def _pitch_at(samples: Samples, rate_hz: int, middle_us: int) -> float | None:
    size = rate_hz * _WINDOW_US // US_PER_S
    first = max(0, middle_us * rate_hz // US_PER_S - size // 2)
    part = samples[first : first + size].astype(np.float64)
    if len(part) < size:
        return None
    window, of_window = _window(size)
    part = (part - part.mean()) * window
    correlation = _correlation(part)
    if correlation[0] <= 0:
        return None
    shortest, longest = int(_FINER * rate_hz / HIGHEST_HZ), int(_FINER * rate_hz / LOWEST_HZ)
    strength = correlation[: longest + 2] / correlation[0] / of_window[: longest + 2]
    lags = np.arange(shortest, longest + 1)
    peaks = lags[(strength[lags] >= strength[lags - 1]) & (strength[lags] >= strength[lags + 1])]
    if not len(peaks):
        return None
    best = int(peaks[np.argmax(strength[peaks] - _OCTAVE_COST * np.log2(peaks / shortest))])
    if strength[best] < _LEAST_STRENGTH:
        return None
    return float(_FINER * rate_hz / (best + _peak_offset(*strength[best - 1 : best + 2])))


def _peak_offset(before: float, here: float, after: float) -> float:
    """Return how far from the middle one of three points the top of the parabola through them lies, in points."""
    bend = before - 2 * here + after
    return 0.5 * (before - after) / bend if bend < 0 else 0.0


def _correlation(part: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return the autocorrelation, computed by FFT, with `_FINER` values for each sample."""
    size = 1 << (2 * len(part) - 1).bit_length()
    return np.fft.irfft(np.abs(np.fft.rfft(part, size)) ** 2, _FINER * size)[: _FINER * len(part)]


@lru_cache(maxsize=4)
def _window(size: int) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Return a Hann window, and its autocorrelation scaled to 1 at lag 0."""
    window = np.hanning(size + 2)[1:-1]
    own = _correlation(window)
    return window, own / own[0]
