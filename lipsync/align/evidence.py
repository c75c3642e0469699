"""What the sound says for and against each word that was found: the figures from which confidence is computed.

In: a scored sound, and each word's phonemes with the times at which they were put. Out: an `Evidence` for
each word. A long line is handled in stretches, cut between words, so that time and memory grow only in proportion to
its length.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from lipsync.align.acoustic_fit import unlikely_silence
from lipsync.align.acoustic_model import BEGIN, END, INSIDE, SINGLE, Densities, Floats
from lipsync.align.competing_paths import Lattice, Symbols
from lipsync.align.scored_sound import ScoredSound
from lipsync.align.voice import slowed
from lipsync.audio.features import PER_TICK, STEP_US, mel_powers
from lipsync.phonemes import SILENCE

TICK_US = PER_TICK * STEP_US
FRAME_US = 1_000_000 / 24
OUTER_US = 300_000  # chosen: how much sound a stretch has before and behind its words; less if the next word is near
ENDS_US = 1_000_000  # chosen: the same before and behind the whole line, for its last word may have been said twice
PART_US = 6_000_000  # chosen: from here on a stretch ends at the next gap, for its time grows with the square
LONGEST_PART_US = 12_000_000  # chosen: no stretch is longer; it then ends without a gap
GAP_US = 100_000  # chosen: the least gap at which a stretch ends
INSERTED_US = 100_000  # chosen: what is said beyond the text lasts so long at least
JOINED_US = 30_000  # chosen: between words nearer than this there is no silence


@dataclass(frozen=True, slots=True)
class FoundWord:
    """A word as it was found: its phonemes, the start of each and the end of the last."""

    symbols: Symbols
    times_us: tuple[int, ...]

    @property
    def start_us(self) -> int:
        """Where the word begins."""
        return self.times_us[0]

    @property
    def end_us(self) -> int:
        """Where the word ends."""
        return self.times_us[-1]


@dataclass(frozen=True, slots=True)
class Evidence:
    """The evidence for one word. All gains and fits are in log likelihood; gains are over the words as written.

    Attributes:
        ticks: how long the word is, in ticks of 10 ms of the slowed sound.
        otherwise: the gain of other phonemes in its place (`Lattice.otherwise`).
        left_out: the gain of leaving it out.
        twice: the gain of saying it two times.
        fits: for each phoneme, its score where it was put minus that of the phoneme that fits best, for each tick.
        fits_alone: the same, with the phoneme scored without regard to its neighbours.
        contrast: for each phoneme, the score of the phoneme that fits best there minus the mean of all phonemes, for
            each tick: nearly 0 in a noise that resembles no phoneme.
        lasts: the duration of each phoneme in ticks.
        strays: for each phoneme, the probability that it begins more than a frame away from where it was put.
    """

    ticks: float
    otherwise: float
    left_out: float
    twice: float
    fits: tuple[float, ...]
    fits_alone: tuple[float, ...]
    contrast: tuple[float, ...]
    lasts: tuple[float, ...]
    strays: tuple[float, ...]


class WordSpan:
    """Some words of a line that are judged together, with their sound."""

    def __init__(self, sound: ScoredSound, words: Sequence[FoundWord]) -> None:
        """Take the sound of these words, whose times count from its start."""
        self.words = words
        self._sound = sound
        self._tick_us = TICK_US / sound.factor
        self.lattice = Lattice(sound, [word.symbols for word in words])

    @property
    def inserted(self) -> Floats:
        """For each gap, before each word and behind the last: the gain of more phonemes in it."""
        return self.lattice.inserted()

    def heard_between(self, gap: int) -> Symbols:
        """Return the phonemes that fit best in a gap; none if they are too short, or less than half of them voiced.

        Gap k is the one before word k.
        """
        heard = self.lattice.heard_between(gap)
        lasts_us = sum(end - first for _, first, end in heard) * self._tick_us
        voiced_us = sum(float(self._voiced[first:end].sum()) for _, first, end in heard) * self._tick_us
        return tuple(symbol for symbol, _, _ in heard) if min(lasts_us, 2 * voiced_us) >= INSERTED_US else ()

    @cached_property
    def _voiced(self) -> npt.NDArray[np.bool_]:
        """Whether each tick is voiced, and as loud as the words."""
        sound = slowed(self._sound.samples, self._sound.factor)
        voiced: npt.NDArray[np.bool_] = unlikely_silence(sound, mel_powers(sound))[::PER_TICK] > 0
        return voiced

    def evidence(self) -> Iterator[Evidence]:
        """Yield the evidence for each word."""
        otherwise, left_out, twice = self.lattice.otherwise(), self.lattice.left_out(), self.lattice.twice()
        starts = self.lattice.starts()
        for place, word in enumerate(self.words):
            edges = np.array(word.times_us) / self._tick_us
            fits, fits_alone, contrast = self._fits(place, edges)
            yield Evidence(
                ticks=float(edges[-1] - edges[0]),
                otherwise=float(otherwise[place]),
                left_out=float(left_out[place]),
                twice=float(twice[place]),
                fits=fits,
                fits_alone=fits_alone,
                contrast=contrast,
                lasts=tuple(float(length) for length in np.diff(edges)),
                strays=tuple(_strays(starts[place], edges, FRAME_US / self._tick_us)),
            )

    def _fits(self, place: int, edges: Floats) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
        """Return how each phoneme of a word fits between its neighbours, how alone, and the contrast there."""
        own, model = self.words[place].symbols, self._sound.model
        around = (self._beside(place, -1), *own, self._beside(place, 1))
        last = len(own) - 1
        between: list[float] = []
        alone: list[float] = []
        contrast: list[float] = []
        for k, symbol in enumerate(own):
            at = min(max(0, round(edges[k])), self.lattice.ticks - 1)
            ticks = slice(at, max(at + 1, round(edges[k + 1])))
            where = SINGLE if last == 0 else BEGIN if k == 0 else END if k == last else INSIDE
            densities, best = _within(self._sound.densities(symbol), ticks), self.lattice.best[ticks]
            scores = model.scores(densities, model.states_between(symbol, around[k], around[k + 2], where))
            between.append(float((scores.max(axis=1) - best).mean()))
            alone.append(float((self.lattice.alone(symbol)[ticks] - best).mean()))
            contrast.append(float((best - self.lattice.usual[ticks]).mean()))
        return tuple(between), tuple(alone), tuple(contrast)

    def _beside(self, place: int, step: int) -> str:
        """Return the phoneme before a word (`step` -1) or after it (1); silence if there is a gap between them."""
        if not 0 <= place + step < len(self.words):
            return SILENCE
        before, after = self.words[min(place, place + step)], self.words[max(place, place + step)]
        if after.start_us - before.end_us > JOINED_US:
            return SILENCE
        return before.symbols[-1] if step < 0 else after.symbols[0]


def _within(densities: Densities, ticks: slice) -> Densities:
    return [(relative[ticks], best[ticks]) for relative, best in densities]


@dataclass(frozen=True, slots=True)
class WordRange:
    """A stretch of a line: its words from index `first` to before `end`, and the sound around them."""

    first: int
    end: int
    start_us: int
    end_us: int


def stretches_of(spans_us: Sequence[tuple[int, int]], duration_us: int) -> Iterator[WordRange]:
    """Yield the stretches into which a line is cut; `spans_us` has the start and end of each word.

    >>> list(stretches_of([(100_000, 400_000), (500_000, 900_000)], 2_000_000))
    [WordRange(first=0, end=2, start_us=0, end_us=1900000)]
    """
    first, begin_us = 0, max(0, spans_us[0][0] - ENDS_US)
    behind = (duration_us + LONGEST_PART_US,) * 2
    for at, (span, after) in enumerate(itertools.pairwise((*spans_us, behind)), start=1):
        gap_us, begun_us = after[0] - span[1], spans_us[first][0]
        if after[1] - begun_us <= LONGEST_PART_US and (span[1] - begun_us <= PART_US or gap_us < GAP_US):
            continue
        outer_us = min(OUTER_US, gap_us // 2) if at < len(spans_us) else ENDS_US
        yield WordRange(first, at, begin_us, min(duration_us, span[1] + outer_us))
        first, begin_us = at, after[0] - outer_us


def _strays(starts: Floats, edges: Floats, frame: float) -> Iterator[float]:
    """Yield for each phoneme the probability that it begins more than a frame away from where it was put.

    Args:
        starts: the probability that a phoneme begins at a tick, of shape (tick, phoneme).
        edges: where the phonemes begin, and the last one's end, in ticks.
        frame: the length of a frame in ticks.
    """
    summed, ticks = np.cumsum(starts, axis=0), np.arange(len(starts))
    for k, edge in enumerate(edges[:-1]):
        low, high = np.interp([edge - frame, edge + frame], ticks, summed[:, k], left=0.0)
        yield float(min(1.0, max(0.0, 1.0 - (high - low))))
