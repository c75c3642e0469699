"""Making against looks: what each set of pieces takes to make, and the visual cost of its tracks, as curve and table.

In: sets with what each takes to make, by the studio's own figures. Out: blocks on a `Flow`, on a page of their own.
The horizontal axis is the price if there is one, else the hours, else the pressings.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from lipsync.paper.flow import REPORT, Flow, Heading, TableColumn, cells, put_text
from lipsync.paper.making_page import numbers_of_cost
from lipsync.paper.marks import Mark, Text
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.plot import Axis, Named, Plot, names
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import row_rule
from lipsync.workshop.making_cost import Cost
from lipsync.workshop.piece_selection import ReducedSet

_TITLE_MM, _PLOT_MM, _PLOT_DOWN_MM, _LEFT_MM, _BESIDE_MM, _AROUND_MM = 8.0, 92.0, 12.0, 14.0, 20.0, 30.0
_ROW_MM, _BASE_MM, _DOT_MM, _LINE_MM, _STEP = 5.2, 3.8, 1.0, 0.5, 0.125

SetMade = tuple[ReducedSet, Cost]


def put_making_looks(flow: Flow, words: Words, sets: Sequence[SetMade], currency: str) -> None:
    """Put the curve of making against looks, and its table."""
    flow.turn()
    flow.put(_TITLE_MM, partial(_titled, words.making_looks))
    put_text(flow, words.making_looks_how)
    label, amount = _across(words, sets, currency)
    places = [(amount(cost), one.visual) for one, cost in sets]
    flow.put(_PLOT_MM, partial(_plot, flow.heading, words, (label, places), [str(one.pieces) for one, _ in sets]))
    costs = [cost for _, cost in sets]
    numbers = numbers_of_cost(costs, words, currency)
    heads = [words.pieces, words.visual, words.fittings, *(name for name, _ in numbers)]
    columns = [TableColumn(name, at=0.1 + _STEP * at, width=0.11, size_pt=10) for at, name in enumerate(heads)]
    rows: list[tuple[float, Callable[[float], Iterator[Mark]]]] = []
    for one, cost in sets:
        texts = [str(one.pieces), f"{one.visual:.1f}", str(one.fittings), *(written(cost) for _, written in numbers)]
        rows.append((_ROW_MM, partial(_row, flow.heading, columns, texts)))
    flow.put_rows(columns, rows)


def _across(words: Words, sets: Sequence[SetMade], currency: str) -> tuple[str, Callable[[Cost], float]]:
    """Return the label of the horizontal axis, and the function that gives a set's value on it."""
    if any(cost.price for _, cost in sets):
        return words.price_in.format(currency=currency), lambda cost: float(cost.price or 0)
    if any(cost.hours for _, cost in sets):
        return words.hours, lambda cost: cost.hours or 0.0
    return words.to_make, lambda cost: float(cost.pressings)


def _plot(
    heading: Heading,
    words: Words,
    drawn: tuple[str, Sequence[tuple[float, float]]],
    called: Sequence[str],
    y_mm: float,
) -> Iterator[Mark]:
    label, places = drawn
    across = Axis.of([x for x, _ in places], from_zero=False)
    up = Axis.of([y for _, y in places])
    left_mm, top_mm = MARGIN_X_MM + _LEFT_MM, y_mm + _PLOT_DOWN_MM
    plot = Plot(left_mm, top_mm, heading.inner_mm - _BESIDE_MM, _PLOT_MM - _AROUND_MM, across, up)
    yield from plot.axes(label, words.visual)
    line = sorted(places)
    yield from plot.line(line, _LINE_MM)
    for place in places:
        yield plot.dot(*place, _DOT_MM, 0.0)
    yield from names(plot, [Named(x, y, text) for (x, y), text in zip(places, called, strict=True)], line)


def _row(heading: Heading, columns: Sequence[TableColumn], texts: Sequence[str], y_mm: float) -> Iterator[Mark]:
    yield row_rule(heading.width_mm - MARGIN_X_MM, y_mm + _ROW_MM)
    yield from cells(columns, texts, heading, y_mm + _BASE_MM)


def _titled(title: str, y_mm: float) -> Iterator[Mark]:
    yield Text(MARGIN_X_MM, y_mm + REPORT.section_base_mm, title, REPORT.section_pt, bold=True)
