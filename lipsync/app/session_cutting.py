"""A recording of a whole session cut into its lines by listening: which line is said where, in order or not.

In: a recording and the lines that are said in it. Out: `SessionTake`s, each a line with the stretch in which it is
said; of a line said more than once all of them. The recording is divided at its pauses; each stretch, and each run of
a few of them, is searched for each line that may last as long, and the division is taken whose lines fit best in all.
What fits none, such as a false start, belongs to none. A take is complete if nearly all of its words are heard.

Every number here is chosen; `tests/measure_sessions.py` says what comes of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from lipsync.align.line import LineSettings, listen_to, pronunciations_of
from lipsync.align.recogniser import NotFoundError, Symbols
from lipsync.align.search import Alignment, find_words
from lipsync.audio.features import RATE_HZ
from lipsync.audio.recording import Recording, heard, levels_db, noise_floor_db
from lipsync.errors import LineError
from lipsync.report import Progress, no_progress
from lipsync.text.script import SpokenWord, Token, tokens_of
from lipsync.timing import US_PER_S, sample_of_us

PAUSE_US = 300_000  # a shorter pause is within a stretch
LONGEST_PAUSE_US = 1_500_000  # a longer one is within no line
MOST_STRETCHES = 5  # of one line
ABOVE_ROOM_DB, BELOW_LOUD_DB = 6.0, 45.0  # speech is so much above the room, and at most so far below what is loud
PHONEME_US = 80_000  # a phoneme lasts about so long
SHORTEST, LONGEST = 0.5, 2.2  # times as long as that a line may last
LEAST_SUPPORT = -4.4  # right lines have -2.2 to -3.6, wrong ones -3.8 and less
SURE_SUPPORT = -3.4  # a stretch that fits so well is a line by itself
STRAY_COST = 3.0  # of a second of speech in a run that is no word of its line, in the unit of support
LEAST_AHEAD = 0.5  # by how much the best line must fit better than the next
MOST_DOUBTFUL = 0.34  # of the words of a complete take
STRAY_US = 600_000  # what is heard before a line's first word or after its last, and is more, is not the line's
LEAD_US = 40_000  # what is kept of it before the first word
DYING_US = 20_000  # a sound dies away below what is taken for speech

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class SessionLine:
    """A line that is said in the session: its id, its text, and how it is listened to."""

    id: str
    text: str
    settings: LineSettings


@dataclass(frozen=True, slots=True)
class SessionTake:
    """A line said once, from when to when, and whether it is complete."""

    line: str
    start_us: int
    end_us: int
    complete: bool


def takes_of(
    recording: Recording, lines: Sequence[SessionLine], progress: Progress = no_progress
) -> tuple[SessionTake, ...]:
    """Return what is said where, in order of time.

    Raises:
        LineError: if a text holds nothing that can be heard.
    """
    said = {line.id: _words(line) for line in lines}
    stretches = stretches_of(recording)
    runs = sorted(_runs(stretches), key=lambda run: run[1] - run[0])
    fits: dict[tuple[int, int], tuple[str, Alignment]] = {}
    sure: set[int] = set()
    for number, (first, last) in enumerate(runs):
        progress("cutting", number, len(runs))
        if last > first and not sure.isdisjoint(range(first, last + 1)):
            continue
        span = stretches[first][0], stretches[last][1]
        if (best := _best(recording, span, lines, said)) is not None:
            fits[first, last] = best
            if last == first and best[1].support >= SURE_SUPPORT:
                sure.add(first)
    progress("cutting", len(runs), len(runs))
    by_id = {line.id: line for line in lines}
    found = []
    for first, last in _divided(len(stretches), fits, stretches):
        id, alignment = fits[first, last]
        span = _trimmed((stretches[first][0], stretches[last][1]), alignment, tokens_of(by_id[id].text))
        span = span[0], min(recording.duration_us, span[1] + DYING_US)
        found.append(SessionTake(id, *span, _complete(recording, span, by_id[id])))
    return tuple(found)


def stretches_of(recording: Recording) -> list[Span]:
    """Return the stretches between pauses."""
    steps = [(at, at + 20_000) for at in range(0, recording.duration_us, 20_000)]
    loud = sorted(levels_db(recording, steps))[int(len(steps) * 0.95)]
    threshold = max(noise_floor_db(recording) + ABOVE_ROOM_DB, loud - BELOW_LOUD_DB)
    found: list[Span] = []
    for start_us, end_us in heard(recording, 0, recording.duration_us, threshold):
        if found and start_us - found[-1][1] < PAUSE_US:
            found[-1] = (found[-1][0], end_us)
        else:
            found.append((start_us, end_us))
    return found


def _runs(stretches: Sequence[Span]) -> list[tuple[int, int]]:
    """Return every run of stretches that may be one line."""
    found = []
    for first in range(len(stretches)):
        for last in range(first, min(len(stretches), first + MOST_STRETCHES)):
            gaps = (after[0] - before[1] for before, after in pairwise(stretches[first : last + 1]))
            if all(gap <= LONGEST_PAUSE_US for gap in gaps):
                found.append((first, last))
    return found


def _words(line: SessionLine) -> list[list[Symbols]]:
    said = pronunciations_of(tokens_of(line.text), line.settings)
    return [[way.bare for way in word] for word in said]


def _best(
    recording: Recording, span: Span, lines: Sequence[SessionLine], said: dict[str, list[list[Symbols]]]
) -> tuple[str, Alignment] | None:
    """Return the line that is said in a stretch; None if none is, or it may be either of two."""
    samples = recording.samples[slice(*(sample_of_us(time_us, RATE_HZ) for time_us in span))]
    found: list[tuple[float, str, Alignment]] = []
    for line in lines:
        words = said[line.id]
        usual = PHONEME_US * sum(min(map(len, word)) for word in words)
        if words and SHORTEST * usual <= span[1] - span[0] <= LONGEST * usual:
            try:
                alignment = find_words(samples, words, line.settings.voice_factor or 1.0)
            except NotFoundError:
                continue
            found.append((alignment.support, line.id, alignment))
    found.sort(key=lambda one: one[0], reverse=True)
    if not found or found[0][0] < LEAST_SUPPORT:
        return None
    if len(found) > 1 and found[0][0] - found[1][0] < LEAST_AHEAD:
        return None
    return found[0][1], found[0][2]


def _divided(
    count: int, fits: dict[tuple[int, int], tuple[str, Alignment]], stretches: Sequence[Span]
) -> list[tuple[int, int]]:
    """Return the runs, none over another, whose lines fit best in all."""
    best: list[tuple[float, tuple[tuple[int, int], ...]]] = [(0.0, ())]
    for end in range(1, count + 1):
        options = [best[end - 1]]
        for first in range(max(0, end - MOST_STRETCHES), end):
            if (first, end - 1) in fits:
                value = best[first][0] + _worth(fits[first, end - 1][1], stretches[first:end])
                options.append((value, (*best[first][1], (first, end - 1))))
        best.append(max(options, key=lambda one: one[0]))
    return list(best[count][1])


def _worth(alignment: Alignment, stretches: Sequence[Span]) -> float:
    """Return how much it is worth to take a run for a line: what its words explain, less what they do not."""
    explained_us = sum(word.times_us[-1] - word.times_us[0] for word in alignment.words)
    stray_us = max(0, sum(end_us - start_us for start_us, end_us in stretches) - explained_us - STRAY_US)
    return ((alignment.support - LEAST_SUPPORT) * explained_us - STRAY_COST * stray_us) / US_PER_S


def _trimmed(span: Span, alignment: Alignment, tokens: Sequence[Token]) -> Span:
    """Return a stretch without what is heard long before its first word or after its last, if that is no cue."""
    first_us = span[0] + alignment.words[0].times_us[0]
    last_us = span[0] + alignment.words[-1].times_us[-1]
    start_us, end_us = span
    if first_us - start_us > STRAY_US and isinstance(tokens[0], SpokenWord):
        start_us = first_us - LEAD_US
    if end_us - last_us > STRAY_US and isinstance(tokens[-1], SpokenWord):
        end_us = last_us + LEAD_US
    return start_us, end_us


def _complete(recording: Recording, span: Span, line: SessionLine) -> bool:
    """Whether nearly all words of a line are heard in a stretch."""
    first, last = (sample_of_us(time_us, RATE_HZ) for time_us in span)
    samples = recording.samples[first:last].copy()
    samples.flags.writeable = False
    part = Recording(recording.path, samples, span[1] - span[0], recording.fingerprint, recording.gain_db)
    try:
        words = listen_to(part, line.text, line.settings).words
    except LineError:
        return False
    return sum(word.doubtful for word in words) <= MOST_DOUBTFUL * len(words)
