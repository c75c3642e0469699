"""The rows of a hold on which notes on modelling are printed, and those on which the piece is named again.

In: a character's cells and the rows of a bank. Out: lines with their rows, rows on which the piece is named again,
and the notes that had no row.

A note says toward which piece the clay is modelled, and on the next row over how many frames; for a single frame
nothing is said. It is on a row of its own transition, never after the next key. If a hold continues from the page
before, its note is repeated. In a hold, no row is further than `HOLD.again_rows` from a row that names the piece,
unless notes are on all rows between.

A brief note has a sign instead of the studio's words, and the foot explains the sign: so no code is ever cut.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lipsync.paper.rows import Cell
from lipsync.paper.sheet_measures import HOLD
from lipsync.paper.sheet_words import Words

# Signs in brief notes: for "toward" a piece, and for "over" so many frames.
TOWARD_SIGN, OVER_SIGN = "→", "×"


@dataclass(frozen=True, slots=True)
class Span:
    """One transition of the clay.

    Attributes:
        first: its first frame.
        end: the frame after its last one.
        code: the piece toward which the clay is modelled.
        frames: over how many frames, as the note says.
    """

    first: int
    end: int
    code: str
    frames: int


def spans_of(cells: Sequence[Cell]) -> tuple[Span, ...]:
    """Return the transitions of a character's clay; each ends at the next key, or when it goes off camera."""
    found: list[Span] = []
    for frame, cell in enumerate(cells):
        if cell.toward is not None:
            end = min(frame + cell.toward.frames, hold_end(cells, frame))
            found.append(Span(frame, end, cell.toward.code, cell.toward.frames))
    return tuple(span for span in found if span.end > span.first)


def alive_spans(cells: Sequence[Cell]) -> tuple[tuple[int, int], ...]:
    """Return the stretches in which holds are kept alive by hand: first frame, and the frame after the last."""
    found: list[tuple[int, int]] = []
    for frame, cell in enumerate(cells):
        if cell.keep_alive:
            end = hold_end(cells, frame)
            modelled = next((at for at in range(frame, end) if cells[at].toward is not None), end)
            found.append((frame, modelled))
    return tuple(span for span in found if span[1] > span[0])


def hold_end(cells: Sequence[Cell], frame: int) -> int:
    """Return the frame after the last one on which the piece of a frame is still worn, without a break."""
    end = frame
    while end < len(cells) and cells[end].piece is not None and (end == frame or not cells[end].fitted):
        end += 1
    return end


@dataclass(frozen=True, slots=True)
class PlacedNotes:
    """Lines, each with its row; rows that name the piece again; and notes without a free row, with their frames."""

    lines: tuple[tuple[int, str], ...]
    again: tuple[int, ...]
    left_over: tuple[tuple[int, str], ...]


def placed(cells: Sequence[Cell], first: int, end: int, words: Words, brief: bool = False) -> PlacedNotes:
    """Return where notes and names are printed on a bank of rows, from `first` to before `end`."""
    free = {frame for frame in range(first, end) if is_free(cells, first, frame)}
    lines: list[tuple[int, str]] = []
    left_over: list[tuple[int, str]] = []
    more: list[tuple[Span, int]] = []
    for span in spans_of(cells):
        rows = [frame for frame in range(max(first, span.first), min(end, span.end)) if frame in free]
        begins_here = first <= span.first < end
        if rows:
            lines.append((rows[0], toward_said(span.code, words, brief)))
            free.remove(rows[0])
            more += [(span, rows[1])] if begins_here and span.frames > 1 and len(rows) > 1 else []
        elif begins_here:
            left_over.append((span.first, _whole(span, words)))
    for begins, ends in alive_spans(cells):
        alive, missed = _kept_alive(range(max(begins, first), min(ends, end)), free, words)
        lines += alive
        left_over += [(begins, words.keep_alive)] if missed and first <= begins < end else []
    # The least needed notes come last: the dotted line says the same.
    over = [(row, over_said(span.frames, words, brief)) for span, row in more if row in free]
    free -= {row for row, _ in over}
    lines += over
    again = tuple(_again(cells, first, end, free))
    return PlacedNotes(tuple(sorted(lines)), again, tuple(sorted(left_over)))


def _kept_alive(rows: range, free: set[int], words: Words) -> tuple[list[tuple[int, str]], bool]:
    """Take free rows for "keep alive": the first, and one in so many; return the lines, and whether none was free."""
    found: list[tuple[int, str]] = []
    due = rows.start
    for row in rows:
        if row >= due and row in free:
            found.append((row, words.keep_alive))
            free.remove(row)
            due = row + HOLD.alive_rows
    return found, bool(rows) and not found


def _again(cells: Sequence[Cell], first: int, end: int, free: set[int]) -> Iterator[int]:
    """Yield the rows on which a piece that stays on is named again: as far apart as allowed, or sooner.

    The last row of a hold is used only if the name would else be too far away: just above the name of the next piece,
    it could be mistaken for it.
    """
    named = first
    for frame in range(first, end):
        if not is_free(cells, first, frame):
            named = frame
        elif frame in free and _is_due(cells, (first, end), frame, named, free):
            yield frame
            named = frame


def _is_due(cells: Sequence[Cell], bank: tuple[int, int], frame: int, named: int, free: set[int]) -> bool:
    first, end = bank
    due = named + HOLD.again_rows
    if frame >= due:
        goes_on = frame + 1 < end and is_free(cells, first, frame + 1)
        return goes_on or frame > due
    # It is due sooner if notes are on all rows from the next one up to the row on which the name would be due.
    later = range(frame + 1, due + 1)
    return later.stop < end and all(row not in free and is_free(cells, first, row) for row in later)


def is_free(cells: Sequence[Cell], first: int, frame: int) -> bool:
    """Return whether the column of codes is empty on a row of the bank that begins with `first`."""
    cell = cells[frame]
    return not (cell.piece is None or cell.fitted or frame == first or cells[frame - 1].piece is None)


def toward_said(code: str, words: Words, brief: bool) -> str:
    """Return a note's first line."""
    return f"{TOWARD_SIGN} {code}" if brief else words.toward.format(code=code)


def over_said(frames: int, words: Words, brief: bool) -> str:
    """Return a note's second line."""
    return f"{OVER_SIGN} {frames}" if brief else words.over.format(frames=frames)


def spelt_out(words: Words) -> str:
    """Return what the signs of brief notes mean."""
    sign, times = (TOWARD_SIGN, OVER_SIGN)
    return f"{sign}: {words.toward.format(code='…')}; {times}: {words.over.format(frames='…')}"


def _whole(span: Span, words: Words) -> str:
    toward = words.toward.format(code=span.code)
    return toward if span.frames == 1 else f"{toward} {words.over.format(frames=span.frames)}"


def lines_in(cell: Cell, words: Words, brief: bool) -> Iterator[str]:
    """Return every line that notes may print for a row: with the code, with the number, and "keep alive"."""
    if cell.toward is not None:
        yield toward_said(cell.toward.code, words, brief)
        if cell.toward.frames > 1:
            yield over_said(cell.toward.frames, words, brief)
    if cell.keep_alive and not brief:
        yield words.keep_alive
