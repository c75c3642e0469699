"""Which pieces are worth making, as pages: the curve, the table, and which pieces each set has.

In comes a `WorthJob`, out a `Document`. The numbers are those of workshop/piece_selection.py.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import pairwise

from lipsync.fit.mouthset import MouthSet, Piece
from lipsync.paper.flow import HEADS_MM, Flow, Heading, TableColumn, cells, put_text
from lipsync.paper.lettering import check_letters, shortened, size_that_fits
from lipsync.paper.marks import Bookmark, Box, Document, Mark, Rule, Text
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.piece_pictures import Art, mark_in_row
from lipsync.paper.plot import Axis, Named, Plot, circle, names
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import row_rule
from lipsync.workshop.piece_selection import ReducedSet

# With 30 pieces, the curve and its table just fit one page.
_PLOT_MM, _ROW_MM, _PIECE_MM, _PICTURE_MM = 88.0, 5.2, 7.6, 9.0

# Sets side by side on a page, and where they begin, as a part of its inner width; both chosen for 30 pieces.
_MOST_SETS, _SETS_AT = 28, 0.26


@dataclass(frozen=True, slots=True)
class WorthJob:
    """A character's sets, from the fewest pieces to all, and how they are printed."""

    production: str
    character: str
    mouth_set: MouthSet
    sets: tuple[ReducedSet, ...]
    dated: datetime.date | None = None
    page: str = "A4"
    words: Words = field(default_factory=Words)
    art: Mapping[str, Art] = field(default_factory=dict)
    alerts: tuple[str, ...] = ()

    @property
    def lossy(self) -> tuple[ReducedSet, ...]:
        """The sets up to the first that loses nothing: which of more pieces then stands in for which is arbitrary."""
        lossless = next((at for at, one in enumerate(self.sets) if not round(one.loss, 1)), len(self.sets))
        return self.sets[: lossless + 1]


def _texts(job: WorthJob) -> Iterator[tuple[str, str]]:
    yield "the film's title", job.production
    yield "the name", job.character
    yield "the mouth set's name", job.mouth_set.name
    yield from (("the piece's name", piece.name) for piece in job.mouth_set.piece)
    yield from (("what must be known,", text) for text in job.alerts)


def worth_pages(job: WorthJob) -> Document:
    """Return the curve, the table and the sets as pages; the plot is on the first.

    Raises:
        InputError: if a text has letters that no font here has.
    """
    words = job.words
    check_letters(words.worth, _texts(job), words)
    about = f"{job.production}  ·  {job.character}  ·  {job.mouth_set.name}"
    flow = Flow(Heading(words.worth, about, job.dated, words, job.page, job.alerts))
    put_text(flow, words.worth_how)
    flow.put(_PLOT_MM, partial(_plot, job, flow.heading))
    columns = (
        TableColumn(words.pieces, 0.07, 0.07, True, 10, True),
        TableColumn(words.loss, 0.17, 0.09, True, 10),
        TableColumn(words.next_brings, 0.30, 0.13, True, 10),
        TableColumn(words.visual, 0.42, 0.11, True, 10),
        TableColumn(words.fittings, 0.52, 0.09, True, 10),
        TableColumn(words.not_seen, 0.61, 0.08, True, 10),
        TableColumn(words.which_pieces, 0.64, 0.36, False, 9),
    )
    rows = zip(job.sets, changes_of(job.sets), strict=True)
    flow.put_table(columns, _ROW_MM, [partial(_row, flow.heading, columns, *row) for row in rows])
    flow.space(2.0)
    put_text(flow, words.loss_unit)
    put_text(flow, words.own_measure)
    told = job.sets
    if len(told) > _MOST_SETS and len(job.lossy) < len(told):
        told = job.lossy
        put_text(flow, words.nothing_lost.format(count=told[-1].pieces))
    flow.turn()
    place = flow.page
    _put_sets(flow, replace(job, sets=told))
    return Document(
        f"{job.character}: {words.worth}", flow.pages(), (Bookmark(words.worth, 0), Bookmark(words.sets, place))
    )


def changes_of(sets: Sequence[ReducedSet]) -> tuple[str, ...]:
    """Return what each set has beside the one before, and has not.

    >>> few = ReducedSet(2, ("REST", "OPEN2"), 9.0, 4.0, 9.0, 3, 0)
    >>> changes_of([few, ReducedSet(3, ("REST", "SLOT", "OPEN1"), 5.0, None, 5.0, 4, 0)])
    ('REST OPEN2', '+ SLOT OPEN1  − OPEN2')
    """
    found = [" ".join(sets[0].codes)] if sets else []
    for before, after in pairwise(sets):
        came = " ".join(code for code in after.codes if code not in before.codes)
        went = " ".join(code for code in before.codes if code not in after.codes)
        found.append(f"+ {came}" + (f"  − {went}" if went else ""))
    return tuple(found)


