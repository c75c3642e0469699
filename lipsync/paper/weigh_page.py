"""Fittings against visual cost as a page: the curve, the present setting on it, and the table below.

In: a `WeighJob`. Out: a `Document`. The numbers are those of workshop/trade_off.py.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import partial

from lipsync.fit.fit_settings import Work
from lipsync.paper.flow import Flow, Heading, TableColumn, cells, put_text
from lipsync.paper.lettering import check_letters
from lipsync.paper.marks import Document, Mark, Text
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.plot import Axis, Named, Plot, names
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import row_rule
from lipsync.workshop.trade_off import TradeOff


@dataclass(frozen=True, slots=True)
class WeighMeasures:
    """The measures of the page that sets fittings against visual cost; chosen."""

    plot_mm: float = 118.0
    plot_left_mm: float = 14.0
    plot_down_mm: float = 14.0
    beside_plot_mm: float = 20.0
    around_plot_mm: float = 30.0
    present_dot_mm: float = 1.8
    present_pt: float = 10.0
    row_mm: float = 5.6
    row_base_mm: float = 4.0
    space_mm: float = 2.0


WEIGH = WeighMeasures()


@dataclass(frozen=True, slots=True)
class WeighJob:
    """A scene's curve, and how it is printed.

    Attributes:
        production: its title.
        scene: its title.
        points: the curve.
        frames: of the scene.
        rate: frames a second.
        seconds_a_day: of film, at the present setting.
        work: what a fitting takes.
        dated: the date of the state that is shown.
        page: the size of paper.
        words: as printed.
    """

    production: str
    scene: str
    points: tuple[TradeOff, ...]
    frames: int
    rate: Fraction
    seconds_a_day: float
    work: Work
    dated: datetime.date | None = None
    page: str = "A4"
    words: Words = field(default_factory=Words)
    alerts: tuple[str, ...] = ()

    @property
    def seconds(self) -> float:
        """How long the scene is."""
        return float(self.frames / self.rate)

    @property
    def present(self) -> TradeOff:
        """The point of the present setting."""
        return next(point for point in self.points if point.present)


def weigh_page(job: WeighJob) -> Document:
    """Return the curve and its table as pages; the plot is on the first.

    Raises:
        InputError: if a text has letters that no font here has.
    """
    words = job.words
    texts = [("the film's title", job.production), ("the scene's title", job.scene)]
    check_letters(words.weigh, [*texts, *(("what must be known,", text) for text in job.alerts)], words)
    lasts = words.scene_lasts.format(frames=job.frames, seconds=f"{job.seconds:.1f}")
    about = f"{job.production}  ·  {job.scene}  ·  {lasts}"
    heading = Heading(words.weigh, about, job.dated, words, job.page, job.alerts)
    flow = Flow(heading)
    days_how = words.days_how.format(
        seconds=f"{job.seconds_a_day:g}",
        minutes=f"{job.work.minutes_a_fitting:g}",
        hours=f"{job.work.hours_a_day:g}",
    )
    put_text(flow, words.weigh_how)
    if len({(point.fittings, point.visual) for point in job.points}) == 1:
        put_text(flow, words.no_choice)
    flow.put(WEIGH.plot_mm, partial(_plot, job, heading))
    columns = (
        TableColumn(words.price, at=0.16, width=0.15, number=True, size_pt=10),
        TableColumn(words.fittings, at=0.30, width=0.12, number=True, size_pt=10),
        TableColumn(words.fittings_a_second, at=0.46, width=0.15, number=True, size_pt=10),
        TableColumn(words.visual, at=0.60, width=0.13, number=True, size_pt=10),
        TableColumn(words.other_cost, at=0.73, width=0.12, number=True, size_pt=10),
        TableColumn(words.days, at=0.90, width=0.16, number=True, size_pt=10),
    )
    flow.put_table(columns, WEIGH.row_mm, [partial(_row, job, heading, columns, point) for point in job.points])
    flow.space(WEIGH.space_mm)
    put_text(flow, words.visual_unit)
    put_text(flow, words.own_measure)
    put_text(flow, days_how)
    return Document(f"{job.scene}: {words.weigh}", flow.pages())


def _plot(job: WeighJob, heading: Heading, y_mm: float) -> Iterator[Mark]:
    words, present = job.words, job.present
    fittings, visual = [one.fittings for one in job.points], [one.visual for one in job.points]
    across = Axis.of([float(n) for n in fittings], from_zero=False, whole=True)
    up = Axis.of(visual, from_zero=False)
    left_mm, top_mm = MARGIN_X_MM + WEIGH.plot_left_mm, y_mm + WEIGH.plot_down_mm
    wide_mm, high_mm = heading.inner_mm - WEIGH.beside_plot_mm, WEIGH.plot_mm - WEIGH.around_plot_mm
    plot = Plot(left_mm, top_mm, wide_mm, high_mm, across, up)
    yield from plot.axes(words.fittings, words.visual)
    a_fitting = job.work.days_a_fitting
    if a_fitting > 0:
        yield from plot.above(list(_days(plot, present, a_fitting)), words.days)
    yield from plot.line(list(zip(fittings, visual, strict=True)))
    distinct = list(dict.fromkeys((one.fittings, one.visual) for one in job.points))
    for x, y in distinct:
        if (x, y) != (present.fittings, present.visual):
            yield plot.dot(x, y)
    yield plot.dot(present.fittings, present.visual, WEIGH.present_dot_mm, 0.0)
    wanted = [Named(present.fittings, present.visual, words.present, WEIGH.present_pt, True)]
    wanted += [Named(one.fittings, one.visual, f"{one.price:g}") for one in job.points if not one.present]
    yield from names(plot, _each_once(wanted), distinct)


def _each_once(wanted: Sequence[Named]) -> list[Named]:
    """Return the names, only the first of those at one point."""
    return list({(one.x, one.y): one for one in reversed(wanted)}.values())[::-1]


def _days(plot: Plot, present: TradeOff, a_fitting: float) -> Iterator[tuple[float, str]]:
    """Return where whole steps of days lie on the scale of fittings."""
    ends = [present.days + a_fitting * (end - present.fittings) for end in (plot.across.low, plot.across.high)]
    axis = Axis.of(ends, from_zero=False)
    for days in axis.ticks:
        if max(0.0, ends[0]) <= days <= ends[1]:
            yield present.fittings + (days - present.days) / a_fitting, axis.text(days)


def _row(
    job: WeighJob, heading: Heading, columns: Sequence[TableColumn], point: TradeOff, y_mm: float
) -> Iterator[Mark]:
    base_mm, right_mm = y_mm + WEIGH.row_base_mm, heading.width_mm - MARGIN_X_MM
    yield row_rule(right_mm, y_mm + WEIGH.row_mm)
    texts = (
        f"{point.price:.2f}",
        str(point.fittings),
        f"{point.fittings / job.seconds:.2f}",
        f"{point.visual:.1f}",
        f"{point.other:.1f}",
        f"{point.days:.2f}",
    )
    if not point.present:
        yield from cells(columns, texts, heading, base_mm)
        return
    for column, text in zip(columns, texts, strict=True):
        yield column.mark(text, heading.inner_mm, base_mm, (WEIGH.present_pt, True))
    yield Text(MARGIN_X_MM, base_mm, "●", WEIGH.present_pt)
