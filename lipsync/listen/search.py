"""Finds the words of a line in time, with as wide a search as it takes.

In: samples, the pronunciations of each word, and the voice factor where it is known. Out: `Search`, its words
`Heard`: which pronunciation, the start of each phoneme and the end of the last, in microseconds of the recording,
and how well the sound supports it.

The ladder. "plain": the search at the voice factor; where that is unknown, factors from 1 outwards are tried for as
long as the score rises. "other factor": neighbouring factors, where the given one finds nothing. "wider": all of them
with wider beams. The first that finds the words is taken.

Support is the mean score a tick less that of whatever phonemes fit best: 0 is as good as free choice, below it worse.
A voice unlike the model's, or noise, lowers both.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lipsync.listen.align_pocketsphinx import (
    HALF_WINDOW_US,
    LADDER,
    TICK_RATE_HZ,
    Beams,
    NotFoundError,
    Samples,
    Symbols,
    TickWord,
    align_ticks,
    free_scores,
)
from lipsync.listen.voice import FACTORS, mean_score, slowed
from lipsync.timing import us_of_sample

RATIOS = (1.1, 0.9, 1.2, 0.82)  # times a given factor that finds nothing

Words = Sequence[Sequence[Symbols]]


@dataclass(frozen=True, slots=True)
class Heard:
    """One word in time.

    Attributes:
        pronunciation: the place of the one that was heard.
        times_us: the start of each phoneme, then the end of the last.
        support: how well the sound fits.
    """

    pronunciation: int
    times_us: tuple[int, ...]
    support: float


@dataclass(frozen=True, slots=True)
class Search:
    """The words of a line as found, how well all of them fit, and what it took."""

    words: tuple[Heard, ...]
    support: float
    factor: float
    effort: str


def find_words(samples: Samples, words: Words, factor: float | None, duration_us: int) -> Search:
    """Return the words in time.

    Raises:
        NotFoundError: if no search finds them.
    """
    for effort, beams, factors in _ladder(factor):
        found = _best(samples, words, beams, factors)
        if found:
            return _search(samples, *found, effort, duration_us)
    raise NotFoundError("no search finds the words")


def _ladder(factor: float | None) -> Iterator[tuple[str, Beams, Sequence[float]]]:
    near = [factor * ratio for ratio in RATIOS] if factor else []
    for effort, beams in zip(("plain", "wider"), LADDER, strict=True):
        yield effort, beams, [factor] if factor else FACTORS
        for one in near:
            yield f"{effort}, other factor" if effort == "wider" else "other factor", beams, [one]


def _best(
    samples: Samples, words: Words, beams: Beams, factors: Sequence[float]
) -> tuple[float, tuple[TickWord, ...]] | None:
    """Climb from 1 (or the only factor) upwards as long as the mean score rises; if it does not, downwards."""
    middle = factors.index(1.0) if 1.0 in factors else 0
    best: tuple[float, tuple[TickWord, ...]] | None = None
    for way in (factors[middle:], factors[:middle][::-1]):
        for factor in way:
            try:
                found = align_ticks(slowed(samples, factor), words, beams)
            except NotFoundError:
                continue
            if best and mean_score(found) <= mean_score(best[1]):
                break
            best = factor, found
        if best and best[0] > factors[middle]:
            break
    return best


def _search(samples: Samples, factor: float, found: tuple[TickWord, ...], effort: str, duration_us: int) -> Search:
    free = free_scores(slowed(samples, factor))
    heard = [_heard(word, free, factor, duration_us) for word in found if word.word is not None]
    spoken = np.concatenate([_ticks(word) for word in found if word.word is not None])
    return Search(tuple(heard), mean_score(found) - float(free[spoken].mean()), factor, effort)


def _ticks(word: TickWord) -> npt.NDArray[np.int64]:
    return np.arange(word.phones[0].start_tick, word.phones[-1].start_tick + word.phones[-1].ticks)


def _heard(word: TickWord, free: npt.NDArray[np.float64], factor: float, duration_us: int) -> Heard:
    ticks = [phone.start_tick for phone in word.phones] + [word.phones[-1].start_tick + word.phones[-1].ticks]
    times = [min(duration_us, round((us_of_sample(tick, TICK_RATE_HZ) + HALF_WINDOW_US) / factor)) for tick in ticks]
    if ticks[0] == 0:
        times[0] = 0
    support = mean_score([word]) - float(free[_ticks(word)].mean())
    return Heard(word.pronunciation, tuple(times), support)
