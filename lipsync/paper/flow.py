"""Pages of a report: blocks set one below the other, on as many pages as needed, each page under the same heading.

In: blocks, each with its height and its marks. Out: pages. A block is never cut in two. A table is a list of columns
(`TableColumn`); its heads and its rows are blocks, and its heads are repeated after a page break.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from lipsync.paper.alerts import all_lines, band, band_height_mm, fitted
from lipsync.paper.lettering import composed, shortened, size_that_fits, sized, wrapped
from lipsync.paper.marks import Mark, Page, Rule, Text
from lipsync.paper.page_forms import MARGIN_X_MM, MARGIN_Y_MM, PAPER
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.sheet_words import Words

TOP_MM, HEADS_MM, LINE_MM = 20.0, 7.0, 4.6
TEXT_PT = 9.0

# The most lines of a text (chosen: 200 codes of six letters take 20).
_MOST_LINES = 30


@dataclass(frozen=True, slots=True)
class ReportMeasures:
    """The measures of every page of a report: its heading, heads of tables, lines of text; all chosen."""

    title_pt: float = 20.0
    page_pt: float = 13.0
    about_pt: float = 10.5
    dated_pt: float = 9.0
    heads_pt: float = 8.0
    title_base_mm: float = 6.6
    page_base_mm: float = 6.2
    about_base_mm: float = 12.2
    band_top_mm: float = 15.0
    title_gap_mm: float = 6.0
    about_gap_mm: float = 5.0
    heads_base_mm: float = 4.8
    heads_rule_mm: float = 0.6
    heads_two_pt: float = 7.0
    section_pt: float = 14.0
    section_base_mm: float = 5.0
    list_pt: float = 10.0
    list_title_base_mm: float = 4.6
    list_base_mm: float = 9.6
    list_besides_mm: float = 7.0
    alerts_above_mm: float = 3.0
    heads_line_mm: float = 2.9
    heads_gap_mm: float = 1.6
    heads_down_mm: float = 1.0
    text_base_mm: float = 3.4
    foot_gap_mm: float = 2.5
    foot_up_mm: float = 0.8


REPORT = ReportMeasures()

# Draws a block, given the height on the page at which it begins.
Block = Callable[[float], Iterable[Mark]]


@dataclass(frozen=True, slots=True)
class Heading:
    """What is printed at the top of every page (title, subject, date, alerts), and at its foot."""

    title: str
    about: str
    dated: datetime.date | None
    words: Words
    page: str = "A4"
    alerts: tuple[str, ...] = ()
    most_alerts: int = 4  # lines of the band above a page (chosen)
    foot: str = ""  # what is printed at the foot of every page

    @property
    def width_mm(self) -> float:
        """Width of the paper."""
        return PAPER[self.page][0]

    @property
    def inner_mm(self) -> float:
        """Width between the margins."""
        return self.width_mm - 2 * MARGIN_X_MM

    @property
    def _band(self) -> tuple[str, ...]:
        return fitted(self.alerts, self.inner_mm, self.most_alerts, self.words.more_told)

    @property
    def has_more(self) -> bool:
        """Whether alerts have no room above a page, and so stand in full on the last one."""
        return self._band != all_lines(self.alerts, self.inner_mm)

    @property
    def bottom_mm(self) -> float:
        """Where the blocks below the heading begin."""
        return MARGIN_Y_MM + TOP_MM + band_height_mm(len(self._band))

    @property
    def _foot(self) -> tuple[str, ...]:
        return wrapped(self.foot, self.inner_mm, TEXT_PT, _MOST_LINES, bold=True) if self.foot else ()

    @property
    def foot_mm(self) -> float:
        """Height of the foot."""
        return len(self._foot) * LINE_MM + REPORT.foot_gap_mm if self.foot else 0.0

    def marks(self, page: int, pages: int) -> Iterator[Mark]:
        """Return the marks of a page's heading and foot; `page` counts from 0."""
        for place, line in enumerate(reversed(self._foot)):
            base_mm = PAPER[self.page][1] - MARGIN_Y_MM - place * LINE_MM - REPORT.foot_up_mm
            yield Text(MARGIN_X_MM, base_mm, line, TEXT_PT, bold=True)
        yield from band(self._band, self.inner_mm, MARGIN_X_MM, MARGIN_Y_MM + REPORT.band_top_mm)
        right_mm = self.width_mm - MARGIN_X_MM
        counted = self.words.page.format(page=page, pages=pages)
        room_mm = self.inner_mm - string_width_mm(counted, REPORT.page_pt, True) - REPORT.title_gap_mm
        title, size_pt = sized(self.title, room_mm, REPORT.title_pt, True)
        yield Text(MARGIN_X_MM, MARGIN_Y_MM + REPORT.title_base_mm, title, size_pt, bold=True)
        base_mm = MARGIN_Y_MM + REPORT.page_base_mm
        yield Text(right_mm, base_mm, counted, REPORT.page_pt, bold=True, align="right")
        dated = "" if self.dated is None else self.words.dated.format(date=self.dated.isoformat())
        room_mm = self.inner_mm - string_width_mm(dated, REPORT.dated_pt) - REPORT.about_gap_mm
        about, size_pt = sized(self.about, room_mm, REPORT.about_pt)
        yield Text(MARGIN_X_MM, MARGIN_Y_MM + REPORT.about_base_mm, about, size_pt)
        if dated:
            base_mm = MARGIN_Y_MM + REPORT.about_base_mm
            yield Text(right_mm, base_mm, dated, REPORT.dated_pt, align="right")


