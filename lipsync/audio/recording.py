"""Reads a recording as sound, whatever file it is from: one channel at 16 kHz, 16 bits, at a working level.

In: a file and the part of it to use (`sound_file.py` reads it). Out: a `Recording`; for any span of it, its level and
the stretches with sound. The only file that knows pydub, which mixes channels, applies gain and finds silence;
resampling is done by soxr.

Conventions: times are microseconds from the start of the part; levels are root mean squares in dB below full scale,
as recorded: the gain that brings a quiet recording to the working level is taken off again. A full-scale square wave
has 0 dB. The working level and the level of silence are chosen here.
"""

from __future__ import annotations

import math
import os
import tempfile
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import IO

import numpy as np
import numpy.typing as npt
import soxr  # type: ignore[import-untyped]

from lipsync.audio.features import RATE_HZ, Samples
from lipsync.audio.sound_file import FULL_SCALE, OpenPart, Survey, open_part
from lipsync.errors import LineError
from lipsync.timing import US_PER_S

with warnings.catch_warnings():
    # pydub warns that a program for reading files is missing, which is not needed here; that `audioop` leaves Python,
    # which is a package of its own from Python 3.13 on; and of its own regular expressions.
    warnings.simplefilter("ignore")
    from pydub import AudioSegment
    from pydub.silence import detect_nonsilent

SILENT_PEAK_DB = -72.0  # chosen: eight steps of 16 bits; speech at a working distance peaks 40 dB above it
WORKING_DB = -23.0  # chosen: the root mean square of a well recorded line
WORKING_PEAK_DB = -1.0
FLOOR_DB = -120.0  # what digital silence is called, so that levels stay numbers
LONGEST_US = 2 * 3600 * US_PER_S  # chosen: a line longer than a film lacks its in and out
PAUSE_MS = 50  # chosen: shorter than the shortest pause that is seen
_SEEK_STEP_MS = 10  # at which distances a pause is looked for; chosen
_NOISE_STEP_US = 20_000
_LEAST_OFFSET = FULL_SCALE // 1000  # a smaller DC offset is left in; chosen
_BLOCK = 60 * RATE_HZ  # samples
_MOST_IN_MEMORY = 1 << 26  # bytes; more of a recording is kept in a temporary file
_FULL_SCALE_16_BITS = 1 << 15
_NO_SAMPLES = np.zeros((0, 1), np.int32)


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """A recording, or a part of it, as sound.

    Attributes:
        path: the file, as the caller named it.
        samples: one channel at 16 kHz; read-only.
        duration_us: length of the part.
        fingerprint: changes when the decoded sound changes, and only then; 16 hexadecimal digits.
        gain_db: by how much the samples are louder than the recording.
    """

    path: str
    samples: Samples
    duration_us: int
    fingerprint: str
    gain_db: float = 0.0

    def __post_init__(self) -> None:
        if self.samples.dtype != np.int16 or self.samples.ndim != 1:
            raise ValueError("a recording holds one channel of 16-bit samples")
        if self.samples.flags.writeable:
            raise ValueError("the samples of a recording must be read-only")


def read_recording(
    path: str | os.PathLike[str],
    in_us: int | None = None,
    out_us: int | None = None,
    content: bytes | None = None,
) -> Recording:
    """Read a recording, or the part of it from `in_us` to `out_us`; `content` is what the file holds, where known.

    Raises:
        LineError: if it cannot be used, with what to do about it.
    """
    name = os.fspath(path)
    with open_part(name, in_us, out_us, content) as part, tempfile.SpooledTemporaryFile(_MOST_IN_MEMORY) as sound:
        if part.duration_us > LONGEST_US:
            lasts, most = (f"{time_us / US_PER_S / 60:.0f} minutes" for time_us in (part.duration_us, LONGEST_US))
            text = (
                f"the recording or its part lasts {lasts}, and a line at most {most}; give each line its in and out"
            )
            raise LineError.one(name, "", text)
        survey = part.survey()
        offset = _resample(part, survey, sound)
        level = _without_offset(sound, offset)
        samples, gain_db = _at_working_level(name, sound, level)
    return Recording(name, samples, part.duration_us, survey.fingerprint, gain_db)


def _resample(part: OpenPart, survey: Survey, sound: IO[bytes]) -> int:
    """Write the part as one channel of 32 bits at 16 kHz, and return its DC offset (the mean of its samples)."""
    stream = soxr.ResampleStream(part.rate_hz, RATE_HZ, 1, dtype="int32", quality="VHQ")
    loudest = (FULL_SCALE - 1) / max(1.0, survey.peak)
    total, count = 0, 0
    for block in chain(part.blocks(), [_NO_SAMPLES]):
        # Floats may exceed full scale; then all of them are made quieter by the same factor.
        whole = block if block.dtype == np.int32 else np.rint(block * loudest)
        mono = (
            _mono(whole.astype(np.int32, copy=False), part.rate_hz, survey.channel)
            if len(block)
            else _NO_SAMPLES[:, 0]
        )
        if part.rate_hz != RATE_HZ:
            mono = stream.resample_chunk(mono, last=not len(block))
        sound.write(mono.tobytes())
        total, count = total + int(mono.sum(dtype=np.int64)), count + len(mono)
    return int(total / count) if count else 0


