"""Judges whether a text belongs to a recording.

In: the recording, what was searched for and what was found. Out: a `LineError` where they do not belong together.

Measured on 38 recordings of people (read, slow, fast, whispered, in falsetto, creaking) and 160 synthesised lines,
each with its own text, and 224 times with another's of about its length: the share of a line that is what is said
(`said` of `doubt`, by duration) is 0.48 at the lowest under own texts; under others it is below 0.25 in 92 %, 95 % of
those longer than three words. Support alone is -3.7 at the lowest under own texts (-2.5 in synthesised lines with
noise 10 dB below the voice), and under others below -5 in 62 % (people) and 92 % (synthesised); it refuses early what
need not be looked at.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lipsync.align.mending import Examined
from lipsync.align.search import Alignment
from lipsync.align.time_limit import ALWAYS_S, TIMES
from lipsync.audio.features import RATE_HZ
from lipsync.audio.recording import Recording, heard, noise_floor_db
from lipsync.errors import LineError
from lipsync.model import Part
from lipsync.text.morphology import Pronunciation
from lipsync.timing import US_PER_S, seconds_of

EVEN_HZ, LEAST_WINDOWS = 10, 10  # chosen: levels a second, and how many there must be to tell of
VOICE_HZ = (300, 4000)  # a room's rumble comes and goes, and hiss may hide a voice above
LEAST_RANGE_DB = 3.0  # even noise has 1, speech with noise 10 dB below it 7 and more
FASTEST_PER_S = 25  # chosen: fast talk has about 15 phonemes a second; a tick model cannot follow more than 33
LEAST_SUPPORT = -5.0  # measured, see above: no own text is refused
LEAST_SAID = 0.25  # measured, see above
MOST_UNTOLD = 3.0  # chosen: times as much sound outside the words as in them
LEAST_UNTOLD_US = 5_000_000  # chosen: and at least so much


def check_speech(recording: Recording) -> None:
    """Refuse a recording that is as even as a room in which nobody speaks.

    Raises:
        LineError: if its level hardly changes.
    """
    width = RATE_HZ // EVEN_HZ
    count = len(recording.samples) // width
    if count < LEAST_WINDOWS:
        return
    windows = recording.samples[: count * width].reshape(count, width)
    band = slice(VOICE_HZ[0] // EVEN_HZ, VOICE_HZ[1] // EVEN_HZ)
    power = [float((np.abs(np.fft.rfft(window)[band]) ** 2).mean()) for window in windows]
    low, high = np.percentile(10 * np.log10(np.array(power) + 1.0), [5, 95])
    if high - low < LEAST_RANGE_DB:
        raise LineError.one(
            recording.path,
            "",
            f"holds an even noise (its level within {high - low:.1f} dB all the time) and nobody who speaks; check"
            " the recording, its in and out",
        )


def check_speed(recording: Recording, pronunciations: Sequence[Sequence[Pronunciation]]) -> None:
    """Refuse a text that nobody could say in the time.

    Raises:
        LineError: if it has too many phonemes.
    """
    least = sum(min(len(p.symbols) for p in said) for said in pronunciations)
    if least * US_PER_S > FASTEST_PER_S * recording.duration_us:
        raise LineError.one(
            recording.path,
            "text",
            f"has at least {least} phonemes, too many for {seconds_of(recording.duration_us):g} s"
            f" (nobody says more than {FASTEST_PER_S} in a second); check the text, and in and out",
        )


def too_long(recording: Recording) -> LineError:
    """Return what is said of a line whose search takes too long and was stopped."""
    return LineError.one(
        recording.path,
        "",
        f"took longer to search than {TIMES} times its {seconds_of(recording.duration_us):g} s and {ALWAYS_S} s, and"
        " was stopped; check that text and recording belong together, or make two lines of it with in and out",
    )


def check_support(recording: Recording, search: Alignment) -> None:
    """Refuse a text that the sound does not support.

    Raises:
        LineError: if any other phonemes would fit far better.
    """
    if search.support < LEAST_SUPPORT:
        raise _not_said(recording)


def check_said(recording: Recording, line: Examined) -> None:
    """Refuse a text of which next to nothing is what is said.

    Raises:
        LineError: if its words, the long ones counting more, are all but none of them what is heard.
    """
    lengths = [heard.times_us[-1] - heard.times_us[0] for heard in line.search.words]
    said = sum(doubt.said * length for doubt, length in zip(line.doubts, lengths, strict=True)) / sum(lengths)
    if said < LEAST_SAID:
        raise _not_said(recording)


def _not_said(recording: Recording) -> LineError:
    text = "is not what is said in the recording; check that text and recording belong together"
    return LineError.one(recording.path, "text", text)


def check_rest(recording: Recording, parts: Sequence[Part]) -> None:
    """Refuse a text that leaves most of the sound untold.

    Raises:
        LineError: if far more is heard outside the words and cues than in them.
    """
    told_us = sum(part.end_us - part.start_us for part in parts)
    edges = [0, *(edge for part in parts for edge in (part.start_us, part.end_us)), recording.duration_us]
    gaps = [(start, end) for start, end in zip(edges[::2], edges[1::2], strict=True) if end - start > 200_000]
    threshold_db = noise_floor_db(recording) + 15
    untold_us = sum(end - start for gap in gaps for start, end in heard(recording, *gap, threshold_db))
    if untold_us > max(LEAST_UNTOLD_US, MOST_UNTOLD * told_us):
        raise LineError.one(
            recording.path,
            "text",
            f"is too short: {untold_us / US_PER_S:.1f} s of sound lie outside its words, {told_us / US_PER_S:.1f} s"
            " in them; write all that is said, or set in and out",
        )
