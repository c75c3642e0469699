"""Which pieces are worth making, as pages: the curve, the table, and which pieces each set has.

In: a `WorthJob`. Out: a `Document`. The numbers are those of workshop/piece_selection.py.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import pairwise

from lipsync.fit.mouthset import MouthSet, Piece
from lipsync.paper.flow import HEADS_MM, Flow, Heading, TableColumn, cells, put_text
from lipsync.paper.lettering import check_letters, shortened, size_that_fits, sized
from lipsync.paper.making_looks import put_making_looks
from lipsync.paper.marks import Bookmark, Box, Document, Mark, Rule, Text
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.piece_pictures import Art, mark_in_row
from lipsync.paper.plot import Axis, Named, Plot, circle, names
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import row_rule
from lipsync.workshop.making_cost import Cost
from lipsync.workshop.piece_selection import ReducedSet


@dataclass(frozen=True, slots=True)
class WorthMeasures:
    """The measures of the pages that say which pieces are worth making; parts are of the page's inner width.

    Chosen so that with 30 pieces the curve and its table just fit one page, and the sets another.
    """

    plot_mm: float = 88.0
    plot_left_mm: float = 14.0
    plot_down_mm: float = 12.0
    beside_plot_mm: float = 20.0
    around_plot_mm: float = 28.0
    most_ticks: int = 15
    loss_line_mm: float = 0.6
    loss_dot_mm: float = 1.1
    real_line_mm: float = 0.4
    real_dot_mm: float = 0.7
    real_grey: float = 0.5
    legend_pt: float = 9.0
    legend_up_mm: float = 4.0
    legend_part: float = 0.3
    legend_line_mm: float = 11.0
    legend_gap_mm: float = 2.0
    legend_middle_mm: float = 6.5
    legend_step_mm: float = 17.0
    legend_line_up_mm: float = 1.2
    row_mm: float = 5.2
    row_base_mm: float = 3.8
    space_mm: float = 2.0
    above_sets_mm: float = 8.0
    title_pt: float = 11.0
    title_base_mm: float = 4.6
    piece_mm: float = 7.6
    piece_base_mm: float = 1.5
    picture_mm: float = 9.0
    code_pt: float = 11.0
    name_pt: float = 8.5
    code_at: float = 0.07
    name_at: float = 0.165
    name_part: float = 0.09
    sets_at: float = 0.26
    most_sets: int = 28
    least_sets: int = 14
    set_part: float = 0.96
    set_inset_part: float = 0.25
    most_box_mm: float = 3.4
    box_part: float = 0.6


WORTH = WorthMeasures()


@dataclass(frozen=True, slots=True)
class WorthJob:
    """A character's sets, from the fewest pieces to all, what each takes to make, and how they are printed."""

    production: str
    character: str
    mouth_set: MouthSet
    sets: tuple[ReducedSet, ...]
    dated: datetime.date | None = None
    page: str = "A4"
    words: Words = field(default_factory=Words)
    art: Mapping[str, Art] = field(default_factory=dict)
    alerts: tuple[str, ...] = ()
    made: tuple[Cost, ...] = ()
    currency: str = ""

    @property
    def lossy(self) -> tuple[ReducedSet, ...]:
        """The sets up to the first one without loss: in larger sets, which pieces are kept is arbitrary."""
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
    flow.put(WORTH.plot_mm, partial(_plot, job, flow.heading))
    columns = (
        TableColumn(words.pieces, at=0.07, width=0.07, number=True, size_pt=10, bold=True),
        TableColumn(words.loss, at=0.17, width=0.09, number=True, size_pt=10),
        TableColumn(words.next_brings, at=0.30, width=0.13, number=True, size_pt=10),
        TableColumn(words.visual, at=0.42, width=0.11, number=True, size_pt=10),
        TableColumn(words.fittings, at=0.52, width=0.09, number=True, size_pt=10),
        TableColumn(words.not_seen, at=0.61, width=0.08, number=True, size_pt=10),
        TableColumn(words.which_pieces, at=0.64, width=0.36, number=False, size_pt=9),
    )
    rows = zip(job.sets, changes_of(job.sets), strict=True)
    flow.put_table(columns, WORTH.row_mm, [partial(_row, flow.heading, columns, *row) for row in rows])
    flow.space(WORTH.space_mm)
    put_text(flow, words.loss_unit)
    put_text(flow, words.own_measure)
    for text in _never_worn(job):
        put_text(flow, text)
    told = job.sets
    if len(told) > WORTH.most_sets and len(job.lossy) < len(told):
        told = job.lossy
        put_text(flow, words.nothing_lost.format(count=told[-1].pieces))
    places = [Bookmark(words.worth, 0), Bookmark(words.sets, _put_sets(flow, replace(job, sets=told)))]
    if job.made:
        places.append(Bookmark(words.making_looks, flow.page + 1))
        put_making_looks(flow, words, list(zip(job.sets, job.made, strict=True)), job.currency)
    return Document(f"{job.character}: {words.worth}", flow.pages(), tuple(places))


