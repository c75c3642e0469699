"""The first look: which pronunciations a line has, and roughly where its words lie, by the recogniser.

In: samples, the pronunciations of each word, and the voice factor. Out: the words in order, in microseconds of the
recording; what is between two of them is a silence.

The searches form a ladder; the first that finds all words ends it. "plain": at the voice factor. "other factor": at
factors near it. "wider": at all these factors, with wider beams. A sound longer than `WHOLE_US` is searched at the
voice factor only: it has enough words to find that factor well, and each search costs time.

A sound longer than `LONG_S` is searched in parts, because the cost of a search grows with words times ticks. If that
fails (a part may be silent), the sound is searched once as a whole.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lipsync.align.recogniser import (
    HALF_WINDOW_US,
    LADDER,
    PARTS,
    TICK_RATE_HZ,
    NotFoundError,
    Samples,
    Symbols,
    TickWord,
    beginning,
    find_roughly,
)
from lipsync.align.voice import slowed
from lipsync.audio.features import RATE_HZ
from lipsync.timing import us_of_sample

BESIDE = (0.93, 1.08, 0.85, 1.17, 1.3, 0.75)  # multiplied by the voice factor: the factors near it
EFFORTS = ("plain", "other factor", "wider")
WHOLE_US = 30_000_000  # chosen: a longer sound is cut into pieces
LONG_S = 300  # chosen: a longer sound is searched in parts
# Chosen: the length of a part; and of its end, where words may be cut off: it is searched again with the next part.
PART_S, END_S = 40, 6
WORDS_PER_S = 5  # chosen: nobody speaks faster for most of a minute
CUT_TICKS = 10  # chosen: a shorter silence may be the closure of a stop

Words = Sequence[Sequence[Symbols]]


@dataclass(frozen=True, slots=True)
class RoughWord:
    """Where a word lies, roughly; `pronunciation` is the index of the one that was heard."""

    pronunciation: int
    start_us: int
    end_us: int


@dataclass(frozen=True, slots=True)
class FirstLook:
    """The words of a line, each once and in order, and the step of the ladder that found them (one of `EFFORTS`)."""

    words: tuple[RoughWord, ...]
    effort: str


def first_look(samples: Samples, words: Words, factor: float) -> FirstLook:
    """Return what the first successful search of the ladder finds.

    Raises:
        NotFoundError: if no search finds the words.
    """
    beside = BESIDE if us_of_sample(len(samples), RATE_HZ) <= WHOLE_US else ()
    for effort, ratio in _steps(beside):
        try:
            found = _search(slowed(samples, factor * ratio), words, effort)
        except NotFoundError:
            continue
        words_only = (span for span in found if span.word is not None)
        return FirstLook(tuple(_of_recording(span, factor * ratio) for span in words_only), effort)
    raise NotFoundError("no search finds the words")


def _steps(beside: Sequence[float]) -> Iterator[tuple[str, float]]:
    """Yield the searches of the ladder: the effort, and what the voice factor is multiplied by."""
    yield "plain", 1.0
    yield from (("other factor", ratio) for ratio in beside)
    yield from (("wider", ratio) for ratio in (1.0, *beside))


def _of_recording(one: TickWord, factor: float) -> RoughWord:
    """Return a word in microseconds of the recording, from its ticks in the slowed sound."""
    start_us, end_us = (
        round((us_of_sample(tick, TICK_RATE_HZ) + HALF_WINDOW_US) / factor) for tick in (one.start_tick, one.end_tick)
    )
    return RoughWord(one.pronunciation, start_us, end_us)


def _search(sound: Samples, words: Words, effort: str) -> Sequence[TickWord]:
    if len(sound) > LONG_S * RATE_HZ and effort != "wider":
        return _by_parts(sound, words)
    return find_roughly(sound, words, LADDER[effort == "wider"])


def _by_parts(sound: Samples, words: Words) -> list[TickWord]:
    """Return the words of a long sound, searched in parts.

    Raises:
        NotFoundError: if a part has none of the words, or if no words are left before the last part.
    """
    found: list[TickWord] = []
    tick, word, samples_per_tick = 0, 0, RATE_HZ // TICK_RATE_HZ
    while len(sound) - tick * samples_per_tick > 2 * PART_S * RATE_HZ:
        part = sound[tick * samples_per_tick :][: PART_S * RATE_HZ]
        *own, last = _kept(beginning(part, words[word : word + PART_S * WORDS_PER_S], PARTS))
        found += _moved(own, word, tick)
        tick += (last.start_tick + last.end_tick) // 2 if last.word is None else last.start_tick
        word += 1 + max(span.word for span in own if span.word is not None)
        if word >= len(words):
            raise NotFoundError("the words end before the sound")
    return [*found, *_moved(find_roughly(sound[tick * samples_per_tick :], words[word:], PARTS), word, tick)]


def _kept(found: Sequence[TickWord]) -> Sequence[TickWord]:
    """Return what was found in a part up to its cut: the last silence before the part's end, else the last word."""
    sure = [k for k, span in enumerate(found) if span.start_tick < (PART_S - END_S) * TICK_RATE_HZ]
    words = [k for k in sure if found[k].word is not None]
    silences = [k for k in sure if found[k].word is None and found[k].end_tick - found[k].start_tick >= CUT_TICKS]
    at = max((k for k in silences if words and k > words[0]), default=words[-1] if len(words) > 1 else None)
    if at is None:
        raise NotFoundError("a part has none of the words")
    return found[: at + 1]


def _moved(found: Sequence[TickWord], word: int, tick: int) -> list[TickWord]:
    """Return words of a part, numbered and timed in the whole sound, whose `word` and `tick` the part begins with."""
    return [
        TickWord(
            None if one.word is None else one.word + word,
            one.pronunciation,
            one.start_tick + tick,
            one.end_tick + tick,
        )
        for one in found
    ]
