"""What the sound says for and against each word that was found: the figures that doubt is judged by.

In: sound, the voice factor, and each word's phonemes with the times at which they were put. Out: an `Evidence` for
each word. A long line is heard in stretches, cut between words: time and memory grow with its length and no faster.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from lipsync.align.acoustic_fit import unlikely_silence
from lipsync.align.acoustic_model import BEGIN, END, INSIDE, SINGLE, AcousticModel, Floats, acoustic_model, terms_of
from lipsync.align.competing_paths import Lattice, Symbols
from lipsync.align.recogniser import Samples
from lipsync.align.voice import slowed
from lipsync.audio.features import PER_TICK, STEP_US, features_of, mel_powers
from lipsync.phonemes import SILENCE

TICK_US = PER_TICK * STEP_US
FRAME_US = 1_000_000 / 24
OUTER_US = 300_000  # chosen: what is heard before and behind a part, where nobody else speaks
ENDS_US = 1_000_000  # and before and behind the line: its last word may be said once more
PART_US = 6_000_000  # chosen: longer ones cost time with the square of their length
LONGEST_PART_US = 12_000_000
GAP_US = 100_000  # chosen: where a part may end
INSERTED_US = 100_000  # chosen: what the text does not have is said for so long at least
JOINED_US = 30_000  # chosen: words nearer than that sound into each other


@dataclass(frozen=True, slots=True)
class FoundWord:
    """A word as it was found: its phonemes, the start of each and the end of the last."""

    symbols: Symbols
    times_us: tuple[int, ...]

    @property
    def start_us(self) -> int:
        """Where it begins."""
        return self.times_us[0]

    @property
    def end_us(self) -> int:
        """Where it ends."""
        return self.times_us[-1]


@dataclass(frozen=True, slots=True)
class Evidence:
    """Of one word.

    Attributes:
        ticks: how long it is, in ticks of 10 ms at the voice factor.
        otherwise: what is gained by other phonemes in its place (`lattice`).
        left_out: what is gained without it.
        twice: what is gained by saying it two times.
        fits: for each phoneme, how much worse it fits where it was put than whatever fits best, a tick.
        fits_alone: the same, without regard to its neighbours.
        contrast: for each phoneme, how much better than the mean of all phonemes the best fits there, a tick: next to
            nothing in a noise that is like none.
        lasts: the duration of each phoneme in ticks.
        strays: for each phoneme, how likely it begins more than a frame away from where it was put.
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
    """Some words of a line that are heard together."""

    def __init__(
        self, sound: Samples, factor: float, words: Sequence[FoundWord], model: AcousticModel | None = None
    ) -> None:
        """Take the sound of these words, whose times count from its start."""
        self.words = words
        self._sound = sound
        self._model = model or acoustic_model()
        self._tick_us = TICK_US / factor
        features = features_of(mel_powers(slowed(sound, factor)))[::PER_TICK]
        self._terms = terms_of(features)
        self.lattice = Lattice(self._model, self._terms, [word.symbols for word in words])

    @property
    def inserted(self) -> Floats:
        """What is gained by phonemes more, before each word and behind the last."""
        return self.lattice.inserted()

    def heard_between(self, gap: int) -> Symbols:
        """Return the phonemes that fit best before a word or behind the last; none if that is hardly a voice."""
        heard = self.lattice.heard_between(gap)
        lasts_us = sum(end - first for _, first, end in heard) * self._tick_us
        voiced_us = sum(float(self._voiced[first:end].sum()) for _, first, end in heard) * self._tick_us
        return tuple(symbol for symbol, _, _ in heard) if min(lasts_us, 2 * voiced_us) >= INSERTED_US else ()

    @cached_property
    def _voiced(self) -> npt.NDArray[np.bool_]:
        """Whether each tick is voiced, and as loud as the words."""
        sound = slowed(self._sound, TICK_US / self._tick_us)
        voiced: npt.NDArray[np.bool_] = unlikely_silence(sound, mel_powers(sound))[::PER_TICK] > 0
        return voiced

    def evidence(self) -> Iterator[Evidence]:
        """Yield what is told of each word."""
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
        own, model = self.words[place].symbols, self._model
        around = (self._beside(place, -1), *own, self._beside(place, 1))
        last = len(own) - 1
        between: list[float] = []
        alone: list[float] = []
        contrast: list[float] = []
        for k, symbol in enumerate(own):
            at = min(max(0, round(edges[k])), self.lattice.ticks - 1)
            ticks = slice(at, max(at + 1, round(edges[k + 1])))
            where = SINGLE if last == 0 else BEGIN if k == 0 else END if k == last else INSIDE
            densities, best = model.densities(self._terms[:, ticks], symbol), self.lattice.best[ticks]
            scores = model.scores(densities, model.states_between(symbol, around[k], around[k + 2], where))
            between.append(float((scores.max(axis=1) - best).mean()))
            alone.append(float((self.lattice.alone(symbol)[ticks] - best).mean()))
            contrast.append(float((best - self.lattice.usual[ticks]).mean()))
        return tuple(between), tuple(alone), tuple(contrast)

    def _beside(self, place: int, step: int) -> str:
        """Return the phoneme that a word's first or last one sounds into."""
        if not 0 <= place + step < len(self.words):
            return SILENCE
        before, after = self.words[min(place, place + step)], self.words[max(place, place + step)]
        if after.start_us - before.end_us > JOINED_US:
            return SILENCE
        return before.symbols[-1] if step < 0 else after.symbols[0]


@dataclass(frozen=True, slots=True)
class WordRange:
    """Which words are heard together: from the first to before the last, and the sound around them."""

    first: int
    end: int
    start_us: int
    end_us: int


def stretches_of(spans_us: Sequence[tuple[int, int]], duration_us: int) -> Iterator[WordRange]:
    """Yield the stretches of a line whose words lie there.

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
    """Yield for each phoneme how likely it begins more than a frame away from its edge."""
    summed, ticks = np.cumsum(starts, axis=0), np.arange(len(starts))
    for k, edge in enumerate(edges[:-1]):
        low, high = np.interp([edge - frame, edge + frame], ticks, summed[:, k], left=0.0)
        yield float(min(1.0, max(0.0, 1.0 - (high - low))))
