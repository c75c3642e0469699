"""Plots: curves and points over two axes, as marks.

In: values in their own units. Out: marks. There are only greys; an important point differs by its size and fill, not
by a colour. Ticks are at whole multiples of 1, 2 or 5 times a power of ten.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil, dist, floor, log10

from lipsync.paper.lettering import shortened
from lipsync.paper.marks import MM_PER_POINT, Mark, Path, PathStep, Rule, Text
from lipsync.paper.pdf import string_width_mm


@dataclass(frozen=True, slots=True)
class PlotMeasures:
    """The measures of a plot; chosen."""

    tick_pt: float = 8.5
    label_pt: float = 9.5
    # Distance of the labels above the field: a second scale has room between.
    above_mm: float = 7.0
    rule_mm: float = 0.1
    rule_grey: float = 0.75
    axis_mm: float = 0.35
    up_tick_left_mm: float = 2.0
    up_tick_down_mm: float = 1.1
    across_tick_mm: float = 4.6
    across_label_mm: float = 10.0
    up_label_left_mm: float = 12.0
    second_tick_mm: float = 1.2
    second_rule_mm: float = 0.25
    second_up_mm: float = 2.0
    dot_clear_mm: float = 1.2
    line_clear_mm: float = 0.2
    name_high: float = 1.3
    name_beside_mm: float = 2.0
    name_over_mm: float = 1.2
    name_under_mm: float = 0.6
    name_above_mm: float = 2.2


PLOT = PlotMeasures()

# Steps of ticks, in powers of ten.
_STEPS = (1, 2, 5, 10)

# At most about so many ticks.
_TICKS = 6

# Tolerance for binary rounding: 0.3 is three steps of 0.1.
_HAIR = 1e-9

# Control points of a quarter of a circle, as a part of its radius: 4/3 (sqrt 2 - 1).
_ROUND = 0.5523

_Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Axis:
    """A range of values with ticks at multiples of a step.

    >>> Axis.of([103, 289], from_zero=False)
    Axis(low=100.0, high=300.0, step=50.0)
    """

    low: float
    high: float
    step: float

    @classmethod
    def of(cls, values: Sequence[float], *, from_zero: bool = True, whole: bool = False, ticks: int = _TICKS) -> Axis:
        """Return an axis with room for all values, with at most about `ticks` ticks; `whole` keeps steps whole."""
        low, high = min(values, default=0.0), max(values, default=1.0)
        low = min(low, 0.0) if from_zero else low
        high = high if high > low else low + 1.0
        raw = (high - low) / ticks
        power = float(_STEPS[-1]) ** floor(log10(raw))
        step = next(power * times for times in _STEPS if power * times >= raw * (1 - _HAIR))
        step = max(1.0, step) if whole else step
        return cls(floor(low / step + _HAIR) * step, ceil(high / step - _HAIR) * step, step)

    @property
    def ticks(self) -> tuple[float, ...]:
        """The values at the ticks."""
        return tuple(self.low + self.step * n for n in range(round((self.high - self.low) / self.step) + 1))

    def text(self, value: float) -> str:
        """Return a tick's value with as many decimals as its step has.

        >>> Axis(0.0, 1.0, 0.2).text(0.4), Axis(0.0, 100.0, 20.0).text(40.0)
        ('0.4', '40')
        """
        return f"{value:.{max(0, -floor(log10(self.step) + _HAIR))}f}"


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot's place on the page and its axes; `left_mm` and the others bound the field in which the curve lies."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    across: Axis
    up: Axis

    def at(self, x: float, y: float) -> _Place:
        """Return where a point lies on the page."""
        across = (x - self.across.low) / (self.across.high - self.across.low)
        up = (y - self.up.low) / (self.up.high - self.up.low)
        return self.left_mm + across * self.width_mm, self.top_mm + (1 - up) * self.height_mm

    def axes(self, across: str, up: str) -> Iterator[Mark]:
        """Return the field: light rules, ticks with their values, labels of the axes."""
        right_mm, bottom_mm = self.left_mm + self.width_mm, self.top_mm + self.height_mm
        for value in self.up.ticks:
            y_mm = self.at(self.across.low, value)[1]
            yield Rule(self.left_mm, y_mm, right_mm, y_mm, PLOT.rule_mm, PLOT.rule_grey)
            text = self.up.text(value)
            yield Text(
                self.left_mm - PLOT.up_tick_left_mm, y_mm + PLOT.up_tick_down_mm, text, PLOT.tick_pt, align="right"
            )
        for value in self.across.ticks:
            x_mm = self.at(value, self.up.low)[0]
            yield Rule(x_mm, self.top_mm, x_mm, bottom_mm, PLOT.rule_mm, PLOT.rule_grey)
            yield Text(x_mm, bottom_mm + PLOT.across_tick_mm, self.across.text(value), PLOT.tick_pt, align="centre")
        yield Rule(self.left_mm, self.top_mm, self.left_mm, bottom_mm, PLOT.axis_mm)
        yield Rule(self.left_mm, bottom_mm, right_mm, bottom_mm, PLOT.axis_mm)
        label = shortened(across, self.width_mm, PLOT.label_pt, True)
        yield Text(right_mm, bottom_mm + PLOT.across_label_mm, label, PLOT.label_pt, bold=True, align="right")
        label = shortened(up, self.width_mm / 2, PLOT.label_pt, True)
        yield Text(self.left_mm - PLOT.up_label_left_mm, self.top_mm - PLOT.above_mm, label, PLOT.label_pt, bold=True)

    def above(self, ticks: Sequence[tuple[float, str]], label: str) -> Iterator[Mark]:
        """Return a second horizontal scale, above the field; `ticks` has the place and the text of each tick."""
        right_mm = self.left_mm + self.width_mm
        for value, text in ticks:
            x_mm = self.at(value, self.up.low)[0]
            yield Rule(x_mm, self.top_mm - PLOT.second_tick_mm, x_mm, self.top_mm, PLOT.second_rule_mm)
            yield Text(x_mm, self.top_mm - PLOT.second_up_mm, text, PLOT.tick_pt, align="centre")
        label = shortened(label, self.width_mm / 2, PLOT.label_pt, True)
        yield Text(right_mm, self.top_mm - PLOT.above_mm, label, PLOT.label_pt, bold=True, align="right")

    def line(self, points: Sequence[_Place], width_mm: float = 0.5, grey: float = 0.0) -> Iterator[Mark]:
        """Return a line through points."""
        places = [self.at(*point) for point in points]
        if len(places) > 1:
            steps: tuple[PathStep, ...] = (("move", *places[0]), *(("line", *place) for place in places[1:]))
            yield Path(steps, stroke=grey, line_mm=width_mm)

    def dot(self, x: float, y: float, radius_mm: float = 0.9, fill: float = 1.0) -> Mark:
        """Return a point."""
        return replace(circle(*self.at(x, y), radius_mm), fill=fill)


def circle(x_mm: float, y_mm: float, radius_mm: float) -> Path:
    """Return the outline of a circle, of four curves."""
    r, c = radius_mm, radius_mm * _ROUND
    quarters = (
        ((r, c), (c, r), (0, r)),
        ((-c, r), (-r, c), (-r, 0)),
        ((-r, -c), (-c, -r), (0, -r)),
        ((c, -r), (r, -c), (r, 0)),
    )
    curves: list[PathStep] = [
        ("curve", *(n for dx, dy in quarter for n in (x_mm + dx, y_mm + dy))) for quarter in quarters
    ]
    return Path((("move", x_mm + r, y_mm), *curves, ("close",)), stroke=0.0, line_mm=0.35)


@dataclass(frozen=True, slots=True)
class Named:
    """A point of a plot with the name to write beside it; the first in a list is the first to get room."""

    x: float
    y: float
    text: str
    size_pt: float = 8.0
    bold: bool = False


_FURTHER_MM = (2.0, 4.0, 6.0, 8.0)


def names(plot: Plot, points: Sequence[Named], dots: Sequence[_Place]) -> Iterator[Mark]:
    """Return the names of points, each beside its point, where it covers no point, no line and no other name.

    A bold name may be further away from its point; any other name without room is left out. `dots` are all points
    that are drawn, in the order of the line.
    """
    places = [plot.at(*dot) for dot in dots]
    taken = [_around(place, PLOT.dot_clear_mm) for place in places]
    taken += [_around(place, PLOT.line_clear_mm) for pair in pairwise(places) for place in _along(*pair)]
    for point in points:
        wide_mm = string_width_mm(point.text, point.size_pt, point.bold)
        high_mm = point.size_pt * MM_PER_POINT
        for left_mm, base_mm in _beside(
            plot.at(point.x, point.y), wide_mm, high_mm, _FURTHER_MM if point.bold else ()
        ):
            box = _box(left_mm, base_mm - high_mm, wide_mm, high_mm * PLOT.name_high)
            left_end_mm, top_mm, right_mm, bottom_mm = box
            inside = plot.left_mm <= left_end_mm and right_mm <= plot.left_mm + plot.width_mm
            inside = inside and plot.top_mm <= top_mm and bottom_mm <= plot.top_mm + plot.height_mm
            if inside and not any(_cover(box, other) for other in taken):
                taken.append(box)
                yield Text(left_mm, base_mm, point.text, point.size_pt, bold=point.bold)
                break


def _beside(at: _Place, wide_mm: float, high_mm: float, further_mm: Sequence[float]) -> Iterator[_Place]:
    """Yield the places for a name, the best one first: left end and baseline, in mm."""
    x_mm, y_mm = at
    over_mm, under_mm = y_mm - PLOT.name_over_mm, y_mm + high_mm + PLOT.name_under_mm
    for left_mm in (x_mm + PLOT.name_beside_mm, x_mm - wide_mm - PLOT.name_beside_mm):
        yield from ((left_mm, over_mm), (left_mm, under_mm))
    for off_mm in (0.0, *further_mm):
        for middle_mm in (x_mm - wide_mm / 2, x_mm, x_mm - wide_mm):
            yield middle_mm, y_mm - PLOT.name_above_mm - off_mm
            yield middle_mm, y_mm + high_mm + PLOT.name_above_mm + off_mm


def _along(one: _Place, other: _Place) -> Iterator[_Place]:
    """Return places along a line, less than a millimetre apart."""
    count = int(dist(one, other)) + 1
    for n in range(count + 1):
        yield one[0] + (other[0] - one[0]) * n / count, one[1] + (other[1] - one[1]) * n / count


_Box = tuple[float, float, float, float]


def _box(left_mm: float, top_mm: float, width_mm: float, height_mm: float) -> _Box:
    return left_mm, top_mm, left_mm + width_mm, top_mm + height_mm


def _around(place: _Place, half_mm: float) -> _Box:
    return _box(place[0] - half_mm, place[1] - half_mm, 2 * half_mm, 2 * half_mm)


def _cover(one: _Box, other: _Box) -> bool:
    (left, top, right, bottom), (its_left, its_top, its_right, its_bottom) = one, other
    return left < its_right and its_left < right and top < its_bottom and its_top < bottom
