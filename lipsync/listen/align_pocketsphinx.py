"""Finds words and phonemes in the sound with the recogniser pocketsphinx. The only file that knows it.

In: samples (one channel, 16 kHz, 16 bits) and the words, each a tuple of pronunciations in ARPAbet without stress.
Out: words in order, each with the pronunciation that was heard and its phonemes in ticks of 10 ms, the silences and
noises between them included.

Conventions: a score is the sum over the ticks of the logarithm of how well the model fits, in the recogniser's own
unit; the higher the better, and only to be compared for each tick. The features of tick k are centred in a window
that begins with it, so what it shows is `HALF_WINDOW_US` later than its start: callers add that.

A fresh decoder is built for each alignment, over an empty dictionary to which only these words are added: that
takes 8 ms, no state is shared, and none is used again after a failure. `bestpath` is off, for with it some lines
end in a phoneme of impossible length; beams are wide, for with the defaults some noisy lines are not found
(pocketsphinx 5.1.1).
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pocketsphinx

TICK_RATE_HZ = 100
HALF_WINDOW_US = 7_812  # (25.625 ms - 10 ms) / 2, rounded down

Symbols = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Beams:
    """How far below the best path the search still looks: the smaller, the wider."""

    state: float
    phone: float
    word: float


# From the usual search to the widest.
LADDER = (Beams(1e-120, 1e-120, 1e-100), Beams(1e-300, 1e-300, 1e-250))


@dataclass(frozen=True, slots=True)
class TickPhone:
    """One phoneme where the recogniser placed it."""

    symbol: str
    start_tick: int
    ticks: int
    score: int

    def __post_init__(self) -> None:
        if self.ticks < 1:
            raise ValueError(f"{self.symbol} lasts {self.ticks} ticks")


@dataclass(frozen=True, slots=True)
class TickWord:
    """A word, by its place in the request and its pronunciation's place, or with `word` None a silence or noise."""

    word: int | None
    pronunciation: int
    phones: tuple[TickPhone, ...]


class NotFoundError(Exception):
    """The search found no way through the sound."""


def align_ticks(
    samples: npt.NDArray[np.int16], words: Sequence[Sequence[Symbols]], beams: Beams = LADDER[0]
) -> tuple[TickWord, ...]:
    """Align once: one pass chooses the pronunciations, a second one places the phonemes.

    Raises:
        NotFoundError: if the words are not found.
    """
    decoder = pocketsphinx.Decoder(
        lm=None,
        dict=os.devnull,
        bestpath=False,
        loglevel="FATAL",
        maxhmmpf=-1,
        beam=beams.state,
        pbeam=beams.phone,
        wbeam=beams.word,
    )
    for place, pronunciations in enumerate(words):
        for number, symbols in enumerate(pronunciations, start=1):
            decoder.add_word(f"w{place}({number})" if number > 1 else f"w{place}", " ".join(symbols), True)
    try:
        decoder.set_align_text(" ".join(f"w{place}" for place in range(len(words))))
        _listen(decoder, samples)
        decoder.set_alignment()
        _listen(decoder, samples)
        found = tuple(_word(entry) for entry in decoder.get_alignment() or ())
    except (RuntimeError, ValueError, TypeError) as fault:
        raise NotFoundError(str(fault)) from None
    if [entry.word for entry in found if entry.word is not None] != list(range(len(words))):
        raise NotFoundError("the search left words out")
    return found


def _listen(decoder: pocketsphinx.Decoder, samples: npt.NDArray[np.int16]) -> None:
    decoder.start_utt()
    decoder.process_raw(samples.tobytes(), full_utt=True)  # in one piece: its mean is taken over all of it
    decoder.end_utt()


def _word(entry: pocketsphinx.AlignmentEntry) -> TickWord:
    phones = tuple(TickPhone(phone.name, phone.start, phone.duration, phone.score) for phone in entry)
    if not entry.name.startswith("w"):
        return TickWord(None, 0, phones)
    place, _, number = entry.name[1:].rstrip(")").partition("(")
    return TickWord(int(place), int(number or 1) - 1, phones)
