"""Judges whether a text belongs to a recording: for each kind of `Rejection`, a test whether it applies.

In: the recording, what was searched for and what was found. Out: whether the reason applies. A rejected line still
gets a breakdown: its words are placed as well as possible, and each of them is doubtful.

Measured with the recogniser's own model, on 38 recordings of people (read, slow, fast, whispered, in falsetto,
creaking) and 160 synthesised lines: each with its own text, and 224 times with another line's text of about the same
length. `share_said` is never below 0.48 with the own text. With another text it is below 0.25 in 92 % of cases (95 %
of those with more than three words). Support is never below -3.7 with the own text (-2.5 in synthesised lines with
noise 10 dB below the voice). With another text it is below -5 in 62 % (people) and 92 % (synthesised). With the model
adapted to the line, other texts score higher: 3 of 12 have a `share_said` above 0.25.
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

EVEN_HZ, LEAST_WINDOWS = 10, 10  # chosen: levels measured in a second, and the least number of levels to judge by
VOICE_HZ = (300, 4000)  # below this band a room's rumble comes and goes; above it hiss may hide a voice
LEAST_RANGE_DB = 3.0  # even noise has 1, speech with noise 10 dB below it 7 and more
FASTEST_PER_S = 25  # chosen: fast talk has about 15 phonemes a second; a model in ticks cannot follow more than 33
LEAST_SUPPORT = -5.0  # measured, see above: no line with its own text is rejected
LEAST_SAID = 0.55  # chosen above what a wrong text reaches: by the adapted model, some of its short words fit
LEAST_SAID_AGAIN = 0.6  # chosen: higher, for the best of several tries with a wrong text scores more by chance
MOST_UNTOLD = 3.0  # chosen: a text is too short if this many times more sound is outside its words than in them,
LEAST_UNTOLD_US = 5_000_000  # chosen: and at least this much is outside


def holds_no_speech(recording: Recording) -> bool:
    """Return whether a recording sounds like a room in which nobody speaks: its level hardly changes."""
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
    """Return whether a text has more phonemes than anybody could say in the time of the recording."""
    least = sum(min(len(p.symbols) for p in said) for said in pronunciations)
    return least * US_PER_S > FASTEST_PER_S * recording.duration_us


def agrees(line: Examined, least_said: float = LEAST_SAID) -> bool:
    """Return whether a text is what is said: it is well supported, and `least_said` of it or more was said."""
    return line.search.support >= LEAST_SUPPORT and share_said(line) >= least_said


def leaves_most_untold(recording: Recording, parts: Sequence[Part]) -> bool:
    """Return whether far more sound is heard outside the words and cues of a text than in them."""
    told_us = sum(part.end_us - part.start_us for part in parts)
    edges = [0, *(edge for part in parts for edge in (part.start_us, part.end_us)), recording.duration_us]
    gaps = [(start, end) for start, end in zip(edges[::2], edges[1::2], strict=True) if end - start > 200_000]
    threshold_db = noise_floor_db(recording) + 15
    untold_us = sum(end - start for gap in gaps for start, end in heard(recording, *gap, threshold_db))
    return untold_us > max(LEAST_UNTOLD_US, MOST_UNTOLD * told_us)