def _plot(job: WorthJob, heading: Heading, y_mm: float) -> Iterator[Mark]:
    words, sets = job.words, job.sets
    across = Axis.of([float(one.pieces) for one in sets], from_zero=False, whole=True, ticks=15)
    up = Axis.of([value for one in sets for value in (one.loss, one.visual)])
    plot = Plot(MARGIN_X_MM + 14.0, y_mm + 12.0, heading.inner_mm - 20.0, _PLOT_MM - 28.0, across, up)
    yield from plot.axes(words.pieces, words.visual)
    yield from _legend(plot, words)
    real = [(float(one.pieces), one.visual) for one in sets]
    losses = [(float(one.pieces), one.loss) for one in sets]
    yield from plot.line(real, 0.4, 0.5)
    for place in real:
        yield plot.dot(*place, 0.7, 0.5)
    yield from plot.line(losses, 0.6)
    for place in losses:
        yield plot.dot(*place, 1.1)
    named = [Named(float(one.pieces), one.loss, f"{one.loss:.1f}") for one in job.lossy]
    yield from names(plot, named, [*losses, *reversed(real)])


def _legend(plot: Plot, words: Words) -> Iterator[Mark]:
    """Return what each line is, at the right above the field."""
    y_mm, x_mm = plot.top_mm - 4.0, plot.left_mm + plot.width_mm
    entries = ((words.real_tracks, 0.5, 0.4, 0.5, 0.7), (words.loss, 0.0, 0.6, 1.0, 1.1))
    for text, grey, width_mm, fill, radius_mm in entries:
        text = shortened(text, plot.width_mm * 0.3, 9)
        x_mm -= string_width_mm(text, 9)
        yield Text(x_mm, y_mm, text, 9)
        yield Rule(x_mm - 11.0, y_mm - 1.2, x_mm - 2.0, y_mm - 1.2, width_mm, grey)
        yield replace(circle(x_mm - 6.5, y_mm - 1.2, radius_mm), fill=fill)
        x_mm -= 17.0


def _row(
    heading: Heading, columns: Sequence[TableColumn], one: ReducedSet, which: str, y_mm: float
) -> Iterator[Mark]:
    right_mm = heading.width_mm - MARGIN_X_MM
    yield row_rule(right_mm, y_mm + _ROW_MM)
    brings = "" if one.next_brings is None else f"{one.next_brings:.1f}"
    numbers = (str(one.pieces), f"{one.loss:.1f}", brings, f"{one.visual:.1f}", str(one.fittings), str(one.lost))
    yield from cells(columns, [*numbers, which], heading, y_mm + 3.8)


def _put_sets(flow: Flow, job: WorthJob) -> None:
    """Put a table with a row for each piece and a column for each set, marked where the set has the piece."""
    for first in range(0, len(job.sets), _MOST_SETS):
        sets = job.sets[first : first + _MOST_SETS]
        wide = (1 - _SETS_AT) / max(len(sets), 14)
        columns = [TableColumn(job.words.code, 0.07, 0.09, False), TableColumn(job.words.name, 0.165, 0.09, False)]
        columns += [
            TableColumn(str(one.pieces), _SETS_AT + (at + 1) * wide - wide / 4, wide * 0.96)
            for at, one in enumerate(sets)
        ]
        flow.turn()
        flow.put(HEADS_MM, partial(_line, job.words.sets))
        rows = [partial(_piece, flow.heading, job, piece, sets, wide) for piece in job.mouth_set.piece]
        flow.put_table(columns, _PIECE_MM, rows)


def _line(text: str, y_mm: float) -> Iterator[Mark]:
    yield Text(MARGIN_X_MM, y_mm + 4.6, text, 11, bold=True)


def _piece(
    heading: Heading, job: WorthJob, piece: Piece, sets: Sequence[ReducedSet], wide: float, y_mm: float
) -> Iterator[Mark]:
    inner_mm, base_mm = heading.inner_mm, y_mm + _PIECE_MM / 2 + 1.5
    right_mm = heading.width_mm - MARGIN_X_MM
    yield row_rule(right_mm, y_mm + _PIECE_MM)
    yield mark_in_row(piece, job.art, (MARGIN_X_MM, y_mm, _PICTURE_MM, _PIECE_MM))
    size_pt = size_that_fits(piece.code, inner_mm * 0.09, 11, True)
    yield Text(MARGIN_X_MM + inner_mm * 0.07, base_mm, piece.code, size_pt, bold=True)
    name = shortened(piece.name, inner_mm * 0.09, 8.5)
    yield Text(MARGIN_X_MM + inner_mm * 0.165, base_mm, name, 8.5)
    side_mm = min(3.4, inner_mm * wide * 0.6)
    for at, one in enumerate(sets):
        if piece.code in one.codes:
            right = MARGIN_X_MM + inner_mm * (_SETS_AT + (at + 1) * wide - wide / 4)
            yield Box(right - side_mm, y_mm + (_PIECE_MM - side_mm) / 2, side_mm, side_mm, fill=0.0)
