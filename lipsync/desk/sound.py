"""The sound of a line for the browser: the recording's own sound, only cut to the line.

In: the recording's file and the line's part of it. Out: a WAV file (16 bits, one or two channels, at the recording's
own rate, or at 48 kHz where that is higher than browsers play), which begins exactly at the line's `in` point.
"""

from __future__ import annotations

import io
import os

import numpy as np
import numpy.typing as npt
import soundfile
import soxr  # type: ignore[import-untyped]

from lipsync.audio.sound_file import reason_of
from lipsync.errors import LineError
from lipsync.message import Where
from lipsync.timing import sample_of_us

HIGHEST_RATE_HZ = 48_000


def wav_of(path: str | os.PathLike[str], in_us: int | None = None, out_us: int | None = None) -> bytes:
    """Return the part of a recording from `in_us` to `out_us` as a WAV file.

    Raises:
        LineError: if it cannot be read.
    """
    try:
        with soundfile.SoundFile(path) as sound:
            rate = sound.samplerate
            first = sample_of_us(in_us or 0, rate)
            last = sound.frames if out_us is None else min(sound.frames, sample_of_us(out_us, rate))
            sound.seek(min(first, sound.frames))
            samples = sound.read(max(0, last - first), dtype="float32", always_2d=True)
    except (soundfile.SoundFileError, OSError) as fault:
        raise LineError.of("not sound", Where(os.fspath(path)), reason=reason_of(fault)) from None
    if samples.shape[1] > 2:
        samples = samples.mean(axis=1, keepdims=True)
    if rate > HIGHEST_RATE_HZ:
        samples, rate = soxr.resample(samples, rate, HIGHEST_RATE_HZ), HIGHEST_RATE_HZ
    return wav_bytes(samples, rate)


def wav_bytes(samples: npt.NDArray[np.float32], rate: int) -> bytes:
    """Return samples, an array of (samples, channels) from -1 to 1, as a WAV file; louder ones are made quieter."""
    peak = float(np.abs(samples).max()) if samples.size else 0.0
    whole = np.rint(np.clip(samples / max(1.0, peak), -1, 32767 / 32768) * 32768).astype(np.int16)
    content = io.BytesIO()
    soundfile.write(content, whole, rate, format="WAV", subtype="PCM_16")
    return content.getvalue()