def _mono(block: npt.NDArray[np.int32], rate_hz: int, channel: int | None) -> npt.NDArray[np.int32]:
    channels = block.shape[1]
    segment = AudioSegment(data=block.tobytes(), sample_width=4, frame_rate=rate_hz, channels=channels)
    if channel is not None:
        segment = segment.split_to_mono()[channel]
    elif channels <= 2:
        segment = segment.set_channels(1)
    else:
        # pydub's own way from many channels to one runs a step of Python for each sample.
        quieter = [one.apply_gain(-20 * math.log10(channels)) for one in segment.split_to_mono()]
        segment = quieter[0]
        for one in quieter[1:]:
            segment = segment.overlay(one)
    return np.frombuffer(segment.raw_data, np.int32)


@dataclass(frozen=True, slots=True)
class _Level:
    """How many samples there are; the largest, and their root mean square, in dB relative to full scale."""

    count: int
    peak_db: float
    rms_db: float


def _blocks_of(sound: IO[bytes]) -> Iterator[npt.NDArray[np.int32]]:
    """Yield the samples that were written, a minute at a time: a long recording is large in 32 bits."""
    sound.seek(0)
    while block := sound.read(4 * _BLOCK):
        yield np.frombuffer(block, np.int32)


def _without_offset(sound: IO[bytes], offset: int) -> _Level:
    """Subtract the DC offset from the samples, since it would count as level; return their level."""
    count, peak, energy = 0, 0, 0.0
    for block in _blocks_of(sound):
        if abs(offset) > _LEAST_OFFSET:
            block = np.clip(block.astype(np.int64) - offset, -FULL_SCALE, FULL_SCALE - 1).astype(np.int32)
            sound.seek(4 * count)
            sound.write(block.tobytes())
        count += len(block)
        scaled = block.astype(np.float64)
        peak, energy = max(peak, int(np.abs(scaled).max())), energy + float(np.dot(scaled, scaled))
    return _Level(count, _db(peak), _db(int(math.sqrt(energy / count))) if count else -math.inf)


def _db(amplitude: float) -> float:
    return 20 * math.log10(amplitude / FULL_SCALE) if amplitude else -math.inf


def _at_working_level(name: str, sound: IO[bytes], level: _Level) -> tuple[Samples, float]:
    """Return the samples in 16 bits at the working level, and the gain in dB.

    Raises:
        LineError: if there is only silence.
    """
    if level.peak_db < SILENT_PEAK_DB:
        raise LineError.one(
            name, "", f"holds only silence (nothing above {SILENT_PEAK_DB:g} dB); check the recording, its in and out"
        )
    gain_db = round(max(0.0, min(WORKING_DB - level.rms_db, WORKING_PEAK_DB - level.peak_db)), 1)
    samples, at = np.empty(level.count, np.int16), 0
    for block in _blocks_of(sound):
        segment = AudioSegment(data=block.tobytes(), sample_width=4, frame_rate=RATE_HZ, channels=1)
        if gain_db:
            segment = segment.apply_gain(gain_db)
        samples[at : at + len(block)] = np.frombuffer(segment.set_sample_width(2).raw_data, np.int16)
        at += len(block)
    samples.flags.writeable = False
    return samples, gain_db


def levels_db(recording: Recording, spans: Sequence[tuple[int, int]]) -> tuple[float, ...]:
    """Return the level of each span of microseconds, to a tenth of a dB; -120 where there is no sound at all.

    A span shorter than a sample has the level of the sample in which it begins.
    """
    return tuple(level_db(recording, start_us, end_us) for start_us, end_us in spans)


def level_db(recording: Recording, start_us: int, end_us: int) -> float:
    """Return the level of one span, as `levels_db` does."""
    first = start_us * RATE_HZ // US_PER_S
    part = recording.samples[max(0, first) : max(first + 1, end_us * RATE_HZ // US_PER_S)].astype(np.float64)
    if not part.size or not part.any():
        return FLOOR_DB
    power = float(np.dot(part, part)) / part.size
    return max(FLOOR_DB, round(10 * math.log10(power) - 20 * math.log10(_FULL_SCALE_16_BITS) - recording.gain_db, 1))


def heard(recording: Recording, start_us: int, end_us: int, threshold_db: float) -> tuple[tuple[int, int], ...]:
    """Return the spans between two times that are louder than a level; a pause shorter than `PAUSE_MS` ends none."""
    first, last = (max(0, time_us) * RATE_HZ // US_PER_S for time_us in (start_us, end_us))
    sound = recording.samples[first:last].tobytes()
    part = AudioSegment(data=sound, sample_width=2, frame_rate=RATE_HZ, channels=1)
    if len(part) < PAUSE_MS:
        whole = end_us > start_us and level_db(recording, start_us, end_us) > threshold_db
        return ((start_us, end_us),) if whole else ()
    spans = detect_nonsilent(part, PAUSE_MS, threshold_db + recording.gain_db, seek_step=_SEEK_STEP_MS)
    return tuple((start_us + begin * 1000, min(end_us, start_us + end * 1000)) for begin, end in spans if begin < end)


def noise_floor_db(recording: Recording) -> float:
    """Return the tenth percentile of the levels of 20 ms steps: the room without speech."""
    steps = [(at, at + _NOISE_STEP_US) for at in range(0, recording.duration_us, _NOISE_STEP_US)]
    return float(np.percentile(levels_db(recording, steps), 10))
