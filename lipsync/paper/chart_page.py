"""The mouth chart of a character: every piece with its picture, code and name, and the sounds that it serves.

In: a `ChartJob`. Out: a `Document` of one page, made to hang beside the puppet. A tile (chart_tiles.py) is a
shape: its sizes side by side, the smallest first, and below them its sounds, each with an example word. Pictures are
as large as the page allows, upright or across, whichever is larger.
"""

from __future__ import annotations

from collections.abc import Iterator

from lipsync.errors import InputError
from lipsync.paper.chart_tiles import CHART, ChartJob, Tiles
from lipsync.paper.lettering import check_letters, composed, sized
from lipsync.paper.marks import Document, Mark, Page, Text
from lipsync.paper.page_forms import MARGIN_X_MM, MARGIN_Y_MM, ORIENTATIONS, PAPER
from lipsync.paper.pdf import string_width_mm

# Widths of a piece that are tried, the largest first, in mm; at 13 mm six letters of a code still take 7 points.
_CELLS_MM = tuple(range(130, 12, -1))


def chart(job: ChartJob) -> Document:
    """Return the mouth chart of a character.

    Raises:
        InputError: if the pieces are too many for the page, or a text has letters that no font here has.
    """
    check_letters(f"mouth chart of {job.character}", _texts(job), job.words)
    for cell_mm in _CELLS_MM:
        for orientation in ORIENTATIONS:
            width_mm, height_mm = PAPER[job.page] if orientation == "portrait" else PAPER[job.page][::-1]
            tiles = Tiles(job, float(cell_mm), width_mm - 2 * MARGIN_X_MM)
            room_mm = height_mm - 2 * MARGIN_Y_MM - CHART.heading_mm
            if tiles.height_mm is not None and tiles.height_mm <= room_mm:
                marks = (*_heading(job, width_mm), *tiles.marks(MARGIN_Y_MM + CHART.heading_mm, room_mm))
                return Document(f"{job.character}: {job.words.chart}", (Page(width_mm, height_mm, marks),))
    count = len(job.mouth_set.piece)
    larger = "A3 or Tabloid" if job.page in ("A4", "Letter") else "fewer pieces"
    text = (
        f"{job.mouth_set.name} has {count} pieces, too many for the mouth chart on one {job.page} page; use {larger}"
    )
    raise InputError.one("", f"mouth chart of {job.character}", text)


def _texts(job: ChartJob) -> Iterator[tuple[str, str]]:
    mouth_set = job.mouth_set
    yield "the film's title", job.production
    yield "the name", job.character
    yield "the mouth set's name", mouth_set.name
    yield from (("the shape", shape) for shape in mouth_set.sizes)
    yield from (("the piece's name", piece.name) for piece in mouth_set.piece)
    yield from (("the cue", cue) for cue in mouth_set.cues)


def _heading(job: ChartJob, width_mm: float) -> Iterator[Mark]:
    words, right_mm = job.words, width_mm - MARGIN_X_MM
    dated = "" if job.dated is None else words.dated.format(date=job.dated.isoformat())
    inner_mm = width_mm - 2 * MARGIN_X_MM
    name, size_pt = sized(job.character, inner_mm * CHART.name_part, CHART.name_pt, True)
    yield Text(MARGIN_X_MM, MARGIN_Y_MM + CHART.name_base_mm, name, size_pt, bold=True)
    title, size_pt = sized(words.chart, inner_mm * CHART.title_part, CHART.title_pt, True)
    yield Text(right_mm, MARGIN_Y_MM + CHART.title_base_mm, title, size_pt, bold=True, align="right")
    pieces = words.chart_pieces.format(count=len(job.mouth_set.piece))
    facts = f"{composed(job.production)}  ·  {composed(job.mouth_set.name)}  ·  {pieces}"
    room_mm = inner_mm - string_width_mm(dated, CHART.dated_pt) - CHART.facts_gap_mm
    facts, size_pt = sized(facts, room_mm, CHART.facts_pt)
    yield Text(MARGIN_X_MM, MARGIN_Y_MM + CHART.facts_base_mm, facts, size_pt)
    if dated:
        yield Text(right_mm, MARGIN_Y_MM + CHART.facts_base_mm, dated, CHART.dated_pt, align="right")
