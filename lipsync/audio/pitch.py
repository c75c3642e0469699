"""How high a voice is at a place of a recording: its fundamental frequency, or nothing where there is none.

In come samples and spans of time, out a frequency in Hz for each span, None where the sound has no pitch (a whisper,
a breath, noise). The median of the windows of a span is taken, so that one slip of an octave does not decide.

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

from lipsync.timing import US_PER_S

LOWEST_HZ = 60.0
HIGHEST_HZ = 700.0

# How alike a voice is from one period to the next, at least; noise stays below it.
_LEAST_STRENGTH = 0.5

# What an octave down must gain to be believed: twice the true period fits just as well, so the shorter is taken.
_OCTAVE_COST = 0.03

# Values of the autocorrelation to a sample: a high voice has periods of few samples, and halves count.
_FINER = 4

# Three of the longest periods, and how far windows lie apart.
_WINDOW_US = 50_000
_STEP_US = 10_000

Samples = npt.NDArray[np.int16]


def pitches_hz(samples: Samples, rate_hz: int, spans: Sequence[tuple[int, int]]) -> tuple[float | None, ...]:
    """Return the pitch of each span of microseconds, to a tenth of a Hz; None where it has none."""
    return tuple(_pitch(samples, rate_hz, start_us, end_us) for start_us, end_us in spans)


def _pitch(samples: Samples, rate_hz: int, start_us: int, end_us: int) -> float | None:
    # A span shorter than a window has one, about its middle.
    margin_us = min(_WINDOW_US, end_us - start_us) // 2
    middles = range(start_us + margin_us, max(start_us + margin_us + 1, end_us - margin_us + 1), _STEP_US)
    found = [hz for middle in middles if (hz := _pitch_at(samples, rate_hz, middle)) is not None]
    # A voice is there when at least half of the windows have one.
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
    return float(_FINER * rate_hz / (best + _between(*strength[best - 1 : best + 2])))


def _between(before: float, here: float, after: float) -> float:
    """Return where the top of the parabola through three points lies, from the middle one."""
    bend = before - 2 * here + after
    return 0.5 * (before - after) / bend if bend < 0 else 0.0


def _correlation(part: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return the autocorrelation by way of the spectrum, `_FINER` values to a sample."""
    size = 1 << (2 * len(part) - 1).bit_length()
    return np.fft.irfft(np.abs(np.fft.rfft(part, size)) ** 2, _FINER * size)[: _FINER * len(part)]


@lru_cache(maxsize=4)
def _window(size: int) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Return a Hann window and its own autocorrelation, 1 at no lag."""
    window = np.hanning(size + 2)[1:-1]
    own = _correlation(window)
    return window, own / own[0]
