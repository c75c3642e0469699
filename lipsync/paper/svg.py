"""Reads a studio's SVG picture as outlines; the only file that knows the SVG library.

In: an SVG file. Out: `Path` marks in the box of mouth_drawing.py, centred and as large as possible. Fills and lines
become greys (ITU-R BT.601), since pages are printed without colour. What is not an outline (letters, pictures inside
the picture) and gradients are refused, for a picture without them would be another picture.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path as FilePath
from typing import Any

from svgelements import SVG, Arc, Close, Color, CubicBezier, Move, QuadraticBezier, Shape, SVGImage, SVGText
from svgelements import Path as SVGPath

from lipsync.errors import InputError
from lipsync.paper.marks import Path, PathStep
from lipsync.paper.mouth_drawing import HEIGHT

# A mouth takes a few thousand bytes; a file of a thousand times that is something else (chosen).
MOST_BYTES = 4_000_000

_MEND = "save it as plain SVG with all objects turned into paths, or as PNG"


def outlines(file: FilePath) -> tuple[Path, ...]:
    """Return the outlines of an SVG file.

    Raises:
        InputError: if the file is too large, broken, or holds anything that is not an outline.
    """
    if file.stat().st_size > MOST_BYTES:
        raise InputError.one(file, "", f"is {file.stat().st_size} bytes; a picture has at most {MOST_BYTES}; {_MEND}")
    try:
        picture = SVG.parse(str(file), reify=True)
        elements = list(picture.elements())
        shapes = [(element, abs(SVGPath(element))) for element in elements if isinstance(element, Shape)]
    except Exception as error:  # the library raises whatever its parser or its arithmetic meets
        raise InputError.one(file, "", f"cannot be read as SVG ({_first_line(error)}); {_MEND}") from None
    if any(isinstance(element, SVGText | SVGImage) for element in elements):
        raise InputError.one(file, "", f"holds letters or a picture, and only outlines can be drawn; {_MEND}")
    shapes = [(element, path) for element, path in shapes if len(path) and _seen(element)]
    if any(_shaded(element) for element, _ in shapes):
        raise InputError.one(file, "", f"holds a gradient or a pattern, and only plain fills can be drawn; {_MEND}")
    if not shapes:
        raise InputError.one(file, "", f"holds no outline that is filled or has a line; {_MEND}")
    try:
        return tuple(_paths(shapes))
    except (ValueError, TypeError, ArithmeticError) as error:
        raise InputError.one(file, "", f"cannot be drawn ({_first_line(error)}); {_MEND}") from None


def _first_line(error: Exception) -> str:
    return str(error).split("\n")[0][:80] or type(error).__name__


def _seen(element: Any) -> bool:
    hidden = element.values.get("display") == "none" or element.values.get("visibility") == "hidden"
    return not hidden and (_grey(element.fill) is not None or _grey(element.stroke) is not None)


def _shaded(element: Any) -> bool:
    """Return whether a fill or a line is a gradient or a pattern, which the library would draw black."""
    return any(str(element.values.get(name) or "").strip().lower().startswith("url(") for name in ("fill", "stroke"))


def _grey(colour: Color | None) -> float | None:
    """Return how light a colour is, on white paper; None where there is none."""
    if colour is None or colour.value is None:
        return None
    light = (0.299 * colour.red + 0.587 * colour.green + 0.114 * colour.blue) / 255
    return round(float(1 - (1 - light) * colour.alpha / 255), 3)


def _paths(shapes: list[tuple[Any, Any]]) -> Iterator[Path]:
    boxes = [path.bbox(with_stroke=True) for _, path in shapes]
    left, top = min(box[0] for box in boxes), min(box[1] for box in boxes)
    right, bottom = max(box[2] for box in boxes), max(box[3] for box in boxes)
    wide, high = float(right - left), float(bottom - top)
    if not (math.isfinite(wide) and math.isfinite(high) and wide > 0 and high > 0):
        raise ValueError("it has no extent")
    scale = min(1 / wide, HEIGHT / high)
    if not math.isfinite(scale):
        raise ValueError("it is too small to be enlarged")
    dx, dy = 0.5 - scale * (left + right) / 2, HEIGHT / 2 - scale * (top + bottom) / 2

    def at(point: Any) -> tuple[float, float]:
        return round(float(point.x) * scale + dx, 4), round(float(point.y) * scale + dy, 4)

    for element, path in shapes:
        fill, stroke = _grey(element.fill), _grey(element.stroke)
        width = round(float(path.stroke_width or 0) * scale, 4)
        nonzero = element.values.get("fill-rule") != "evenodd"
        yield Path(tuple(_steps(path, at)), fill, stroke if width else None, width, nonzero)


def _steps(path: Any, at: Any) -> Iterator[PathStep]:
    for part in path:
        if isinstance(part, Move):
            yield ("move", *at(part.end))
        elif isinstance(part, Close):
            yield ("close",)
        elif isinstance(part, CubicBezier):
            yield ("curve", *at(part.control1), *at(part.control2), *at(part.end))
        elif isinstance(part, QuadraticBezier):
            # A quadratic curve as a cubic: its control points lie two thirds of the way to the single control point.
            first = part.start + (part.control - part.start) * (2 / 3)
            second = part.end + (part.control - part.end) * (2 / 3)
            yield ("curve", *at(first), *at(second), *at(part.end))
        elif isinstance(part, Arc):
            for curve in part.as_cubic_curves():
                yield ("curve", *at(curve.control1), *at(curve.control2), *at(curve.end))
        else:
            yield ("line", *at(part.end))
