"""Finds words and phonemes in the sound with the recogniser pocketsphinx. The only file that knows it.

In: samples (one channel, 16 kHz, 16 bits) and the words, each a sequence of pronunciations in ARPAbet without stress.
Out: words in order, each with the pronunciation that was heard, and the silences and noises between them, in ticks
of 10 ms; from `align_ticks` their phonemes.

Conventions: a score is a log likelihood in the recogniser's own unit, summed over the ticks; higher is better. Only
scores divided by their ticks can be compared. The features of tick k describe a window that begins with the tick and
is longer than it, so what they show lies `HALF_WINDOW_US` later than the tick: callers add that.

A decoder begins with an empty dictionary. Each alignment adds its own words, under names that no other has; building
a decoder for each would take as long again as the search. Its feature extraction is built anew for each sound, since
its tracking of noise and its mean would go on from the sound before; so the results are those of a new decoder. No
decoder is used by two at once, nor again after a failure. `bestpath` is off, for with it some lines end in a phoneme
of impossible length. Beams are wide, for with the defaults some noisy lines are not found (pocketsphinx 5.1.1).
"""

from __future__ import annotations

import itertools
import os
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pocketsphinx

from lipsync.align.time_limit import check_patience
from lipsync.audio.features import RATE_HZ

TICK_RATE_HZ = 100
HALF_WINDOW_US = 7_812  # (25.625 ms of a window - 10 ms of a tick) / 2, rounded down
LOG_BASE = 1.0001
NO_WORD = "(NULL)"  # the recogniser's name for a jump over words that are left out
MOST_WORDS = 5_000  # chosen: a decoder whose dictionary has more is not used again
LONGEST_KEPT_S = 30  # chosen: what a decoder has allocated for a longer sound is given back with it
_NAME = re.compile(r"\d+w(\d+)(?:\((\d+)\))?")

Symbols = tuple[str, ...]
Samples = npt.NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Beams:
    """How improbable a path may be, beside the best one, before the search drops it: the smaller, the wider."""

    state: float
    phone: float
    word: float


# The usual search, and the widest.
LADDER = (Beams(1e-120, 1e-120, 1e-100), Beams(1e-300, 1e-300, 1e-250))
PARTS = Beams(1e-60, 1e-60, 1e-50)  # for parts of a long line: wider beams find the same, and take longer


@dataclass(frozen=True, slots=True)
class TickWord:
    """A word in ticks; `word` and `pronunciation` are indices into the request. A silence or noise has None and 0."""

    word: int | None
    pronunciation: int
    start_tick: int
    end_tick: int


@dataclass(frozen=True, slots=True)
class TickPhone:
    """One phoneme of a word where the recogniser placed it, and its score there (see the module's conventions)."""

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
    """Return where the words lie, roughly, by one pass, whose cost grows only in proportion to the length.

    Raises:
        NotFoundError: if they are not found.
    """
    with _borrowed(beams, samples) as lent:
        found = _spans(_after_first_pass(lent, samples, words))
    _check_places([span.word for span in found], len(words))
    return found


def align_ticks(
    samples: Samples, words: Sequence[Sequence[Symbols]], beams: Beams = LADDER[0]
) -> tuple[TickPhone, ...]:
    """Return the phonemes in ticks: one pass chooses the pronunciations, a second one places the phonemes.

    The time and memory of the second pass grow with the square of the length: 30 MB for 30 s, 2 GB for 5 minutes.

    Raises:
        NotFoundError: if the words are not found.
    """
    with _borrowed(beams, samples) as lent:
        decoder = _after_first_pass(lent, samples, words)
        _check_places([span.word for span in _spans(decoder)], len(words))
        decoder.set_alignment()
        _listen(decoder, samples)
        phones = tuple(
            TickPhone(phone.name, _place_of(entry.name)[0], phone.start, phone.duration, phone.score)
            for entry in decoder.get_alignment() or ()
            for phone in entry
        )
    _check_places([place for place, _ in itertools.groupby(phone.word for phone in phones)], len(words))
    return phones


