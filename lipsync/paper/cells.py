"""What a row says of one character: a `Cell`, and where something heard begins and ends.

In: a shot's planned cells and those of its frames in the can. Out: the cells that are shown. A frame in the can is
shown as it was on the print that it was filmed from (floor/as_filmed.py), even if sound or plan change later.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from lipsync.fit.keys import Toward

HeardKind = Literal["word", "cue", "pause", "untold"]


@dataclass(frozen=True, slots=True)
class HeardSpan:
    """A word, a cue, a pause or voice without text, and the first and the last frame on which it is heard."""

    kind: HeardKind
    text: str
    first: int
    last: int
    doubtful: bool = False


@dataclass(frozen=True, slots=True)
class PartOn:
    """A replacement part (not a mouth) on one frame: its kind, its code, and whether it is put on here."""

    kind: str
    code: str
    put_on: bool


@dataclass(frozen=True, slots=True)
class Cell:
    """What a row says of one character.

    Attributes:
        begins: words, cues and pauses that begin on this frame.
        runs: whether a word, a cue or voice without text is heard on this frame.
        phonemes: phonemes that begin on this frame, in ARPAbet with stress.
        piece: code of the piece that is worn; None off camera.
        fitted: whether the piece is put on here.
        serves: the phoneme or cue that the piece shows, in ARPAbet with stress; None at rest and off camera.
        lost: sounds that begin here and should be seen, but are not.
        beat: whether a strong beat falls here.
        toward: modelling that begins here.
        keep_alive: whether a long hold is to be kept alive from here on.
        parts: replacement parts (not mouths) that are on here, at most one of each kind, in the order of kinds.
    """

    begins: tuple[HeardSpan, ...]
    runs: bool
    phonemes: tuple[str, ...]
    piece: str | None
    fitted: bool
    serves: str | None
    lost: tuple[str, ...] = ()
    beat: bool = False
    toward: Toward | None = None
    keep_alive: bool = False
    parts: tuple[PartOn, ...] = ()


NOTHING = Cell((), False, (), None, False, None)


def as_shown(planned: Sequence[Cell], filmed: Mapping[int, Cell]) -> list[Cell]:
    """Return the cells of a shot: the planned cells, and for frames in the can the cells that they were filmed from.

    A word may now begin on a frame in the can whose print did not have it. If it is still heard on later frames, it
    is shown on the first unfilmed frame on which it is heard (just as a word that began before the shot is shown on
    the shot's first frame). So is a part that was listed only after the frames before were filmed.
    """
    if not filmed:
        return list(planned)
    shown = [filmed.get(frame, cell) for frame, cell in enumerate(planned)]
    for frame, heard in _hidden(planned, filmed):
        again = next((f for f in range(frame, min(heard.last + 1, len(shown))) if f not in filmed), None)
        if again is not None:
            begins = (replace(heard, first=again), *shown[again].begins)
            shown[again] = replace(shown[again], begins=begins)
    for frame in range(1, len(shown)):
        if frame - 1 in filmed and frame not in filmed:
            shown[frame] = replace(shown[frame], parts=_put_on_by(shown[frame].parts, filmed[frame - 1].parts))
    return shown


def _put_on_by(parts: Sequence[PartOn], before: Sequence[PartOn]) -> tuple[PartOn, ...]:
    """Return parts on a frame to film: what was not on the filmed frame before it is put on."""
    on = {(part.kind, part.code) for part in before}
    return tuple(replace(part, put_on=part.put_on or (part.kind, part.code) not in on) for part in parts)


def _hidden(planned: Sequence[Cell], filmed: Mapping[int, Cell]) -> Iterator[tuple[int, HeardSpan]]:
    """Yield what begins on a frame in the can and is shown on no frame, the latest first."""
    known = [heard for _, cell in sorted(filmed.items()) for heard in cell.begins]
    for frame in sorted(filmed, reverse=True):
        for heard in reversed(planned[frame].begins if frame < len(planned) else ()):
            if not any(_alike(heard, other) for other in known):
                yield frame, heard


def _alike(one: HeardSpan, other: HeardSpan) -> bool:
    same = (one.kind, one.text) == (other.kind, other.text)
    return same and one.first <= other.last and other.first <= one.last


@dataclass(frozen=True, slots=True)
class PartRun:
    """A part over the frames on which it is on, the last included, and whether it is put on at the first."""

    kind: str
    code: str
    first: int
    last: int
    put_on: bool


def part_runs(cells: Sequence[Cell]) -> list[PartRun]:
    """Return the parts of a shot's cells as runs, in the order in which they begin."""
    begun: list[tuple[str, str, int, bool]] = []
    lasts: list[int] = []
    open_at: dict[str, int] = {}
    for frame, cell in enumerate(cells):
        if not cell.parts and not open_at:
            continue
        on = {part.kind: part for part in cell.parts}
        open_at = {kind: at for kind, at in open_at.items() if kind in on}
        for kind, part in on.items():
            at = open_at.get(kind)
            if at is not None and begun[at][1] == part.code and not part.put_on:
                lasts[at] = frame
            else:
                open_at[kind] = len(begun)
                begun.append((kind, part.code, frame, part.put_on))
                lasts.append(frame)
    both = zip(begun, lasts, strict=True)
    return [PartRun(kind, code, first, last, put_on) for (kind, code, first, put_on), last in both]
