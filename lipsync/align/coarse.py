"""First look: which pronunciations and silences a line has, and about where, by the recogniser.

In: samples, the pronunciations of each word, and the voice factor. Out: the words in order, in microseconds of the
recording; what is between two of them is a silence.

The ladder. "plain": at the voice factor; "other factor": at factors beside it, where that finds nothing; "wider":
all of them with wider beams, where those find nothing. The first that is found is taken. What is longer than
`WHOLE_US` is searched at the voice factor only: there are words enough to find it from, and each search costs.

What is longer than `LONG_S` is searched a part at a time, for a search costs as much as its words times its ticks.
Where that fails, for a part may be silent, it is searched whole, once.
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

BESIDE = (0.93, 1.08, 0.85, 1.17, 1.3, 0.75)  # times the voice factor
EFFORTS = ("plain", "other factor", "wider")
WHOLE_US = 30_000_000  # chosen: what is longer is cut into pieces
LONG_S = 300  # chosen
PART_S, END_S = 40, 6  # chosen: its parts, and what of each is searched again, for there words may be cut off
WORDS_PER_S = 5  # chosen: nobody says more over most of a minute
CUT_TICKS = 10  # chosen: a shorter silence may be the closure of a stop

Words = Sequence[Sequence[Symbols]]


@dataclass(frozen=True, slots=True)
class RoughWord:
    """Where a word lies, about, and the place of its pronunciation."""

    pronunciation: int
    start_us: int
    end_us: int


@dataclass(frozen=True, slots=True)
class FirstLook:
    """The words of a line, each once and in order, and which step of the ladder they took."""

    words: tuple[RoughWord, ...]
    effort: str


def first_look(samples: Samples, words: Words, factor: float) -> FirstLook:
    """Return the first that is found up the ladder.

    Raises:
        NotFoundError: if there is nothing at its end.
    """
    beside = BESIDE if us_of_sample(len(samples), RATE_HZ) <= WHOLE_US else ()
    for effort, ratio in _steps(beside):
        try:
            found = _search(slowed(samples, factor * ratio), words, effort)
        except NotFoundError:
            continue
        words_only = (one for one in found if one.word is not None)
        return FirstLook(tuple(_of_recording(one, factor * ratio) for one in words_only), effort)
    raise NotFoundError("no search finds the words")


def _steps(beside: Sequence[float]) -> Iterator[tuple[str, float]]:
    yield "plain", 1.0
    yield from (("other factor", ratio) for ratio in beside)
    yield from (("wider", ratio) for ratio in (1.0, *beside))


def _of_recording(one: TickWord, factor: float) -> RoughWord:
    start_us, end_us = (
        round((us_of_sample(tick, TICK_RATE_HZ) + HALF_WINDOW_US) / factor) for tick in (one.start_tick, one.end_tick)
    )
    return RoughWord(one.pronunciation, start_us, end_us)


def _search(sound: Samples, words: Words, effort: str) -> Sequence[TickWord]:
    if len(sound) > LONG_S * RATE_HZ and effort != "wider":
        return _by_parts(sound, words)
    return find_roughly(sound, words, LADDER[effort == "wider"])


def _by_parts(sound: Samples, words: Words) -> list[TickWord]:
    """Search a long sound a part at a time.

    Raises:
        NotFoundError: if a part has none of the words, or all that are left before the last.
    """
    found: list[TickWord] = []
    tick, word, samples_per_tick = 0, 0, RATE_HZ // TICK_RATE_HZ
    while len(sound) - tick * samples_per_tick > 2 * PART_S * RATE_HZ:
        part = sound[tick * samples_per_tick :][: PART_S * RATE_HZ]
        *own, last = _kept(beginning(part, words[word : word + PART_S * WORDS_PER_S], PARTS))
        found += _moved(own, word, tick)
        tick += (last.start_tick + last.end_tick) // 2 if last.word is None else last.start_tick
        word += 1 + max(one.word for one in own if one.word is not None)
        if word >= len(words):
            raise NotFoundError("the words end before the sound")
    return [*found, *_moved(find_roughly(sound[tick * samples_per_tick :], words[word:], PARTS), word, tick)]


def _kept(found: Sequence[TickWord]) -> Sequence[TickWord]:
    """Return what is found of a part up to where it may be cut: its last silence, or word, before its end."""
    sure = [k for k, one in enumerate(found) if one.start_tick < (PART_S - END_S) * TICK_RATE_HZ]
    words = [k for k in sure if found[k].word is not None]
    silences = [k for k in sure if found[k].word is None and found[k].end_tick - found[k].start_tick >= CUT_TICKS]
    at = max((k for k in silences if words and k > words[0]), default=words[-1] if len(words) > 1 else None)
    if at is None:
        raise NotFoundError("a part has none of the words")
    return found[: at + 1]


def _moved(found: Sequence[TickWord], word: int, tick: int) -> list[TickWord]:
    return [
        TickWord(
            None if one.word is None else one.word + word,
            one.pronunciation,
            one.start_tick + tick,
            one.end_tick + tick,
        )
        for one in found
    ]
