"""Finds the words of a line in time: first by the recogniser, then, more finely, by its acoustic model.

In: samples, the pronunciations of each word, and the voice factor where it is known. Out: `Search`, its words
`Heard`: which pronunciation, the start of each phoneme and the end of the last, in microseconds of the recording,
and how well the sound supports it.

First look: the recogniser, at the voice factor and just beside it, for which pronunciations and silences there are
and about where. The ladder: "plain"; "other factor" where these find nothing; "wider" beams where those find
nothing. Second look (`second_look`): every reading that the first found, the likeliest is taken, with its finer
times.

Support is the mean score a tick less that of whatever phonemes fit best: 0 is as good as free choice, below it worse.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from lipsync.listen import align_pocketsphinx as recogniser
from lipsync.listen.acoustic_model import BEGIN, END, INSIDE, SINGLE, AcousticModel
from lipsync.listen.align_pocketsphinx import (
    HALF_WINDOW_US,
    LADDER,
    RATE_HZ,
    NotFoundError,
    Samples,
    Symbols,
    TickWord,
)
from lipsync.listen.features import STEP_US, features_of, mel_powers
from lipsync.listen.pieces import Piece, pieces_of
from lipsync.listen.second_look import NoPathError, Placed, look
from lipsync.listen.unlikely_silence import unlikely_silence
from lipsync.listen.voice import find_factor, mean_score, slowed
from lipsync.phonemes import SILENCE
from lipsync.timing import us_of_sample

BESIDE = (1.0,)  # times the voice factor; more of them found other readings, but none that was nearer to the labels
RESCUE = (0.93, 1.08, 0.85, 1.17, 1.3, 0.75)

Words = Sequence[Sequence[Symbols]]


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


@dataclass(frozen=True, slots=True)
class _Reading:
    """One way to read a piece: its phones at the steps of the voice factor, with the words they belong to."""

    ratio: float
    effort: str
    words: tuple[TickWord, ...]
    phones: tuple[Placed, ...]


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
    pieces = pieces_of(samples, words, factor or 1.0)
    if factor is None:
        some = pieces[len(pieces) // 2]
        factor = find_factor([(samples[some.first_sample : some.end_sample], words[some.first_word : some.end_word])])
    found = [_piece(samples, words, piece, factor, fine) for piece in pieces]
    efforts = [effort for _, effort in found]
    heard = tuple(itertools.chain.from_iterable(word for word, _ in found))
    return Search(heard, factor, max(efforts, key=_EFFORTS.index))


_EFFORTS = ("plain", "other factor", "wider")


def _piece(samples: Samples, words: Words, piece: Piece, factor: float, fine: bool) -> tuple[tuple[Heard, ...], str]:
    part = samples[piece.first_sample : piece.end_sample]
    sound = slowed(part, factor)
    readings = _readings(part, words[piece.first_word : piece.end_word], factor, BESIDE if fine else BESIDE[:1])
    reading, starts = _likeliest(sound, readings) if fine else (readings[0], _first_times(readings[0]))
    begin_us, end_us = (us_of_sample(sample, RATE_HZ) for sample in (piece.first_sample, piece.end_sample))
    edges = [*(begin_us + round(step * STEP_US / factor) for step in starts), end_us]
    times = [(min(a, end_us), min(b, end_us)) for a, b in itertools.pairwise(edges)]
    free = recogniser.free_scores(slowed(part, factor * reading.ratio))
    return tuple(_heard(reading, times, free)), reading.effort


def _readings(samples: Samples, words: Words, factor: float, ratios: Sequence[float]) -> list[_Reading]:
    """Return the different readings of a piece, up the ladder until there is one.

    Raises:
        NotFoundError: if there is none at its end.
    """
    found: dict[tuple[str, ...], _Reading] = {}
    for ratio in ratios:
        for reading in _try(samples, words, factor, ratio, "plain"):
            found.setdefault(tuple(phone.symbol for phone in reading.phones), reading)
    for effort, others in (("other factor", RESCUE), ("wider", (*ratios, *RESCUE))):
        for ratio in others if not found else ():
            for reading in _try(samples, words, factor, ratio, effort):
                return [reading]
    if not found:
        raise NotFoundError("no search finds the words")
    return list(found.values())


def _try(samples: Samples, words: Words, factor: float, ratio: float, effort: str) -> Iterator[_Reading]:
    """Yield one reading, or none."""
    try:
        found = recogniser.align_ticks(slowed(samples, factor * ratio), words, LADDER[effort == "wider"])
    except NotFoundError:
        return
    phones: list[Placed] = []
    for word in found:
        for k, phone in enumerate(word.phones):
            alone, last = len(word.phones) == 1, k == len(word.phones) - 1
            place = SINGLE if alone else BEGIN if k == 0 else END if last else INSIDE
            phones.append(Placed(phone.symbol, _step(phone.start_tick, ratio), place))
    if found[0].word is not None:  # a line may always begin and end in silence
        phones.insert(0, Placed(SILENCE, 0.0))
    if found[-1].word is not None:
        end = found[-1].phones[-1]
        phones.append(Placed(SILENCE, _step(end.start_tick + end.ticks, ratio)))
    yield _Reading(ratio, effort, found, tuple(phones))


def _step(tick: int, ratio: float) -> float:
    """Return the step, at the voice factor, of what a tick at a ratio to it shows."""
    return (us_of_sample(tick, recogniser.TICK_RATE_HZ) + HALF_WINDOW_US) / STEP_US / ratio


def _first_times(reading: _Reading) -> npt.NDArray[np.float64]:
    starts = np.array([phone.start_step for phone in reading.phones])
    starts[0] = 0.0
    return starts


def _likeliest(sound: Samples, readings: Sequence[_Reading]) -> tuple[_Reading, npt.NDArray[np.float64]]:
    """Return the reading that the acoustic model finds likeliest, and its finer times.

    Raises:
        NotFoundError: if none fits.
    """
    powers = mel_powers(sound)
    features, unlikely = features_of(powers), unlikely_silence(sound, powers)
    best: tuple[float, _Reading, npt.NDArray[np.float64]] | None = None
    for reading in readings:
        try:
            starts, likelihood = look(_acoustic_model(), features, reading.phones, unlikely)
        except NoPathError:
            continue
        if best is None or likelihood > best[0]:
            best = likelihood, reading, starts
    if best is None:
        raise NotFoundError("no reading fits in the second look")
    return best[1:]


@cache
def _acoustic_model() -> AcousticModel:
    return AcousticModel(recogniser.model_folder())


def _heard(reading: _Reading, times: Sequence[tuple[int, int]], free: npt.NDArray[np.float64]) -> Iterator[Heard]:
    at = 0 if reading.words[0].word is None else 1
    for word in reading.words:
        own = times[at : at + len(word.phones)]
        at += len(word.phones)
        if word.word is None:
            continue
        ticks = np.arange(word.phones[0].start_tick, word.phones[-1].start_tick + word.phones[-1].ticks)
        support = mean_score([word]) - float(free[ticks].mean())
        yield Heard(word.pronunciation, (*(start for start, _ in own), own[-1][1]), support, len(ticks))
