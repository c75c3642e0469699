"""Finds the words of a line in time: first by the recogniser, then, more finely, by its acoustic model.

In: samples, the pronunciations of each word, and the voice factor where it is known. Out: `Search`, its words
`Heard`: which pronunciation, the start of each phoneme and the end of the last, in microseconds of the recording,
and how well the sound supports it.

Order: the voice factor, if it has to be found; the pieces worth searching; in each a first and a second look.

Support is the mean score a tick less that of whatever phonemes fit best: 0 is as good as free choice, below it worse.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lipsync.listen import align_pocketsphinx as recogniser
from lipsync.listen.acoustic_model import Floats, acoustic_model
from lipsync.listen.align_pocketsphinx import RATE_HZ, NotFoundError, Samples
from lipsync.listen.boundaries import NoPathError
from lipsync.listen.features import STEP_US, change_of, features_of, mel_powers
from lipsync.listen.first_look import EFFORTS, Reading, Words, read
from lipsync.listen.pieces import Piece, pieces_of
from lipsync.listen.second_look import Sound, look
from lipsync.listen.unlikely_silence import unlikely_silence
from lipsync.listen.voice import find_factor, mean_score, slowed
from lipsync.timing import us_of_sample

NEAR = 1.15  # chosen: the step between the factors that are tried; silences between words are found at either


@dataclass(frozen=True, slots=True)
class Heard:
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
class Search:
    """The words of a line as found, and what it took."""

    words: tuple[Heard, ...]
    factor: float
    effort: str

    @property
    def support(self) -> float:
        """How well all of them fit."""
        return sum(word.support * word.ticks for word in self.words) / sum(word.ticks for word in self.words)


def find_words(samples: Samples, words: Words, factor: float | None, fine: bool = True) -> Search:
    """Return the words in time.

    Args:
        samples: the sound.
        words: the pronunciations of each word.
        factor: the voice factor; None to find it.
        fine: whether to look a second time.

    Raises:
        NotFoundError: if no search finds them.
    """
    factor, pieces = (factor, ()) if factor else _factor(samples, words)
    efforts: list[str] = []
    heard: list[Heard] = []
    for piece in pieces or pieces_of(samples, words, factor):
        part = samples[piece.first_sample : piece.end_sample]
        reading = read(part, words[piece.first_word : piece.end_word], factor, piece.rough)
        sound = slowed(part, factor)
        placed = _fine(sound, reading, factor) if fine else _rough(reading)
        free = recogniser.free_scores(sound if reading.ratio == 1 else slowed(part, factor * reading.ratio))
        heard += _heard(reading, _spans_us(placed, piece, factor), free)
        efforts.append(reading.effort)
    return Search(tuple(heard), factor, max(efforts, key=EFFORTS.index))


def _factor(samples: Samples, words: Words) -> tuple[float, tuple[Piece, ...]]:
    """Return the voice factor from what is worth searching at the recorded speed, of a long line from its middle.

    And the pieces, where they hold for that factor too: a long line's, if it is near the recorded speed.
    """
    pieces = pieces_of(samples, words, 1.0)
    some = pieces[len(pieces) // 2]
    factor = find_factor([(samples[some.first_sample : some.end_sample], words[some.first_word : some.end_word])])
    near = len(pieces) > 1 and 1 / NEAR <= factor <= NEAR
    return factor, pieces if near else ()


def _rough(reading: Reading) -> Floats:
    starts = np.array([0.0, *(phone.start_step for phone in reading.phones[1:])])
    return np.stack([starts, np.append(starts[1:], np.inf)], axis=1)


def _fine(sound: Samples, reading: Reading, factor: float) -> Floats:
    powers = mel_powers(sound)
    try:
        heard = Sound(features_of(powers), unlikely_silence(sound, powers), change_of(powers), factor)
        return look(acoustic_model(), heard, reading.phones)
    except NoPathError:
        raise NotFoundError("the second look finds no way through") from None


def _spans_us(placed: Floats, piece: Piece, factor: float) -> list[tuple[int, int]]:
    begin_us, end_us = (us_of_sample(sample, RATE_HZ) for sample in (piece.first_sample, piece.end_sample))
    times_us = np.minimum(np.rint(placed * (STEP_US / factor)), end_us - begin_us).astype(int) + begin_us
    return [(int(start_us), int(stop_us)) for start_us, stop_us in times_us]


def _heard(reading: Reading, spans_us: Sequence[tuple[int, int]], free: Floats) -> Iterator[Heard]:
    at = 0 if reading.words[0].word is None else 1  # the silence that was put before it
    for word in reading.words:
        own = spans_us[at : at + len(word.phones)]
        at += len(word.phones)
        if word.word is None:
            continue
        ticks = np.arange(word.phones[0].start_tick, word.phones[-1].start_tick + word.phones[-1].ticks)
        support = mean_score([word]) - float(free[ticks].mean())
        yield Heard(word.pronunciation, (*(start for start, _ in own), own[-1][1]), support, len(ticks))
