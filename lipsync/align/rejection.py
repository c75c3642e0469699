"""Judges whether a text belongs to a recording: the `Rejection` of a line, where they do not belong together.

In: the recording, what was searched for and what was found. Out: whether a reason holds. A line is not refused for
one: it is laid as well as can be, and each of its words is doubtful.

Measured by the recogniser's own model, on 38 recordings of people (read, slow, fast, whispered, in falsetto,
creaking) and 160 synthesised lines, each with its own text, and 224 times with another's of about its length: the
share of a line that is what is said (`said` of `confidence`, by duration) is 0.48 at the lowest under own texts;
under others it is below 0.25 in 92 %, 95 % of those longer than three words. Support alone is -3.7 at the lowest
under own texts (-2.5 in synthesised lines with noise 10 dB below the voice), and under others below -5 in 62 %
(people) and 92 % (synthesised). By the model adapted to the line, other texts come to more: 3 of 12 to over 0.25.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lipsync.align.mending import Examined, share_said
from lipsync.audio.features import RATE_HZ
from lipsync.audio.recording import Recording, heard, noise_floor_db
from lipsync.model import Part
from lipsync.text.morphology import Pronunciation
from lipsync.timing import US_PER_S

EVEN_HZ, LEAST_WINDOWS = 10, 10  # chosen: levels a second, and how many there must be to tell of
VOICE_HZ = (300, 4000)  # a room's rumble comes and goes, and hiss may hide a voice above
LEAST_RANGE_DB = 3.0  # even noise has 1, speech with noise 10 dB below it 7 and more
FASTEST_PER_S = 25  # chosen: fast talk has about 15 phonemes a second; a tick model cannot follow more than 33
LEAST_SUPPORT = -5.0  # measured, see above: no own text is refused
LEAST_SAID = 0.55  # chosen: under the model adapted to the line, a few of another text's short words fit
LEAST_SAID_AGAIN = 0.6  # chosen: where a line is tried again and again, the best of it is more by chance
MOST_UNTOLD = 3.0  # chosen: times as much sound outside the words as in them
LEAST_UNTOLD_US = 5_000_000  # chosen: and at least so much


def holds_no_speech(recording: Recording) -> bool:
    """Return whether a recording is as even as a room in which nobody speaks: its level hardly changes."""
    width = RATE_HZ // EVEN_HZ
    count = len(recording.samples) // width
    if count < LEAST_WINDOWS:
        return False
    windows = recording.samples[: count * width].reshape(count, width)
    band = slice(VOICE_HZ[0] // EVEN_HZ, VOICE_HZ[1] // EVEN_HZ)
    power = [float((np.abs(np.fft.rfft(window)[band]) ** 2).mean()) for window in windows]
    low, high = np.percentile(10 * np.log10(np.array(power) + 1.0), [5, 95])
    return bool(high - low < LEAST_RANGE_DB)


def is_too_fast(recording: Recording, pronunciations: Sequence[Sequence[Pronunciation]]) -> bool:
    """Return whether nobody could say a text in the time: it has too many phonemes."""
    least = sum(min(len(p.symbols) for p in said) for said in pronunciations)
    return least * US_PER_S > FASTEST_PER_S * recording.duration_us


def agrees(line: Examined, least_said: float = LEAST_SAID) -> bool:
    """Return whether a text is what is said, by and large: so much of it."""
    return line.search.support >= LEAST_SUPPORT and share_said(line) >= least_said


def leaves_most_untold(recording: Recording, parts: Sequence[Part]) -> bool:
    """Return whether far more is heard outside the words and cues of a text than in them."""
    told_us = sum(part.end_us - part.start_us for part in parts)
    edges = [0, *(edge for part in parts for edge in (part.start_us, part.end_us)), recording.duration_us]
    gaps = [(start, end) for start, end in zip(edges[::2], edges[1::2], strict=True) if end - start > 200_000]
    threshold_db = noise_floor_db(recording) + 15
    untold_us = sum(end - start for gap in gaps for start, end in heard(recording, *gap, threshold_db))
    return untold_us > max(LEAST_UNTOLD_US, MOST_UNTOLD * told_us)
