"""How the numbers of a mouth set are measured on its pieces with callipers, to hang beside the mouth chart.

In: a `MeasuringJob`. Out: pages with drawings of where callipers are put, a sentence and a formula for each number,
the usual cautions, and what each piece of the set should measure; in mm if the puppet's mouth at rest is known.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import partial

from lipsync.fit.lip_measures import DRAWN_IN, OFFSET, TONGUE, LipScale
from lipsync.fit.lips import AXES
from lipsync.fit.mouthset import MouthSet, Piece
from lipsync.paper.flow import LINE_MM, TEXT_PT, Flow, Heading, TableColumn, cells, put_text
from lipsync.paper.lettering import check_letters, sized, wrapped
from lipsync.paper.marks import Box, Document, Mark, Text
from lipsync.paper.measuring_figures import FIGURE, open_figure, rest_figure, side_figure
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.piece_pictures import Art, mark_in_row
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import row_rule


@dataclass(frozen=True, slots=True)
class MeasuringMeasures:
    """The measures of the page, chosen."""

    label_mm: float = 20.0
    how_lines: int = 8
    gap_mm: float = 3.0
    row_mm: float = 8.4
    rule_up_mm: float = 0.2
    base_mm: float = 5.6
    picture_mm: float = 11.0
    title_pt: float = 11.0
    title_mm: float = 7.0
    title_base_mm: float = 5.2
    pad_mm: float = 3.0
    caution_top_mm: float = 10.0
    caution_end_mm: float = 1.0
    caution_line_mm: float = 0.4
    number_pt: float = 9.5
    code_pt: float = 11.0


MEASURING = MeasuringMeasures()

_FIGURES = 3

# A length in the list: the word that names it, and its column.
_LENGTHS = ("gap", "across", "out", "teeth", "tongue")
# The left edge of the code, and right edges of the ten numbers, in parts of the page.
_CODE_AT, _FIRST_AT, _STEP, _BETWEEN = 0.08, 0.28, 0.075, 0.045


@dataclass(frozen=True, slots=True)
class MeasuringJob:
    """A mouth set to measure, and how it is printed; `mouth_mm` is the width of the mouth at rest, if known."""

    production: str
    character: str
    mouth_set: MouthSet
    mouth_mm: float | None = None
    page: str = "A4"
    art: Mapping[str, Art] = field(default_factory=dict)
    dated: datetime.date | None = None
    words: Words = field(default_factory=Words)

    @property
    def scale(self) -> LipScale:
        """The lengths on pieces of this set that stand for the number 1."""
        return LipScale(self.mouth_set.sizes[self.mouth_set.rest][0].lips)


def measuring_pages(job: MeasuringJob) -> Document:
    """Return the pages.

    Raises:
        InputError: if a text has letters that no font here has.
    """
    words, mouth_set = job.words, job.mouth_set
    texts = [
        ("the film's title", job.production),
        ("the name", job.character),
        ("the mouth set's name", mouth_set.name),
    ]
    check_letters(f"measuring {job.character}", texts, words)
    about = "  ·  ".join((job.production, job.character, mouth_set.name))
    flow = Flow(Heading(words.measuring, about, job.dated, words, job.page))
    flow.put(FIGURE.height_mm, partial(_figures, job, flow.heading.inner_mm))
    for label, text in _how(job):
        _put_how(flow, label, text)
    flow.space(MEASURING.gap_mm)
    put_text(flow, words.measure_all)
    _put_cautions(flow, words)
    flow.turn()
    _put_title(flow, words.measure_list)
    known = job.mouth_mm is not None
    put_text(flow, words.measure_in_mm.format(mm=f"{job.mouth_mm:g}") if known else words.measure_in_rests)
    columns = _columns(words)
    rows = [partial(_piece_row, job, columns, flow.heading, piece) for piece in mouth_set.piece]
    flow.put_table(columns, MEASURING.row_mm, rows)
    return Document(f"{job.character}: {words.measuring}", flow.pages())


def _figures(job: MeasuringJob, inner_mm: float, y_mm: float) -> Iterator[Mark]:
    step_mm = inner_mm / _FIGURES
    aside_mm = (step_mm - FIGURE.unit_mm) / 2
    places = [MARGIN_X_MM + aside_mm + at * step_mm for at in range(_FIGURES)]
    yield from rest_figure(job.mouth_set.sizes[job.mouth_set.rest][0].lips, places[0], y_mm, job.words)
    yield from open_figure(places[1], y_mm, job.words)
    yield from side_figure(places[2], y_mm, job.words)


def _how(job: MeasuringJob) -> Iterator[tuple[str, str]]:
    words, scale = job.words, job.scale
    yield words.measure_rest, words.measure_rest_how
    yield words.measure_gap, words.measure_gap_how.format(one=f"{scale.gap:.2g}")
    yield words.measure_out, words.measure_out_how.format(one=f"{scale.out:.2g}")
    across = words.measure_across_how.format(
        slope=f"{scale.slope:.3g}", drawn_in=f"{DRAWN_IN:g}", offset=f"{OFFSET:g}"
    )
    yield words.measure_across, across
    yield words.measure_teeth, words.measure_teeth_how.format(one=f"{scale.teeth:.2g}")
    yield words.measure_tongue, words.measure_tongue_how.format(one=f"{TONGUE:g}")


def _put_how(flow: Flow, label: str, text: str) -> None:
    lines = wrapped(text, flow.heading.inner_mm - MEASURING.label_mm, TEXT_PT, MEASURING.how_lines)

    def block(y_mm: float) -> Iterator[Mark]:
        base_mm = y_mm + LINE_MM
        shown, size_pt = sized(label, MEASURING.label_mm - MEASURING.gap_mm / 2, TEXT_PT, True)
        yield Text(MARGIN_X_MM, base_mm, shown, size_pt, bold=True)
        for place, line in enumerate(lines):
            yield Text(MARGIN_X_MM + MEASURING.label_mm, base_mm + place * LINE_MM, line, TEXT_PT)

    flow.put((len(lines) + 0.5) * LINE_MM, block)


def _put_cautions(flow: Flow, words: Words) -> None:
    inner_mm = flow.heading.inner_mm - 2 * MEASURING.pad_mm
    texts = (words.caution_measure, words.caution_sheets, words.caution_air, words.caution_dust, words.caution_blades)
    lines = [line for text in texts for line in wrapped(text, inner_mm, TEXT_PT, MEASURING.how_lines)]
    height_mm = MEASURING.caution_top_mm + len(lines) * LINE_MM

    def block(y_mm: float) -> Iterator[Mark]:
        high_mm = height_mm - MEASURING.caution_end_mm
        yield Box(MARGIN_X_MM, y_mm, flow.heading.inner_mm, high_mm, stroke=0.0, line_mm=MEASURING.caution_line_mm)
        title, size_pt = sized(words.cautions, inner_mm, MEASURING.title_pt, True)
        left_mm = MARGIN_X_MM + MEASURING.pad_mm
        yield Text(left_mm, y_mm + MEASURING.title_base_mm, title, size_pt, bold=True)
        for place, line in enumerate(lines):
            yield Text(left_mm, y_mm + MEASURING.caution_top_mm + place * LINE_MM, line, TEXT_PT)

    flow.space(MEASURING.gap_mm)
    flow.put(height_mm, block)


def _put_title(flow: Flow, title: str) -> None:
    shown, size_pt = sized(title, flow.heading.inner_mm, MEASURING.title_pt, True)
    flow.put(
        MEASURING.title_mm,
        lambda y_mm: (Text(MARGIN_X_MM, y_mm + MEASURING.title_base_mm, shown, size_pt, bold=True),),
    )


def _columns(words: Words) -> tuple[TableColumn, ...]:
    labels = (
        *(words.opening, words.width, words.rounding, words.measure_teeth, words.measure_tongue),
        *(getattr(words, f"measure_{length}") for length in _LENGTHS),
    )
    numbers = (
        TableColumn(
            label,
            at=_FIRST_AT + place * _STEP + (_BETWEEN if place >= len(AXES) else 0.0),
            width=_STEP - _BETWEEN / 8,
            size_pt=MEASURING.number_pt,
            bold=place >= len(AXES),
        )
        for place, label in enumerate(labels)
    )
    code = TableColumn(
        words.code,
        at=_CODE_AT,
        width=_FIRST_AT - _STEP - _CODE_AT,
        number=False,
        size_pt=MEASURING.code_pt,
        bold=True,
    )
    return (code, *numbers)


def _piece_row(
    job: MeasuringJob, columns: tuple[TableColumn, ...], heading: Heading, piece: Piece, y_mm: float
) -> Iterator[Mark]:
    lengths, scale = job.scale.lengths_of(piece.lips), job.mouth_mm or 1.0
    digits = 2 if job.mouth_mm is None else 1
    texts = [f"{getattr(piece.lips, axis):.2f}" for axis in AXES]
    texts += [f"{getattr(lengths, length) * scale:.{digits}f}" for length in _LENGTHS]
    yield mark_in_row(piece, job.art, (MARGIN_X_MM, y_mm, MEASURING.picture_mm, MEASURING.row_mm))
    yield from cells(columns, (piece.code, *texts), heading, y_mm + MEASURING.base_mm)
    yield row_rule(heading.width_mm - MARGIN_X_MM, y_mm + MEASURING.row_mm - MEASURING.rule_up_mm)
