"""What was really on a puppet: as a person says it on the command line, and as it goes into a shot's record.

In come texts such as `12=OPEN2`, `12-14=heron:OPEN2` or `12=-` and who may be meant, then the print that was filmed
from or the record to mend; out comes what each character wore on each frame, and what was modelled from which on. A
dash for a code says off camera; `62-64=toward OPEN1`, `70=keep alive` and `62-64=not modelled` say what was done by
hand. Frames in a text are the production's numbers.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from lipsync.errors import InputError, Problem
from lipsync.floor.prints import Revision
from lipsync.floor.record import Filmed, Modelled, ModellingKind, Run, Worn, runs_of
from lipsync.floor.spans import Span, frames_in
from lipsync.paper.cells import Cell
from lipsync.production.values import Production

_WORE = re.compile(r"\s*(\d{1,8})(?:\s*-\s*(\d{1,8}))?\s*=\s*(?:([^:=]+?)\s*:\s*)?([^:=]+?)\s*")
OFF = "-"
_TOWARD = re.compile(r"toward\s+([A-Za-z0-9]\S*)", re.IGNORECASE)
_BY_HAND: Mapping[str, ModellingKind] = {"keep alive": "keep alive", "not modelled": "not modelled"}


@dataclass(frozen=True, slots=True)
class Wore:
    """A character wore a piece, or None off camera, from the first to the last frame.

    With `kind`, it says instead what was modelled on these frames, and toward which piece.
    """

    span: Span
    character: str
    code: str | None
    kind: ModellingKind | None = None

    @property
    def modelled(self) -> Modelled | None:
        """What it says of modelling, if that is what it speaks of."""
        return None if self.kind is None else Modelled(self.kind, *self.span, self.code or "")


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
        raise ValueError(
            "is not understood; write FRAME=CODE, FRAME-FRAME=CODE or FRAME=CHARACTER:CODE, and in the place of CODE "
            '"toward CODE", "keep alive" or "not modelled" for what was done by hand'
        )
    first, last = int(read[1]), int(read[2] or read[1])
    if last < first:
        raise ValueError("ends before it begins; write the first frame first")
    span = first - first_frame, last - first_frame
    toward, by_hand = _TOWARD.fullmatch(read[4]), _BY_HAND.get(" ".join(read[4].lower().split()))
    if by_hand is not None:
        return Wore(span, _who(read[3], OFF, codes), None, by_hand)
    code = toward[1] if toward else read[4]
    who = _who(read[3], code, codes)
    if toward:
        return Wore(span, who, codes[who][code.upper()], "toward")
    return Wore(span, who, None if code == OFF else codes[who][code.upper()])


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
        for frame in frames_in([one.span]) & new if one.kind is None else ():
            worn[one.character][frame] = replace(worn[one.character][frame], code=one.code)
    return worn


def _in(one: Wore, frames: frozenset[int]) -> bool:
    return not frames.isdisjoint(frames_in([one.span]))


def mended_in(record: Filmed, said_worn: Sequence[Wore]) -> Iterator[tuple[str, dict[int, Worn]]]:
    """Yield for each character the locked frames on which something else was worn than the record says."""
    known = record.worn
    for who in dict.fromkeys(one.character for one in said_worn):
        had = known.get(who, {})
        own = [one for one in said_worn if one.character == who and one.kind is None]
        wanted = {f: one.code for one in own for f in frames_in([one.span])}
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


def modelled_on(
    printed: Revision, said_worn: Sequence[Wore], worn: Mapping[str, Mapping[int, Worn]]
) -> dict[str, tuple[Modelled, ...]]:
    """Return what was modelled from frames on that were filmed from a print: what it said, or what a person says.

    Nothing is modelled on a puppet that was off camera.
    """
    found: dict[str, tuple[Modelled, ...]] = {}
    for who, frames in worn.items():
        marks = marks_on(printed.state.cells(who), [frame for frame, wear in frames.items() if wear.code is not None])
        for one in said_worn:
            if one.character == who and one.modelled is not None and one.span[0] in frames:
                marks = with_said(marks, one.modelled)
        if marks:
            found[who] = tuple(sorted(marks, key=lambda mark: (mark.first, mark.kind)))
    return found


def marks_on(cells: Sequence[Cell], frames: Iterable[int]) -> tuple[Modelled, ...]:
    """Return what cells ask to be modelled from these frames on."""
    found: list[Modelled] = []
    for frame in frames:
        toward = cells[frame].toward if frame < len(cells) else None
        if toward is not None:
            found.append(Modelled("toward", frame, frame + toward.frames - 1, toward.code))
        if frame < len(cells) and cells[frame].keep_alive:
            found.append(Modelled("keep alive", frame, frame))
    return tuple(found)


def with_said(marks: Iterable[Modelled], said: Modelled) -> tuple[Modelled, ...]:
    """Return what was modelled once a person has said something of it.

    What is modelled toward a piece takes the place of other modelling on its frames; keeping alive takes none.
    """
    gone = {"toward": ("toward",), "keep alive": ("keep alive",), "not modelled": ("toward", "keep alive")}[said.kind]
    kept = [one for one in marks if not (one.kind in gone and said.first <= one.first <= said.last)]
    return (*kept, *(() if said.kind == "not modelled" else (said,)))


def modelled_anew(
    said_worn: Sequence[Wore], frames: frozenset[int], known: Mapping[str, tuple[Modelled, ...]]
) -> dict[str, tuple[Modelled, ...]]:
    """Return what a person says of modelling that begins on these frames, where it is otherwise than is known."""
    found: dict[str, tuple[Modelled, ...]] = {}
    for one in said_worn:
        if one.modelled is not None and one.span[0] in frames:
            had = known.get(one.character, ())
            if set(with_said(had, one.modelled)) != set(had):
                found[one.character] = (*found.get(one.character, ()), one.modelled)
    return found
