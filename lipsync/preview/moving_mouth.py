"""Draws a mouth as a picture of pixels, from the same outlines as on paper.

In: the outlines of a mouth or a studio's own picture, and a width in pixels. Out: a picture. Outlines are drawn
`_LARGER` times as large and scaled down, so that their edges are smooth.
"""

from __future__ import annotations

from collections.abc import Iterator

from PIL import Image as Pillow
from PIL import ImageDraw

from lipsync.paper.marks import Image, Path
from lipsync.paper.mouth_drawing import HEIGHT
from lipsync.paper.piece_pictures import Art

_LARGER = 4
_STEPS = 24  # straight lines that a curve is drawn with (chosen: no corner is seen)

Point = tuple[float, float]


def mouth(art: Art, width_px: int, paper: str) -> Pillow.Image:
    """Return a picture of a mouth on the colour `paper`, `width_px` wide and `HEIGHT` times as high."""
    size = (width_px, round(width_px * HEIGHT))
    if isinstance(art, Image):
        picture = Pillow.new("RGB", size, paper)
        own = Pillow.frombytes("RGB", (art.width_px, art.height_px), art.rgb)
        scale = min(size[0] / art.width_px, size[1] / art.height_px)
        own = own.resize((max(1, round(art.width_px * scale)), max(1, round(art.height_px * scale))))
        picture.paste(own, ((size[0] - own.width) // 2, (size[1] - own.height) // 2))
        return picture
    unit = width_px * _LARGER  # pixels for the width of a mouth, which is 1 in paths
    large = Pillow.new("RGB", (unit, size[1] * _LARGER), paper)
    draw = ImageDraw.Draw(large)
    for path in art:
        for outline in _outlines(path, unit):
            _stroke(draw, path, outline, unit)
    return large.resize(size, Pillow.Resampling.LANCZOS)


def _stroke(draw: ImageDraw.ImageDraw, path: Path, outline: list[Point], unit: int) -> None:
    if path.fill is not None and len(outline) > 2:
        draw.polygon(outline, fill=_grey(path.fill))
    if path.stroke is not None:
        width = max(1, round(path.line_mm * unit))
        draw.line(outline, fill=_grey(path.stroke), width=width, joint="curve")
        for x, y in (outline[0], outline[-1]):
            draw.ellipse((x - width / 2, y - width / 2, x + width / 2, y + width / 2), fill=_grey(path.stroke))


def _grey(value: float) -> tuple[int, int, int]:
    return (round(255 * value),) * 3


def _outlines(path: Path, unit: int) -> Iterator[list[Point]]:
    """Yield each outline of a path as its corners in pixels; a curve becomes many short lines."""
    outline: list[Point] = []
    for name, *numbers in path.steps:
        values = [float(number) * unit for number in numbers]
        points = list(zip(values[::2], values[1::2], strict=True))
        if name == "move" and outline:
            yield outline
            outline = []
        if name == "close":
            outline.append(outline[0])
        elif name == "curve":
            outline += _curve(outline[-1], *points)
        else:
            outline += points
    if outline:
        yield outline


def _curve(a: Point, b: Point, c: Point, d: Point) -> list[Point]:
    """Return points along a cubic Bezier curve: (1-t)^3 a + 3 (1-t)^2 t b + 3 (1-t) t^2 c + t^3 d."""
    found = []
    for step in range(1, _STEPS + 1):
        t = step / _STEPS
        weights = ((1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3)
        x, y = (sum(w * p[axis] for w, p in zip(weights, (a, b, c, d), strict=True)) for axis in (0, 1))
        found.append((x, y))
    return found
