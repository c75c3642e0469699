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
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pocketsphinx

RATE_HZ = 16_000
TICK_RATE_HZ = 100
HALF_WINDOW_US = 7_812  # (25.625 ms - 10 ms) / 2, rounded down
LOG_BASE = 1.0001
LONGEST_TICKS = 3_000  # chosen: half a minute takes 30 MB, a whole one 120
CUT_TICKS = 10  # chosen: a shorter silence may be the closure of a stop

Symbols = tuple[str, ...]
Samples = npt.NDArray[np.int16]
_Span = tuple[int | None, int, int, int]  # word, pronunciation, first tick, tick after the last


@dataclass(frozen=True, slots=True)
class Beams:
    """How far below the best path the search still looks: the smaller, the wider."""

    state: float
    phone: float
    word: float


# From the usual search to the widest.
LADDER = (Beams(1e-120, 1e-120, 1e-100), Beams(1e-300, 1e-300, 1e-250))
FREE = Beams(1e-60, 1e-20, 1e-20)  # of phonemes in any order: more cost time, and change nothing


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
    samples: Samples, words: Sequence[Sequence[Symbols]], beams: Beams = LADDER[0]
) -> tuple[TickWord, ...]:
    """Align once: one pass chooses the pronunciations, a second one places the phonemes.

    The second pass costs time and memory with the square of the length (2 GB for 300 s), so a long recording is cut
    in the silences that the first one found, and each piece aligned by itself.

    Raises:
        NotFoundError: if the words are not found.
    """
    decoder = _decoder(beams)
    for place, pronunciations in enumerate(words):
        for number, symbols in enumerate(pronunciations, start=1):
            decoder.add_word(f"w{place}({number})" if number > 1 else f"w{place}", " ".join(symbols), True)
    try:
        decoder.set_align_text(" ".join(f"w{place}" for place in range(len(words))))
        _listen(decoder, samples)
        spans = tuple((*_place_of(span.word), span.start_frame, span.end_frame + 1) for span in decoder.seg() or ())
        _check_places([place for place, *_ in spans], len(words))
        pieces = _pieces(spans)
        if len(pieces) > 1:
            return _joined_pieces(samples, words, beams, pieces)
        decoder.set_alignment()
        _listen(decoder, samples)
        found = tuple(_word(entry) for entry in decoder.get_alignment() or ())
    except (RuntimeError, ValueError, TypeError) as fault:
        raise NotFoundError(str(fault)) from None
    _check_places([word.word for word in found], len(words))
    return found


def free_scores(samples: Samples) -> npt.NDArray[np.float64]:
    """Return for each tick the score of whatever phonemes fit best, in any order: what a text has to stand up to."""
    decoder = _decoder(FREE)
    decoder.add_allphone_file("free", None)
    decoder.activate_search("free")
    _listen(decoder, samples)
    scores = np.zeros(decoder.n_frames())
    for span in decoder.seg() or ():
        # The score is given as a power of the recogniser's own base.
        total = np.log(span.ascore) / np.log(LOG_BASE)
        scores[span.start_frame : span.end_frame + 1] = total / (span.end_frame + 1 - span.start_frame)
    return scores


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
    decoder.start_utt()
    decoder.process_raw(samples.tobytes(), full_utt=True)  # in one piece: its mean is taken over all of it
    decoder.end_utt()


def _place_of(name: str) -> tuple[int | None, int]:
    """Return which word and which of its pronunciations a name of ours stands for; None for a silence or noise."""
    if not name.startswith("w"):
        return None, 0
    place, _, number = name[1:].rstrip(")").partition("(")
    return int(place), int(number or 1) - 1


def _word(entry: pocketsphinx.AlignmentEntry) -> TickWord:
    phones = tuple(TickPhone(phone.name, phone.start, phone.duration, phone.score) for phone in entry)
    return TickWord(*_place_of(entry.name), phones)


def _check_places(places: list[int | None], count: int) -> None:
    if [place for place in places if place is not None] != list(range(count)):
        raise NotFoundError("the search left words out")


def _pieces(spans: Sequence[_Span]) -> list[list[_Span]]:
    """Divide a first pass in the middle of silences, into pieces no longer than need be."""
    pieces: list[list[_Span]] = [[]]
    for span in spans:
        place, _, start, end = span
        piece = pieces[-1]
        long_enough = piece and end - piece[0][2] > LONGEST_TICKS and any(one[0] is not None for one in piece)
        if place is None and end - start >= CUT_TICKS and long_enough:
            middle = (start + end) // 2
            piece.append((None, 0, start, middle))
            pieces.append([(None, 0, middle, end)])
        else:
            piece.append(span)
    if len(pieces) > 1 and all(place is None for place, *_ in pieces[-1]):
        rest = pieces.pop()
        pieces[-1] += rest
    return pieces


def _joined_pieces(
    samples: Samples, words: Sequence[Sequence[Symbols]], beams: Beams, pieces: list[list[_Span]]
) -> tuple[TickWord, ...]:
    found: list[TickWord] = []
    tick = RATE_HZ // TICK_RATE_HZ
    for index, piece in enumerate(pieces):
        chosen = [(place, number) for place, number, _, _ in piece if place is not None]
        begin, last = piece[0][2], index == len(pieces) - 1
        sound = samples[begin * tick : None if last else piece[-1][3] * tick]
        for word in align_ticks(sound, [[words[place][number]] for place, number in chosen], beams):
            place, number = (None, 0) if word.word is None else chosen[word.word]
            phones = tuple(replace(phone, start_tick=phone.start_tick + begin) for phone in word.phones)
            found.append(TickWord(place, number, phones))
    return tuple(found)
