"""How loud a line's whole recording is, from end to end: the picture on which the ends of the line are dragged.

In: a recording's file and a stretch of it. Out: its length, and the level of the stretch in `COLUMNS` columns of
equal length: the root of the mean square over all channels, on the scale of the sheet's own level (spectrogram.py).
A file is read in blocks, so that the recording of an hour takes no more memory than that of a word.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import soundfile

from lipsync.audio.sound_file import reason_of
from lipsync.desk.spectrogram import LEVEL_FLOOR_DB, LEVEL_TOP_DB
from lipsync.errors import LineError
from lipsync.message import Where
from lipsync.timing import sample_of_us, us_of_sample

COLUMNS = 1000
_BLOCK = 1 << 18  # samples of each channel


def level_of(path: Path, first_us: int, last_us: int) -> dict[str, Any]:
    """Return the recording's length, the stretch cut to the recording, and its level: whole numbers from 0 to 255.

    Raises:
        LineError: if it cannot be read.
    """
    try:
        with soundfile.SoundFile(path) as sound:
            rate, frames = sound.samplerate, sound.frames
            first = min(sample_of_us(first_us, rate), max(0, frames - 1))
            last = max(first + 1, min(frames, sample_of_us(last_us, rate)))
            sound.seek(first)
            squares = _squares(sound, last - first)
    except (soundfile.SoundFileError, OSError) as fault:
        raise LineError.of("not sound", Where(str(path)), reason=reason_of(fault)) from None
    level_db = 10 * np.log10(np.maximum(squares, 1e-20))
    share = np.clip((level_db - LEVEL_FLOOR_DB) / (LEVEL_TOP_DB - LEVEL_FLOOR_DB), 0, 1)
    return {
        "duration_us": us_of_sample(frames, rate),
        "first_us": us_of_sample(first, rate),
        "last_us": us_of_sample(last, rate),
        "levels": np.rint(255 * share).astype(int).tolist(),
    }


def _squares(sound: soundfile.SoundFile, length: int) -> npt.NDArray[np.float64]:
    """Return the mean square of each column of the next `length` samples."""
    edges = np.arange(COLUMNS + 1) * length // COLUMNS
    sums, done = np.zeros(COLUMNS), 0
    while done < length:
        block = sound.read(min(_BLOCK, length - done), dtype="float32", always_2d=True)
        if not len(block):
            break  # cut short: the rest of it is silent
        square = np.square(block, dtype=np.float64).mean(axis=1)
        columns = np.searchsorted(edges, np.arange(done, done + len(block)), side="right") - 1
        sums += np.bincount(columns, square, COLUMNS)
        done += len(block)
    return np.asarray(sums / np.maximum(1, np.diff(edges)))
