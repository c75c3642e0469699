"""The voice factor: by how much a recording is slowed (below 1: sped up) before the recogniser hears it.

In: lines of one character, each as samples and the pronunciations of its words. Out: the factor.

The recogniser's model was trained on people reading aloud. A squeaky voice slowed down, or a booming one sped up,
resembles their voices. The right factor is the one with the best mean acoustic score for each tick of speech, over a
character's lines. The recogniser's own setting for this is not used: it is shared by the whole process, and ignored
when it is set again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt
import soxr  # type: ignore[import-untyped]

from lipsync.align.recogniser import NotFoundError, Samples, Symbols, align_ticks
from lipsync.align.settings import Fit
from lipsync.audio.features import RATE_HZ
from lipsync.model import FACTORS

_BLOCK = 30 * RATE_HZ


LineSound = tuple[Samples, Sequence[Sequence[Symbols]]]  # a line's sound, and the pronunciations of each word
Standing = tuple[int, float]  # of a factor: minus the number of lines that fail, the mean score of the others


def slowed(samples: Samples, factor: float) -> Samples:
    """Return the sound made `factor` times as long; pitch and formants are divided by `factor`."""
    if factor == 1.0:
        return samples
    stream = soxr.ResampleStream(RATE_HZ, RATE_HZ * factor, 1, dtype="float64", quality="HQ")
    out, done = np.empty(math.ceil(len(samples) * factor) + 1, np.int16), 0
    for at in range(0, max(1, len(samples)), _BLOCK):  # in blocks: a long sound as floats would take much memory
        block = samples[at : at + _BLOCK].astype(np.float64)
        slow: npt.NDArray[np.float64] = stream.resample_chunk(block, last=at + _BLOCK >= len(samples))
        out[done : done + len(slow)] = np.clip(np.rint(slow), -32768, 32767)
        done += len(slow)
    return out[:done]


def find_factor(lines: Sequence[LineSound], fits: Sequence[dict[float, Fit]] | None = None) -> float:
    """Return the factor at which the fewest lines fail; among equals, the one at which lines fit best.

    1 if no line can be aligned at any factor that was tried. `fits` is what is known of each line by factor; what is
    found is put there.
    """
    known = fits or [{} for _ in lines]
    best, standings = _climb(lambda index: _standing(lines, known, FACTORS[index]))
    if standings[best][0] == -len(lines):
        return 1.0
    near = [standings.get(index) for index in (best - 1, best, best + 1)]
    scores = [one[1] for one in near if one is not None and math.isfinite(one[1])]
    return _top(best, scores) if len(scores) == 3 else FACTORS[best]


def _climb(standing: Callable[[int], Standing]) -> tuple[int, dict[int, Standing]]:
    """Walk uphill from 1 to a factor that is better than both its neighbours; if all lines fail, try all factors.

    Return the index in `FACTORS` of the best one, and the standing of each index that was tried.
    """
    middle = FACTORS.index(1.0)
    known = {index: standing(index) for index in (middle, middle + 1, middle - 1)}
    while True:
        best = max(known, key=lambda index: known[index])
        lost = not math.isfinite(known[best][1])
        around = range(len(FACTORS)) if lost else (best - 1, best + 1)
        unknown = [index for index in around if 0 <= index < len(FACTORS) and index not in known]
        if not unknown:
            return best, known
        known |= {index: standing(index) for index in unknown}


def _standing(lines: Sequence[LineSound], known: Sequence[dict[float, Fit]], factor: float) -> Standing:
    """Return how well the lines do at a factor."""
    for line, fits in zip(lines, known, strict=True):
        if factor not in fits:
            fits[factor] = _fit(line, factor)
    found = [fit for fits in known if (fit := fits[factor]) is not None]
    ticks = sum(ticks for _, ticks in found)
    return len(found) - len(lines), sum(score for score, _ in found) / ticks if ticks else -math.inf


def _fit(line: LineSound, factor: float) -> Fit:
    samples, said = line
    try:
        spoken = [phone for phone in align_ticks(slowed(samples, factor), said) if phone.word is not None]
    except NotFoundError:
        return None
    return sum(phone.score for phone in spoken), sum(phone.ticks for phone in spoken)


def _top(best: int, scores: Sequence[float]) -> float:
    """Return where the parabola through three scores is highest, on a logarithmic scale of factors."""
    places = np.log(FACTORS[best - 1 : best + 2])
    square, slope, _ = np.polyfit(places, scores, 2)
    if square >= 0:
        return FACTORS[best]
    return round(float(np.exp(np.clip(-slope / (2 * square), places[0], places[2]))), 3)
