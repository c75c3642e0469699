"""Writes a breakdown as a TextGrid file, which phonetics editors show and edit, and reads one back.

In and out: `Breakdown`, and the text of a TextGrid with two interval tiers, `words` and `phonemes`, described in
`lipsync/breakdown/intervals.py`. Times are decimal seconds with six places, so that whole microseconds come back
exactly. The full form is written; the short form, and UTF-16 with its byte order mark, are read too.

This file alone knows praatio, which makes and parses the text. The form is that of "TextGrid file formats" in Praat's
manual, from memory.
"""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from lipsync.breakdown.intervals import PHONEMES, WORDS, Rows, intervals_of, keeping_the_same, parts_in
from lipsync.errors import InputError, Problem
from lipsync.model import Breakdown
from lipsync.timing import seconds_of


class _Seconds(float):
    """A time that prints with six places; praatio prints what `repr` says, which for 10 us is 1e-05."""

    def __repr__(self) -> str:
        return f"{self:.6f}"


def to_textgrid(breakdown: Breakdown) -> str:
    """Return a breakdown as the text of a TextGrid file.

    Raises:
        ValueError: if a word has no letters to show.
    """
    from praatio.utilities import textgrid_io

    span = {"xmin": _Seconds(0), "xmax": _seconds(breakdown.duration_us)}
    tiers = [
        {
            "class": "IntervalTier",
            "name": name,
            **span,
            "entries": [(_seconds(i.start_us), _seconds(i.end_us), i.label) for i in intervals],
        }
        for name, intervals in intervals_of(breakdown).items()
    ]
    return str(textgrid_io.getTextgridAsStr({**span, "tiers": tiers}, "long_textgrid", includeBlankSpaces=False))


def _seconds(time_us: int) -> _Seconds:
    return _Seconds(seconds_of(time_us))


def from_textgrid(path: Path, breakdown: Breakdown) -> Breakdown:
    """Return the breakdown that a TextGrid file shows, for the sound of `breakdown`.

    Parts that are heard as in `breakdown` are taken from it; others are marked as corrected, their pronunciation by
    hand. Levels, and stress that is not written, are taken from the same phonemes of the same words. To make
    corrections of the changes: `kept.corrected_to(from_textgrid(path, kept.breakdown))`.

    Raises:
        InputError: if it cannot be read, or with every fault that is in it.
    """
    tiers = _tiers(path)
    parts, faults = parts_in(tiers, breakdown.duration_us)
    if faults:
        raise InputError(Problem(str(path), place, text) for place, text in faults)
    return replace(breakdown, parts=keeping_the_same(breakdown.parts, parts))


def _tiers(path: Path) -> dict[str, Rows]:
    """Return the rows of each interval tier: start, end and label, as written."""
    from praatio.utilities import textgrid_io

    text = _text(path)
    try:
        if "ooTextFile" not in text:
            raise ValueError("no TextGrid, though praatio might accept it")
        parsed = textgrid_io.parseTextgridStr(_EXPONENT.sub(_plain, text), includeEmptyIntervals=True)
        tiers = [tier for tier in parsed["tiers"] if tier["class"] == "IntervalTier"]
        rows = [(tier["name"], [(str(a), str(b), label) for a, b, label in tier["entries"]]) for tier in tiers]
    except Exception as error:  # on a broken file praatio raises anything, such as IndexError
        raise InputError.one(path, "", "is no whole TextGrid text file; save it again from the editor") from error
    names = [name for name, _ in rows]
    found = f"found {', '.join(names) or 'none'}"
    wrong = [name for name in (WORDS, PHONEMES) if names.count(name) != 1]
    if wrong:
        text = f"one interval tier of this name is needed, not more nor fewer; {found}"
        raise InputError(Problem(str(path), f"tier {name}", text) for name in wrong)
    return dict(rows)


def _text(path: Path) -> str:
    try:
        content = path.read_bytes()
        return content.decode("utf-16" if content[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    except OSError as error:
        raise InputError.one(
            path, "", f"cannot be read: {error.strerror or error}; check its name and place"
        ) from error
    except UnicodeDecodeError:
        raise InputError.one(
            path, "", "is no text in UTF-8 or UTF-16; save it again as a TextGrid text file"
        ) from None


# A time written as 1e-05, which praatio does not read.
_EXPONENT = re.compile(r"(?<![\w.])\d+(?:\.\d+)?[eE][-+]?\d{1,3}(?=[ \t\r]*$)", re.MULTILINE)


def _plain(found: re.Match[str]) -> str:
    return f"{Decimal(found[0]):f}"
