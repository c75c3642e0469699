"""Signs that are drawn both on a row and at the foot, which explains them; and the rule under a row of a list."""

from __future__ import annotations

from lipsync.paper.marks import Path, PathStep, Rule
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.sheet_measures import GRID, HOLD


def diamond(x_mm: float, y_mm: float, half_mm: float) -> Path:
    """Return the sign of a strong beat, with a point as its middle."""
    corners = ((0, -half_mm), (half_mm, 0), (0, half_mm), (-half_mm, 0))
    first, *others = [(x_mm + dx, y_mm + dy) for dx, dy in corners]
    steps: tuple[PathStep, ...] = (("move", *first), *(("line", *point) for point in others), ("close",))
    return Path(steps, fill=0.0, stroke=1.0, line_mm=0.25)


def wave(x_mm: float, from_mm: float, to_mm: float) -> Path:
    """Return the line of a hold that is kept alive by hand: a wave with a whole number of half periods."""
    halves = max(1, round(2 * (to_mm - from_mm) / HOLD.wave_long_mm))
    long_mm = (to_mm - from_mm) / halves
    steps: list[PathStep] = [("move", x_mm, from_mm)]
    for half in range(halves):
        # A cubic curve bows out by three quarters of its control points' distance.
        out_mm = x_mm + HOLD.wave_mm * HOLD.wave_bow * (1 if half % 2 else -1)
        at_mm = from_mm + half * long_mm
        steps.append(("curve", out_mm, at_mm, out_mm, at_mm + long_mm, x_mm, at_mm + long_mm))
    return Path(tuple(steps), stroke=0.0, line_mm=HOLD.line_mm)


def row_rule(right_mm: float, y_mm: float) -> Rule:
    """Return the thin grey rule that stands under a row of a list, from the left margin."""
    return Rule(MARGIN_X_MM, y_mm, right_mm, y_mm, GRID.row_mm, GRID.row_grey)
