"""What was really worn and modelled: from the texts of `lock --wore` to what goes into a shot's record.

In: texts such as `12=OPEN2`, `12-14=heron:OPEN2` or `12=-` (off camera), or of modelling `62-64=toward OPEN1`,
`70=keep alive`, `62-64=not modelled`, with the production's frame numbers; the characters that may be meant; and the
print that was filmed from, or the record to mend. Out: what each character wore on each frame, and what was modelled.
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
    """What one text says of one character: what it wore, or, with `kind`, what was modelled.

    Attributes:
        span: first and last frame, from 0.
        character: the character's id.
        code: the piece worn, None off camera; of modelling the piece it goes toward, None if toward none.
        kind: the kind of modelling; None if the text says what was worn.
    """

    span: Span
    character: str
    code: str | None
    kind: ModellingKind | None = None

    @property
    def modelled(self) -> Modelled | None:
        """The modelling that the text tells of; None if it tells what was worn."""
        return None if self.kind is None else Modelled(self.kind, *self.span, self.code or "")


def worn_as_said(texts: Iterable[str], production: Production, cast: Iterable[str]) -> tuple[Wore, ...]:
    """Return what each text says, of characters of the cast.

    Raises:
        InputError: naming every text that is not understood, or names a code that no character of the cast has.
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
    """Return the id of the character: the one that is named, or else the only one that has the piece.

    Raises:
        ValueError: if nobody has the piece, or several do.
    """
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
    """Return what each character wore on the frames `new`: as printed, except where a text says otherwise."""
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
    """Yield for each character its locked frames of which a text says something else than the record."""
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
    """Return the modelling that began on frames newly filmed from a print: as printed, or as a text says.

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
    """Return the modelling that the cells of a print ask for on these frames."""
    found: list[Modelled] = []
    for frame in frames:
        toward = cells[frame].toward if frame < len(cells) else None
        if toward is not None:
            found.append(Modelled("toward", frame, frame + toward.frames - 1, toward.code))
        if frame < len(cells) and cells[frame].keep_alive:
            found.append(Modelled("keep alive", frame, frame))
    return tuple(found)


def with_said(marks: Iterable[Modelled], said: Modelled) -> tuple[Modelled, ...]:
    """Return modelling corrected by what a person says.

    Modelling toward a piece replaces other modelling toward pieces on its frames; keeping alive replaces keeping
    alive; "not modelled" removes both.
    """
    gone = {"toward": ("toward",), "keep alive": ("keep alive",), "not modelled": ("toward", "keep alive")}[said.kind]
    kept = [one for one in marks if not (one.kind in gone and said.first <= one.first <= said.last)]
    return (*kept, *(() if said.kind == "not modelled" else (said,)))


def modelled_anew(
    said_worn: Sequence[Wore], frames: frozenset[int], known: Mapping[str, tuple[Modelled, ...]]
) -> dict[str, tuple[Modelled, ...]]:
    """Return, by character, what texts say of modelling on these frames, where it differs from what is known."""
    found: dict[str, tuple[Modelled, ...]] = {}
    for one in said_worn:
        if one.modelled is not None and one.span[0] in frames:
            had = known.get(one.character, ())
            if set(with_said(had, one.modelled)) != set(had):
                found[one.character] = (*found.get(one.character, ()), one.modelled)
    return found
