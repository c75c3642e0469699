"""A clean drawing of a mouth from what its lips do: outlines for the page, the movie and the desk.

In: `Lips` (opening, width, rounding, teeth, tongue, each 0 to 1). Out: `Path` marks in a box that is 1 wide and
`HEIGHT` high, x to the right and y down, with the middle of the lips near its middle. The drawing is our own. Its
proportions are chosen by eye, so that mouths can be told apart at 5 mm in black and white. Each number changes a
drawing in one direction only: more opening is taller, more width is wider, more rounding is narrower with fuller
lips.

All edges of a mouth have the same outline from corner to corner, with its heights multiplied by different factors. So
teeth, tongue and the dark between them are never outside the opening; only teeth over the lower lip are, and they end
on it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from lipsync.fit.mouthset import Lips
from lipsync.paper.marks import Path, PathStep

HEIGHT = 0.75

LIP, DARK, TEETH, TONGUE, LINE = 0.74, 0.08, 1.0, 0.55, 0.0
_LINE_WIDTH = 0.022
_THIN_WIDTH = 0.012

# A small gap is drawn higher than its opening, by this much; and from this opening on by all of it.
_LEAST_GAP, _GAP_FROM = 0.015, 0.04

# A half outline from the left corner to the middle, for flat lips (pointed corners) and round ones (an ellipse):
# x in half widths from the middle, y in heights; the first and last are on the curve, the others control it.
_FLAT = ((-1.0, 0.0), (-0.72, 0.52), (-0.40, 1.0), (0.0, 1.0))
_ROUND = ((-1.0, 0.0), (-1.0, 0.5523), (-0.5523, 1.0), (0.0, 1.0))

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Proportions:
    """Where the parts of a mouth lie, in the drawing's unit, measured from the middle of the lips.

    Attributes:
        outer: half the width from corner to corner, lips included.
        inner: half the width of the opening.
        above: height of the opening above the middle.
        below: its depth below the middle; the jaw drops, so it is the larger.
        upper_lip: thickness of the upper lip.
        lower_lip: thickness of the lower lip.
        upper_teeth: how far the upper teeth reach down from the upper lip.
        lower_teeth: how far the lower teeth reach up from the lower lip.
        tongue: how far the tongue rises from the lower lip.
        over_lip: how far the upper teeth reach down over the lower lip, which is drawn in under them.
    """

    outer: float
    inner: float
    above: float
    below: float
    upper_lip: float
    lower_lip: float
    upper_teeth: float
    lower_teeth: float
    tongue: float
    over_lip: float

    @property
    def middle(self) -> float:
        """Where the middle of the lips lies in the drawing's box, from its upper edge."""
        return HEIGHT / 2 - (self.below + self.lower_lip - self.above - self.upper_lip) / 2


def proportions(lips: Lips) -> Proportions:
    """Return where the parts of a mouth lie."""
    outer = (0.30 + 0.19 * lips.width) * (1 - 0.42 * lips.rounding)
    # Lips that are hardly open must be seen to be open: at 5 mm a gap is drawn as a mark, filled dark or light.
    inside = 0.45 * lips.opening + _LEAST_GAP * min(1.0, lips.opening / _GAP_FROM)
    fullness = 0.092 - 0.020 * lips.width + 0.024 * lips.rounding
    reach = 0.20 * lips.teeth
    # From here up the teeth are bared: the lower teeth come into view, and meet the upper ones if there is no room.
    bared = min(1.0, max(0.0, lips.teeth - 0.80) / 0.05)
    upper_teeth = min(inside * (1 - 0.42 * bared), reach)
    lower_teeth = bared * min(inside - upper_teeth, 0.8 * reach)
    # If the upper teeth come down on the lower lip and there are no lower teeth, that lip is drawn in under them.
    over_lip = round((1 - bared) * max(0.0, reach - inside) / 0.20, 9)
    lower_lip = fullness * (1.15 - 0.9 * over_lip)
    return Proportions(
        outer=outer,
        inner=outer - (0.030 + 0.055 * lips.rounding),
        above=0.42 * inside,
        below=0.58 * inside,
        upper_lip=fullness * 0.92,
        lower_lip=lower_lip,
        upper_teeth=upper_teeth,
        lower_teeth=lower_teeth,
        tongue=0.82 * inside * lips.tongue,
        over_lip=min(0.6 * lower_lip, 0.20 * over_lip),
    )


def height(lips: Lips) -> float:
    """Return the height of a drawing, as it is in the box."""
    p = proportions(lips)
    return p.above + p.below + p.upper_lip + p.lower_lip + _LINE_WIDTH


@lru_cache(maxsize=1024)
def drawing(lips: Lips) -> tuple[Path, ...]:
    """Return the mouth as paths, in the order in which they are drawn: lips, dark inside, teeth, tongue, outline."""
    p = proportions(lips)
    pen = _Outline(lips.rounding, p.middle)
    paths = [
        Path(pen.between(p.outer, -(p.above + p.upper_lip), p.below + p.lower_lip, bow=True), LIP, LINE, _LINE_WIDTH)
    ]
    if lips.opening > 0:
        paths.append(Path(pen.between(p.inner, -p.above, p.below), DARK))
        if p.upper_teeth > 0:
            paths.append(Path(pen.between(p.inner, -p.above, p.upper_teeth - p.above), TEETH, LINE, _THIN_WIDTH))
        if p.lower_teeth > 0:
            paths.append(Path(pen.between(p.inner, p.below - p.lower_teeth, p.below), TEETH, LINE, _THIN_WIDTH))
        if p.tongue > 0:
            paths += pen.tongue(p)
    if p.lower_teeth > 0 and p.upper_teeth + p.lower_teeth >= p.above + p.below - 1e-9:
        paths.append(pen.gaps(p))
    paths.append(Path(pen.between(p.inner, -p.above, p.below), None, LINE, _LINE_WIDTH))
    if p.over_lip > 0:
        paths += pen.teeth_over(p)
    return tuple(paths)


