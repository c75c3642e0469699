"""Level and spectrogram of a line, as bytes that the page paints beside its rows.

In: a recording at 16 kHz. Out: columns of `BANDS + 1` bytes, one every `STEP_US`: the level, then the bands from low
to high. 0 is `FLOOR_DB` below full scale or less, 255 is `TOP_DB`; the level is on a scale of its own. A window of 20
ms (Hann) is centred on each column: short enough to show when a stop opens, long enough to show where vowels
resonate. Bands are equally wide on the mel scale, 2595 log10(1 + f / 700 Hz) (O'Shaughnessy 1987, Speech
Communication, from memory), between 60 Hz and 8 kHz.
"""

from __future__ import annotations

import io

import numpy as np
import numpy.typing as npt

from lipsync.audio.features import RATE_HZ
from lipsync.audio.recording import Recording
from lipsync.paper.marks import Image
from lipsync.timing import us_of_sample

BANDS = 64
STEP_SAMPLES = 80
STEP_US = us_of_sample(STEP_SAMPLES, RATE_HZ)
FLOOR_DB, TOP_DB = -88.0, -20.0
LEVEL_FLOOR_DB, LEVEL_TOP_DB = -46.0, -9.0

_WINDOW = 320
_POINTS = 512
_LOWEST_HZ = 60.0
_AT_ONCE = 4096


def png_of(image: Image) -> bytes:
    """Return a studio's own picture of a piece as a PNG file."""
    from PIL import Image as Pillow  # loaded only for studios with pictures of their own

    content = io.BytesIO()
    Pillow.frombytes("RGB", (image.width_px, image.height_px), image.rgb).save(content, "PNG")
    return content.getvalue()


def columns_of(recording: Recording, first: int, count: int) -> bytes:
    """Return `count` columns from `first` on; fewer if the recording ends before."""
    total = columns_in(recording)
    first, last = min(first, total), min(first + count, total)
    blocks = [_columns(recording, at, min(last, at + _AT_ONCE)) for at in range(first, last, _AT_ONCE)]
    return b"".join(block.tobytes() for block in blocks)


def columns_in(recording: Recording) -> int:
    """Return how many columns a recording has."""
    return -(-len(recording.samples) // STEP_SAMPLES)


def _columns(recording: Recording, first: int, last: int) -> npt.NDArray[np.uint8]:
    half = _WINDOW // 2
    begin, end = first * STEP_SAMPLES - half, (last - 1) * STEP_SAMPLES + half
    part = recording.samples[max(0, begin) : max(0, end)].astype(np.float64) / 32768
    samples = np.zeros(end - begin)
    samples[max(0, -begin) : max(0, -begin) + len(part)] = part
    windows = np.lib.stride_tricks.sliding_window_view(samples, _WINDOW)[::STEP_SAMPLES] * np.hanning(_WINDOW)
    power = np.square(np.abs(np.fft.rfft(windows, _POINTS))) @ _bands() / np.square(_WINDOW / 2)
    level = np.square(windows).mean(axis=1) / 0.375  # the mean square of the Hann window itself
    shown = np.empty((last - first, BANDS + 1), np.uint8)
    shown[:, 0] = _bytes(level, LEVEL_FLOOR_DB, LEVEL_TOP_DB)
    shown[:, 1:] = _bytes(power, FLOOR_DB, TOP_DB)
    return shown


def _bytes(power: npt.NDArray[np.float64], floor_db: float, top_db: float) -> npt.NDArray[np.uint8]:
    level_db = 10 * np.log10(np.maximum(power, 1e-20))
    return np.asarray(np.clip((level_db - floor_db) / (top_db - floor_db) * 255, 0, 255), np.uint8)


def _bands() -> npt.NDArray[np.float64]:
    """Return the weight of each point of the spectrum in each band: triangles that overlap by half."""
    points_hz = np.arange(_POINTS // 2 + 1) * RATE_HZ / _POINTS
    mel = np.linspace(_mel(_LOWEST_HZ), _mel(RATE_HZ / 2), BANDS + 2)
    edges_hz = 700 * (10 ** (mel / 2595) - 1)
    # A band narrower than the distance of two points would hold none of them.
    low, middle, high = edges_hz[:-2], edges_hz[1:-1], edges_hz[2:]
    apart = RATE_HZ / _POINTS
    rising = (points_hz[:, None] - np.minimum(low, middle - apart)) / np.maximum(middle - low, apart)
    falling = (np.maximum(high, middle + apart) - points_hz[:, None]) / np.maximum(high - middle, apart)
    weights = np.clip(np.minimum(rising, falling), 0, None)
    return np.asarray(weights / weights.sum(axis=0))


def _mel(frequency_hz: float) -> float:
    return float(2595 * np.log10(1 + frequency_hz / 700))
