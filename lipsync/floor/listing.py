"""Pages that list things a line each: what changed, what to ask. They look like the sheet's own pages.

In come a `SheetJob`, its stamp and entries, out pages. A text that is too long for a line goes on below, in at most
three lines; the rest of it is marked as left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from lipsync import timing
from lipsync.paper.alerts import alerted
from lipsync.paper.columns import Layout
from lipsync.paper.foot import foot
from lipsync.paper.heading import heading
from lipsync.paper.lettering import shortened, widest_mm, wrapped
from lipsync.paper.marks import Box, Mark, Page, Text
from lipsync.paper.page_forms import MARGIN_X_MM, MARGIN_Y_MM, Form, form_of
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.signs import row_rule

_PT = 10.0
_LINE_MM, _PAD_MM, _TICK_MM = 4.3, 2.2, 4.2
_MOST_LINES = 3


@dataclass(frozen=True, slots=True)
class Entry:
    """A line: where, who, what; and whether there is a box to tick."""

    place: str
    who: str
    text: str
    tick: bool = False


@dataclass(frozen=True, slots=True)
class _Columns:
    """Where an entry's parts lie, and how wide they are."""

    tick_mm: float
    place_mm: float
    who_mm: float
    text_mm: float
    width_mm: float

    @property
    def who_wide_mm(self) -> float:
        """Width of the column of names."""
        return self.text_mm - self.who_mm - 3.0


def listing(
    job: SheetJob, stamp: str, title: str, entries: Sequence[Entry], page_said: Callable[[int, int], str]
) -> tuple[Page, ...]:
    """Return pages that list entries.

    Args:
        job: the shot that they are about.
        stamp: the state that they are about.
        title: what they are.
        entries: in order.
        page_said: which page of how many, as the heading says it.
    """
    form = form_for(job)
    return dressed(job, stamp, title, list(_bodies(form, _columns(form, entries), entries)), page_said)


def dressed(
    job: SheetJob, stamp: str, title: str, bodies: Sequence[Sequence[Mark]], page_said: Callable[[int, int], str]
) -> tuple[Page, ...]:
    """Return pages with a shot's heading and foot about bodies, which lie between `body_top_mm` and `body_end_mm`."""
    form = form_for(job)
    layout = Layout(form, form.letters, 1, form.inner_mm, ())
    last = timing.number_of(job.frames - 1, job.first_frame)
    frames = job.settings.words.frames.format(first=job.first_frame, last=last)
    pages = []
    for number, body in enumerate(bodies, start=1):
        head = heading(job, form, page_said(number, len(bodies)), frames)
        name = Text(
            MARGIN_X_MM, body_top_mm(form) - 3.2, shortened(title, form.inner_mm, 12, bold=True), 12, bold=True
        )
        marks, _ = foot(job, layout, stamp)
        pages.append(Page(form.width_mm, form.height_mm, (*head, name, *body, *marks)))
    return tuple(pages)


def form_for(job: SheetJob) -> Form:
    """Return the form of a page that lists something of a shot."""
    form = form_of(job.settings.page, job.settings.orientation, "standard")
    return alerted(form, job.alerts, job.settings.words)


def body_top_mm(form: Form) -> float:
    """Return where a page's own lines begin."""
    return MARGIN_Y_MM + form.heading_mm + form.band_mm + 11.0


def body_end_mm(form: Form) -> float:
    """Return where a page's own lines must end."""
    return form.height_mm - MARGIN_Y_MM - form.foot_mm - 1.0


def _columns(form: Form, entries: Sequence[Entry]) -> _Columns:
    tick_mm = MARGIN_X_MM
    place_mm = tick_mm + (_TICK_MM + 3.0 if any(entry.tick for entry in entries) else 0.0)
    who_mm = place_mm + min(45.0, widest_mm([entry.place for entry in entries], _PT, bold=True)) + 4.0
    wide_mm = min(40.0, widest_mm([entry.who for entry in entries], _PT))
    text_mm = who_mm + (wide_mm + 3.5 if wide_mm else 0.0)
    return _Columns(tick_mm, place_mm, who_mm, text_mm, form.width_mm - MARGIN_X_MM - text_mm)


def _bodies(form: Form, columns: _Columns, entries: Sequence[Entry]) -> Iterator[list[Mark]]:
    """Yield the marks of each page."""
    top_mm, bottom_mm = body_top_mm(form), body_end_mm(form)
    marks: list[Mark] = []
    y_mm = top_mm
    for entry in entries:
        lines = wrapped(entry.text, columns.width_mm, _PT, _MOST_LINES) or ("",)
        high_mm = len(lines) * _LINE_MM + _PAD_MM
        if marks and y_mm + high_mm > bottom_mm:
            yield marks
            marks, y_mm = [], top_mm
        marks += _row(form, columns, entry, lines, y_mm)
        y_mm += high_mm
    yield marks


def _row(form: Form, columns: _Columns, entry: Entry, lines: Sequence[str], top_mm: float) -> Iterator[Mark]:
    base_mm = top_mm + _LINE_MM
    if entry.tick:
        yield Box(columns.tick_mm, base_mm - 3.4, _TICK_MM, _TICK_MM, stroke=0.0, line_mm=0.25)
    yield Text(columns.place_mm, base_mm, shortened(entry.place, 45.0, _PT, bold=True), _PT, bold=True)
    if entry.who:
        yield Text(columns.who_mm, base_mm, shortened(entry.who, columns.who_wide_mm, _PT), _PT)
    for number, line in enumerate(lines):
        yield Text(columns.text_mm, base_mm + number * _LINE_MM, line, _PT)
    below_mm = top_mm + len(lines) * _LINE_MM + _PAD_MM - 0.3
    yield row_rule(form.width_mm - MARGIN_X_MM, below_mm)
