"""Opens a recording's file: finds the part to use, yields its samples block by block, tells what is wrong with it.

In: a file of PCM or float WAV, RF64, AIFF, FLAC, OGG or MP3, from 8 kHz, with any number of channels, or what it
holds; the part of it to use, from `in_us` up to, not including, `out_us`. Out: an `OpenPart`, whose blocks can be
read more than once, so that a recording of half an hour is never wholly in memory as it is in the file.

Conventions: samples are whole numbers of 32 bits, left-justified, or floats where the file has them. The fingerprint
is made of the decoded samples: the same sound in WAV and FLAC has the same one. The rule for channels is chosen here:
they are mixed if they have the same sound; otherwise (one is empty, or two are out of phase) the strongest is used
alone.
"""

from __future__ import annotations

import hashlib
import io
import os
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile

from lipsync.errors import LineError, Problem
from lipsync.timing import sample_of_us, seconds_of, us_of_sample

LOWEST_RATE_HZ = 8_000
SHORTEST_US = 30_000  # chosen
# The level that channels with the same sound may lose when they are mixed. Chosen: the same sound in two channels
# loses 0 dB, unlike sounds lose 3 dB, and with an empty channel 6 dB are lost.
MIX_LOSS_DB = 2.0
FULL_SCALE = 1 << 31  # of a sample of 32 bits

_BLOCK = 1 << 18  # samples of each channel
_WHOLE_NUMBERS = frozenset({"PCM_S8", "PCM_U8", "PCM_16", "PCM_24", "PCM_32", "ALAC_16", "ALAC_20", "ALAC_24"})

# The form and the size that RIFF and IFF files begin with: RIFF WAVE (Multimedia Programming Interface and Data
# Specifications 1.0, 1991), AIFF (Apple, 1989). A writer that does not know the size in advance gives one near the
# largest, or none. Some count their own head wrongly: a few bytes less are no cut (both chosen).
_SIZES = {b"RIFF": "<I", b"FORM": ">I"}
_LARGEST_SAID, _FEW_BYTES = 0x7F00_0000, 64

Block = npt.NDArray[np.int32] | npt.NDArray[np.float64]  # samples x channels


@dataclass(frozen=True, slots=True)
class Survey:
    """What one pass through a part finds, before its samples are used.

    Attributes:
        fingerprint: 16 hexadecimal digits of the decoded samples.
        peak: the largest sample, 1 for full scale; floats may go beyond.
        channel: index of the channel to use alone; None if all are to be mixed.
    """

    fingerprint: str
    peak: float
    channel: int | None


@dataclass(frozen=True, slots=True)
class OpenPart:
    """A part of an open file.

    Attributes:
        name: the file, as the caller named it.
        sound: the open file.
        first: the part's first sample, at the file's own rate.
        samples: how many samples each of its channels has.
        duration_us: how long it lasts.
    """

    name: str
    sound: soundfile.SoundFile
    first: int
    samples: int
    duration_us: int

    @property
    def rate_hz(self) -> int:
        """Samples a second in the file."""
        return int(self.sound.samplerate)

    def blocks(self) -> Iterator[Block]:
        """Yield the part's samples from its start, samples x channels."""
        kind = "int32" if self.sound.subtype in _WHOLE_NUMBERS else "float64"
        self.sound.seek(self.first)
        left = self.samples
        while left > 0:
            block = self.sound.read(min(_BLOCK, left), dtype=kind, always_2d=True)
            if not len(block):
                return
            left -= len(block)
            yield block

    def survey(self) -> Survey:
        """Return what one pass through the part finds.

        Raises:
            LineError: if samples are missing or are no numbers.
        """
        digest = hashlib.sha256(f"{self.rate_hz} {self.sound.channels}".encode())
        energy, mixed, peak, read = np.zeros(self.sound.channels), 0.0, 0.0, 0
        for block in self.blocks():
            digest.update(block.tobytes())
            scaled = block / FULL_SCALE if block.dtype == np.int32 else block
            if not np.isfinite(scaled).all():
                raise LineError.one(self.name, "", "holds samples that are no numbers; export the recording again")
            read += len(block)
            peak = max(peak, float(np.abs(scaled).max()))
            energy += np.square(scaled).sum(axis=0)
            mixed += float(np.square(scaled.mean(axis=1)).sum())
        if read < self.samples:
            found, said = (seconds_of(us_of_sample(n, self.rate_hz)) for n in (read, self.samples))
            raise LineError.one(self.name, "", f"breaks off after {found} s of {said} s; export the recording again")
        strongest = int(energy.argmax())
        alike = mixed >= energy[strongest] * 10 ** (-MIX_LOSS_DB / 10)
        return Survey(digest.hexdigest()[:16], peak, None if alike else strongest)


