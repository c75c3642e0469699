"""Three drawings of where callipers are put: the mouth at rest, an open mouth, and lips from the side.

In: the box of a drawing and the words beside its lengths. Out: marks. The mouths are those of mouth_drawing.py, so
that each length ends at an edge of that drawing; the side view is drawn here. Two black wedges stand for the jaws of
a pair of callipers; the length between them is measured.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lipsync.fit.mouthset import Lips
from lipsync.paper.marks import Align, Drawing, Mark, Path, PathStep, Rule, Text
from lipsync.paper.mouth_drawing import HEIGHT, drawing, proportions
from lipsync.paper.sheet_words import Words


@dataclass(frozen=True, slots=True)
class FigureMeasures:
    """The measures of the drawings, chosen by eye."""

    unit_mm: float = 46.0
    top_mm: float = 4.0
    label_pt: float = 9.0
    line_mm: float = 0.2
    jaw_mm: float = 3.4
    jaw_half_mm: float = 0.9
    beside_mm: float = 5.0
    under_mm: float = 7.0
    letter_mm: float = 1.2
    half_letter_mm: float = 1.1
    base_mm: float = 4.0
    grey: float = 0.45
    dash_mm: float = 0.8
    height_mm: float = 54.0


FIGURE = FigureMeasures()

# A mouth on which all lengths can be seen.
_OPEN = Lips(opening=0.9, width=0.6, rounding=0.0, teeth=0.5, tongue=0.5)

# Lips from the side, in a box of 1 by HEIGHT: the back of the piece on the left, the lips on the right.
_BACK, _TOP, _BOTTOM, _UPPER, _LOWER, _SEAM = 0.12, 0.06, 0.69, 0.25, 0.50, 0.375
_FLAT_FRONT, _OUT_FRONT = 0.46, 0.80
_BULGE, _NECK = 0.12, 0.08


def rest_figure(lips: Lips, x_mm: float, y_mm: float, words: Words) -> Iterator[Mark]:
    """Yield the mouth at rest, and its width."""
    top_mm, unit_mm = y_mm + FIGURE.top_mm, FIGURE.unit_mm
    p = proportions(lips)
    yield Drawing(x_mm, top_mm, unit_mm, drawing(lips))
    left_mm, right_mm = x_mm + (0.5 - p.outer) * unit_mm, x_mm + (0.5 + p.outer) * unit_mm
    corner_mm = top_mm + p.middle * unit_mm
    base_mm = top_mm + HEIGHT * unit_mm - FIGURE.under_mm
    yield from _across(left_mm, right_mm, (corner_mm, base_mm), words.measure_rest)


def open_figure(x_mm: float, y_mm: float, words: Words) -> Iterator[Mark]:
    """Yield an open mouth with teeth and tongue, and all that is measured from the front."""
    top_mm, unit_mm = y_mm + FIGURE.top_mm, FIGURE.unit_mm
    p = proportions(_OPEN)
    middle_mm, centre_mm = top_mm + p.middle * unit_mm, x_mm + unit_mm / 2
    yield Drawing(x_mm, top_mm, unit_mm, drawing(_OPEN))
    left_mm, right_mm = centre_mm - p.outer * unit_mm, centre_mm + p.outer * unit_mm
    upper_mm, lower_mm = middle_mm - p.above * unit_mm, middle_mm + p.below * unit_mm
    teeth_mm, tongue_mm = upper_mm + p.upper_teeth * unit_mm, lower_mm - p.tongue * unit_mm
    yield from _upright(upper_mm, lower_mm, (centre_mm, right_mm + FIGURE.beside_mm), words.measure_gap)
    yield from _upright(upper_mm, teeth_mm, (centre_mm, left_mm - FIGURE.beside_mm), words.measure_teeth)
    yield from _upright(tongue_mm, lower_mm, (centre_mm, left_mm - FIGURE.beside_mm), words.measure_tongue)
    base_mm = top_mm + HEIGHT * unit_mm + FIGURE.half_letter_mm
    yield from _across(left_mm, right_mm, (middle_mm, base_mm), words.measure_across)


def side_figure(x_mm: float, y_mm: float, words: Words) -> Iterator[Mark]:
    """Yield lips from the side: pushed out (solid line) and flat (dashed line), and the distance between the two."""
    top_mm, unit_mm = y_mm + FIGURE.top_mm, FIGURE.unit_mm

    def at(x: float, y: float) -> tuple[float, float]:
        return x_mm + x * unit_mm, top_mm + y * unit_mm

    yield Path(_side(_OUT_FRONT, at), FIGURE.grey + FIGURE.grey / 2, 0.0, FIGURE.line_mm)
    yield Path(_side(_FLAT_FRONT, at), None, 0.0, FIGURE.line_mm)
    flat_mm, out_mm = at(_FLAT_FRONT, 0.0)[0], at(_OUT_FRONT, 0.0)[0]
    base_mm = top_mm + HEIGHT * unit_mm + FIGURE.half_letter_mm
    yield from _across(flat_mm, out_mm, (at(0.0, _UPPER)[1], base_mm), words.measure_out)


_At = Callable[[float, float], tuple[float, float]]


def _side(front: float, at: _At) -> tuple[PathStep, ...]:
    """Return the outline of a piece from the side, whose lips reach forward to `front`."""
    neck, bulge = max(_BACK, front - _BULGE - _NECK), front + (front - _BACK) * _BULGE
    return (
        ("move", *at(_BACK, _TOP)),
        ("line", *at(_BACK + _NECK, _TOP)),
        ("curve", *at(neck, _UPPER - _NECK), *at(neck, _UPPER - _NECK), *at(front - _NECK, _UPPER - _NECK)),
        ("curve", *at(bulge, _UPPER - _NECK), *at(bulge, _SEAM), *at(front - _BULGE, _SEAM)),
        ("curve", *at(bulge, _SEAM), *at(bulge, _LOWER + _NECK), *at(front - _NECK, _LOWER + _NECK)),
        ("curve", *at(neck, _LOWER + _NECK), *at(neck, _LOWER + _NECK), *at(_BACK + _NECK, _BOTTOM)),
        ("line", *at(_BACK, _BOTTOM)),
        ("close",),
    )


def _across(left_mm: float, right_mm: float, heights_mm: tuple[float, float], label: str) -> Iterator[Mark]:
    """Yield a horizontal length, below what is measured, and its word below it."""
    from_mm, base_mm = heights_mm
    for x_mm, way in ((left_mm, -1), (right_mm, 1)):
        yield Rule(x_mm, from_mm, x_mm, base_mm, FIGURE.line_mm, FIGURE.grey, FIGURE.dash_mm)
        yield _jaw((x_mm, base_mm), (way * FIGURE.jaw_mm, 0.0), (0.0, FIGURE.jaw_half_mm))
    yield Rule(left_mm, base_mm, right_mm, base_mm, FIGURE.line_mm)
    middle_mm = (left_mm + right_mm) / 2
    yield Text(middle_mm, base_mm + FIGURE.base_mm, label, FIGURE.label_pt, bold=True, align="centre")


def _upright(upper_mm: float, lower_mm: float, places_mm: tuple[float, float], label: str) -> Iterator[Mark]:
    """Yield a vertical length, on one side of what is measured, and its word on the outer side."""
    from_mm, x_mm = places_mm
    for y_mm, way in ((upper_mm, -1), (lower_mm, 1)):
        yield Rule(from_mm, y_mm, x_mm, y_mm, FIGURE.line_mm, FIGURE.grey, FIGURE.dash_mm)
        yield _jaw((x_mm, y_mm), (0.0, way * FIGURE.jaw_mm), (FIGURE.jaw_half_mm, 0.0))
    yield Rule(x_mm, upper_mm, x_mm, lower_mm, FIGURE.line_mm)
    beside: Align = "left" if x_mm > from_mm else "right"
    away_mm = FIGURE.letter_mm if x_mm > from_mm else -FIGURE.letter_mm
    base_mm = (upper_mm + lower_mm) / 2 + FIGURE.half_letter_mm
    yield Text(x_mm + away_mm, base_mm, label, FIGURE.label_pt, bold=True, align=beside)


def _jaw(point: tuple[float, float], away: tuple[float, float], half: tuple[float, float]) -> Path:
    """Return one jaw of a pair of callipers: a wedge whose point is where it touches."""
    ends = [(point[0] + away[0] + side * half[0], point[1] + away[1] + side * half[1]) for side in (-1, 1)]
    return Path((("move", *point), ("line", *ends[0]), ("line", *ends[1]), ("close",)), fill=0.0)