class Flow:
    """Puts blocks on pages, from the top down."""

    def __init__(self, heading: Heading) -> None:
        self.heading = heading
        self._bodies: list[list[Mark]] = [[]]
        self._y_mm = heading.bottom_mm
        self._bottom_mm = PAPER[heading.page][1] - MARGIN_Y_MM - heading.foot_mm

    @property
    def page(self) -> int:
        """The page that is being filled, from 0."""
        return len(self._bodies) - 1

    def has_room(self, height_mm: float) -> bool:
        """Return whether a block of this height still fits on the page."""
        return self._y_mm + height_mm <= self._bottom_mm

    def turn(self) -> None:
        """Begin a new page, if there is anything on this one."""
        if self._bodies[-1]:
            self._bodies.append([])
            self._y_mm = self.heading.bottom_mm

    def put(self, height_mm: float, block: Block) -> None:
        """Put a block below the last one, on a new page where it does not fit."""
        if not self.has_room(height_mm):
            self.turn()
        self._bodies[-1] += block(self._y_mm)
        self._y_mm += height_mm

    def space(self, height_mm: float) -> None:
        """Leave some white below the last block."""
        self._y_mm += height_mm

    def put_table(self, columns: Sequence[TableColumn], row_mm: float, rows: Sequence[Block]) -> None:
        """Put a table, with no page break after its heads."""
        for place, row in enumerate(rows):
            self._put_row(columns, place == 0, row_mm, row_mm, row)

    def put_rows(self, columns: Sequence[TableColumn], rows: Sequence[tuple[float, Block]]) -> None:
        """Put a table whose rows have different heights; no page breaks before the last row, which is its total."""
        for place, (row_mm, row) in enumerate(rows):
            below_mm = rows[-1][0] if place == len(rows) - 2 else 0.0
            self._put_row(columns, place == 0, row_mm + below_mm, row_mm, row)

    def _put_row(
        self, columns: Sequence[TableColumn], is_first: bool, needed_mm: float, row_mm: float, row: Block
    ) -> None:
        if is_first or not self.has_room(needed_mm):
            if not self.has_room(HEADS_MM + needed_mm):
                self.turn()
            self.put(HEADS_MM, lambda y_mm: heads(columns, self.heading, y_mm))
        self.put(row_mm, row)

    def _put_alerts(self) -> None:
        heading = self.heading
        title = shortened(heading.words.before_use, heading.inner_mm, REPORT.list_pt, True)
        self.space(REPORT.alerts_above_mm)
        # They stand on one page, the last one, if they fit on a page at all.
        lines = sum(len(wrapped(alert, heading.inner_mm, TEXT_PT, _MOST_LINES)) for alert in heading.alerts)
        if not self.has_room(REPORT.list_besides_mm + lines * LINE_MM):
            self.turn()
        self.put(
            REPORT.list_besides_mm,
            lambda y_mm: [Text(MARGIN_X_MM, y_mm + REPORT.list_title_base_mm, title, REPORT.list_pt, bold=True)],
        )
        for alert in heading.alerts:
            put_text(self, alert)

    def pages(self) -> tuple[Page, ...]:
        """Return all pages; alerts that have no room above them are put in full below the last block."""
        if self.heading.has_more:
            self._put_alerts()
        width_mm, height_mm = PAPER[self.heading.page]
        return tuple(
            Page(width_mm, height_mm, (*self.heading.marks(number, len(self._bodies)), *body))
            for number, body in enumerate(self._bodies, start=1)
        )


