"""A recording of a whole session cut into its lines by listening: which line is said where, in order or not.

In: a recording and the lines that are said in it. Out: `SessionTake`s: each is a line with the stretch in which it is
said; a line that is said more than once has several. The recording is divided into stretches at its pauses. In each
stretch, and in each run of a few stretches, every line that may last so long is searched for; then the runs are
chosen whose lines fit best in all. Where two lines fit about as well, one that fits much better elsewhere is said
there, and not here. A stretch that fits no line, such as a false start, is left out. A take is complete if nearly all
of its words are heard.

Every number here is chosen; `tests/measure_sessions.py` measures how well they do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from lipsync.align.line import listen_to, pronunciations_of
from lipsync.align.recogniser import NotFoundError, Symbols
from lipsync.align.search import Alignment, find_words
from lipsync.align.settings import LineSettings
from lipsync.audio.features import RATE_HZ
from lipsync.audio.recording import Recording, heard, levels_db, noise_floor_db
from lipsync.errors import LineError
from lipsync.report import Progress, no_progress
from lipsync.text.script import SpokenWord, Token, tokens_of
from lipsync.timing import US_PER_S, sample_of_us

STEP_US = 20_000  # the level is measured in steps of this length
LOUD_PART = 0.95  # this part of the steps is not as loud as what is called loud
PAUSE_US = 300_000  # shorter pauses do not divide a stretch
LONGEST_PAUSE_US = 1_500_000  # no line has a longer pause within it
MOST_STRETCHES = 5  # the most stretches of one line
ABOVE_ROOM_DB, BELOW_LOUD_DB = 6.0, 45.0  # speech is above the room by this, and below what is loud by this at most
PHONEME_US = 80_000  # the usual length of a phoneme
SHORTEST, LONGEST = 0.5, 2.2  # a line lasts between these multiples of its phonemes' usual length
LEAST_SUPPORT = -4.4  # right lines have -2.2 to -3.6, wrong ones -3.8 and less
SURE_SUPPORT = -3.4  # a stretch with this support is a line by itself
STRAY_COST = 3.0  # cost of a second of speech in a run that no word of its line explains, in the unit of support
LEAST_AHEAD = 0.5  # by how much the best line must fit better than the next
MOST_DOUBTFUL = 0.34  # the most doubtful words in a complete take, as a part of all
STRAY_US = 600_000  # more sound than this before a line's first word, or after its last, does not belong to the line
LEAD_US = 40_000  # how much of such sound is kept beside the word
DYING_US = 20_000  # how long a sound goes on below the level that is taken for speech

Span = tuple[int, int]

# A line that is said in a stretch, and where its words are in it.
_Fit = tuple[str, Alignment]


@dataclass(frozen=True, slots=True)
class SessionLine:
    """A line that is said in the session: its id, its text, and how it is listened to."""

    id: str
    text: str
    settings: LineSettings


@dataclass(frozen=True, slots=True)
class SessionTake:
    """A line said once: its id, when it is said, and whether it is complete."""

    line: str
    start_us: int
    end_us: int
    complete: bool


def takes_of(
    recording: Recording, lines: Sequence[SessionLine], progress: Progress = no_progress
) -> tuple[SessionTake, ...]:
    """Return what is said where, in order of time.

    Raises:
        LineError: if a text has nothing that can be heard.
    """
    said = {line.id: _words(line) for line in lines}
    stretches = stretches_of(recording)
    runs = sorted(_runs(stretches), key=lambda run: run[1] - run[0])
    fits: dict[tuple[int, int], _Fit] = {}
    several: dict[tuple[int, int], list[_Fit]] = {}
    sure: set[int] = set()
    for number, (first, last) in enumerate(runs):
        progress("cutting", number, len(runs))
        if last > first and not sure.isdisjoint(range(first, last + 1)):
            continue
        span = stretches[first][0], stretches[last][1]
        best = _best(recording, span, lines, said)
        if len(best) > 1:
            several[first, last] = best
        elif best:
            fits[first, last] = best[0]
            if last == first and best[0][1].support >= SURE_SUPPORT:
                sure.add(first)
    progress("cutting", len(runs), len(runs))
    fits |= _told_apart(several, fits)
    by_id = {line.id: line for line in lines}
    found = []
    for first, last in _divided(len(stretches), fits, stretches):
        id, alignment = fits[first, last]
        span = _trimmed((stretches[first][0], stretches[last][1]), alignment, tokens_of(by_id[id].text))
        span = span[0], min(recording.duration_us, span[1] + DYING_US)
        found.append(SessionTake(id, *span, _complete(recording, span, by_id[id])))
    return tuple(found)


def stretches_of(recording: Recording) -> list[Span]:
    """Return start and end of each stretch between pauses, in microseconds."""
    steps = [(at, at + STEP_US) for at in range(0, recording.duration_us, STEP_US)]
    loud_db = sorted(levels_db(recording, steps))[int(len(steps) * LOUD_PART)]
    threshold_db = max(noise_floor_db(recording) + ABOVE_ROOM_DB, loud_db - BELOW_LOUD_DB)
    found: list[Span] = []
    for start_us, end_us in heard(recording, 0, recording.duration_us, threshold_db):
        if found and start_us - found[-1][1] < PAUSE_US:
            found[-1] = (found[-1][0], end_us)
        else:
            found.append((start_us, end_us))
    return found


def _runs(stretches: Sequence[Span]) -> list[tuple[int, int]]:
    """Return the first and last index of every run of stretches that may be one line."""
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
) -> list[_Fit]:
    """Return the line that is said in a stretch; several if they fit about as well, none if none fits."""
    samples = recording.samples[slice(*(sample_of_us(time_us, RATE_HZ) for time_us in span))]
    found: list[tuple[float, str, Alignment]] = []
    for line in lines:
        words = said[line.id]
        usual_us = PHONEME_US * sum(min(map(len, word)) for word in words)
        if words and SHORTEST * usual_us <= span[1] - span[0] <= LONGEST * usual_us:
            try:
                alignment = find_words(samples, words, line.settings.voice_factor or 1.0)
            except NotFoundError:
                continue
            found.append((alignment.support, line.id, alignment))
    found.sort(key=lambda one: one[0], reverse=True)
    if not found or found[0][0] < LEAST_SUPPORT:
        return []
    return [(id, alignment) for support, id, alignment in found if found[0][0] - support < LEAST_AHEAD]


def _told_apart(
    several: dict[tuple[int, int], list[_Fit]], fits: dict[tuple[int, int], _Fit]
) -> dict[tuple[int, int], _Fit]:
    """Return the runs in which all but one of several lines fit much better elsewhere, each with that one."""

    def elsewhere(run: tuple[int, int], fit: _Fit) -> bool:
        return any(
            id == fit[0] and alignment.support - fit[1].support >= LEAST_AHEAD and (last < run[0] or first > run[1])
            for (first, last), (id, alignment) in fits.items()
        )

    left = {run: [fit for fit in own if not elsewhere(run, fit)] for run, own in several.items()}
    return {run: own[0] for run, own in left.items() if len(own) == 1}


def _divided(count: int, fits: dict[tuple[int, int], _Fit], stretches: Sequence[Span]) -> list[tuple[int, int]]:
    """Return the runs, none overlapping another, whose lines fit best in all."""
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
    """Return the worth of taking a run for a line: for what its words explain, less for what they do not."""
    explained_us = sum(word.times_us[-1] - word.times_us[0] for word in alignment.words)
    stray_us = max(0, sum(end_us - start_us for start_us, end_us in stretches) - explained_us - STRAY_US)
    return ((alignment.support - LEAST_SUPPORT) * explained_us - STRAY_COST * stray_us) / US_PER_S


def _trimmed(span: Span, alignment: Alignment, tokens: Sequence[Token]) -> Span:
    """Return a stretch without long sounds before its first word or after its last, if the text has no cue there."""
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
