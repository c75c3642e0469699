"""Signs that stand in more than one place: on a row, and where the foot says what they mean; the rule under a row."""

from __future__ import annotations

from lipsync.paper.marks import Path, PathStep, Rule
from lipsync.paper.page_forms import MARGIN_X_MM


def diamond(x_mm: float, y_mm: float, half_mm: float) -> Path:
    """Return the sign of a strong beat, about a point."""
    corners = ((0, -half_mm), (half_mm, 0), (0, half_mm), (-half_mm, 0))
    first, *others = [(x_mm + dx, y_mm + dy) for dx, dy in corners]
    steps: tuple[PathStep, ...] = (("move", *first), *(("line", *point) for point in others), ("close",))
    return Path(steps, fill=0.0, stroke=1.0, line_mm=0.25)


def row_rule(right_mm: float, y_mm: float) -> Rule:
    """Return the thin grey rule that stands under a row of a list, from the left margin."""
    return Rule(MARGIN_X_MM, y_mm, right_mm, y_mm, 0.1, grey=0.72)