@dataclass(frozen=True, slots=True)
class TableColumn:
    """A column: its head, its place and its width as parts of the page's inner width.

    Attributes:
        label: its head.
        at: its left edge, or its right edge for numbers.
        width: its width.
        number: whether its texts are set against its right edge.
        size_pt: size of its letters.
        bold: whether its letters are bold.
        whole: whether a text that is too long gets smaller letters, as codes do; else it is cut.
    """

    label: str
    at: float
    width: float
    number: bool = True
    size_pt: float = 11.0
    bold: bool = False
    whole: bool = False

    def mark(self, text: str, inner_mm: float, base_mm: float, letters: tuple[float, bool] | None = None) -> Text:
        """Return a text in this column; `letters` (size, bold) replaces the column's own letters."""
        size, weight = letters or (self.size_pt, self.bold)
        if self.whole:
            size = size_that_fits(text, inner_mm * self.width, size, weight)
        shown = shortened(text, inner_mm * self.width, size, weight)
        x_mm = MARGIN_X_MM + inner_mm * self.at
        return Text(x_mm, base_mm, shown, size, bold=weight, align="right" if self.number else "left")


def heads(columns: Sequence[TableColumn], heading: Heading, y_mm: float) -> Iterator[Mark]:
    """Return the heads of a table and the rule below them."""
    two = any(_in_two(column, heading.inner_mm) for column in columns)
    for column in columns:
        if column.label:
            yield from _head(column, heading.inner_mm, y_mm, with_two=two)
    yield Rule(MARGIN_X_MM, y_mm + HEADS_MM, heading.width_mm - MARGIN_X_MM, y_mm + HEADS_MM, REPORT.heads_rule_mm)


def _in_two(column: TableColumn, inner_mm: float) -> bool:
    """Return whether the head of a column takes two lines."""
    fits = string_width_mm(composed(column.label), REPORT.heads_pt) <= inner_mm * column.width
    return not fits and " " in column.label.strip()


def _head(column: TableColumn, inner_mm: float, y_mm: float, *, with_two: bool) -> Iterator[Text]:
    """Return the head of a column, on two lines if one has no room; the last lines of all heads have one height."""
    width_mm = inner_mm * column.width
    if not _in_two(column, inner_mm):
        base_mm = y_mm + REPORT.heads_base_mm + (REPORT.heads_down_mm if with_two else 0.0)
        size_pt = REPORT.heads_two_pt if with_two else REPORT.heads_pt
        yield column.mark(column.label, inner_mm, base_mm, (size_pt, False))
        return
    # There is a gap between heads, unless a word would have to be cut for it.
    widest_mm = max(string_width_mm(composed(word), REPORT.heads_two_pt) for word in column.label.split())
    room_mm = min(width_mm, max(width_mm - REPORT.heads_gap_mm, widest_mm))
    for above, text in enumerate(reversed(wrapped(column.label, room_mm, REPORT.heads_two_pt, 2))):
        base_mm = y_mm + REPORT.heads_base_mm + REPORT.heads_down_mm - above * REPORT.heads_line_mm
        yield column.mark(text, inner_mm, base_mm, (REPORT.heads_two_pt, False))


def cells(columns: Sequence[TableColumn], texts: Sequence[str], heading: Heading, base_mm: float) -> Iterator[Mark]:
    """Return the texts of a row on a baseline; empty texts are left out."""
    for column, text in zip(columns, texts, strict=True):
        if text:
            yield column.mark(text, heading.inner_mm, base_mm)


def put_text(flow: Flow, text: str) -> None:
    """Put a sentence, in as many lines as it needs."""
    for line in wrapped(text, flow.heading.inner_mm, TEXT_PT, _MOST_LINES):
        flow.put(LINE_MM, partial(_line, line))


def _line(text: str, y_mm: float) -> Iterator[Mark]:
    yield Text(MARGIN_X_MM, y_mm + REPORT.text_base_mm, text, TEXT_PT)


def put_list(flow: Flow, title: str, texts: Sequence[str]) -> None:
    """Put a title in bold letters, and below it short texts in as many lines as they need."""
    lines = wrapped(" · ".join(texts), flow.heading.inner_mm, REPORT.list_pt, _MOST_LINES)

    def block(y_mm: float) -> Iterator[Mark]:
        head = shortened(title, flow.heading.inner_mm, REPORT.list_pt, True)
        yield Text(MARGIN_X_MM, y_mm + REPORT.list_title_base_mm, head, REPORT.list_pt, bold=True)
        for place, line in enumerate(lines):
            yield Text(MARGIN_X_MM, y_mm + REPORT.list_base_mm + place * LINE_MM, line, REPORT.list_pt)

    flow.put(REPORT.list_besides_mm + len(lines) * LINE_MM, block)
