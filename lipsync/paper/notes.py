"""Where things are said beside a piece that stays on: notes on modelling, and the piece's own name again.

In come a character's cells and the rows of a bank, out come lines with their rows, rows on which the piece is named
again, and what had no row. A note says toward which piece the clay is modelled, and below it over how many frames;
over one is understood. It stands on a row of its own transition, never after the next key. Where a hold goes on from
the page before, its note is said again. In a hold no row is more than `HOLD.again_rows` from a row that names the
piece, but where notes stand on all rows between.

A note in brief has a sign for the studio's words, which the foot spells out: no code is ever cut for want of room.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lipsync.paper.rows import Cell
from lipsync.paper.sheet_measures import HOLD
from lipsync.paper.sheet_words import Words

# Signs in brief notes: toward a piece, over so many frames.
TOWARD_SIGN, OVER_SIGN = "→", "×"


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


def alive_spans(cells: Sequence[Cell]) -> tuple[tuple[int, int], ...]:
    """Return where holds are kept alive by hand: the first frame and the one after the last of each."""
    found: list[tuple[int, int]] = []
    for frame, cell in enumerate(cells):
        if cell.keep_alive:
            end = hold_end(cells, frame)
            modelled = next((at for at in range(frame, end) if cells[at].toward is not None), end)
            found.append((frame, modelled))
    return tuple(span for span in found if span[1] > span[0])


def hold_end(cells: Sequence[Cell], frame: int) -> int:
    """Return the frame after the last on which a piece is worn without a break from a frame on."""
    end = frame
    while end < len(cells) and cells[end].piece is not None and (end == frame or not cells[end].fitted):
        end += 1
    return end


@dataclass(frozen=True, slots=True)
class PlacedNotes:
    """Lines, each with its row; rows that name the piece again; notes that no row was free for, with their frames."""

    lines: tuple[tuple[int, str], ...]
    again: tuple[int, ...]
    left_over: tuple[tuple[int, str], ...]


def placed(cells: Sequence[Cell], first: int, end: int, words: Words, brief: bool = False) -> PlacedNotes:
    """Return where notes and names stand on a bank of rows, from `first` to before `end`."""
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
    # What is least needed comes last: the broken line shows it too.
    over = [(row, over_said(span.frames, words, brief)) for span, row in more if row in free]
    free -= {row for row, _ in over}
    lines += over
    again = tuple(_again(cells, first, end, free))
    return PlacedNotes(tuple(sorted(lines)), again, tuple(sorted(left_over)))


def _kept_alive(rows: range, free: set[int], words: Words) -> tuple[list[tuple[int, str]], bool]:
    """Take free rows for "keep alive", the first and one in so many; say whether there was none."""
    found: list[tuple[int, str]] = []
    due = rows.start
    for row in rows:
        if row >= due and row in free:
            found.append((row, words.keep_alive))
            free.remove(row)
            due = row + HOLD.alive_rows
    return found, bool(rows) and not found


def _again(cells: Sequence[Cell], first: int, end: int, free: set[int]) -> Iterator[int]:
    """Yield the rows on which a piece that stays on is named again: as far apart as may be, or sooner.

    The last row of a hold is none of them, unless the name is further away: beside the next piece's it would only be
    mistaken for it.
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
    # Sooner, where notes stand on all rows from the next up to that on which the name is due.
    later = range(frame + 1, due + 1)
    return later.stop < end and all(row not in free and is_free(cells, first, row) for row in later)


def is_free(cells: Sequence[Cell], first: int, frame: int) -> bool:
    """Whether nothing stands in the column of codes on a row of the bank that begins with `first`."""
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
    """Return every line with a code or a number that may be said of a row's modelling, and that it is kept alive."""
    if cell.toward is not None:
        yield toward_said(cell.toward.code, words, brief)
        if cell.toward.frames > 1:
            yield over_said(cell.toward.frames, words, brief)
    if cell.keep_alive and not brief:
        yield words.keep_alive
