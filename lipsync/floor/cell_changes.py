"""What changed of a character's pieces, phonemes and marks, but for what only moved together with its words.

In: the cells of two states, and the changes of words between them. Out: `Change`s. Successive frames on which one new
piece replaces others are one change.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from lipsync.floor.changes import Change, Kind, ModellingNote
from lipsync.paper.rows import Cell

# The pieces of a moved word lie within so many frames of it: a lead is four frames at most (fit_settings.py).
AROUND = 4

_Value = str | tuple[str, ...] | ModellingNote | None


@dataclass(frozen=True, slots=True)
class _Field:
    """A part of a cell that is compared.

    Attributes:
        read: how to read it.
        left: whether a cell looks like one whose words have moved away.
        told: whether it follows from the words, so that a change of words already tells it.
    """

    read: Callable[[Cell], _Value]
    left: Callable[[Cell], bool]
    told: bool = False


def _part_codes(cell: Cell) -> str:
    """Return the codes of the parts that are on."""
    return ", ".join(part.code for part in cell.parts)


def _note(cell: Cell) -> ModellingNote:
    toward = (cell.toward.code, cell.toward.frames) if cell.toward else ("", 0)
    return ModellingNote(*toward, cell.keep_alive)


_PIECE = _Field(lambda cell: cell.piece, lambda cell: not cell.fitted)  # the piece before it goes on
_FITTED = _Field(lambda cell: cell.piece if cell.fitted else None, lambda cell: not cell.fitted)
_SHOWN = _Field(lambda cell: cell.serves, lambda cell: cell.serves is None, told=True)
_PHONEMES = _Field(lambda cell: cell.phonemes, lambda cell: not cell.phonemes, told=True)
_LOST = _Field(lambda cell: cell.lost, lambda cell: not cell.lost)
_BEAT = _Field(lambda cell: ("beat",) if cell.beat else (), lambda cell: not cell.beat)
_PARTS = _Field(lambda cell: tuple(f"{p.kind} {p.code} {p.put_on}" for p in cell.parts), lambda cell: not cell.parts)
_NOTE = _Field(_note, lambda cell: _note(cell) == ModellingNote())


def cell_changes(
    name: str,
    before: Sequence[Cell],
    after: Sequence[Cell],
    words: Sequence[Change],
    filmed: frozenset[int] = frozenset(),
) -> Iterator[Change]:
    """Yield what changed of a character's cells, except on frames in the can.

    Args:
        name: the character's name, for the changes.
        before: its cells in the earlier state, one a frame.
        after: the same in the later state.
        words: what changed of its words (word_changes.py).
        filmed: the frames in the can.
    """
    moves = tuple(change for change in words if change.kind == "moved")
    told = frozenset(frame for change in words if change.kind == "words" for frame in change.frames)
    compared = _CellPair(before, after, moves, told, filmed)
    for run in compared.runs(_PIECE, alike=lambda cell: cell.piece):
        now, was = after[run[0]].piece or "", _texts(before[f].piece or "" for f in run)
        yield Change("piece", run[0], run[-1], name, now=now, was=was)
    for frame in compared.frames(_FITTED):
        if before[frame].piece == after[frame].piece:
            kind: Kind = "put on" if after[frame].fitted else "held"
            yield Change(kind, frame, frame, name, now=after[frame].piece or "")
    for run in compared.runs(_PHONEMES):
        now, was = (" ".join(_bare(p) for f in run for p in cells[f].phonemes) for cells in (after, before))
        yield Change("retimed" if now == was else "phonemes", run[0], run[-1], name, now=now, was=was)
    lost = {f: list(map(_bare, _without(after[f].lost, before[f].lost))) for f in compared.frames(_LOST)}
    unseen: dict[int, tuple[int, int]] = {}
    for run in compared.runs(_SHOWN, alike=lambda cell: cell.serves):
        if any(before[f].piece == after[f].piece for f in run):
            now, was = _bare(after[run[0]].serves or ""), _texts(_bare(before[f].serves or "") for f in run)
            missed = [f for f in run if now in lost.get(f, ())]
            if missed:  # a lost sound changes what is shown as well: one change tells both, of all these frames
                unseen.update(dict.fromkeys(missed, (run[0], run[-1])))
                continue
            yield Change("shown", run[0], run[-1], name, now=now, was=was)
    for frame in compared.frames(_LOST):
        for what, here, there in _either("lost", "seen", after[frame].lost, before[frame].lost):
            first, last = unseen.get(frame, (frame, frame)) if what == "lost" else (frame, frame)
            yield Change(what, first, last, name, now=" ".join(map(_bare, _without(here, there))))
    for frame in compared.frames(_BEAT):
        yield Change("beat" if after[frame].beat else "no beat", frame, frame, name)
    for run in compared.runs(_PARTS, alike=_part_codes):
        now, was = _part_codes(after[run[0]]), _texts(codes for f in run if (codes := _part_codes(before[f])))
        if now != was:
            yield Change("part", run[0], run[-1], name, now=now, was=was)
        else:
            again = any(part.put_on for part in after[run[0]].parts)
            yield Change("put on" if again else "held", run[0], run[-1], name, now=now)
    for frame in compared.frames(_NOTE):
        yield Change("note", frame, frame, name, notes=(_note(after[frame]), _note(before[frame])))


def _either(
    kind: Kind, other: Kind, now: tuple[str, ...], was: tuple[str, ...]
) -> Iterator[tuple[Kind, tuple[str, ...], tuple[str, ...]]]:
    if _without(now, was):
        yield kind, now, was
    if _without(was, now):
        yield other, was, now


def _without(texts: tuple[str, ...], taken: tuple[str, ...]) -> list[str]:
    """Return the texts that are left when each of the second is taken once from the first."""
    unmatched, kept = list(taken), []
    for text in texts:
        if text in unmatched:
            unmatched.remove(text)
        else:
            kept.append(text)
    return kept


def _bare(phoneme: str) -> str:
    """Return a phoneme without its stress, as the sheet prints it."""
    return phoneme.rstrip("012")


def _texts(texts: Iterator[str]) -> str:
    return ", ".join(dict.fromkeys(texts))


@dataclass(frozen=True, slots=True)
class _CellPair:
    """The cells of a character in two states, and the changes of words that explain some of the differences."""

    before: Sequence[Cell]
    after: Sequence[Cell]
    moves: tuple[Change, ...]
    told: frozenset[int]
    filmed: frozenset[int]

    def frames(self, field: _Field) -> Iterator[int]:
        """Yield the frames on which a field differs in a way that no move explains."""
        for frame in range(min(len(self.before), len(self.after))):
            if frame in self.filmed:
                continue
            if field.read(self.before[frame]) != field.read(self.after[frame]) and not self._explained(frame, field):
                yield frame

    def runs(self, field: _Field, alike: Callable[[Cell], _Value] = lambda _cell: ()) -> Iterator[list[int]]:
        """Yield runs of successive frames on which a field differs, and `alike` has one value in the later state."""
        run: list[int] = []
        for frame in self.frames(field):
            if run and (frame != run[-1] + 1 or alike(self.after[frame]) != alike(self.after[run[-1]])):
                yield run
                run = []
            run.append(frame)
        if run:
            yield run

    def _explained(self, frame: int, field: _Field) -> bool:
        if field.told and frame in self.told:
            return True
        now = field.read(self.after[frame])
        for move in self.moves:
            if move.first - AROUND <= frame <= move.last + AROUND:
                if field is _PHONEMES and self._alike_in(move):
                    return True
                for shift in range(min(move.by), max(move.by) + 1):
                    if 0 <= frame - shift < len(self.before) and field.read(self.before[frame - shift]) == now:
                        return True
            if (
                move.also
                and move.also[0] - AROUND <= frame <= move.also[1] + AROUND
                and field.left(self.after[frame])
            ):
                return True
        return False

    def _alike_in(self, move: Change) -> bool:
        """Whether moved words kept their phonemes; rounded to frames, these may be spread over the rows otherwise."""
        spans = ((self.before, move.also or (move.first, move.last)), (self.after, (move.first, move.last)))
        was, now = ([p for cell in cells[first : last + 1] for p in cell.phonemes] for cells, (first, last) in spans)
        return was == now
