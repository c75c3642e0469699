"""Times as people write them in scenes, lists and edits, turned into microseconds.

    12                 begins: the frame of this number, counted from the production's first_frame
    1.5 (in, out)      seconds of the recording
    "1.5 s"            seconds after the shot's beginning, or after the recording's
    "36 f"             frames after it
    "01:00:04:04"      timecode: the shot's, or the recording's (its own time stamp, else from 00:00:00:00)

In: what is written, and what it is counted from. Out: microseconds from the shot's first frame, or from the
recording's beginning. A time that cannot be read raises ValueError with one sentence.
"""

from __future__ import annotations

import re
from fractions import Fraction

from lipsync import timing
from lipsync.tomlfile import shown

# How the beginning of a line may be written, and a point of a recording.
BEGINNINGS = 'write a frame number (12), seconds ("1.5 s"), frames ("36 f") or timecode ("01:00:00:12")'
POINTS = 'write seconds (1.5 or "1.5 s"), frames ("36 f") or timecode ("01:00:00:12")'

# Letters; no time that a person writes is longer (chosen).
LONGEST_TIME = 40

_FRAMES = re.compile(r"([+-]?[0-9]{1,9})\s*f(?:rames?)?")


def begins_us(value: int | str, start: str, rate: Fraction, first_frame: int) -> int:
    """Return when a line begins, in microseconds from its shot's first frame; below 0 if before it.

    Args:
        value: as it is written.
        start: the timecode of the shot's first frame.
        rate: frames a second.
        first_frame: the number of the shot's first frame.

    Raises:
        ValueError: if it is neither a frame number, nor seconds, nor frames, nor a timecode.

    >>> [begins_us(value, "01:00:00:00", Fraction(24), 1) for value in (25, "1 s", "24 f", "01:00:01:00")]
    [1000000, 1000000, 1000000, 1000000]
    """
    if isinstance(value, int):
        return timing.frame_start_us(value - first_frame, rate)
    text = value.strip()
    if (time_us := _with_unit_us(text, rate)) is not None:
        return time_us
    if ":" not in text:
        raise ValueError(f"{shown(text)} is no beginning; {BEGINNINGS}")
    frame, drop = timing.parse_timecode(text, rate)
    first, shot_drop = timing.parse_timecode(start, rate)
    if drop != shot_drop:
        raise ValueError(f"{text!r} and the shot's start {start!r} are counted differently; write ':' or ';' in both")
    return timing.frame_start_us(frame - first, rate)


def point_us(text: str, rate: Fraction, stamp_us: int = 0) -> int:
    """Return a point of a recording, in microseconds from its beginning.

    Args:
        text: as it is written.
        rate: frames a second.
        stamp_us: when the recording begins by its own time stamp, in microseconds from midnight.

    Raises:
        ValueError: if it is no such point, or lies before the recording begins.

    >>> point_us("36 f", Fraction(24)), point_us("10:00:01:00", Fraction(25), 36_000_000_000)
    (1500000, 1000000)
    """
    text = text.strip()
    time_us = _with_unit_us(text, rate)
    if time_us is None:
        if ":" not in text:
            raise ValueError(f"{shown(text)} is no point of a recording; {POINTS}")
        frame, _ = timing.parse_timecode(text, rate)
        time_us = timing.frame_start_us(frame, rate) - stamp_us
        if -timing.frame_start_us(1, rate) < time_us < 0:
            time_us = 0  # a time stamp may lie within the frame that its timecode names
    if time_us < 0:
        raise ValueError(f"{shown(text)} is before the recording begins; {POINTS}")
    return time_us


def _with_unit_us(text: str, rate: Fraction) -> int | None:
    """Return the microseconds of seconds or frames that are written with their unit; None for any other text."""
    if ":" in text:
        return None
    if found := _FRAMES.fullmatch(text):
        return timing.frame_start_us(int(found[1]), rate)
    return timing.us_of_seconds(text[:-1].strip()) if text.endswith("s") else None
