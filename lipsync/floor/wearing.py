"""What was really on a puppet: as a person says it on the command line, and as it goes into a shot's record.

In come texts such as `12=OPEN2`, `12-14=heron:OPEN2` or `12=-` and who may be meant, then the print that was filmed
from or the record to mend; out comes what each character wore on each frame. A dash for a code says off camera.
Frames in a text are the production's numbers.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from lipsync.errors import InputError, Problem
from lipsync.floor.prints import Revision
from lipsync.floor.record import Filmed, Run, Worn, runs_of
from lipsync.floor.spans import Span, frames_in
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
        raise ValueError(f"{named!r} is not in this shot; its characters are {', '.join(codes)}")
    having = [who for who in codes if named in (None, who) and (code == OFF or code.upper() in codes[who])]
    if not having:
        known = "; ".join(f"{who} has {', '.join(codes[who].values())}" for who in codes if named in (None, who))
        nobody = "nobody in this shot has" if named is None else f"{named} does not have"
        raise ValueError(f"{code!r} is a code that {nobody}; {known}")
    if len(having) > 1:
        raise ValueError(f"could be {' or '.join(having)}; write who, such as {having[0]}:{code}")
    return having[0]


def worn_on(printed: Revision, said_worn: Sequence[Wore], new: frozenset[int]) -> dict[str, dict[int, Worn]]:
    """Return what each character wore on frames filmed from a print."""
    worn: dict[str, dict[int, Worn]] = {}
    for who in dict.fromkeys([*printed.state.characters, *(one.character for one in said_worn if _in(one, new))]):
        planned = printed.state.pieces(who)
        worn[who] = {f: Worn(planned[f], planned[f]) if planned else Worn(None, None) for f in sorted(new)}
    for one in said_worn:
        for frame in frames_in([one.span]) & new:
            worn[one.character][frame] = replace(worn[one.character][frame], code=one.code)
    return worn


def _in(one: Wore, frames: frozenset[int]) -> bool:
    return not frames.isdisjoint(frames_in([one.span]))


def mended_in(record: Filmed, said_worn: Sequence[Wore]) -> Iterator[tuple[str, dict[int, Worn]]]:
    """Yield for each character the locked frames on which something else was worn than the record says."""
    known = record.worn
    for who in dict.fromkeys(one.character for one in said_worn):
        had = known.get(who, {})
        wanted = {f: one.code for one in said_worn if one.character == who for f in frames_in([one.span])}
        nothing = Worn(None, None)
        other = {
            f: replace(had.get(f, nothing), code=code)
            for f, code in wanted.items()
            if f in record.frames and had.get(f, nothing).code != code
        }
        if other:
            yield who, other


def in_runs(worn: Mapping[str, Mapping[int, Worn]]) -> dict[str, tuple[Run, ...]]:
    """Return what each character wore as runs of frames."""
    return {who: runs_of(frames) for who, frames in worn.items()}
