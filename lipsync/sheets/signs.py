"""Signs that stand in more than one place: on a row, and where the foot says what they mean."""

from __future__ import annotations

from lipsync.sheets.marks import Path, Step


def diamond(x_mm: float, y_mm: float, half_mm: float) -> Path:
    """Return the sign of a strong beat, about a point."""
    corners = ((0, -half_mm), (half_mm, 0), (0, half_mm), (-half_mm, 0))
    first, *others = [(x_mm + dx, y_mm + dy) for dx, dy in corners]
    steps: tuple[Step, ...] = (("move", *first), *(("line", *point) for point in others), ("close",))
    return Path(steps, fill=0.0, stroke=1.0, line_mm=0.25)
