"""Finds the words of a line in time: first by the recogniser, then more finely by its acoustic model.

In: samples, the pronunciations of each word, and the voice factor where it is known. Out: an `Alignment`. It has an
`AlignedWord` for each word: which pronunciation was heard, the start of each phoneme and the end of the last, in
microseconds of the recording, and how well the sound supports the word.

Order: find the voice factor, if it is not known; take the first look; cut the recording into pieces; take the second
look at each piece. Silence before the first and behind the last word is left out but for `OUTER_US`: the features are
taken relative to their mean over all that is heard, and long silences would shift that mean. A sound longer than
`WHOLE_US` is cut in the middle of silences between words, or between two words where there is no silence for
`MOST_US`, so that the memory needed does not grow with the length.
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

OUTER_US = 500_000  # chosen; twice and half of it were measured too
PIECE_US = 15_000_000  # chosen: over a shorter piece, the mean of the features would be uncertain
MOST_US = 45_000_000  # chosen: a longer stretch without a silence is cut between two words
CUT_US = 100_000  # chosen: a shorter silence may be the closure of a stop
NEAR = 1.15  # chosen: the ratio of one tried factor to the next; at both, the same silences between words are found


@dataclass(frozen=True, slots=True)
class Chunk:
    """A piece of a recording and the words in it; `first` is the index in the line of the first of them."""

    start_us: int
    end_us: int
    first: int
    words: tuple[RoughWord, ...]


def chunks_of(words: Sequence[RoughWord], duration_us: int) -> tuple[Chunk, ...]:
    """Return the pieces into which a recording is cut, from where the words of its line lie."""
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
        pronunciation: the index of the pronunciation that was heard.
        times_us: the start of each phoneme, then the end of the last.
        support: how well the sound fits, 0 or below (`acoustic_fit.py`).
        ticks: how many ticks of 10 ms the word lasts in the slowed sound: the weight of its support.
    """

    pronunciation: int
    times_us: tuple[int, ...]
    support: float
    ticks: int


@dataclass(frozen=True, slots=True)
class Alignment:
    """The words of a line as found, the voice factor, and the step of the ladder that found them."""

    words: tuple[AlignedWord, ...]
    factor: float
    effort: str

    @property
    def support(self) -> float:
        """The mean support of the words, each weighted by its ticks."""
        return sum(word.support * word.ticks for word in self.words) / sum(word.ticks for word in self.words)

    @property
    def rough(self) -> FirstLook:
        """Where the words lie: from there the second look can be taken again by another model."""
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
    factor, rough = (factor, None) if factor else _factor(samples, words)
    rough = rough or first_look(samples, words, factor)
    return refined(samples, words, rough, factor, model or acoustic_model())


def refined(samples: Samples, words: Words, rough: FirstLook, factor: float, model: AcousticModel) -> Alignment:
    """Return the words in time by the second look, from where they roughly lie.

    Raises:
        NotFoundError: if they do not fit there.
    """
    heard: list[AlignedWord] = []
    for piece in chunks_of(rough.words, us_of_sample(len(samples), RATE_HZ)):
        heard += _second_look(_part(samples, piece), words, piece, factor, model)
    return Alignment(tuple(heard), factor, rough.effort)


def telling_part(samples: Samples, words: Words) -> LineSound:
    """Return the part of a line from which its voice factor is found: the whole, or the middle piece of a long line.

    Raises:
        NotFoundError: if the words of a long line are not found.
    """
    if us_of_sample(len(samples), RATE_HZ) <= WHOLE_US:
        return samples, words
    return _middle(samples, words, first_look(samples, words, 1.0))


def _middle(samples: Samples, words: Words, found: FirstLook) -> LineSound:
    pieces = chunks_of(found.words, us_of_sample(len(samples), RATE_HZ))
    some = pieces[len(pieces) // 2]
    return _part(samples, some), words[some.first : some.first + len(some.words)]


def _factor(samples: Samples, words: Words) -> tuple[float, FirstLook | None]:
    """Return the voice factor of a line, and the first look if it need not be taken again at that factor.

    The factor is found from the stretch where the first look, at the recorded speed, finds the words; in a long line
    from its middle piece. The first look is kept for a long line whose factor is near 1; else it is None.
    """
    try:
        found = first_look(samples, words, 1.0)
    except NotFoundError:
        if us_of_sample(len(samples), RATE_HZ) > WHOLE_US:
            raise  # a search for the factor in the whole of it would cost time with the square of its length
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
    """Yield the words of a piece in time; `samples` are the piece's."""
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
