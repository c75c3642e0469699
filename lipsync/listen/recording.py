"""Reads a recording and gives it to the other stages as sound: one channel at 16 kHz, 16 bits.

In: a file of PCM or float WAV, RF64, AIFF, FLAC, OGG or MP3, from 8 kHz, with any number of channels; and the part
of it to use, from `in_us` up to, not including, `out_us`. Out: a `Recording`.

Conventions: times are microseconds from the start of the part; levels are root mean squares in dB below full scale,
as recorded: the gain that brings a quiet recording to the working level is taken off again. A full-scale square wave
has 0 dB. The file is read in blocks, so that half an hour costs no more than its 16 kHz copy.

The working level, the level of silence and the shortest length are chosen here; so is the rule for channels: they are
mixed where they carry the same sound, else (one is empty, or two are out of phase) the strongest is used alone.
"""

from __future__ import annotations

import hashlib
import math
import os
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile
import soxr  # type: ignore[import-untyped]

from lipsync.errors import LineError
from lipsync.timing import US_PER_S, sample_of_us, seconds_of, us_of_sample

with warnings.catch_warnings():
    # pydub warns of a program that it would need for reading files, which is not its task here, of `audioop`, which
    # is installed beside it from Python 3.13 on, and of how its own patterns are written.
    warnings.simplefilter("ignore")
    from pydub import AudioSegment
    from pydub.silence import detect_nonsilent

RATE_HZ = 16_000
LOWEST_RATE_HZ = 8_000
SHORTEST_US = 30_000
SILENT_PEAK_DB = -72.0  # chosen: eight steps of 16 bits; speech at a working distance peaks 40 dB above it
WORKING_DB = -23.0  # chosen: the root mean square of a well-set dialogue recording
WORKING_PEAK_DB = -1.0
FLOOR_DB = -120.0  # what digital silence is called, so that levels stay numbers
PAUSE_MS = 50  # chosen: shorter than the shortest pause that is seen
MIX_LOSS_DB = 2.0  # chosen: same sound in two channels loses 0 dB when mixed, unlike sounds 3, one empty channel 6

_BLOCK_FRAMES = 1 << 18
_WHOLE_NUMBERS = frozenset({"PCM_S8", "PCM_U8", "PCM_16", "PCM_24", "PCM_32", "ALAC_16", "ALAC_20", "ALAC_24"})
_FULL_SCALE = 1 << 31

Samples = npt.NDArray[np.int16]


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """A recording's part as sound.

    Attributes:
        path: the file, as it was named.
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


@dataclass(frozen=True, slots=True)
class _Part:
    """Where the part lies in the file, in the file's own samples; `end_us` is exact where `out_us` was given."""

    first: int
    frames: int
    duration_us: int


@dataclass(frozen=True, slots=True)
class _Survey:
    """What one pass through the part has found before any of it is kept."""

    fingerprint: str
    peak: float
    channel: int | None  # the one to use alone; None for a mix of all


def read_recording(path: str | os.PathLike[str], in_us: int | None = None, out_us: int | None = None) -> Recording:
    """Read a recording, or the part of it from `in_us` to `out_us`.

    Raises:
        LineError: if it cannot be used, with what to do about it.
    """
    name = os.fspath(path)
    if not Path(name).is_file():
        found = "is a folder" if Path(name).is_dir() else "does not exist"
        raise LineError.one(name, "", f"{found}; name a recording (WAV, AIFF, FLAC, OGG or MP3)")
    if Path(name).stat().st_size == 0:
        raise LineError.one(name, "", "is empty (0 bytes); export the recording again")
    try:
        with soundfile.SoundFile(name) as sound:
            part = _part(name, sound, in_us, out_us)
            survey = _survey(name, sound, part)
            mono = _resampled(sound, part, survey)
    except (soundfile.SoundFileError, OSError) as fault:
        raise LineError.one(
            name, "", f"cannot be read as sound ({_reason(fault)}); export it again as WAV, AIFF, FLAC, OGG or MP3"
        ) from None
    return _at_working_level(name, mono, part.duration_us, survey.fingerprint)


def _reason(fault: Exception) -> str:
    text = str(getattr(fault, "error_string", "") or getattr(fault, "strerror", "") or fault)
    return text.strip().rstrip(".") or type(fault).__name__


