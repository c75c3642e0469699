"""Where the notes on modelling stand: each on a row of its own transition, never after the next key.

In come a character's cells and the rows of a bank, out come lines with their rows, and what had no row. A note says
toward which piece the clay is modelled, and below it over how many frames; over one is understood. Where a hold goes
on from the page before, its note is said again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lipsync.paper.rows import Cell
from lipsync.paper.sheet_words import Words


@dataclass(frozen=True, slots=True)
class Span:
    """Modelling: its frames, the one after the last, and what it is toward."""

    first: int
    end: int
    code: str
    frames: int


def spans_of(cells: Sequence[Cell]) -> tuple[Span, ...]:
    """Return where a character's clay is modelled; at the latest up to the next key, or to where it is off camera."""
    found: list[Span] = []
    for frame, cell in enumerate(cells):
        if cell.toward is not None:
            end = min(frame + cell.toward.frames, hold_end(cells, frame))
            found.append(Span(frame, end, cell.toward.code, cell.toward.frames))
    return tuple(span for span in found if span.end > span.first)


def hold_end(cells: Sequence[Cell], frame: int) -> int:
    """Return the frame after the last on which a piece is worn without a break from a frame on."""
    end = frame
    while end < len(cells) and cells[end].piece is not None and (end == frame or not cells[end].fitted):
        end += 1
    return end


@dataclass(frozen=True, slots=True)
class PlacedNotes:
    """Lines, each with its row; and notes that no row was free for, each with its frame."""

    lines: tuple[tuple[int, str], ...]
    left_over: tuple[tuple[int, str], ...]


def placed(cells: Sequence[Cell], first: int, end: int, words: Words) -> PlacedNotes:
    """Return where notes stand on a bank of rows, from `first` to before `end`."""
    free = {frame for frame in range(first, end) if is_free(cells, first, frame)}
    lines: list[tuple[int, str]] = []
    left_over: list[tuple[int, str]] = []
    more: list[tuple[Span, int]] = []
    for span in spans_of(cells):
        rows = [frame for frame in range(max(first, span.first), min(end, span.end)) if frame in free]
        begins_here = first <= span.first < end
        if rows:
            lines.append((rows[0], words.toward.format(code=span.code)))
            free.remove(rows[0])
            more += [(span, rows[1])] if begins_here and span.frames > 1 and len(rows) > 1 else []
        elif begins_here:
            left_over.append((span.first, _whole(span, words)))
    for frame in range(first, end):
        if cells[frame].keep_alive:
            row = next((row for row in range(frame, min(end, hold_end(cells, frame))) if row in free), None)
            if row is None:
                left_over.append((frame, words.keep_alive))
            else:
                lines.append((row, words.keep_alive))
                free.remove(row)
    # What is least needed comes last: the broken line shows it too.
    lines += [(row, words.over.format(frames=span.frames)) for span, row in more if row in free]
    return PlacedNotes(tuple(sorted(lines)), tuple(sorted(left_over)))


def is_free(cells: Sequence[Cell], first: int, frame: int) -> bool:
    """Whether nothing stands in the column of codes on a row of the bank that begins with `first`."""
    cell = cells[frame]
    return not (cell.piece is None or cell.fitted or frame == first or cells[frame - 1].piece is None)


def _whole(span: Span, words: Words) -> str:
    toward = words.toward.format(code=span.code)
    return toward if span.frames == 1 else f"{toward} {words.over.format(frames=span.frames)}"


def lines_in(cell: Cell, words: Words) -> Iterator[str]:
    """Return every line that may be said of a row's modelling: what the column must have room for."""
    if cell.toward is not None:
        yield words.toward.format(code=cell.toward.code)
        if cell.toward.frames > 1:
            yield words.over.format(frames=cell.toward.frames)
    if cell.keep_alive:
        yield words.keep_alive