def _never_worn(job: WorthJob) -> Iterator[str]:
    """Yield for each piece with how many pieces it is in the set and on no frame of the real tracks."""
    for code in job.mouth_set.by_code:
        if counts := [str(one.pieces) for one in job.sets if code in one.not_worn]:
            yield job.words.never_worn.format(code=code, sets=", ".join(counts))


def changes_of(sets: Sequence[ReducedSet]) -> tuple[str, ...]:
    """Return for each set the pieces that it has more (+) and fewer (−) than the set before.

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
    across = Axis.of([float(one.pieces) for one in sets], from_zero=False, whole=True, ticks=WORTH.most_ticks)
    up = Axis.of([value for one in sets for value in (one.loss, one.visual)])
    left_mm, top_mm = MARGIN_X_MM + WORTH.plot_left_mm, y_mm + WORTH.plot_down_mm
    wide_mm, high_mm = heading.inner_mm - WORTH.beside_plot_mm, WORTH.plot_mm - WORTH.around_plot_mm
    plot = Plot(left_mm, top_mm, wide_mm, high_mm, across, up)
    yield from plot.axes(words.pieces, words.visual)
    yield from _legend(plot, words)
    real = [(float(one.pieces), one.visual) for one in sets]
    losses = [(float(one.pieces), one.loss) for one in sets]
    yield from plot.line(real, WORTH.real_line_mm, WORTH.real_grey)
    for place in real:
        yield plot.dot(*place, WORTH.real_dot_mm, WORTH.real_grey)
    yield from plot.line(losses, WORTH.loss_line_mm)
    for place in losses:
        yield plot.dot(*place, WORTH.loss_dot_mm)
    named = [Named(float(one.pieces), one.loss, f"{one.loss:.1f}") for one in job.lossy]
    yield from names(plot, named, [*losses, *reversed(real)])


def _legend(plot: Plot, words: Words) -> Iterator[Mark]:
    """Return what each line is, at the right above the field."""
    y_mm, x_mm = plot.top_mm - WORTH.legend_up_mm, plot.left_mm + plot.width_mm
    grey = WORTH.real_grey
    entries = (
        (words.real_tracks, grey, WORTH.real_line_mm, grey, WORTH.real_dot_mm),
        (words.loss, 0.0, WORTH.loss_line_mm, 1.0, WORTH.loss_dot_mm),
    )
    for text, grey, width_mm, fill, radius_mm in entries:
        text = shortened(text, plot.width_mm * WORTH.legend_part, WORTH.legend_pt)
        x_mm -= string_width_mm(text, WORTH.legend_pt)
        yield Text(x_mm, y_mm, text, WORTH.legend_pt)
        line_mm = y_mm - WORTH.legend_line_up_mm
        yield Rule(x_mm - WORTH.legend_line_mm, line_mm, x_mm - WORTH.legend_gap_mm, line_mm, width_mm, grey)
        yield replace(circle(x_mm - WORTH.legend_middle_mm, line_mm, radius_mm), fill=fill)
        x_mm -= WORTH.legend_step_mm


def _row(
    heading: Heading, columns: Sequence[TableColumn], one: ReducedSet, which: str, y_mm: float
) -> Iterator[Mark]:
    right_mm = heading.width_mm - MARGIN_X_MM
    yield row_rule(right_mm, y_mm + WORTH.row_mm)
    brings = "" if one.next_brings is None else f"{one.next_brings:.1f}"
    numbers = (str(one.pieces), f"{one.loss:.1f}", brings, f"{one.visual:.1f}", str(one.fittings), str(one.lost))
    yield from cells(columns, [*numbers, which], heading, y_mm + WORTH.row_base_mm)


def _put_sets(flow: Flow, job: WorthJob) -> int:
    """Put a table with a row for each piece and a column for each set, marked where the set has the piece.

    It is on a single page if there is room; the page on which it begins is returned.
    """
    begins: list[int] = []
    high_mm = 2 * HEADS_MM + len(job.mouth_set.piece) * WORTH.piece_mm
    for first in range(0, len(job.sets), WORTH.most_sets):
        sets = job.sets[first : first + WORTH.most_sets]
        wide = (1 - WORTH.sets_at) / max(len(sets), WORTH.least_sets)
        columns = [
            TableColumn(job.words.code, at=0.07, width=0.09, number=False),
            TableColumn(job.words.name, at=0.165, width=0.09, number=False),
        ]
        columns += [
            TableColumn(str(one.pieces), at=_set_at(at, wide), width=wide * WORTH.set_part)
            for at, one in enumerate(sets)
        ]
        flow.space(WORTH.above_sets_mm)
        if not flow.has_room(high_mm):
            flow.turn()
        begins.append(flow.page)
        flow.put(HEADS_MM, partial(_line, job.words.sets))
        rows = [partial(_piece, flow.heading, job, piece, sets, wide) for piece in job.mouth_set.piece]
        flow.put_table(columns, WORTH.piece_mm, rows)
    return begins[0] if begins else flow.page


def _set_at(at: int, wide: float) -> float:
    """Return the right edge of a set's marks, as a part of the page's inner width."""
    return WORTH.sets_at + (at + 1 - WORTH.set_inset_part) * wide


def _line(text: str, y_mm: float) -> Iterator[Mark]:
    yield Text(MARGIN_X_MM, y_mm + WORTH.title_base_mm, text, WORTH.title_pt, bold=True)


def _piece(
    heading: Heading, job: WorthJob, piece: Piece, sets: Sequence[ReducedSet], wide: float, y_mm: float
) -> Iterator[Mark]:
    inner_mm, base_mm = heading.inner_mm, y_mm + WORTH.piece_mm / 2 + WORTH.piece_base_mm
    right_mm = heading.width_mm - MARGIN_X_MM
    yield row_rule(right_mm, y_mm + WORTH.piece_mm)
    yield mark_in_row(piece, job.art, (MARGIN_X_MM, y_mm, WORTH.picture_mm, WORTH.piece_mm))
    size_pt = size_that_fits(piece.code, inner_mm * WORTH.name_part, WORTH.code_pt, True)
    yield Text(MARGIN_X_MM + inner_mm * WORTH.code_at, base_mm, piece.code, size_pt, bold=True)
    name, size_pt = sized(piece.name, inner_mm * WORTH.name_part, WORTH.name_pt)
    yield Text(MARGIN_X_MM + inner_mm * WORTH.name_at, base_mm, name, size_pt)
    side_mm = min(WORTH.most_box_mm, inner_mm * wide * WORTH.box_part)
    for at, one in enumerate(sets):
        if piece.code in one.codes:
            right_mm = MARGIN_X_MM + inner_mm * _set_at(at, wide)
            yield Box(right_mm - side_mm, y_mm + (WORTH.piece_mm - side_mm) / 2, side_mm, side_mm, fill=0.0)