def _part(name: str, sound: soundfile.SoundFile, in_us: int | None, out_us: int | None) -> _Part:
    rate = sound.samplerate
    if rate < LOWEST_RATE_HZ:
        raise LineError.one(name, "", f"has {rate} samples a second; record at {LOWEST_RATE_HZ} or more")
    whole_us = us_of_sample(sound.frames, rate)
    begin_us, end_us = in_us or 0, whole_us if out_us is None else out_us
    if begin_us < 0 or begin_us >= whole_us > 0:
        raise LineError.one(
            name, "in", f"{seconds_of(begin_us)} s lies outside the recording, which lasts {seconds_of(whole_us)} s"
        )
    if end_us > whole_us:
        raise LineError.one(
            name, "out", f"{seconds_of(end_us)} s lies after the end of the recording, {seconds_of(whole_us)} s"
        )
    if out_us is not None and end_us <= begin_us:
        raise LineError.one(
            name,
            "out",
            f"{seconds_of(end_us)} s does not lie after in, {seconds_of(begin_us)} s; correct one of them",
        )
    if end_us - begin_us < SHORTEST_US:
        raise LineError.one(
            name,
            "",
            f"the recording or its part lasts {(end_us - begin_us) / 1000:g} ms;"
            f" nothing can be heard in less than {SHORTEST_US // 1000} ms",
        )
    first = sample_of_us(begin_us, rate)
    last = sound.frames if out_us is None else sample_of_us(end_us, rate)
    return _Part(first, last - first, end_us - begin_us)


def _blocks(sound: soundfile.SoundFile, part: _Part) -> Iterator[npt.NDArray[np.int32] | npt.NDArray[np.float64]]:
    """Yield the part in blocks of (frames, channels): whole numbers of 32 bits, or floats where the file has them."""
    kind = "int32" if sound.subtype in _WHOLE_NUMBERS else "float64"
    sound.seek(part.first)
    left = part.frames
    while left > 0:
        block = sound.read(min(_BLOCK_FRAMES, left), dtype=kind, always_2d=True)
        if not len(block):
            return
        left -= len(block)
        yield block


def _survey(name: str, sound: soundfile.SoundFile, part: _Part) -> _Survey:
    digest = hashlib.sha256(f"{sound.samplerate} {sound.channels}".encode())
    energy, mixed, peak, frames = np.zeros(sound.channels), 0.0, 0.0, 0
    for block in _blocks(sound, part):
        digest.update(block.tobytes())
        scaled = block / _FULL_SCALE if block.dtype == np.int32 else block
        if not np.isfinite(scaled).all():
            raise LineError.one(name, "", "holds samples that are no numbers; export the recording again")
        frames += len(block)
        peak = max(peak, float(np.abs(scaled).max()))
        energy += np.square(scaled).sum(axis=0)
        mixed += float(np.square(scaled.mean(axis=1)).sum())
    if frames < part.frames:
        found, said = (seconds_of(us_of_sample(n, sound.samplerate)) for n in (frames, part.frames))
        raise LineError.one(name, "", f"breaks off after {found} s of {said} s; export the recording again")
    strongest = int(energy.argmax())
    alike = mixed >= energy[strongest] * 10 ** (-MIX_LOSS_DB / 10)
    return _Survey(digest.hexdigest()[:16], peak, None if alike else strongest)


def _resampled(sound: soundfile.SoundFile, part: _Part, survey: _Survey) -> npt.NDArray[np.int32]:
    """Return the part as one channel of 32 bits at 16 kHz."""
    stream = soxr.ResampleStream(sound.samplerate, RATE_HZ, 1, dtype="int32", quality="VHQ")
    done: list[npt.NDArray[np.int32]] = []
    loudest = (_FULL_SCALE - 1) / max(1.0, survey.peak)
    for block in _blocks(sound, part):
        # Floats may go beyond full scale; all of them are then brought down alike.
        whole = block if block.dtype == np.int32 else np.rint(block * loudest)
        mono = _mono(whole.astype(np.int32, copy=False), sound.samplerate, survey.channel)
        done.append(mono if sound.samplerate == RATE_HZ else stream.resample_chunk(mono))
    if sound.samplerate != RATE_HZ:
        done.append(stream.resample_chunk(np.zeros(0, np.int32), last=True))
    return np.concatenate(done)


