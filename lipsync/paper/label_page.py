"""Sheets of labels: puts what each label says on the labels of a sheet, from the first free label on.

In: a `LabelJob`. Out: the pages, and which parts had no room on which labels. Nothing is printed outside a label, or
at the edges of the paper that printers leave white; labels of one sheet have the same white on both sides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from lipsync.errors import InputError
from lipsync.paper.label_sheets import LabelGrid
from lipsync.paper.label_tile import LabelBox, LabelDrawn, LabelSaid, LabelSizes, label_drawn
from lipsync.paper.lettering import check_letters
from lipsync.paper.marks import Box, Document, Mark, Page
from lipsync.paper.page_forms import PAPER
from lipsync.paper.sheet_words import Words


@dataclass(frozen=True, slots=True)
class LabelPageMeasures:
    """The white around a label's text, and its edge if drawn. Chosen: a printer may be off by up to a millimetre."""

    inset_mm: float = 1.8
    small_inset_mm: float = 1.0
    small_mm: float = 16.0
    # What printers leave white at the edges of the paper (common practice: a quarter of an inch at most).
    unprinted_mm: float = 6.4
    edge_mm: float = 0.15
    edge_grey: float = 0.5


LABEL_PAGE = LabelPageMeasures()


@dataclass(frozen=True, slots=True)
class LabelJob:
    """Labels and the sheet that they are printed on.

    Attributes:
        production: the film's title.
        grid: where the labels of a sheet lie.
        labels: what each label says, in order.
        first: the number of the first free label of the first sheet; labels are counted from 1, row by row.
        edges: whether the edges of labels are drawn, so that a print on plain paper can be held against the sheet.
        words: the words on paper.
    """

    production: str
    grid: LabelGrid
    labels: Sequence[LabelSaid]
    first: int = 1
    edges: bool = False
    words: Words = field(default_factory=Words)


@dataclass(frozen=True, slots=True)
class LabelPages:
    """Sheets of labels; and for each part that had no room on some labels, the codes of these labels."""

    document: Document
    left_out: dict[str, tuple[str, ...]]


def label_pages(job: LabelJob) -> LabelPages:
    """Return the sheets.

    Raises:
        InputError: if a code does not fit on a label, or a text has letters that no font here has.
    """
    texts = [(part, getattr(one, part)) for one in job.labels for part in ("code", "name", "who", "where")]
    check_letters("labels", dict.fromkeys(texts), job.words)
    grid = job.grid
    sheets: list[list[Mark]] = []
    left_out: dict[str, dict[str, None]] = {}
    nothing: dict[str, None] = {}
    for number, (said, drawn) in enumerate(zip(job.labels, _alike(job), strict=True), start=job.first - 1):
        sheet, place = divmod(number, grid.count)
        if sheet >= len(sheets):
            sheets.append([])
        if drawn is None:
            nothing[said.code] = None
            continue
        for part in drawn.left_out:
            left_out.setdefault(part, {})[said.code] = None
        sheets[sheet] += drawn.marks
        if job.edges:
            sheets[sheet].append(_edge(grid, place))
    if nothing:
        size = f"{grid.width_mm:g} by {grid.height_mm:g} mm"
        text = f"on a label of {size} nothing fits, not even {', '.join(nothing)} in letters of 7 points; "
        text += "take larger ones"
        raise InputError.one(f"label sheet {grid.name}", "", text)
    width_mm, height_mm = PAPER[grid.page]
    pages = tuple(Page(width_mm, height_mm, tuple(marks)) for marks in sheets)
    title = f"{job.production}: {job.words.labels}"
    return LabelPages(Document(title, pages), {part: tuple(codes) for part, codes in left_out.items()})


def _alike(job: LabelJob) -> Sequence[LabelDrawn | None]:
    """Return each label; labels that show the same parts get letters of the same sizes."""
    boxes = [
        _inside(job.grid, number % job.grid.count) for number in range(job.first - 1, job.first - 1 + len(job.labels))
    ]
    drawn = [label_drawn(said, box) for said, box in zip(job.labels, boxes, strict=True)]
    sizes: dict[frozenset[str], LabelSizes] = {}
    for said, one in zip(job.labels, drawn, strict=True):
        if one is not None:
            shown = said.parts - one.left_out
            sizes[shown] = one.sizes.least(sizes.get(shown, one.sizes))
    found = []
    for said, one, box in zip(job.labels, drawn, boxes, strict=True):
        again = label_drawn(said, box, sizes[said.parts - one.left_out]) if one is not None else None
        found.append(again if one is not None and again is not None and again.left_out == one.left_out else one)
    return found


def _inside(grid: LabelGrid, place: int) -> LabelBox:
    """Return the rectangle of a label in which something may be printed."""
    width_mm, height_mm = PAPER[grid.page]
    least_mm = LABEL_PAGE.small_inset_mm if grid.height_mm < LABEL_PAGE.small_mm else LABEL_PAGE.inset_mm
    beside_mm, above_mm = (
        max(least_mm, LABEL_PAGE.unprinted_mm - white)
        for white in (
            min(grid.left_mm, width_mm - grid.right_mm),
            min(grid.top_mm, height_mm - grid.bottom_mm),
        )
    )
    x_mm, y_mm = grid.corner_mm(place)
    return LabelBox(x_mm + beside_mm, y_mm + above_mm, grid.width_mm - 2 * beside_mm, grid.height_mm - 2 * above_mm)


def _edge(grid: LabelGrid, place: int) -> Box:
    x_mm, y_mm = grid.corner_mm(place)
    return Box(x_mm, y_mm, grid.width_mm, grid.height_mm, stroke=LABEL_PAGE.edge_grey, line_mm=LABEL_PAGE.edge_mm)