class _Lent:
    """A decoder that searches one sound after another."""

    def __init__(self, beams: Beams) -> None:
        self.decoder = _decoder(beams)
        self._sounds = self._words = 0

    @property
    def used_up(self) -> bool:
        """Whether its dictionary has grown so long that a new decoder is better."""
        return self._words >= MOST_WORDS

    def for_another(self) -> None:
        """Make ready for another sound."""
        if self._sounds:
            self.decoder.reinit_feat()
        self._sounds += 1

    def add(self, words: Sequence[Sequence[Symbols]]) -> list[str]:
        """Add the words of a sound, and return the name of each in the dictionary."""
        names = [f"{self._sounds}w{place}" for place in range(len(words))]
        for name, pronunciations in zip(names, words, strict=True):
            for number, symbols in enumerate(pronunciations, start=1):
                self.decoder.add_word(f"{name}({number})" if number > 1 else name, " ".join(symbols), update=False)
            self._words += len(pronunciations)
        return names


_idle: dict[Beams, list[_Lent]] = {beams: [] for beams in (*LADDER, PARTS)}


@contextmanager
def _borrowed(beams: Beams, samples: Samples) -> Iterator[_Lent]:
    """Lend a decoder for one sound, and turn the exceptions of the recogniser into `NotFoundError`."""
    idle = _idle[beams]
    try:
        lent = idle.pop() if idle else _Lent(beams)
        lent.for_another()
        yield lent
    except (RuntimeError, ValueError, TypeError) as fault:
        raise NotFoundError(str(fault)) from None
    if not lent.used_up and len(samples) <= LONGEST_KEPT_S * RATE_HZ:
        idle.append(lent)


def beginning(samples: Samples, words: Sequence[Sequence[Symbols]], beams: Beams) -> tuple[TickWord, ...]:
    """Return the first words, as many as fit the sound best, roughly, and the silences and noises between them.

    Raises:
        NotFoundError: if none of the words fits.
    """
    with _borrowed(beams, samples) as lent:
        decoder = lent.decoder
        onward = [(place, place + 1, 1.0, name) for place, name in enumerate(lent.add(words))]
        enough = [(place, len(words), 1.0) for place in range(1, len(words))]
        decoder.add_fsg("line", decoder.create_fsg("line", 0, len(words), [*onward, *enough]))
        decoder.activate_search("line")
        _listen(decoder, samples)
        return _spans(decoder)


def _after_first_pass(lent: _Lent, samples: Samples, words: Sequence[Sequence[Symbols]]) -> pocketsphinx.Decoder:
    """Return the decoder after it has searched the sound for exactly these words."""
    lent.decoder.set_align_text(" ".join(lent.add(words)))
    _listen(lent.decoder, samples)
    return lent.decoder


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
    # In one piece, so that the recogniser takes the mean of the features over the whole of it.
    decoder.process_raw(samples.tobytes(), full_utt=True)
    decoder.end_utt()


def _place_of(name: str) -> tuple[int | None, int]:
    """Return the indices of word and pronunciation that a name from `_Lent.add` means; (None, 0) for a silence."""
    found = _NAME.fullmatch(name)
    return (int(found[1]), int(found[2] or 1) - 1) if found else (None, 0)


def _spans(decoder: pocketsphinx.Decoder) -> tuple[TickWord, ...]:
    return tuple(
        TickWord(*_place_of(span.word), span.start_frame, span.end_frame + 1)
        for span in decoder.seg() or ()
        if span.word != NO_WORD
    )


def _check_places(places: list[int | None], count: int) -> None:
    """Check that each word was found once and in order.

    Raises:
        NotFoundError: if not.
    """
    if [place for place in places if place is not None] != list(range(count)):
        raise NotFoundError("the search left words out")
