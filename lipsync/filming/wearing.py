"""What was really on a puppet, as a person says it on the command line: `12=OPEN2`, `12-14=heron:OPEN2`, `12=-`.

In comes the text and who may be meant, out come characters, frames and codes. A dash for a code says off camera.
Frames in the text are the production's numbers.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lipsync.errors import InputError, Problem
from lipsync.filming.spans import Span
from lipsync.production.values import Production

_WORE = re.compile(r"\s*(\d{1,8})(?:\s*-\s*(\d{1,8}))?\s*=\s*(?:([^:=]+?)\s*:\s*)?([^:=]+?)\s*")
OFF = "-"


@dataclass(frozen=True, slots=True)
class Wore:
    """A character wore a piece, or None off camera, from the first to the last frame."""

    span: Span
    character: str
    code: str | None


def worn_as_said(texts: Iterable[str], production: Production, cast: Iterable[str]) -> tuple[Wore, ...]:
    """Return what texts say that characters of the cast wore.

    Raises:
        InputError: naming every text that is not understood, or names a code that nobody has.
    """
    found: list[Wore] = []
    problems: list[Problem] = []
    codes = {who: {code.upper(): code for code in production.mouth_sets[who].by_code} for who in cast}
    for text in texts:
        try:
            found.append(_wore(text, codes, production.file.first_frame))
        except ValueError as error:
            problems.append(Problem(f"--wore {text}", "", str(error)))
    if problems:
        raise InputError(problems)
    return tuple(found)


def _wore(text: str, codes: Mapping[str, Mapping[str, str]], first_frame: int) -> Wore:
    read = _WORE.fullmatch(text)
    if not read:
        raise ValueError("is not understood; write FRAME=CODE, FRAME-FRAME=CODE or FRAME=CHARACTER:CODE")
    first, last = int(read[1]), int(read[2] or read[1])
    if last < first:
        raise ValueError("ends before it begins; write the first frame first")
    who = _who(read[3], read[4], codes)
    code = None if read[4] == OFF else codes[who][read[4].upper()]
    return Wore((first - first_frame, last - first_frame), who, code)


def _who(named: str | None, code: str, codes: Mapping[str, Mapping[str, str]]) -> str:
    """Return the character that is meant: the one named, or else the only one that has the piece."""
    if not codes:
        raise ValueError("nobody is in this shot who could have worn it")
    if named is not None and named not in codes:
        raise ValueError(f"{named!r} is not in this shot; there are {', '.join(codes)}")
    having = [who for who in codes if named in (None, who) and (code == OFF or code.upper() in codes[who])]
    if not having:
        known = "; ".join(f"{who} has {', '.join(codes[who].values())}" for who in codes if named in (None, who))
        nobody = "nobody in this shot has" if named is None else f"{named} does not have"
        raise ValueError(f"{code!r} is a code that {nobody}; {known}")
    if len(having) > 1:
        raise ValueError(f"could be {' or '.join(having)}; write who, such as {having[0]}:{code}")
    return having[0]
