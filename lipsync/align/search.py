"""Finds the words of a line in time: first by the recogniser, then, more finely, by its acoustic model.

In: samples, the pronunciations of each word, and the voice factor where it is known. Out: `Alignment`, its words
`AlignedWord`: which pronunciation, the start of each phoneme and the end of the last, in microseconds of the
recording, and how well the sound supports it.

Order: the voice factor, if it has to be found; the first look; the pieces worth a second look; that in each. Silence
before the first and behind the last word is left out but for `OUTER_US`, for the mean of the features is taken over
all that is heard, and long silences shift it. What is longer than `WHOLE_US` is cut in the middle of silences between
words, or between two words where there is no silence for `MOST_US`: memory stays flat.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from lipsync.align.acoustic_fit import Fits, unlikely_silence
from lipsync.align.acoustic_model import AcousticModel, acoustic_model
from lipsync.align.coarse import WHOLE_US, FirstLook, RoughWord, Words, first_look
from lipsync.align.fine import Rough, StepFeatures, look
from lipsync.align.recogniser import NotFoundError, Samples
from lipsync.align.semi_markov import NoPathError
from lipsync.align.time_limit import check_patience
from lipsync.align.voice import LineSound, find_factor, slowed
from lipsync.audio.features import PER_TICK, RATE_HZ, STEP_US, change_of, features_of, mel_powers
from lipsync.timing import sample_of_us, us_of_sample

OUTER_US = 500_000  # chosen; measured with twice and half of it
PIECE_US = 15_000_000  # chosen: shorter ones would make the mean over a piece uncertain
MOST_US = 45_000_000  # chosen: what is longer without a silence is cut between two words
CUT_US = 100_000  # chosen: a shorter silence may be the closure of a stop
NEAR = 1.15  # chosen: the step between the factors that are tried; silences between words are found at either


@dataclass(frozen=True, slots=True)
class Chunk:
    """A stretch of a recording and the words in it, the first of them by its place in the line."""

    start_us: int
    end_us: int
    first: int
    words: tuple[RoughWord, ...]


def chunks_of(words: Sequence[RoughWord], duration_us: int) -> tuple[Chunk, ...]:
    """Return the pieces of a recording from the words of its line."""
    start_us = max(0, words[0].start_us - OUTER_US)
    end_us = min(duration_us, words[-1].end_us + OUTER_US)
    first = 0
    found: list[Chunk] = []
    for place, (before, word) in enumerate(pairwise(words), start=1):
        silent = word.start_us - before.end_us >= CUT_US
        at_us = (before.end_us + word.start_us) // 2 if silent else word.start_us
        if end_us - start_us > WHOLE_US and at_us - start_us >= (PIECE_US if silent else MOST_US):
            found.append(Chunk(start_us, at_us, first, tuple(words[first:place])))
            start_us, first = at_us, place
    return (*found, Chunk(start_us, end_us, first, tuple(words[first:])))


@dataclass(frozen=True, slots=True)
class AlignedWord:
    """One word in time.

    Attributes:
        pronunciation: the place of the one that was heard.
        times_us: the start of each phoneme, then the end of the last.
        support: how well the sound fits.
        ticks: how many ticks its support is the mean of.
    """

    pronunciation: int
    times_us: tuple[int, ...]
    support: float
    ticks: int


@dataclass(frozen=True, slots=True)
class Alignment:
    """The words of a line as found, and what it took."""

    words: tuple[AlignedWord, ...]
    factor: float
    effort: str

    @property
    def support(self) -> float:
        """How well all of them fit; the longer one is, the more it counts."""
        return sum(word.support * word.ticks for word in self.words) / sum(word.ticks for word in self.words)

    @property
    def rough(self) -> FirstLook:
        """Where the words lie, from which they can be looked for again, by another model."""
        words = (RoughWord(word.pronunciation, word.times_us[0], word.times_us[-1]) for word in self.words)
        return FirstLook(tuple(words), self.effort)


def find_words(samples: Samples, words: Words, factor: float | None, model: AcousticModel | None = None) -> Alignment:
    """Return the words in time.

    Args:
        samples: the sound.
        words: the pronunciations of each word.
        factor: the voice factor; None to find it.
        model: the acoustic model, adapted to the voice; the recogniser's own if None.

    Raises:
        NotFoundError: if no search finds them.
    """
    factor, found = (factor, None) if factor else _factor(samples, words)
    found = found or first_look(samples, words, factor)
    return refined(samples, words, found, factor, model or acoustic_model())


def refined(samples: Samples, words: Words, rough: FirstLook, factor: float, model: AcousticModel) -> Alignment:
    """Return the words in time, from where they lie roughly.

    Raises:
        NotFoundError: if they do not fit there.
    """
    heard: list[AlignedWord] = []
    for piece in chunks_of(rough.words, us_of_sample(len(samples), RATE_HZ)):
        heard += _second_look(_part(samples, piece), words, piece, factor, model)
    return Alignment(tuple(heard), factor, rough.effort)


def telling_part(samples: Samples, words: Words) -> LineSound:
    """Return what of a line its voice factor is found from: all, or a piece from the middle of a long one.

    Raises:
        NotFoundError: if the words of a long one are not found.
    """
    if us_of_sample(len(samples), RATE_HZ) <= WHOLE_US:
        return samples, words
    return _middle(samples, words, first_look(samples, words, 1.0))


def _middle(samples: Samples, words: Words, found: FirstLook) -> LineSound:
    pieces = chunks_of(found.words, us_of_sample(len(samples), RATE_HZ))
    some = pieces[len(pieces) // 2]
    return _part(samples, some), words[some.first : some.first + len(some.words)]


def _factor(samples: Samples, words: Words) -> tuple[float, FirstLook | None]:
    """Return the voice factor from what is worth searching at the recorded speed, of a long line from its middle.

    And what the first look found, where it holds for that factor too: of a long line, near the recorded speed.
    """
    try:
        found = first_look(samples, words, 1.0)
    except NotFoundError:
        if us_of_sample(len(samples), RATE_HZ) > WHOLE_US:
            raise  # the factor would be looked for in all of it, at the square of its cost
        return find_factor([(samples, words)]), None
    some = _middle(samples, words, found)
    factor = find_factor([some])
    near = len(some[1]) < len(words) and 1 / NEAR <= factor <= NEAR
    return factor, found if near else None


def _part(samples: Samples, piece: Chunk) -> Samples:
    return samples[slice(*(sample_of_us(time_us, RATE_HZ) for time_us in (piece.start_us, piece.end_us)))]


def _second_look(
    samples: Samples, words: Words, piece: Chunk, factor: float, model: AcousticModel
) -> Iterator[AlignedWord]:
    check_patience()
    sound = slowed(samples, factor)
    powers = mel_powers(sound)
    heard = StepFeatures(features_of(powers), unlikely_silence(sound, powers), change_of(powers), factor)
    steps_per_us = factor / STEP_US
    rough = [
        Rough(
            words[place][one.pronunciation],
            max(0, one.start_us - piece.start_us) * steps_per_us,
            (one.end_us - piece.start_us) * steps_per_us,
        )
        for place, one in enumerate(piece.words, start=piece.first)
    ]
    try:
        placed = look(model, heard, rough)
    except NoPathError:
        raise NotFoundError("the second look finds no way through") from None
    fits = Fits(model, heard.features)
    for one, word, spans in zip(piece.words, rough, placed, strict=True):
        edges = np.append(spans[:, 0], spans[-1, 1])
        times_us = np.minimum(np.rint(edges / steps_per_us).astype(int) + piece.start_us, piece.end_us)
        ticks = max(1, round((edges[-1] - edges[0]) / PER_TICK))
        yield AlignedWord(one.pronunciation, tuple(times_us.tolist()), fits.support(word.symbols, edges), ticks)
