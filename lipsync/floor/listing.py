"""Pages with one line for each thing: what changed, what to ask. They look like the sheet's own pages.

In: a `SheetJob`, its stamp and entries. Out: pages. A text that is too long for a line is wrapped, and none is cut.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from lipsync import timing
from lipsync.paper.alerts import alerted
from lipsync.paper.columns import Layout
from lipsync.paper.foot import foot
from lipsync.paper.heading import heading
from lipsync.paper.lettering import sized, widest_mm, wrapped
from lipsync.paper.marks import Box, Mark, Page, Text
from lipsync.paper.page_forms import MARGIN_X_MM, MARGIN_Y_MM, Form, form_of
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.signs import row_rule


@dataclass(frozen=True, slots=True)
class ListingMeasures:
    """The measures of a page that lists things; all chosen by eye."""

    size_pt: float = 10.0
    line_mm: float = 4.3
    pad_mm: float = 2.2
    rule_up_mm: float = 0.3
    tick_mm: float = 4.2
    tick_up_mm: float = 3.4
    tick_gap_mm: float = 3.0
    tick_line_mm: float = 0.25
    title_pt: float = 12.0
    title_up_mm: float = 3.2
    body_down_mm: float = 11.0
    body_above_foot_mm: float = 1.0
    most_place_mm: float = 45.0
    place_gap_mm: float = 4.0
    most_who_mm: float = 40.0
    who_gap_mm: float = 3.5
    # More lines than any text of a list takes, so that none is cut.
    most_lines: int = 30


LISTING = ListingMeasures()


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the list: its frames, its character, its text, and whether it has a box to tick."""

    place: str
    who: str
    text: str
    tick: bool = False


@dataclass(frozen=True, slots=True)
class _Columns:
    """The left edges of an entry's parts, and the width of its text."""

    tick_mm: float
    place_mm: float
    who_mm: float
    text_mm: float
    width_mm: float

    @property
    def who_width_mm(self) -> float:
        """Width of the column of names."""
        return self.text_mm - self.who_mm - LISTING.who_gap_mm


def listing(
    job: SheetJob, stamp: str, title: str, entries: Sequence[Entry], page_said: Callable[[int, int], str]
) -> tuple[Page, ...]:
    """Return pages that list entries.

    Args:
        job: the sheet of the shot that the entries are about.
        stamp: the stamp of that sheet.
        title: what the pages list.
        entries: the lines, in order.
        page_said: gives the heading's text for a page's number and the count of pages.
    """
    form = form_for(job)
    return with_heading_and_foot(job, stamp, title, list(_bodies(form, _columns(form, entries), entries)), page_said)


def with_heading_and_foot(
    job: SheetJob, stamp: str, title: str, bodies: Sequence[Sequence[Mark]], page_said: Callable[[int, int], str]
) -> tuple[Page, ...]:
    """Return pages of a shot: each body, its marks between `body_top_mm` and `body_end_mm`, with heading and foot."""
    form = form_for(job)
    layout = Layout(form, form.letters, 1, form.inner_mm, ())
    last = timing.number_of(job.frames - 1, job.first_frame)
    frames = job.settings.words.frames.format(first=job.first_frame, last=last)
    shown, size_pt = sized(title, form.inner_mm, LISTING.title_pt, bold=True)
    pages = []
    for number, body in enumerate(bodies, start=1):
        head = heading(job, form, (page_said(number, len(bodies)), f"{number}/{len(bodies)}"), frames)
        name = Text(MARGIN_X_MM, body_top_mm(form) - LISTING.title_up_mm, shown, size_pt, bold=True)
        marks, _ = foot(job, layout, stamp)
        pages.append(Page(form.width_mm, form.height_mm, (*head, name, *body, *marks)))
    return tuple(pages)


def form_for(job: SheetJob) -> Form:
    """Return the form of a page that lists something of a shot."""
    form = form_of(job.settings.page, job.settings.orientation, "standard")
    return alerted(form, job.alerts, job.settings.words)


def body_top_mm(form: Form) -> float:
    """Return where a page's body begins, in mm from its top."""
    return MARGIN_Y_MM + form.heading_mm + form.band_mm + LISTING.body_down_mm


def body_end_mm(form: Form) -> float:
    """Return where a page's body must end, in mm from its top."""
    return form.height_mm - MARGIN_Y_MM - form.foot_mm - LISTING.body_above_foot_mm


def _columns(form: Form, entries: Sequence[Entry]) -> _Columns:
    tick_mm = MARGIN_X_MM
    place_mm = tick_mm + (LISTING.tick_mm + LISTING.tick_gap_mm if any(entry.tick for entry in entries) else 0.0)
    who_mm = place_mm + min(
        LISTING.most_place_mm, widest_mm([entry.place for entry in entries], LISTING.size_pt, bold=True)
    )
    who_mm += LISTING.place_gap_mm
    who_width_mm = min(LISTING.most_who_mm, widest_mm([entry.who for entry in entries], LISTING.size_pt))
    text_mm = who_mm + (who_width_mm + LISTING.who_gap_mm if who_width_mm else 0.0)
    return _Columns(tick_mm, place_mm, who_mm, text_mm, form.width_mm - MARGIN_X_MM - text_mm)


def _bodies(form: Form, columns: _Columns, entries: Sequence[Entry]) -> Iterator[list[Mark]]:
    """Yield the marks of each page."""
    top_mm, bottom_mm = body_top_mm(form), body_end_mm(form)
    marks: list[Mark] = []
    y_mm = top_mm
    for entry in entries:
        lines = wrapped(entry.text, columns.width_mm, LISTING.size_pt, LISTING.most_lines) or ("",)
        height_mm = len(lines) * LISTING.line_mm + LISTING.pad_mm
        if marks and y_mm + height_mm > bottom_mm:
            yield marks
            marks, y_mm = [], top_mm
        marks += _row(form, columns, entry, lines, y_mm)
        y_mm += height_mm
    yield marks


def _row(form: Form, columns: _Columns, entry: Entry, lines: Sequence[str], top_mm: float) -> Iterator[Mark]:
    base_mm = top_mm + LISTING.line_mm
    if entry.tick:
        side_mm = LISTING.tick_mm
        yield Box(
            columns.tick_mm, base_mm - LISTING.tick_up_mm, side_mm, side_mm, stroke=0.0, line_mm=LISTING.tick_line_mm
        )
    place, place_pt = sized(entry.place, LISTING.most_place_mm, LISTING.size_pt, bold=True)
    yield Text(columns.place_mm, base_mm, place, place_pt, bold=True)
    if entry.who:
        who, who_pt = sized(entry.who, columns.who_width_mm, LISTING.size_pt)
        yield Text(columns.who_mm, base_mm, who, who_pt)
    for number, line in enumerate(lines):
        yield Text(columns.text_mm, base_mm + number * LISTING.line_mm, line, LISTING.size_pt)
    below_mm = top_mm + len(lines) * LISTING.line_mm + LISTING.pad_mm - LISTING.rule_up_mm
    yield row_rule(form.width_mm - MARGIN_X_MM, below_mm)