def _check_whole(name: str, size: int, content: bytes | None) -> None:
    """Check that a file of `size` bytes holds as many as it says; one copied in part would only end sooner."""
    if content is None:
        with open(name, "rb") as file:
            head = file.read(8)
    else:
        head = content[:8]
    if head[:4] in _SIZES and len(head) == 8:
        said = 8 + struct.unpack(_SIZES[head[:4]], head[4:])[0]
        if size + _FEW_BYTES < said < _LARGEST_SAID:
            raise LineError.one(name, "", f"is cut short: it holds {size} of {said} bytes; copy or export it again")


@contextmanager
def open_part(name: str, in_us: int | None, out_us: int | None, content: bytes | None = None) -> Iterator[OpenPart]:
    """Open a part of a recording as a context; an error of the library inside the context becomes a LineError too.

    Args:
        name: the file.
        in_us: where the part begins; with the file if None.
        out_us: where it ends; with the file if None.
        content: what the file holds, where that is known; the file itself is then not looked at.

    Raises:
        LineError: if it cannot be used, with what to do about it.
    """
    # A name that is too long for the disk is no file's either.
    if content is None and not os.path.isfile(name):
        found = "is a folder" if os.path.isdir(name) else "does not exist"
        raise LineError.one(name, "", f"{found}; name a recording (WAV, AIFF, FLAC, OGG or MP3)")
    size = Path(name).stat().st_size if content is None else len(content)
    if not size:
        raise LineError.one(name, "", "is empty (0 bytes); export the recording again")
    try:
        _check_whole(name, size, content)
        with soundfile.SoundFile(name if content is None else io.BytesIO(content)) as sound:
            yield _part(name, sound, in_us, out_us)
    except (soundfile.SoundFileError, OSError) as fault:
        raise LineError.one(
            name, "", f"cannot be read as sound ({reason_of(fault)}); export it again as WAV, AIFF, FLAC, OGG or MP3"
        ) from None


def duration_us_of(path: Path) -> int | None:
    """Return how long a recording is, by its header; None if it cannot be read."""
    try:
        found = soundfile.info(str(path))
    except (soundfile.SoundFileError, OSError):
        return None
    return us_of_sample(found.frames, found.samplerate) if found.samplerate else None


def reason_of(fault: Exception) -> str:
    """Return why a file could not be opened or read, in the words of the library or of the system."""
    text = str(getattr(fault, "error_string", "") or getattr(fault, "strerror", "") or fault)
    return text.strip().rstrip(".") or type(fault).__name__


def _part(name: str, sound: soundfile.SoundFile, in_us: int | None, out_us: int | None) -> OpenPart:
    rate_hz = sound.samplerate
    if rate_hz < LOWEST_RATE_HZ:
        raise LineError.one(name, "", f"has {rate_hz} samples a second; record at {LOWEST_RATE_HZ} or more")
    whole_us = us_of_sample(sound.frames, rate_hz)
    begin_us, end_us = in_us or 0, whole_us if out_us is None else out_us
    if problems := [Problem(name, place, text) for place, text in _outside(begin_us, end_us, whole_us)]:
        raise LineError(problems)
    if end_us - begin_us < SHORTEST_US:
        lasts = f"lasts {(end_us - begin_us) / 1000:g} ms; nothing can be heard in less than {SHORTEST_US // 1000} ms"
        raise LineError.one(name, "", f"the recording or its part {lasts}: set in and out anew, or export it again")
    first = sample_of_us(begin_us, rate_hz)
    last = sound.frames if out_us is None else sample_of_us(end_us, rate_hz)
    return OpenPart(name, sound, first, last - first, end_us - begin_us)


def _outside(begin_us: int, end_us: int, whole_us: int) -> Iterator[tuple[str, str]]:
    """Yield what is wrong with in and out, each with its place."""
    begin_s, end_s, whole_s = (seconds_of(time_us) for time_us in (begin_us, end_us, whole_us))
    if begin_us < 0 or begin_us >= whole_us > 0:
        yield "in", f"{begin_s} s lies outside the recording, which lasts {whole_s} s; correct it"
    if end_us > whole_us:
        yield "out", f"{end_s} s lies after the end of the recording, {whole_s} s; correct it, or leave it out"
    if end_us <= begin_us and 0 <= begin_us < whole_us:
        yield "out", f"{end_s} s does not lie after in, {begin_s} s; correct one of them"
