"""Finds words and phonemes in the sound with the recogniser pocketsphinx. The only file that knows it.

In: samples (one channel, 16 kHz, 16 bits) and the words, each a tuple of pronunciations in ARPAbet without stress.
Out: words in order, each with the pronunciation that was heard, and the silences and noises between them, in ticks
of 10 ms; asked for it, their phonemes too.

Conventions: a score is the sum over the ticks of the logarithm of how well the model fits, in the recogniser's own
unit; the higher the better, and only to be compared for each tick. The features of tick k are centred in a window
that begins with it, so what it shows is `HALF_WINDOW_US` later than its start: callers add that.

A fresh decoder is built for each alignment, over an empty dictionary to which only these words are added: that
takes 8 ms, no state is shared, and none is used again after a failure. `bestpath` is off, for with it some lines
end in a phoneme of impossible length; beams are wide, for with the defaults some noisy lines are not found
(pocketsphinx 5.1.1).
"""

from __future__ import annotations

import itertools
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pocketsphinx

from lipsync.align.time_limit import check_patience

TICK_RATE_HZ = 100
HALF_WINDOW_US = 7_812  # (25.625 ms - 10 ms) / 2, rounded down
LOG_BASE = 1.0001
NO_WORD = "(NULL)"  # what the recogniser calls the step past words that are left out

Symbols = tuple[str, ...]
Samples = npt.NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Beams:
    """How far below the best path the search still looks: the smaller, the wider."""

    state: float
    phone: float
    word: float


# From the usual search to the widest.
LADDER = (Beams(1e-120, 1e-120, 1e-100), Beams(1e-300, 1e-300, 1e-250))
PARTS = Beams(1e-60, 1e-60, 1e-50)  # of words, roughly, in parts of a long line: wider ones find the same, later


@dataclass(frozen=True, slots=True)
class TickWord:
    """A word, by its place in the request and its pronunciation's place, or with `word` None a silence or noise."""

    word: int | None
    pronunciation: int
    start_tick: int
    end_tick: int


@dataclass(frozen=True, slots=True)
class TickPhone:
    """One phoneme of a word where the recogniser placed it, and how well it fits there."""

    symbol: str
    word: int | None
    start_tick: int
    ticks: int
    score: int

    def __post_init__(self) -> None:
        if self.ticks < 1:
            raise ValueError(f"{self.symbol} lasts {self.ticks} ticks")


class NotFoundError(Exception):
    """The search found no way through the sound."""


def model_folder() -> Path:
    """Return where the recogniser keeps its acoustic model."""
    return Path(pocketsphinx.get_model_path("en-us/en-us"))


def find_roughly(
    samples: Samples, words: Sequence[Sequence[Symbols]], beams: Beams = LADDER[0]
) -> tuple[TickWord, ...]:
    """Find the words by one pass, which costs only with the length.

    Raises:
        NotFoundError: if they are not found.
    """
    with _told_apart():
        found = _spans(_after_first_pass(samples, words, beams))
    _check_places([span.word for span in found], len(words))
    return found


def align_ticks(
    samples: Samples, words: Sequence[Sequence[Symbols]], beams: Beams = LADDER[0]
) -> tuple[TickPhone, ...]:
    """Align phonemes: one pass chooses the pronunciations, a second one places the phonemes.

    The second pass costs time and memory with the square of the length: 30 MB for half a minute, 2 GB for five.

    Raises:
        NotFoundError: if the words are not found.
    """
    with _told_apart():
        decoder = _after_first_pass(samples, words, beams)
        _check_places([span.word for span in _spans(decoder)], len(words))
        decoder.set_alignment()
        _listen(decoder, samples)
        found = tuple(
            TickPhone(phone.name, _place_of(entry.name)[0], phone.start, phone.duration, phone.score)
            for entry in decoder.get_alignment() or ()
            for phone in entry
        )
    _check_places([place for place, _ in itertools.groupby(phone.word for phone in found)], len(words))
    return found


@contextmanager
def _told_apart() -> Iterator[None]:
    """Tell the recogniser's failures as ours."""
    try:
        yield
    except (RuntimeError, ValueError, TypeError) as fault:
        raise NotFoundError(str(fault)) from None


def beginning(samples: Samples, words: Sequence[Sequence[Symbols]], beams: Beams) -> tuple[TickWord, ...]:
    """Return as many of the words, from the first on, as fit best into the sound, roughly, and what is between.

    Raises:
        NotFoundError: if none do.
    """
    with _told_apart():
        decoder = _decoder(beams)
        _add_words(decoder, words)
        onward = [(place, place + 1, 1.0, f"w{place}") for place in range(len(words))]
        enough = [(place, len(words), 1.0) for place in range(1, len(words))]
        decoder.add_fsg("line", decoder.create_fsg("line", 0, len(words), [*onward, *enough]))
        decoder.activate_search("line")
        _listen(decoder, samples)
        return _spans(decoder)


def _after_first_pass(samples: Samples, words: Sequence[Sequence[Symbols]], beams: Beams) -> pocketsphinx.Decoder:
    decoder = _decoder(beams)
    _add_words(decoder, words)
    decoder.set_align_text(" ".join(f"w{place}" for place in range(len(words))))
    _listen(decoder, samples)
    return decoder


def _add_words(decoder: pocketsphinx.Decoder, words: Sequence[Sequence[Symbols]]) -> None:
    for place, pronunciations in enumerate(words):
        for number, symbols in enumerate(pronunciations, start=1):
            name = f"w{place}({number})" if number > 1 else f"w{place}"
            decoder.add_word(name, " ".join(symbols), update=True)


def _decoder(beams: Beams) -> pocketsphinx.Decoder:
    return pocketsphinx.Decoder(
        lm=None,
        dict=os.devnull,
        bestpath=False,
        loglevel="FATAL",
        maxhmmpf=-1,
        logbase=LOG_BASE,
        beam=beams.state,
        pbeam=beams.phone,
        wbeam=beams.word,
        allphone_ci=True,
    )


def _listen(decoder: pocketsphinx.Decoder, samples: Samples) -> None:
    check_patience()
    decoder.start_utt()
    decoder.process_raw(samples.tobytes(), full_utt=True)  # in one piece: its mean is taken over all of it
    decoder.end_utt()


def _place_of(name: str) -> tuple[int | None, int]:
    """Return which word and which of its pronunciations a name of ours stands for; None for a silence or noise."""
    if not name.startswith("w"):
        return None, 0
    place, _, number = name[1:].rstrip(")").partition("(")
    return int(place), int(number or 1) - 1


def _spans(decoder: pocketsphinx.Decoder) -> tuple[TickWord, ...]:
    return tuple(
        TickWord(*_place_of(span.word), span.start_frame, span.end_frame + 1)
        for span in decoder.seg() or ()
        if span.word != NO_WORD
    )


def _check_places(places: list[int | None], count: int) -> None:
    if [place for place in places if place is not None] != list(range(count)):
        raise NotFoundError("the search left words out")
