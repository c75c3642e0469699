"""Two measures of fit: the support of a word by the sound, and the penalty for a silence at each step.

Support (`Fits`) says how well the sound fits a word's phonemes, compared with whatever phonemes fit best. In: the
acoustic model, features of each step, and phonemes with the steps between which they lie. Out: the mean, over the
steps of a word, of the log likelihood of its phoneme minus that of the best of all phonemes, each without regard to
its neighbours: 0 where no phoneme fits better, below 0 otherwise.

The penalty (`unlikely_silence`) says how much the sound speaks against a silence: where it is voiced, loud and
clearly above the room's own sound, there is no silence. In: samples and their mel powers. Out: for each step of 5 ms
how much log likelihood a silence loses there; below 0, where only the room is heard, how much it gains. It is needed
because the recogniser's silence is trained on many rooms, and swallows weak words such as "um". A sound far below the
line's own level gets no penalty, even if voiced: it may be somebody else in the room, or the end of another take.

Voicing is measured as the peak of the autocorrelation divided by that of the window (Boersma 1993, Proceedings of the
Institute of Phonetic Sciences Amsterdam 17:97-110), here for pitches of 71 to 400 Hz in the sound below 1 kHz. The
thresholds are chosen.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lipsync.align.acoustic_model import PHONES, PLACE, AcousticModel, Floats, terms_of
from lipsync.audio.features import RATE_HZ, STEP, Samples

EVERY = 8  # only each eighth step is scored; chosen: the mean over a word is much the same as over all its steps


class Fits:
    """How well each phoneme fits at each `EVERY`-th step."""

    def __init__(self, model: AcousticModel, features: Floats) -> None:
        """Score the features, which have a row for each step."""
        terms = terms_of(features[::EVERY])
        fits = model.alone(model.densities(terms, phone) for phone in PHONES).max(axis=2)
        self._worse = fits - fits.max(axis=1, keepdims=True)  # (row, phone)

    def support(self, symbols: Sequence[str], edges: Floats) -> float:
        """Return the support of a word from its phonemes and their edges in steps: each start, then the last end."""
        first = np.ceil(edges[0] / EVERY)
        rows = np.arange(first, max(first + 1, np.ceil(edges[-1] / EVERY))).astype(int)
        phones = np.clip(np.searchsorted(edges, rows * EVERY, side="right") - 1, 0, len(symbols) - 1)
        places = np.array([PLACE[symbol] for symbol in symbols])[phones]
        return float(self._worse[np.minimum(rows, len(self._worse) - 1), places].mean())


VOICED, VOICED_STEP = 0.4, 0.2  # voicing from which the penalty begins, and in which it rises to its full value
STANDS_OUT_DB, MOST_DB = 3.0, 6.0  # above the room: where the penalty begins, and how much more than that counts
FAR_BELOW_DB, BELOW_DB = 20.0, 12.0  # below the line's loudest: from here on no penalty, and up to here the full one
WEIGHT = 2.0  # log likelihood for each decibel
ROOM = 10.0  # log likelihood that a silence gains where only the room is heard; 5 to 20 make no difference

_SLOWER = 4  # voicing is measured at a quarter of the rate, 4 kHz
_WIDTH = RATE_HZ // _SLOWER * 40 // 1000  # 40 ms
_FFT = 256  # more than the width and the longest lag together
_LAGS = slice(RATE_HZ // _SLOWER // 400, RATE_HZ // _SLOWER // 71)


def unlikely_silence(samples: Samples, powers: Floats) -> Floats:
    """Return the penalty in log likelihood for a silence at each step, smoothed over 45 ms."""
    smooth = np.ones(9) / 9
    voiced = np.convolve(voicing(samples), smooth, "same")[: len(powers)]
    loud = np.convolve(_prominence_db(powers), smooth, "same")[: len(powers)]
    penalty: Floats = (
        WEIGHT * np.clip(loud - STANDS_OUT_DB, 0, MOST_DB) * np.clip((voiced - VOICED) / VOICED_STEP, 0, 1)
    )
    return penalty * _loudness(powers) - ROOM * _only_the_room(powers)


def _only_the_room(powers: Floats) -> Floats:
    """Return 1 for steps that are no louder than the recording's own floor, 0 for those clearly above it."""
    loud = np.convolve(_prominence_db(powers), np.ones(5) / 5, "same")
    room: Floats = np.clip(1 - loud / STANDS_OUT_DB, 0, 1)
    return room


def _loudness(powers: Floats) -> Floats:
    """Return 0 for steps far below the level of the recording's loudest fiftieth, 1 for those near it or above."""
    level = np.convolve((10 * np.log10(powers + 1e-4)).mean(axis=1), np.ones(9) / 9, "same")
    loud: Floats = np.clip((level - np.percentile(level, 98) + FAR_BELOW_DB) / (FAR_BELOW_DB - BELOW_DB), 0, 1)
    return loud


def _prominence_db(powers: Floats) -> Floats:
    """Return how far each step is above the recording's own floor: the mean over the bands, 0 to 30 dB in each."""
    level = 10 * np.log10(powers + 1e-4)
    mean: Floats = np.clip(level - np.percentile(level, 7, axis=0), 0, 30).mean(axis=1)
    return mean


def voicing(samples: Samples) -> Floats:
    """Return how periodic each step is, 0 to about 1."""
    sound = _running_mean(samples.astype(np.float64), 17)
    sound = (sound - _running_mean(sound, 321))[::_SLOWER]
    padded = np.pad(sound, (_WIDTH // 2, _WIDTH + STEP))
    rows = (np.arange(len(samples) // STEP + 1) * (STEP // _SLOWER))[:, None] + np.arange(_WIDTH)
    shape = np.hanning(_WIDTH)
    own, window = (np.fft.irfft(np.abs(np.fft.rfft(part, _FFT)) ** 2) for part in (padded[rows] * shape, shape))
    peaks: Floats = (own[:, _LAGS] / (own[:, :1] + 1e-9) / (window[_LAGS] / window[0])).max(axis=1)
    return peaks


def _running_mean(values: Floats, width: int) -> Floats:
    """Return the mean of `width` values around each value."""
    summed = np.cumsum(np.pad(values, (width // 2 + 1, width // 2)))
    mean: Floats = (summed[width:] - summed[:-width]) / width
    return mean
