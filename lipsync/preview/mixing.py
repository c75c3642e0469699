"""Mixes the sound of a movie: every recording from where its line begins, as long as the picture lasts.

In: the clips of a reel. Out: samples at `RATE_HZ`, two channels, floats from -1 to 1. A clip begins on the sample
nearest to its time, floor(time * rate + 1/2), so it is never off by more than half a sample. If recordings together
are louder than full scale, the whole movie is made quieter by the same factor.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import soundfile
import soxr  # type: ignore[import-untyped]

from lipsync.audio.sound_file import reason_of
from lipsync.errors import LineError
from lipsync.message import Where
from lipsync.preview.reel import Clip
from lipsync.timing import US_PER_S, sample_of_us

RATE_HZ = 48_000

Samples = npt.NDArray[np.float32]


def mixed(clips: Sequence[Clip], samples: int) -> Samples:
    """Return the mix of clips, `samples` long: samples x 2 channels.

    Raises:
        LineError: if a recording cannot be read.
    """
    mix = np.zeros((samples, 2), np.float32)
    for clip in clips:
        sound = _read(clip)
        at = _sample(clip.begins_us)
        first = max(at, _sample(clip.first_us), 0)
        last = min(at + len(sound), _sample(clip.last_us), samples)
        if first < last:
            mix[first:last] += sound[first - at : last - at]
    peak = float(np.abs(mix).max()) if samples else 0.0
    return mix / peak if peak > 1 else mix


def _sample(time_us: int) -> int:
    """Return the sample nearest to a time."""
    return (2 * time_us * RATE_HZ + US_PER_S) // (2 * US_PER_S)


def _read(clip: Clip) -> Samples:
    try:
        with soundfile.SoundFile(clip.path) as sound:
            rate = sound.samplerate
            first = sample_of_us(clip.in_us or 0, rate)
            last = sound.frames if clip.out_us is None else min(sound.frames, sample_of_us(clip.out_us, rate))
            sound.seek(min(first, sound.frames))
            samples = sound.read(max(0, last - first), dtype="float32", always_2d=True)
    except (soundfile.SoundFileError, OSError) as fault:
        raise LineError.of("not sound", Where(str(clip.path)), reason=reason_of(fault)) from None
    if samples.shape[1] != 2:
        samples = np.repeat(samples.mean(axis=1, keepdims=True), 2, axis=1)
    return np.asarray(samples if rate == RATE_HZ else soxr.resample(samples, rate, RATE_HZ), np.float32)