@dataclass(frozen=True, slots=True)
class _Outline:
    """Draws curves from corner to corner, flat or round, about the middle of the lips."""

    rounding: float
    middle: float

    def _half(self) -> list[Point]:
        r = self.rounding
        return [((1 - r) * a + r * c, (1 - r) * b + r * d) for (a, b), (c, d) in zip(_FLAT, _ROUND, strict=True)]

    def _at(self, x: float, y: float, half_width: float, height: float) -> Point:
        return (round(0.5 + x * half_width, 4), round(self.middle + y * height, 4))

    def between(self, half_width: float, top: float, bottom: float, bow: bool = False) -> tuple[PathStep, ...]:
        """Return the outline between two curves from corner to corner; `bow` dips the upper one in its middle."""
        first, second, third, last = self._half()
        over = [self._at(x, y, half_width, top) for x, y in (first, second, third, last)]
        if bow:
            # The dip of the upper lip: the rounder the lips, the shallower.
            dip = 1 - 0.16 * (1 - self.rounding)
            over[2] = self._at(-0.46, 1.04, half_width, top)
            over[3] = self._at(0.0, dip, half_width, top)
        under = [self._at(x, y, half_width, bottom) for x, y in (first, second, third, last)]
        return (
            ("move", *over[0]),
            ("curve", *over[1], *over[2], *over[3]),
            ("curve", *_mirrored(over[2]), *_mirrored(over[1]), *_mirrored(over[0])),
            ("curve", *_mirrored(under[1]), *_mirrored(under[2]), *_mirrored(under[3])),
            ("curve", *under[2], *under[1], *under[0]),
            ("close",),
        )

    def tongue(self, p: Proportions) -> list[Path]:
        """Return the tongue: a mound on the middle of the lower edge, and the furrow along it."""
        first, second, third, last = (self._at(x, y, p.inner, p.below) for x, y in self._half())
        _, left = _split(first, second, third, last, 0.34)
        peak = self.middle + p.below - p.tongue
        start = left[0]
        # A curve with both controls at this height peaks where it should (middle of a cubic: 1/8 3/8 3/8 1/8).
        control = round((8 * peak - 2 * start[1]) / 6, 4)
        mound: tuple[PathStep, ...] = (
            ("move", *start),
            ("curve", *left[1], *left[2], *left[3]),
            ("curve", *_mirrored(left[2]), *_mirrored(left[1]), *_mirrored(left[0])),
            ("curve", round(1 - start[0] - 0.02, 4), control, round(start[0] + 0.02, 4), control, *start),
            ("close",),
        )
        furrow: tuple[PathStep, ...] = (
            ("move", 0.5, round(peak + 0.30 * p.tongue, 4)),
            ("line", 0.5, round(peak + 0.75 * p.tongue, 4)),
        )
        return [Path(mound, TONGUE, LINE, _THIN_WIDTH), Path(furrow, None, LINE, _THIN_WIDTH)]

    def teeth_over(self, p: Proportions) -> list[Path]:
        """Return the front teeth where they stand over the lower lip, and the gaps between them."""
        half, top, bottom = 0.5 * p.inner, self.middle - 0.5 * p.above, self.middle + p.below + p.over_lip
        left, right, round_ = round(0.5 - half, 4), round(0.5 + half, 4), round(0.25 * half, 4)
        top, bottom = round(top, 4), round(bottom, 4)
        row: tuple[PathStep, ...] = (
            ("move", left, top),
            ("curve", left, bottom, left, bottom, left + round_, bottom),
            ("line", right - round_, bottom),
            ("curve", right, bottom, right, bottom, right, top),
            ("close",),
        )
        gaps: tuple[PathStep, ...] = tuple(
            step
            for place in (-0.45, 0.0, 0.45)
            for step in (("move", round(0.5 + place * half, 4), top), ("line", round(0.5 + place * half, 4), bottom))
        )
        return [Path(row, TEETH, LINE, _THIN_WIDTH), Path(gaps, None, LINE, _THIN_WIDTH)]

    def gaps(self, p: Proportions) -> Path:
        """Return the gaps between teeth, which show that upper and lower are together."""
        steps: list[PathStep] = []
        for place in (-0.5, -0.17, 0.17, 0.5):
            reach = 1 - place * place
            x = round(0.5 + place * p.inner, 4)
            steps += [
                ("move", x, round(self.middle - p.above * reach, 4)),
                ("line", x, round(self.middle + p.below * reach, 4)),
            ]
        return Path(tuple(steps), None, LINE, _THIN_WIDTH)


def _mirrored(point: Point) -> Point:
    return (round(1 - point[0], 4), point[1])


def _split(a: Point, b: Point, c: Point, d: Point, at: float) -> tuple[list[Point], list[Point]]:
    """Return the two parts of a cubic Bezier curve (de Casteljau's construction)."""

    def mix(p: Point, q: Point) -> Point:
        return (p[0] + at * (q[0] - p[0]), p[1] + at * (q[1] - p[1]))

    ab, bc, cd = mix(a, b), mix(b, c), mix(c, d)
    abc, bcd = mix(ab, bc), mix(bc, cd)
    here = mix(abc, bcd)

    def rounded(points: tuple[Point, ...]) -> list[Point]:
        return [(round(x, 4), round(y, 4)) for x, y in points]

    return rounded((a, ab, abc, here)), rounded((here, bcd, cd, d))
