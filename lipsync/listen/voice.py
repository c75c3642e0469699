"""The voice factor: by how much a recording is slowed (below 1: sped up) before the recogniser hears it.

In: lines of one character, each as samples and the pronunciations of its words. Out: the factor.

The recogniser knows the voices of people reading. A squeaky voice slowed down, or a booming one sped up, looks like
them; the factor with the best mean acoustic score for each tick of speech over a character's lines is the right one.
The recogniser's own setting for this is not used: it is shared by the whole process, and ignored when set again.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt
import soxr  # type: ignore[import-untyped]

from lipsync.listen.align_pocketsphinx import NotFoundError, Samples, Symbols, TickWord, align_ticks
from lipsync.listen.recording import RATE_HZ

FACTORS = (0.75, 0.82, 0.9, 1.0, 1.1, 1.2, 1.32, 1.45)  # chosen: steps of about a tenth over the range met

LineSound = tuple[Samples, Sequence[Sequence[Symbols]]]


def slowed(samples: Samples, factor: float) -> Samples:
    """Return the sound `factor` times as long, pitch and formants lowered by as much."""
    if factor == 1.0:
        return samples
    slow: npt.NDArray[np.float64] = soxr.resample(samples.astype(np.float64), RATE_HZ, RATE_HZ * factor, "HQ")
    return np.clip(np.rint(slow), -32768, 32767).astype(np.int16)


def mean_score(words: Iterable[TickWord]) -> float:
    """Return the mean acoustic score for each tick of an alignment's speech."""
    phones = [phone for word in words if word.word is not None for phone in word.phones]
    return sum(phone.score for phone in phones) / sum(phone.ticks for phone in phones)


def find_factor(lines: Sequence[LineSound], factors: Sequence[float] = FACTORS) -> float:
    """Return the factor under which the fewest lines fail and, of those, the lines are best supported.

    1 where no line can be aligned under any factor.
    """
    standings = {factor: _standing(lines, factor) for factor in factors}
    best = max(factors, key=lambda factor: standings[factor])
    return best if standings[best][0] > -len(lines) else 1.0


def _standing(lines: Sequence[LineSound], factor: float) -> tuple[int, float]:
    """Return minus the number of lines that fail, and the mean score over the others."""
    words: list[TickWord] = []
    failed = 0
    for samples, said in lines:
        try:
            words += align_ticks(slowed(samples, factor), said)
        except NotFoundError:
            failed += 1
    return -failed, mean_score(words) if words else -math.inf
