"""Finds the words of a line in time, with as wide a search as it takes.

In: samples and the pronunciations of each word. Out: `Heard` words: which pronunciation, the start of each phoneme
and the end of the last, in microseconds of the recording, and how well the sound fits.

The ladder: the plain search at the voice factor; then neighbouring factors; then all of them again with wider beams.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lipsync.listen.align_pocketsphinx import (
    HALF_WINDOW_US,
    LADDER,
    TICK_RATE_HZ,
    Beams,
    NotFoundError,
    Symbols,
    TickWord,
    align_ticks,
)
from lipsync.listen.voice import Samples, slowed
from lipsync.timing import us_of_sample

# Tried in turn, times the voice factor.
RATIOS = (1.0, 1.1, 0.9, 1.2, 0.82)


@dataclass(frozen=True, slots=True)
class Heard:
    """One word in time.

    Attributes:
        pronunciation: the place of the one that was heard.
        times_us: the start of each phoneme, then the end of the last.
        score: mean acoustic score a tick; the higher the better.
    """

    pronunciation: int
    times_us: tuple[int, ...]
    score: float


@dataclass(frozen=True, slots=True)
class Search:
    """The words of a line as found, and what it took."""

    words: tuple[Heard, ...]
    factor: float
    effort: str


def find_words(samples: Samples, words: Sequence[Sequence[Symbols]], factor: float, duration_us: int) -> Search:
    """Return the words in time.

    Raises:
        NotFoundError: if no search finds them.
    """
    for beams, ratio, effort in _steps():
        try:
            found = align_ticks(slowed(samples, factor * ratio), words, beams)
        except NotFoundError as fault:
            last = fault
            continue
        heard = tuple(_heard(word, factor * ratio, duration_us) for word in found if word.word is not None)
        return Search(heard, factor * ratio, effort)
    raise last


def _steps() -> Iterator[tuple[Beams, float, str]]:
    for beams, width in zip(LADDER, ("", "wider"), strict=True):
        for ratio in RATIOS:
            yield beams, ratio, " ".join(filter(None, (width, "" if ratio == 1 else f"x{ratio:g}"))) or "plain"


def _heard(word: TickWord, factor: float, duration_us: int) -> Heard:
    ticks = [phone.start_tick for phone in word.phones] + [word.phones[-1].start_tick + word.phones[-1].ticks]
    times = [min(duration_us, round((us_of_sample(tick, TICK_RATE_HZ) + HALF_WINDOW_US) / factor)) for tick in ticks]
    if ticks[0] == 0:
        times[0] = 0
    score = sum(phone.score for phone in word.phones) / (ticks[-1] - ticks[0])
    return Heard(word.pronunciation, tuple(times), score)