def _mono(block: npt.NDArray[np.int32], rate_hz: int, channel: int | None) -> npt.NDArray[np.int32]:
    channels = block.shape[1]
    segment = AudioSegment(data=block.tobytes(), sample_width=4, frame_rate=rate_hz, channels=channels)
    if channel is not None:
        segment = segment.split_to_mono()[channel]
    elif channels <= 2:
        segment = segment.set_channels(1)
    else:
        # pydub's own way from many channels to one takes a step of Python for each sample.
        quieter = [one.apply_gain(-20 * math.log10(channels)) for one in segment.split_to_mono()]
        segment = quieter[0]
        for one in quieter[1:]:
            segment = segment.overlay(one)
    return np.frombuffer(segment.raw_data, np.int32)


def _at_working_level(name: str, mono: npt.NDArray[np.int32], duration_us: int, fingerprint: str) -> Recording:
    offset = int(mono.mean(dtype=np.float64))
    if abs(offset) > _FULL_SCALE // 1000:
        # A constant in the samples is no sound, and would count as level.
        mono = np.clip(mono.astype(np.int64) - offset, -_FULL_SCALE, _FULL_SCALE - 1).astype(np.int32)
    segment = AudioSegment(data=mono.tobytes(), sample_width=4, frame_rate=RATE_HZ, channels=1)
    if segment.max_dBFS < SILENT_PEAK_DB:
        raise LineError.one(
            name, "", f"holds only silence (nothing above {SILENT_PEAK_DB:g} dB); check the recording, its in and out"
        )
    gain_db = round(max(0.0, min(WORKING_DB - segment.dBFS, WORKING_PEAK_DB - segment.max_dBFS)), 1)
    if gain_db:
        segment = segment.apply_gain(gain_db)
    samples = np.frombuffer(segment.set_sample_width(2).raw_data, np.int16)
    samples.flags.writeable = False
    return Recording(name, samples, duration_us, fingerprint, gain_db)


def levels_db(recording: Recording, spans: Sequence[tuple[int, int]]) -> tuple[float, ...]:
    """Return the level of each span of microseconds, to a tenth of a dB; -120 where there is no sound at all.

    A span shorter than a sample has the level of the sample in which it begins.
    """
    return tuple(_level(recording, start_us, end_us) for start_us, end_us in spans)


def level_db(recording: Recording, start_us: int, end_us: int) -> float:
    """Return the level of one span, as `levels_db` does."""
    return _level(recording, start_us, end_us)


def _level(recording: Recording, start_us: int, end_us: int) -> float:
    first = start_us * RATE_HZ // US_PER_S
    part = recording.samples[max(0, first) : max(first + 1, end_us * RATE_HZ // US_PER_S)].astype(np.float64)
    if not part.size or not part.any():
        return FLOOR_DB
    power = float(np.dot(part, part)) / part.size
    return max(FLOOR_DB, round(10 * math.log10(power) - 20 * math.log10(32768) - recording.gain_db, 1))


def heard(recording: Recording, start_us: int, end_us: int, threshold_db: float) -> tuple[tuple[int, int], ...]:
    """Return the stretches between two times that are louder than a level, pauses below `PAUSE_MS` counted in."""
    first, last = (max(0, time_us) * RATE_HZ // US_PER_S for time_us in (start_us, end_us))
    sound = recording.samples[first:last].tobytes()
    part = AudioSegment(data=sound, sample_width=2, frame_rate=RATE_HZ, channels=1)
    if len(part) < PAUSE_MS:
        whole = end_us > start_us and level_db(recording, start_us, end_us) > threshold_db
        return ((start_us, end_us),) if whole else ()
    spans = detect_nonsilent(part, PAUSE_MS, threshold_db + recording.gain_db, seek_step=10)
    return tuple((start_us + begin * 1000, min(end_us, start_us + end * 1000)) for begin, end in spans if begin < end)


def noise_floor_db(recording: Recording) -> float:
    """Return the level below which a tenth of the recording lies, in steps of 20 ms: the room without speech."""
    steps = [(at, at + 20_000) for at in range(0, recording.duration_us, 20_000)]
    return float(np.percentile(levels_db(recording, steps), 10))
