"""The only conversions between time, frames, timecode and feet.

Conventions: times are whole microseconds (`_us`) from the start of the recording, line, shot or movie; a rate is an
exact `fractions.Fraction` of frames a second; a frame is counted from 0 here, and only `number_of` adds the number
that a production gives its first frame. Frame `f` lasts from `frame_start_us(f)` up to, not including,
`frame_start_us(f + 1)`. Floats are not used: `floor(t / 100 * 25)` puts a tick at 1.16 s on the wrong frame.

Sources: drop-frame timecode, SMPTE ST 12-1; 16 frames a foot on 35 mm film with four perforations, ISO 491
(pitch 4.75 mm); 40 frames a foot on 16 mm film, ISO 69.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from fractions import Fraction

US_PER_S = 1_000_000

# Film gauge -> frames in one foot.
FRAMES_PER_FOOT = {"35mm": 16, "16mm": 40}

# Rate -> labels dropped at the start of each minute but every tenth (SMPTE ST 12-1: two at 30000/1001; common
# practice doubles it at 60000/1001).
DROPPED_LABELS = {Fraction(30000, 1001): 2, Fraction(60000, 1001): 4}

_DECIMAL = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_RATE = re.compile(r"\s*(\d{1,6})(?:\s*/\s*(\d{1,6}))?\s*")
_TIMECODE = re.compile(r"(\d{2}):([0-5]\d):([0-5]\d)([:;])(\d{2,3})")
_HIGHEST_RATE = 1000  # frames a second; chosen


def parse_rate(value: object) -> Fraction:
    """Return an exact rate from a whole number, or from text such as "24" or "24000/1001".

    Raises:
        ValueError: if it is no rate above 0 and up to 1000 frames a second.

    >>> parse_rate("24000/1001"), parse_rate(25)
    (Fraction(24000, 1001), Fraction(25, 1))
    """
    found = _RATE.fullmatch(str(value))  # of values in files only whole numbers and texts are written so
    if not found or int(found[2] or 1) == 0 or not 0 < Fraction(int(found[1]), int(found[2] or 1)) <= _HIGHEST_RATE:
        raise ValueError(
            f'{value!r} is no frame rate; write an exact one, such as 24, 25, 30, "24000/1001" or "30000/1001"'
        )
    return Fraction(int(found[1]), int(found[2] or 1))


def us_of_seconds(seconds: float | str) -> int:
    """Return microseconds: the decimal as written, rounded half up at the sixth place.

    Raises:
        ValueError: if it is no number of seconds.

    >>> us_of_seconds(1.16), us_of_seconds("0.0000005")
    (1160000, 1)
    """
    try:
        if not _DECIMAL.fullmatch(str(seconds)):  # Decimal takes more, such as 1_0
            raise ValueError
        exact = Decimal(str(seconds)) * US_PER_S
        return int(exact.quantize(Decimal(1), rounding=ROUND_HALF_UP))
    except (InvalidOperation, ValueError, OverflowError):
        raise ValueError(f"{seconds!r} is no number of seconds; write one such as 1.5") from None


def seconds_of(time_us: int) -> float:
    """Return a time in seconds; `us_of_seconds` returns the same microseconds from it.

    >>> seconds_of(1_160_000)
    1.16
    """
    return time_us / US_PER_S


def us_of_sample(sample: int, rate_hz: int) -> int:
    """Return when a sample begins: floor(sample * 1,000,000 / rate)."""
    return sample * US_PER_S // rate_hz


def sample_of_us(time_us: int, rate_hz: int) -> int:
    """Return the first sample at or after a time: ceil(time * rate / 1,000,000)."""
    return -(-time_us * rate_hz // US_PER_S)


def frame_at(time_us: int, rate: Fraction) -> int:
    """Return the frame that is shown at a time: floor(time * rate / 1,000,000).

    >>> frame_at(1_160_000, Fraction(25))
    29
    """
    return time_us * rate.numerator // (rate.denominator * US_PER_S)


def frame_start_us(frame: int, rate: Fraction) -> int:
    """Return the first microsecond of a frame: ceil(frame * 1,000,000 / rate); `frame_at` returns the frame from it.

    >>> frame_start_us(1, Fraction(24))
    41667
    """
    return -(-frame * rate.denominator * US_PER_S // rate.numerator)


def nearest_frame(time_us: int, rate: Fraction) -> int:
    """Return the frame whose start is nearest: floor(time * rate / 1,000,000 + 1/2)."""
    return (2 * time_us * rate.numerator + rate.denominator * US_PER_S) // (2 * rate.denominator * US_PER_S)


def frames_covering(duration_us: int, rate: Fraction) -> int:
    """Return how many frames a duration touches: ceil(duration * rate / 1,000,000)."""
    return -(-duration_us * rate.numerator // (rate.denominator * US_PER_S))


def number_of(frame: int, first_frame: int) -> int:
    """Return the number that the production gives a frame counted from 0."""
    return first_frame + frame


def nominal_rate(rate: Fraction) -> int:
    """Return the whole number of labels in a second of timecode: ceil(rate)."""
    return -(-rate.numerator // rate.denominator)


def timecode(frame: int, rate: Fraction, *, drop: bool = False) -> str:
    """Return the label of a frame counted from midnight, HH:MM:SS:FF, with ";" before FF where labels are dropped.

    Raises:
        ValueError: if labels cannot be dropped at this rate.

    >>> timecode(1800, Fraction(30000, 1001), drop=True)
    '00:01:00;02'
    """
    fps = nominal_rate(rate)
    if drop:
        dropped = _dropped(rate)
        per_minute = 60 * fps - dropped
        per_ten = 10 * per_minute + dropped
        tens, rest = divmod(frame, per_ten)
        # The first minute of each ten keeps its labels, so it is longer by `dropped` than the other nine.
        frame += dropped * (9 * tens + max(0, (rest - dropped) // per_minute))
    frame %= 24 * 3600 * fps
    seconds, ff = divmod(frame, fps)
    minutes, ss = divmod(seconds, 60)
    hh, mm = divmod(minutes, 60)
    return f"{hh:02}:{mm:02}:{ss:02}{';' if drop else ':'}{ff:0{max(2, len(str(fps - 1)))}}"


def parse_timecode(text: str, rate: Fraction) -> tuple[int, bool]:
    """Return the frame counted from midnight and whether the label is a drop-frame one.

    Raises:
        ValueError: if it is no timecode, or a label that does not exist at this rate.

    >>> parse_timecode("00:10:00;00", Fraction(30000, 1001))
    (17982, True)
    """
    fps = nominal_rate(rate)
    found = _TIMECODE.fullmatch(text.strip())
    if not found or int(found[1]) > 23 or int(found[5]) >= fps:
        raise ValueError(
            f"{text!r} is no timecode at {rate} frames a second; write HH:MM:SS:FF, FF from 00 to {fps - 1:02}"
        )
    hh, mm, ss, ff = (int(found[i]) for i in (1, 2, 3, 5))
    frame = ((hh * 60 + mm) * 60 + ss) * fps + ff
    if found[4] == ":":
        return frame, False
    dropped = _dropped(rate)
    minutes = hh * 60 + mm
    if mm % 10 and ss == 0 and ff < dropped:
        raise ValueError(
            f"{text!r} does not exist: drop-frame timecode leaves out that label; the next is ;{dropped:02}"
        )
    return frame - dropped * (minutes - minutes // 10), True


def _dropped(rate: Fraction) -> int:
    if rate not in DROPPED_LABELS:
        allowed = " and ".join(str(r) for r in DROPPED_LABELS)
        raise ValueError(
            f"drop-frame timecode exists at {allowed} frames a second only, not at {rate}; write ':' for ';'"
        )
    return DROPPED_LABELS[rate]


def feet(frames: int, film: str) -> str:
    """Return a count of frames as feet and frames, such as "1+04"; `film` is a key of `FRAMES_PER_FOOT`.

    >>> feet(20, "35mm"), feet(20, "16mm")
    ('1+04', '0+20')
    """
    whole, rest = divmod(frames, FRAMES_PER_FOOT[film])
    return f"{whole}+{rest:02}"
